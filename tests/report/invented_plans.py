"""Invented overhaul plans, as the planning would hand them over."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

import pandas as pd

from trendwear import tables
from trendwear.planning.accepted import Accepted, accepted_for_all
from trendwear.planning.plan import SitePlan
from trendwear.planning.renewals import Renewals
from trendwear.planning_tables import ORDERS, OVERHAUL, RENEWALS, WINDOWS
from trendwear.tables import Columns

AS_OF = dt.date(2026, 11, 1)
ALONE = "by clearances alone; cracks, trips, vibration, oil and law are not in it"

Row = Mapping[str, object]

FOUND: Row = {
    "machine": "T-1",
    "as_of": pd.Timestamp(AS_OF),
    "risk": 0.1,
    "risk_of": "any limit",
    "latest_hours": 4321.9,
    "latest_date": pd.Timestamp("2027-09-09"),
    "governed_by": "ring 2 61 %; ring 3 30 %",
    "outcome": "latest overhaul found",
    "notes": ALONE,
}
"""A machine with a latest overhaul and no window."""
PAST: Row = {
    **FOUND,
    "latest_hours": 0.0,
    "latest_date": pd.Timestamp(AS_OF),
    "past_today": "ring 1",
    "outcome": "past its limit today",
}
NO_DATE: Row = {
    **FOUND,
    "latest_hours": None,
    "latest_date": None,
    "governed_by": None,
    "outcome": "no clearance limits it",
    "notes": None,
}
WINDOW: Row = {
    "machine": "T-1",
    "outage": "Off-season 2027",
    "start": pd.Timestamp("2027-05-01"),
    "end": pd.Timestamp("2027-05-09"),
    "chance_before": 0.062,
    "chance_if_late": 0.4,
    "holds": True,
}
RENEWAL: Row = {
    "machine": "T-1",
    "clearance": "ring 2",
    "moves": "opens",
    "outage": "Off-season 2027",
    "following": "Off-season 2028",
    "chance_left": 0.4,
    "chance_renewed": 0.001,
    "start_from": "its design range",
    "limiting": True,
    "renew": True,
    "place": 1,
    "interval_hours": 9000.0,
}
ORDER: Row = {
    "machine": "T-1",
    "clearance": "ring 2",
    "part_no": "R-1",
    "part": "carbon ring",
    "supplier": "supplier A",
    "supplier_part_name": "segmental ring",
    "supplier_part_no": "A-41",
    "quantity": 2.0,
    "from_stock": 1.0,
    "to_order": 1.0,
    "lead_time_days": 75.0,
    "outage": "Off-season 2027",
    "needed_on": pd.Timestamp("2027-05-01"),
    "order_by": pd.Timestamp("2027-02-01"),
    "need": "firm",
    "chance_needed": 0.4,
    "late": False,
    "chance_before_delivery": 0.01,
}


def site_plan(
    overhaul: Sequence[Row],
    windows: Sequence[Row] = (),
    renewals: Sequence[Row] = (),
    orders: Sequence[Row] = (),
    accepted: Accepted | None = None,
) -> SitePlan:
    """A plan of those rows."""
    return SitePlan(
        AS_OF,
        accepted or accepted_for_all(0.1),
        _frame(overhaul, OVERHAUL),
        _frame(windows, WINDOWS),
        Renewals(_frame(renewals, RENEWALS), {}, {}),
        _frame(orders, ORDERS),
    )


def _frame(rows: Sequence[Row], columns: Columns) -> pd.DataFrame:
    return tables.conform(pd.DataFrame(list(rows), columns=list(columns)), columns)

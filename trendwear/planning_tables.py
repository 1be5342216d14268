"""The frames of planning: what is brought in for it, and what comes out of it.

In the style of `trendwear.tables`; `conform` and `check` there serve for these too.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import pandas as pd

from trendwear.tables import Columns, empty

__all__ = [
    "CONCESSIONS",
    "COSTS",
    "DUE_DATES",
    "LOOKS",
    "NEXT_OPENINGS",
    "OPENING_COSTS",
    "ORDERS",
    "OUTAGES",
    "OVERHAUL",
    "PARTS",
    "RENEWALS",
    "RISKS",
    "WINDOWS",
    "PlanningSheets",
]

OUTAGES: Final[Columns] = {
    "outage": "text",
    "start": "date",
    "end": "date",
    "site": "text",
    "scope": "text",
    "freeze": "date",  # the day its scope is fixed
    **dict.fromkeys(("machines", "crew_days", "cost"), "number"),
}

DUE_DATES: Final[Columns] = {
    "machine": "text",
    "what": "text",
    "due": "date",
    "tolerance_days": "number",
    "authority": "text",
}

RISKS: Final[Columns] = {
    "consequence": "text",
    "accepted": "number",  # chance, 0-1
    "by": "text",
    "date": "date",
}

PARTS: Final[Columns] = {
    **dict.fromkeys(("part_no", "part", "supplier", "supplier_part_name"), "text"),
    **dict.fromkeys(("supplier_part_no", "superseded_by"), "text"),
    **dict.fromkeys(("lead_time_days", "price", "in_stock"), "number"),
}

CONCESSIONS: Final[Columns] = {
    **dict.fromkeys(("machine", "clearance", "moves"), "text"),  # moves blank: both limits
    "date": "date",  # signed on
    **dict.fromkeys(("by", "why"), "text"),
    "until": "date",  # its last day; blank: until the part is renewed
    "accepted_limit_mm": "number",  # holds in place of the register's limit
    "unit": "text",
}

OVERHAUL: Final[Columns] = {
    "machine": "text",
    "as_of": "date",
    "risk": "number",  # accepted chance that sets the date
    "latest_hours": "number",  # running hours from as_of
    "latest_date": "date",
    "governed_by": "text",  # up to three clearances with their shares
    "due_date": "date",  # the earliest date set by law, insurer or site rule
    "outage": "text",  # last window that starts after as_of, not after latest and due date
    "chance_at_outage": "number",  # that some limit is passed before it starts
    "renew": "text",
    "order_by": "date",
    "reach": "number",
    "outcome": "text",
    "notes": "text",
    "risk_of": "text",  # the consequence whose risk sets the date, or "any limit"
    "chance_now": "number",  # that some limit is passed already, those apart left out
    "due_what": "text",
    "past_today": "text",  # clearances past their limit today, which stand apart
    "date_without_past": "date",  # latest date by the others
    "next_governed_by": "text",  # what governs once those of governed_by are renewed
    "next_latest_date": "date",
    "conceded": "text",  # clearances that run on past their limit by concession
    "date_without_concession": "date",  # latest date if their old limits counted
    "nearest_of": "text",  # as in `WINDOWS`, for the outage
    "nearest_chance": "number",
}
"""The overhaul table: one row a machine, or a machine and risk where none was chosen."""

WINDOWS: Final[Columns] = {
    "machine": "text",
    "outage": "text",
    "start": "date",
    "end": "date",
    "hours_until": "number",  # planned running hours until it starts
    "chance_before": "number",  # that some limit is passed before it starts
    "expected_past": "number",  # clearances to be found past their limit
    "chance_if_late": "number",  # the same chance one window later; empty at the last
    "holds": "flag",  # every accepted risk holds until it starts
    "hindrance": "text",  # why the machine cannot be opened in it
    "nearest_of": "text",  # consequence nearest to, or farthest past, its accepted risk
    "nearest_chance": "number",  # that one of its limits is passed before the window starts
}
"""Every window on offer to every machine, in order of time."""

RENEWALS: Final[Columns] = {
    "machine": "text",
    "clearance": "text",
    "moves": "text",
    "outage": "text",  # the opening at which it is renewed or left
    "following": "text",  # the next chance to open
    "chance_left": "number",  # to pass its limit before the following one, left as it is
    "chance_renewed": "number",  # the same, renewed
    "start_from": "text",  # what a renewed part is taken to start from
    "limiting": "flag",
    "renew": "flag",  # recommended at the accepted risk
    "place": "count",  # order of renewal in its machine, the most pressing 1
    "interval_hours": "number",  # from the opening, if it and all before it are renewed
}
"""Renew or leave, clearance by clearance."""

ORDERS: Final[Columns] = {
    "machine": "text",
    "clearance": "text",
    **dict.fromkeys(("part_no", "part", "supplier"), "text"),
    **dict.fromkeys(("supplier_part_name", "supplier_part_no"), "text"),
    "quantity": "number",
    "from_stock": "number",
    "to_order": "number",
    "lead_time_days": "number",
    "outage": "text",
    "needed_on": "date",  # the window's freeze where it is still ahead, else its start
    "order_by": "date",
    "need": "text",  # firm, likely or contingent
    "chance_needed": "number",
    "late": "flag",
    "chance_before_delivery": "number",  # to pass the limit first, ordered today
    "price": "number",
    "note": "text",
}
"""What to order for which clearance."""

COSTS: Final[Columns] = {
    "machine": "text",
    "renewed": "text",  # clearances whose parts an overhaul renews
    "parts_cost": "number",
    "crew_cost": "number",  # empty where no crew_day_cost is given
    "window": "text",  # the cheapest window on offer that it fits
    "window_cost": "number",
    "planned": "number",  # an overhaul before any limit is passed: all of those
    "past_limit": "number",  # an overhaul after a limit was passed: cost_if_past on top
    "best_hours": "number",  # the cheapest interval from renewal to renewal
    "best_cost_per_1000h": "number",
    "flat_from": "number",  # intervals from here ...
    "flat_to": "number",  # ... to here cost at most 5 % more
    "no_best": "flag",  # the longest interval looked at is the cheapest
    "risk_hours": "number",  # interval at which the accepted risk is reached, once renewed
    "risk_cost_per_1000h": "number",
    "usual_hours": "number",  # the machine's interval up to now
    "usual_cost_per_1000h": "number",
    "missing": "text",  # what has to be given before there is a cost
    "notes": "text",
}
"""Cost of an overhaul interval of each machine that costs are given for."""

NEXT_OPENINGS: Final[Columns] = {
    **dict.fromkeys(("machine", "clearance", "moves"), "text"),
    "outage": "text",  # the first window ahead that reaches it; empty where none does
    "chance": "number",  # that it is past its limit before that one starts
    "order_by": "date",  # for its part, where it may be needed and is not on the shelf
    "on_shelf": "flag",  # it may be needed, and as many as it takes lie on the shelf
    "late": "flag",  # order_by has passed
}
"""The next outage of each clearance; empty where no window is ahead."""

OPENING_COSTS: Final[Columns] = {
    "machine": "text",
    "opening": "text",  # a window, or the latest overhaul
    "date": "date",
    "hours_until": "number",  # planned running hours from now
    "chance_before": "number",  # that some limit is passed before it
    "planned": "number",  # what is paid in any case
    "expected_cost": "number",  # with the cost of passing a limit, times its chance
    "dearer_by": "number",  # than the cheapest opening, hours run until then counted
    "hindrance": "text",  # why it cannot be opened then
}
"""Cost of ending the present run at each opening on offer."""


LOOKS: Final[Columns] = {
    "machine": "text",
    "clearance": "text",
    "moves": "text",
    "access": "text",  # what must be opened to read it; empty where the register does not say
    "method": "text",  # of its last check, else of its last reading
    "uncertainty": "number",  # one standard uncertainty of it, in the unit
    "unit": "text",
    "latest_date": "date",  # of the machine, as things stand
    "chance_past": "number",  # that it is past its limit on that date
    "date_p05": "date",  # where the latest date would be after one more reading today:
    "date_p95": "date",  # 1 in 20 earlier, 1 in 20 later; empty where none is in reach
    "hours_p05": "number",  # the same in planned running hours from as_of
    "hours_p95": "number",
    "reading_p05": "number",  # the reading to be expected, in the unit
    "reading_p95": "number",
    "outage": "text",  # the window in time, as things stand
    "chance_sooner": "number",  # that after the reading it is no longer in time
    "later_outage": "text",  # the next window that would do
    "chance_later": "number",  # that after the reading it is in time
    "reading_later": "number",  # up to (down to, where it closes) this reading it is
    "decides": "flag",  # the reading may well change the window
    "place": "count",  # order in its machine: what decides first, then what is easiest reached
}
"""What one more reading of a clearance, before the overhaul, may change."""


@dataclass(frozen=True)
class PlanningSheets:
    """What was brought in for planning: `OUTAGES`, `DUE_DATES`, `RISKS`, `PARTS`, `CONCESSIONS`."""

    outages: pd.DataFrame = field(default_factory=lambda: empty(OUTAGES))
    due_dates: pd.DataFrame = field(default_factory=lambda: empty(DUE_DATES))
    risks: pd.DataFrame = field(default_factory=lambda: empty(RISKS))
    parts: pd.DataFrame = field(default_factory=lambda: empty(PARTS))
    concessions: pd.DataFrame = field(default_factory=lambda: empty(CONCESSIONS))

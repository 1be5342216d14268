"""An issued plan as plain tables and a few settled facts, and put together again from them."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Final

import pandas as pd

from trendwear import planning_tables, tables
from trendwear.forecasting.site import SiteRecord
from trendwear.planning.accepted import Accepted
from trendwear.planning.cost_plan import PlanCosts
from trendwear.planning.issued import PLACED, SCOPE, Frozen
from trendwear.planning.plan import SitePlan
from trendwear.planning.renewals import Renewals
from trendwear.planning.spares import OrderRules
from trendwear.planning_tables import PlanningSheets
from trendwear.segments.chronicle import Record
from trendwear.tables import Columns

__all__ = [
    "INPUTS",
    "PLAN_TABLES",
    "TABLES",
    "details_of",
    "frozen_from",
    "inputs_of",
    "site_from",
    "tables_of",
]

INPUTS: Final[dict[str, Columns]] = {
    "machines": tables.MACHINES,
    "register": tables.CLEARANCES,
    "readings": tables.READINGS,
    "work": tables.WORK,
    "run_log": tables.RUN_LOG,
    "events": tables.EVENTS,
    "duty_plan": tables.DUTY_PLAN,
    "methods": tables.METHODS,
    "families": tables.FAMILIES,
    "outages": planning_tables.OUTAGES,
    "due_dates": planning_tables.DUE_DATES,
    "risks": planning_tables.RISKS,
    "parts": planning_tables.PARTS,
    "concessions": planning_tables.CONCESSIONS,
}
"""What a plan is worked out from."""

PLAN_TABLES: Final[dict[str, Columns]] = {
    "plan overhaul": planning_tables.OVERHAUL,
    "plan windows": planning_tables.WINDOWS,
    "plan renewals": planning_tables.RENEWALS,
    "plan orders": planning_tables.ORDERS,
    "plan costs": planning_tables.COSTS,
    "plan opening costs": planning_tables.OPENING_COSTS,
    "plan looks": planning_tables.LOOKS,
    "plan scope": SCOPE,
    "plan placed": PLACED,
}
"""What the plan told."""

TABLES: Final[dict[str, Columns]] = {**INPUTS, **PLAN_TABLES}
"""Every table of an issued plan."""


def inputs_of(site: SiteRecord) -> dict[str, pd.DataFrame]:
    """Return what is recorded of a site, a frame for each of `INPUTS`."""
    return {
        "machines": site.machines,
        "register": site.register,
        **vars(site.record),
        "events": site.events,
        "duty_plan": site.duty_plan,
        "methods": site.methods,
        "families": site.families,
        **vars(site.planning),
    }


def site_from(frames: Mapping[str, pd.DataFrame]) -> SiteRecord:
    """Return the site that `inputs_of` laid out."""
    return SiteRecord(
        machines=frames["machines"],
        register=frames["register"],
        record=Record(frames["readings"], frames["work"], frames["run_log"]),
        events=frames["events"],
        duty_plan=frames["duty_plan"],
        methods=frames["methods"],
        families=frames["families"],
        planning=PlanningSheets(
            **{name: frames[name] for name in PlanningSheets.__dataclass_fields__}
        ),
    )


def tables_of(frozen: Frozen) -> dict[str, pd.DataFrame]:
    """Return a frame for each of `TABLES`."""
    plan = frozen.plan
    told = {
        "plan overhaul": plan.overhaul,
        "plan windows": plan.windows,
        "plan renewals": plan.renewals.table,
        "plan orders": plan.orders,
        "plan costs": plan.costs.table,
        "plan opening costs": plan.costs.openings,
        "plan looks": plan.looks,
        "plan scope": frozen.scope,
        "plan placed": frozen.placed,
    }
    return {**inputs_of(frozen.site), **told}


def details_of(frozen: Frozen) -> str:
    """Return what is no table, in JSON."""
    plan = frozen.plan
    return json.dumps(
        {
            "accepted": asdict(plan.accepted),
            "rules": asdict(frozen.rules),
            "machines": frozen.machines,
            "as_it_is": plan.renewals.as_it_is,
            "too_long": plan.renewals.too_long,
        }
    )


def frozen_from(frames: Mapping[str, pd.DataFrame], details: str, as_of: dt.date) -> Frozen:
    """Put a plan together again from what `tables_of` and `details_of` gave."""
    said = json.loads(details)
    renewals = Renewals(frames["plan renewals"], said["as_it_is"], said["too_long"])
    plan = SitePlan(
        as_of=as_of,
        accepted=Accepted(**said["accepted"]),
        overhaul=frames["plan overhaul"],
        windows=frames["plan windows"],
        renewals=renewals,
        orders=frames["plan orders"],
        costs=PlanCosts(frames["plan costs"], frames["plan opening costs"]),
        looks=frames["plan looks"],
    )
    return Frozen(
        plan=plan,
        site=site_from(frames),
        scope=frames["plan scope"],
        placed=frames["plan placed"],
        rules=OrderRules(**said["rules"]),
        machines=tuple(said["machines"]),
    )

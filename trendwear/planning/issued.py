"""A plan that was issued: as it was told, what it was worked out from, and its scope lists."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import pandas as pd

from trendwear import tables
from trendwear.errors import UsageProblem
from trendwear.forecasting.site import SiteForecast, SiteRecord
from trendwear.planning.plan import SitePlan
from trendwear.planning.site_plan import Placed
from trendwear.planning.spares import OrderRules
from trendwear.tables import Columns

__all__ = [
    "PLACED",
    "SCOPE",
    "Frozen",
    "Issue",
    "IssuedPlan",
    "freeze",
    "placed_table",
    "plan_name",
    "scope_of",
]

LONGEST_NAME: Final = 80

SCOPE: Final[Columns] = {
    "outage": "text",
    "start": "date",
    "freeze": "date",  # the day the window's scope is fixed
    "machine": "text",
    "clearance": "text",
    "renew": "flag",  # recommended at the accepted risk
    "need": "text",  # firm, likely or contingent
    "chance_needed": "number",
    **dict.fromkeys(("part_no", "part"), "text"),
    **dict.fromkeys(("quantity", "from_stock", "to_order"), "number"),
    "order_by": "date",
    "crew_days": "number",  # of the machine's opening as a whole
}
"""What is to be done in each window, by the plan: one row a clearance."""

PLACED: Final[Columns] = {"machine": "text", "outage": "text"}
"""In which window each machine is opened, the whole site placed together."""


@dataclass(frozen=True)
class Issue:
    """Under what a plan was issued.

    Attributes
    ----------
    name : str
    number : int
        Counted within the name, from 1.
    as_of : date
    issued_by : str or None
    issued_at : datetime
    method_version : int
        `trendwear.wear.version.MODEL_VERSION` of the program that issued it.
    program_version : str
    """

    name: str
    number: int
    as_of: dt.date
    issued_by: str | None
    issued_at: dt.datetime
    method_version: int
    program_version: str


@dataclass(frozen=True)
class Frozen:
    """A plan ready to be issued, or read back.

    Attributes
    ----------
    plan : SitePlan
        Of the machines asked for.
    site : SiteRecord
        What was recorded when it was worked out: all of it.
    scope : DataFrame
        `SCOPE`.
    placed : DataFrame
        `PLACED`; without rows where the site was not placed as a whole.
    rules : OrderRules
    machines : tuple of str
        The machines asked for by name; none: all.
    """

    plan: SitePlan
    site: SiteRecord
    scope: pd.DataFrame
    placed: pd.DataFrame
    rules: OrderRules
    machines: tuple[str, ...] = ()


@dataclass(frozen=True)
class IssuedPlan:
    """A plan that was issued, as it was issued."""

    issue: Issue
    frozen: Frozen

    @property
    def plan(self) -> SitePlan:
        """The plan as it was told."""
        return self.frozen.plan


def plan_name(text: str) -> str:
    """Return the name of a plan as it is kept: runs of blanks made one.

    Raises
    ------
    UsageProblem
        It says nothing, cannot be printed, or is too long for a heading.

    >>> plan_name("  Off-season   2027 ")
    'Off-season 2027'
    """
    name = re.sub(r"\s+", " ", text).strip()
    wanted = "Name the plan in a few words, like 'Off-season 2027'"
    if not any(character.isalnum() for character in name):
        raise UsageProblem("the plan's name", f"{text!r} holds no letter or figure", wanted)
    odd = [character for character in name if unicodedata.category(character)[0] == "C"]
    if odd:
        raise UsageProblem(
            "the plan's name", f"{text!r} holds the unprintable character {odd[0]!r}", wanted
        )
    if len(name) > LONGEST_NAME:
        found = f"it has {len(name)} characters, {LONGEST_NAME} at most fit a heading"
        raise UsageProblem("the plan's name", found, wanted)
    return name


def freeze(
    told: SiteForecast,
    plan: SitePlan,
    placed: Placed | None,
    rules: OrderRules,
    machines: Sequence[str] = (),
) -> Frozen:
    """Return a plan with all that it was worked out from.

    Parameters
    ----------
    told : SiteForecast
        What the plan was made of.
    plan : SitePlan
        Of the machines asked for.
    placed : Placed, optional
        Where the whole site was placed.
    rules : OrderRules
    machines : sequence of str
        The machines asked for by name; none: all.
    """
    site = told.site
    scope = scope_of(plan, site.machines, site.planning.outages)
    return Frozen(plan, site, scope, placed_table(placed), rules, tuple(machines))


def scope_of(plan: SitePlan, machines: pd.DataFrame, outages: pd.DataFrame) -> pd.DataFrame:
    """Return what the plan wants done in each window (`SCOPE`), in order of time.

    Parameters
    ----------
    plan : SitePlan
    machines : DataFrame
        `tables.MACHINES`.
    outages : DataFrame
        `trendwear.planning_tables.OUTAGES`.
    """
    orders = plan.orders[plan.orders["outage"].notna()]
    ahead = outages[outages["start"] > pd.Timestamp(plan.as_of)]
    windows = ahead.sort_values("start", kind="stable").drop_duplicates("outage")
    crew = machines.drop_duplicates("machine")[["machine", "crew_days"]]
    renewals = plan.renewals.table
    renew = renewals[renewals["renew"]][["machine", "clearance"]].drop_duplicates()
    rows = orders.merge(windows[["outage", "start", "freeze"]], how="left", on="outage")
    rows = rows.merge(crew, how="left", on="machine")
    rows = rows.merge(renew.assign(renew=True), how="left", on=["machine", "clearance"])
    rows["renew"] = rows["renew"].notna()
    rank = rows["need"].map({"firm": 0, "likely": 1, "contingent": 2})
    rows = rows.assign(rank=rank).sort_values(["start", "machine", "rank"], kind="stable")
    return tables.conform(rows.reset_index(drop=True), SCOPE)


def placed_table(placed: Placed | None) -> pd.DataFrame:
    """Return in which window each machine is opened (`PLACED`)."""
    if placed is None:
        return tables.empty(PLACED)
    names = [*placed.board.windows["outage"], None]  # left out: place -1
    rows = {
        "machine": list(placed.board.machines),
        "outage": [names[place] for place in placed.placing.window],
    }
    return tables.conform(pd.DataFrame(rows), PLACED)

"""A site's overhaul plan for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import pandas as pd

from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.overhaul.costs import COSTS_SAY, costs_table, opening_costs_table
from trendwear.report.overhaul.looks import LOOKS_SAY, best_looks_table, looks_table
from trendwear.report.overhaul.placing import placing_table, placing_words
from trendwear.report.overhaul.table import (
    BESIDE_EVERY_DATE,
    accepted_words,
    overhaul_table,
    renewals_table,
    to_order_table,
    windows_table,
)
from trendwear.report.terminal import text_table

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan
    from trendwear.planning.site_plan import Placed

__all__ = ["plan_lines"]

_ALL_AT_ONCE = 1


def plan_lines(plans: Sequence[SitePlan], width: int, placed: Placed | None = None) -> list[str]:
    """Return a plan as lines: the table; windows and renewals too where one machine is shown.

    ``placed`` is the site's machines in its windows, where the whole site is shown.
    """
    lines = [
        f"Overhaul plan as of {plans[0].as_of:%Y-%m-%d}",
        accepted_words(plans),
        BESIDE_EVERY_DATE,
        "",
        *text_table(overhaul_table(plans), width),
    ]
    if len(plans) == 1:
        plan = plans[0]
        if len(plan.overhaul) <= _ALL_AT_ONCE:
            lines += _part("Outage windows", windows_table(plan).drop(columns="machine"), width)
            lines += _part("Renew or leave", renewals_table(plan).drop(columns="machine"), width)
        lines += _looks(plan, width)
        lines += _part("Parts to order, those not on the shelf", to_order_table(plan), width)
        lines += _costs(plan, width)
    if placed is not None:
        lines += _part("The whole site in its windows", placing_table(placed), width)
        lines += placing_words(placed)
    return [*lines, "", SHORT_CAUTION]


def _looks(plan: SitePlan, width: int) -> list[str]:
    """Which check is worth its while: all of one machine, the best of each of a site."""
    machines = plan.overhaul["machine"].tolist()
    alone = len(machines) <= _ALL_AT_ONCE
    table = looks_table(plan, machines[0]) if machines and alone else best_looks_table(plan)
    lines = _part("Worth a look before the overhaul", table, width)
    return [*lines, LOOKS_SAY] if lines else []


def _costs(plan: SitePlan, width: int) -> list[str]:
    """What intervals cost, and the openings too where one machine is shown."""
    table = costs_table(plan)
    lines = _part("What an interval costs", table.loc[:, (table != "").any()], width)
    if len(plan.overhaul) <= _ALL_AT_ONCE:
        openings = opening_costs_table(plan).drop(columns="machine")
        lines += _part("What it costs to open in each window", openings, width)
    return [*lines, COSTS_SAY] if lines else []


def _part(heading: str, table: pd.DataFrame, width: int) -> list[str]:
    return ["", heading, *text_table(table, width)] if len(table) else []

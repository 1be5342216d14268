"""A site's overhaul plan for a terminal: a short table, then each machine in sentences."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.overhaul.answers import meant_window
from trendwear.report.overhaul.costs import COSTS_SAY, costs_table, opening_costs_table
from trendwear.report.overhaul.looks import LOOKS_SAY, best_looks_table, looks_table
from trendwear.report.overhaul.overview import in_order, machines_in_order
from trendwear.report.overhaul.placing import placing_table, placing_words
from trendwear.report.overhaul.table import (
    BESIDE_EVERY_DATE,
    accepted_words,
    overhaul_table,
    renewals_table,
    to_order_table,
    windows_table,
)
from trendwear.report.rounding import NONE
from trendwear.report.terminal import text_table

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan
    from trendwear.planning.site_plan import Placed

__all__ = ["gathered", "plan_lines"]

_ALL_AT_ONCE: Final = 1
_NARROWEST: Final = 100
"""Columns of text below which the table cannot be read."""
_WIDEST_SENTENCE: Final = 110
_IN_TABLE: Final = (
    "machine",
    "accepted risk",
    "latest overhaul",
    "governed by",
    "due date",
    "outage",
    "chance at outage",
    "order by",
)
_NUMBERED: Final = re.compile(r"(.*\D)(\d+)")


def plan_lines(plans: Sequence[SitePlan], width: int, placed: Placed | None = None) -> list[str]:
    """Return a plan as lines: the table; windows and renewals too where one machine is shown.

    ``placed`` is the site's machines in its windows, where the whole site is shown.
    """
    width = max(width, _NARROWEST)
    table = _most_pressing_first(plans)
    lines = [
        f"Overhaul plan as of {plans[0].as_of:%Y-%m-%d}",
        *textwrap.wrap(accepted_words(plans), width),
        BESIDE_EVERY_DATE,
        "",
        *text_table(table[list(_IN_TABLE)], width, _NARROWEST),
        "",
        *_machine_by_machine(table),
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
    return [*lines, "", *textwrap.wrap(SHORT_CAUTION, width)]


def _most_pressing_first(plans: Sequence[SitePlan]) -> pd.DataFrame:
    """The overhaul table, the machine that must be opened first on top.

    Where no window is in time, the first in which the machine can be opened.
    """
    table = in_order(overhaul_table(plans), machines_in_order(plans))
    for at, row in table.iterrows():
        first = meant_window(plans[0], row["machine"])
        dated = row["latest overhaul"] != NONE or row["due date"] != NONE
        if row["outage"] == NONE and first and dated:
            table.loc[at, "outage"] = f"none in time: {first}"
    return table


def _machine_by_machine(table: pd.DataFrame) -> Iterator[str]:
    """Yield what must be known of each machine, and what to renew, as short lists.

    What several accepted risks say alike is told once.
    """
    told = set()
    for row in table.to_dict("records"):
        said = [note for note in str(row["note"]).split("; ") if note != NONE]
        if row["renew"] != NONE:
            said.append(f"renew: {gathered(row['renew'].split('; '))}")
        alike = (row["machine"], row["accepted risk"], *said)
        if alike in told:
            continue
        told.add(alike)
        if said:
            risk = f" at {row['accepted risk']}" if row["accepted risk"] != NONE else ""
            yield f"{row['machine']}{risk}"
        for words in said:
            yield from textwrap.wrap(
                words, _WIDEST_SENTENCE, initial_indent="  - ", subsequent_indent="    "
            )


def gathered(names: Sequence[str]) -> str:
    """Return names as one list, those that differ in their number alone together.

    >>> gathered(["Carbon ring 1", "Carbon ring 2", "Rotor float"])
    'Carbon ring 1, 2; Rotor float'
    """
    together: dict[str, list[str]] = {}
    for name in names:
        found = _NUMBERED.fullmatch(name)
        together.setdefault(found[1] if found else name, []).append(found[2] if found else "")
    return "; ".join(name + ", ".join(numbers) for name, numbers in together.items())


def _looks(plan: SitePlan, width: int) -> list[str]:
    """Which check is worth its while: all of one machine, the best of each of a site."""
    machines = plan.overhaul["machine"].tolist()
    alone = len(machines) <= _ALL_AT_ONCE
    table = looks_table(plan, machines[0]) if machines and alone else best_looks_table(plan)
    lines = _part("Worth a look before the overhaul", table, width)
    return [*lines, *textwrap.wrap(LOOKS_SAY, width)] if lines else []


def _costs(plan: SitePlan, width: int) -> list[str]:
    """What intervals cost, and the openings too where one machine is shown."""
    table = costs_table(plan)
    lines = _part("What an interval costs", table.loc[:, (table != "").any()], width)
    if len(plan.overhaul) <= _ALL_AT_ONCE:
        openings = opening_costs_table(plan).drop(columns="machine")
        lines += _part("What it costs to open in each window", openings, width)
    return [*lines, *textwrap.wrap(COSTS_SAY, width)] if lines else []


def _part(heading: str, table: pd.DataFrame, width: int) -> list[str]:
    return ["", heading, *text_table(table, width, _NARROWEST)] if len(table) else []

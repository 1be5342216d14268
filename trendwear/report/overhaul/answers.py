"""The answers of all machines in a few columns, the one that must be opened first on top."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.notes import reckoned_day
from trendwear.report.limit_table import natural_key
from trendwear.report.rounding import NONE, hours_text

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan

__all__ = ["ALREADY", "answers_table", "first_to_open", "meant_window"]

ALREADY: Final = ("past its limit today", "above the accepted risk today")
"""Outcomes of machines that should be open already."""


def first_to_open(plan: SitePlan) -> list[str]:
    """Return the machines, the one that must be opened first on top.

    Those past a limit today, those above the accepted risk, then by the earlier of latest and
    due date; those without any date last.
    """
    table = plan.overhaul
    keyed = table.assign(
        rank=table["outcome"].map({word: place for place, word in enumerate(ALREADY)}).fillna(2),
        date=table[["latest_date", "due_date"]].min(axis=1),
        name=table["machine"].map(natural_key),
    )
    return list(keyed.sort_values(["rank", "date", "name"], kind="stable")["machine"])


def answers_table(plans: Sequence[SitePlan]) -> pd.DataFrame:
    """Return every machine's answer in a few columns, in the order of `first_to_open`.

    With several risks to choose from, the latest overhaul at each of them.
    """
    order = first_to_open(plans[0])
    by_machine = [plan.overhaul.set_index("machine").loc[order] for plan in plans]
    rows = by_machine[0].to_dict("records")
    table = {"machine": order}
    if len(plans) > 1:
        for plan, one in zip(plans, by_machine, strict=True):
            name = f"latest at {100 * (plan.accepted.for_all or 0.0):.3g} %"
            table[name] = [_latest(row) for row in one.to_dict("records")]
        table["due"] = [_due(row) for row in rows]
        return pd.DataFrame(table)
    table["latest overhaul"] = [_latest(row) for row in rows]
    table["due"] = [_due(row) for row in rows]
    table["window"] = [
        _in_table(row, meant_window(plans[0], machine))
        for machine, row in zip(order, rows, strict=True)
    ]
    table["order by"] = [_order_by(row) for row in rows]
    table["governed by"] = [row["governed_by"] or NONE for row in rows]
    return pd.DataFrame(table)


def _latest(row: dict[Any, Any]) -> str:
    if row["outcome"] in ALREADY:
        return "PAST A LIMIT" if row["outcome"] == ALREADY[0] else "ABOVE THE RISK"
    if pd.notna(row["latest_date"]):
        return reckoned_day(row["latest_date"], row["as_of"])
    hours = row["latest_hours"]
    return NONE if pd.isna(hours) else f"in {hours_text(hours)}"


def _in_table(row: dict[Any, Any], meant: str | None) -> str:
    if row["outage"]:
        return str(row["outage"])
    has_date = row["outcome"] in ALREADY or pd.notna(row["latest_date"])
    return f"({meant})" if meant and (has_date or pd.notna(row["due_date"])) else NONE


def _due(row: dict[Any, Any]) -> str:
    if pd.isna(row["due_date"]):
        return NONE
    late = " OVERDUE" if row["due_date"] < row["as_of"] else ""
    return f"{row['due_date']:%Y-%m-%d}{late}"


def _order_by(row: dict[Any, Any]) -> str:
    if pd.isna(row["order_by"]):
        return NONE
    late = " LATE" if row["order_by"] < row["as_of"] else ""
    return f"{row['order_by']:%Y-%m-%d}{late}"


def meant_window(plan: SitePlan, machine: str) -> str | None:
    """Return the window that the plan means to open a machine in, in time or not."""
    table = plan.renewals.table
    mine = table.loc[table["machine"] == machine, "outage"].dropna()
    return str(mine.iloc[0]) if len(mine) else None

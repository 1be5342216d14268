"""A planner's own choice in tables and sentences: renewed or left, and what follows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.around import TODAY
from trendwear.report.overhaul.held import holds_text, past_today
from trendwear.report.rounding import NONE, chance_text, hours_text

if TYPE_CHECKING:
    from trendwear.planning.override import Consequence, OpenMachine
    from trendwear.planning.plan import SitePlan

__all__ = [
    "RENEW",
    "choices_table",
    "consequence_words",
    "late_marked",
    "parts_table",
    "slip_table",
    "window_names",
]

RENEW: Final = "renew"
_FARTHEST: Final = 200_000.0
_LATE: Final = "background-color: #FBE3D6; color: #1A1A1A"


def choices_table(opened: OpenMachine) -> pd.DataFrame:
    """Return one row a clearance, ticked where the plan would renew it.

    A clearance limited both ways stands once, with the greater of its chances.
    """
    lines = opened.table
    both = lines.groupby("clearance", sort=False).agg(
        renew=("renew", "any"),
        left=("chance_left", "max"),
        renewed=("chance_renewed", "max"),
        start=("start_from", "first"),
    )
    return pd.DataFrame(
        {
            RENEW: both["renew"].astype(bool).to_numpy(),
            "clearance": both.index,
            "the plan says": both["renew"].map({True: "renew", False: "leave"}).to_numpy(),
            "chance past, left": [chance_text(one) for one in both["left"]],
            "chance past, renewed": [chance_text(one) for one in both["renewed"]],
            "a renewed part starts from": both["start"].to_numpy(),
        }
    )


def consequence_words(opened: OpenMachine, found: Consequence) -> list[str]:
    """Say what follows from a choice."""
    return list(_words(opened, found))


def _words(opened: OpenMachine, found: Consequence) -> Iterator[str]:
    after = opened.following
    for row in found.by_heading.to_dict("records"):
        yield _heading_words(row, after)
    hours = found.interval_hours
    if hours >= _FARTHEST:
        yield "Interval bought: the accepted risk is not reached within 200,000 running hours."
    elif hours == 0:
        yield "Interval bought: none, an accepted risk is exceeded at the opening already."
    elif pd.notna(hours):
        day = found.interval_date
        until = f", until about {day:%Y-%m-%d}" if pd.notna(day) else ""
        yield f"Interval bought: {hours_text(hours)} from the opening{until}."
    if len(found.governs):
        shares = [f"{name} ({100 * share:.0f} %)" for name, share in found.governs.items()]
        yield f"Then governs: {', '.join(shares)}."
    for name in found.split_sets:
        yield f"Set {name} would be renewed in part only."
    startless = found.lines[found.lines["renew"] & found.lines["chance_renewed"].isna()]
    if len(startless) and found.by_heading["chance"].notna().any():
        names = ", ".join(startless["clearance"].drop_duplicates())
        yield f"Counted as good once renewed, no start being known: {names}."


def _heading_words(row: dict[Any, Any], after: str | None) -> str:
    of = "a limit" if row["heading"] == "any limit" else f"a limit ({row['heading']})"
    accepted = f"accepted {100 * row['risk']:.3g} %"
    if pd.isna(row["chance"]):
        return f"Chance of {of} passed before the following opening: not known; {accepted}."
    before = after or "the following opening"
    holds = "holds" if row["holds"] else "EXCEEDED"
    chance = chance_text(row["chance"])
    return f"Chance of {of} passed before {before}: {chance}, {accepted}: {holds}."


def slip_table(plan: SitePlan, machine: str) -> pd.DataFrame:
    """Return one machine's windows as text, with what one window later costs in risk."""
    mine = plan.windows[plan.windows["machine"] == machine]
    past = past_today(plan)
    rows = [
        (
            row["outage"],
            f"{row['start']:%Y-%m-%d}",
            chance_text(row["chance_before"]),
            NONE if pd.isna(row["expected_past"]) else f"{row['expected_past']:.1f}",
            holds_text(row, past),
            _slip(row, mine),
            row["hindrance"] or "",
        )
        for row in mine.to_dict("records")
    ]
    names = ["window", "starts", "chance before it", "expected past", "risk holds"]
    last = ["one window later", "why it cannot be opened in it"]
    return pd.DataFrame(rows, columns=[*names, *last])


def _slip(row: dict[Any, Any], windows: pd.DataFrame) -> str:
    """The chance at the next window in which the machine can be opened, and how much more."""
    after = windows[windows["hindrance"].isna() & (windows["start"] > row["end"])]
    if after.empty:
        return NONE
    then = after.iloc[0]
    more = then["chance_before"] - row["chance_before"]
    if pd.isna(more):
        return f"{then['outage']}"
    points = "under 1" if more < 0.005 else f"{100 * more:.0f}"
    return f"{chance_text(then['chance_before'])} (+{points}), {then['outage']}"


def parts_table(orders: pd.DataFrame) -> pd.DataFrame:
    """Return what one machine needs as text, the most urgent first.

    Parameters
    ----------
    orders : DataFrame
        `trendwear.planning_tables.ORDERS` of the machine.
    """
    rows = [
        (
            _order_by(row),
            row["need"],
            row["clearance"],
            f"{row['to_order']:g}",
            f"{row['from_stock']:g}",
            NONE if pd.isna(row["lead_time_days"]) else f"{row['lead_time_days']:.0f} d",
            _or_none(row["part"]),
            _or_none(row["part_no"]),
            _at_the_supplier(row),
            row["note"] or "",
            chance_text(row["chance_needed"]),
            chance_text(row["chance_before_delivery"]),
        )
        for row in orders.to_dict("records")
    ]
    first = ["order by", "need", "clearance", "to order", "from stock", "lead time"]
    called = ["part", "part number", "at the supplier", "note"]
    last = ["chance it is needed", "chance past before delivery"]
    return pd.DataFrame(rows, columns=[*first, *called, *last])


def _order_by(row: dict[Any, Any]) -> str:
    if pd.isna(row["order_by"]):
        return NONE
    return f"{row['order_by']:%Y-%m-%d}" + (" LATE" if row["late"] else "")


def _at_the_supplier(row: dict[Any, Any]) -> str:
    names = ("supplier", "supplier_part_name", "supplier_part_no")
    return ", ".join(str(row[name]) for name in names if isinstance(row[name], str)) or NONE


def _or_none(text: object) -> str:
    return text if isinstance(text, str) else NONE


def late_marked(table: pd.DataFrame) -> Any:
    """Return a table of parts whose late lines stand out in colour, beside the word."""
    late = table["order by"].str.endswith("LATE") if len(table) else pd.Series(dtype=bool)

    def colour(row: pd.Series) -> list[str]:
        return [_LATE if late[row.name] else ""] * len(row)

    return table.style.apply(colour, axis=1) if len(table) else table


def window_names(plan: SitePlan, machine: str) -> dict[str, str]:
    """Return the windows on offer, and an opening today, with words for each."""
    mine = plan.windows[plan.windows["machine"] == machine]
    named = {
        str(row["outage"]): f"{row['outage']} (from {row['start']:%Y-%m-%d})"
        + (" - cannot be opened in it" if row["hindrance"] else "")
        for row in mine.to_dict("records")
    }
    return {**named, TODAY: "opened today, outside all windows"}

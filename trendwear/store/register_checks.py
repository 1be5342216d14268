"""What a register row must not say: limits on the wrong side, plans that overlap …"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import pandas as pd

from trendwear.store.duty_checks import duty_faults
from trendwear.store.ledger import Fault
from trendwear.store.names_checks import spellings_alone
from trendwear.store.tags import former_tags, tag_faults
from trendwear.wording import fold_column

__all__ = ["group_faults", "row_faults"]

POWERS: Final = (0.2, 3.0)
"""Bends of wear in time that are believable (common practice, no source)."""

_NOT_NEGATIVE: Final = (
    *("lead_time_days", "price", "in_stock", "quantity"),
    *("open_days", "crew_days", "crew_day_cost", "cost_if_past", "cost", "machines"),
    "tolerance_days",
)

_WITHIN: Final = {
    "risks": (
        0.0,
        1.0,
        Fault("accepted", "a chance lies between 0 and 1", "Write 0.1 for one in ten"),
    ),
    "materials": (
        1e-7,
        1e-4,
        Fault(
            "expansion",
            "no material grows by that much for one degree",
            "Write the relative growth for one degree, such as 11.7e-6",
        ),
    ),
}
"""Registers with a number that lies within two others."""

Verdict = tuple[pd.Series, Fault]
"""Which rows are refused, and why."""


def row_faults(sheet: str, rows: pd.DataFrame) -> Iterator[Verdict]:
    """Yield what is wrong with rows of one register, each looked at alone."""
    if sheet == "clearances":
        yield from limit_faults(rows)
    if sheet == "outages":
        yield (
            rows["end"] < rows["start"],
            Fault("end", "the window ends before it starts", "Write the last day after the first"),
        )
    if sheet in _WITHIN:
        low, high, fault = _WITHIN[sheet]
        yield _outside(rows[fault.column], low, high), fault
    if sheet == "families":
        yield (
            rows["hours_per_start"] < 0,
            Fault(
                "hours_per_start",
                "a start cannot take wear away",
                "Write the hours of wear that one start is worth, 0 or more",
            ),
        )
        yield (
            _outside(rows["power"], *POWERS),
            Fault(
                "power",
                "the bend of wear in time lies between 0.2 and 3",
                "Write 1 for straight wear, less for running in, more for ever faster",
            ),
        )
    if sheet == "duty_plan":
        yield (
            _outside(rows["hours_per_day"], 0.0, 24.0),
            Fault(
                "hours_per_day",
                "a day has 0 to 24 running hours",
                "Write the hours run on a usual day",
            ),
        )
        yield (
            rows["to"] < rows["from"],
            Fault("to", "the last day lies before the first", "Write the last day after the first"),
        )
    if sheet == "concessions":
        yield (
            rows["until"] < rows["date"],
            Fault(
                "until",
                "the concession ends before it was signed",
                "Write its last day, or leave it blank where it holds until the part is renewed",
            ),
        )
        yield (
            rows["accepted_limit_mm"] <= 0,
            Fault("accepted_limit", "a limit is above 0", "Write the size accepted, or nothing"),
        )
    if sheet == "names":
        yield (
            rows["clearance"].isna() & rows["kind"].isna() & ~former_tags(rows),
            Fault(
                "as_written",
                "neither a position nor a kind is given for it",
                "Fill clearance or kind, or write yes into former_tag where it is a machine's",
            ),
        )
        yield from tag_faults(rows)
        yield from spellings_alone(rows)
    for column in _NOT_NEGATIVE:
        if column in rows:
            yield (
                rows[column] < 0,
                Fault(column, "the number is negative", "Write 0 or more, or leave it blank"),
            )


def group_faults(sheet: str, rows: pd.DataFrame, stored: pd.DataFrame) -> Iterator[Verdict]:
    """Yield what is wrong with rows beside one another and beside those stored."""
    after = pd.concat(
        [part for part in (stored[~stored["key"].isin(rows["key"])], rows) if len(part)] or [rows]
    )
    if sheet == "clearances":
        for column in ("basis", "kind"):
            yield (
                _unlike(after, column).reindex(rows.index),
                Fault(
                    column,
                    f"the rows of one position differ in {column}",
                    f"Give all rows of the position the same {column}",
                ),
            )
    if sheet == "duty_plan":
        yield from duty_faults(rows, after)


def limit_faults(rows: pd.DataFrame) -> Iterator[Verdict]:
    """Yield clearances whose limit or design values contradict one another."""
    smallest, largest, limit = rows["design_min_mm"], rows["design_max_mm"], rows["limit_mm"]
    opens = rows["moves"] == "opens"
    yield (
        smallest > largest,
        Fault("design_min", "design_min is larger than design_max", "Check both, and their units"),
    )
    yield (
        opens & (limit <= 0),
        Fault(
            "limit",
            "it opens, and a limit of 0 is passed from the first day",
            "Write the largest size allowed, or leave limit blank",
        ),
    )
    at_most, at_least = largest.fillna(smallest), smallest.fillna(largest)
    yield (
        opens & (limit < at_most),
        Fault(
            "limit",
            "it opens, so its limit is larger than as built; here it is smaller than design_max",
            "Check limit, design_max, moves and the units",
        ),
    )
    yield (
        ~opens & (limit > at_least),
        Fault(
            "limit",
            "it closes, so its limit is smaller than as built; here it is larger than design_min",
            "Check limit, design_min, moves and the units",
        ),
    )


def _unlike(after: pd.DataFrame, column: str) -> pd.Series:
    """Whether the rows of a position differ in a column that belongs to the position."""
    position = [after["machine_key"], after["clearance_key"]]
    variants = fold_column(after[column]).groupby(position).transform("nunique")
    marked = variants > 1
    return marked[~marked.index.duplicated(keep="last")]


def _outside(column: pd.Series, low: float, high: float) -> pd.Series:
    return (column < low) | (column > high)

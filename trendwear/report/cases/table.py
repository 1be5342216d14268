"""A case beside today's plan as plain text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.overhaul import Answer
from trendwear.report.rounding import NONE, chance_text

if TYPE_CHECKING:
    from trendwear.planning.case_compare import Comparison

__all__ = [
    "CASE_HEADINGS",
    "SAME",
    "UNMOVED",
    "cases_table",
    "compared",
    "moved_words",
    "without_alike",
]

SAME: Final = "same"
"""What stands in a cell of the case where it says what today's plan says."""
UNMOVED: Final = "nothing changes"

CASE_HEADINGS: Final[dict[str, str]] = {
    "machine": "the machine; those for which nothing changes stand last",
    "accepted risk": "the chance of passing a limit that today's plan accepts",
    "latest overhaul today": "the last day on which no accepted risk is exceeded, as planned",
    "in the case": "the same day in the case",
    "moves": "by how much the latest overhaul moves",
    "window today": "the last window that starts in time and in which the machine can be opened",
    "window in the case": "the same in the case",
    "chance by the window": "that some limit is passed before today's window, else the first "
    "that fits, starts",
    "by it in the case": "the same in the case, where the window still takes place",
    "governed by": "the clearances that make most of the chance, with their shares",
    "governed by in the case": "the same in the case",
    "order by": "when the first of the firm parts must be ordered",
    "order by in the case": "the same in the case",
    "renew": "what to renew at the window",
    "renew in the case": "the same in the case",
}
"""Columns for people, and what each says."""

_LAST_PAIRS: Final = ("governed by", "order by", "renew")
_ALREADY: Final = (Answer.PAST.value, Answer.ABOVE.value)
_DAYS_A_MONTH: Final = 365.25 / 12
_TO_THE_DAY: Final = 120


def compared(comparisons: Sequence[Comparison]) -> pd.DataFrame:
    """Return the tables (`COMPARED`) of a case at one or several accepted risks as one."""
    tables = [one.table for one in comparisons]
    whole = pd.concat(tables, ignore_index=True) if len(tables) > 1 else tables[0]
    days = whole["moved_days"].abs().fillna(-1.0)
    whole = whole.assign(days=days).sort_values(["moved", "days"], ascending=False, kind="stable")
    return whole.drop(columns="days").reset_index(drop=True)


def cases_table(comparisons: Sequence[Comparison]) -> pd.DataFrame:
    """Return the columns `CASE_HEADINGS` as text, one row a machine (and accepted risk)."""
    rows = [_row(row) for row in compared(comparisons).to_dict("records")]
    table = pd.DataFrame(rows, columns=list(CASE_HEADINGS))
    return table if len(comparisons) > 1 else table.drop(columns="accepted risk")


def without_alike(table: pd.DataFrame) -> pd.DataFrame:
    """Leave out the pairs of which the case says of every machine what today's plan says."""
    alike = [name for name in _LAST_PAIRS if (table[f"{name} in the case"] == SAME).all()]
    return table.drop(
        columns=[column for name in alike for column in (name, f"{name} in the case")]
    )


def moved_words(days: float) -> str:
    """Say by how much a date moves.

    >>> moved_words(-45.0), moved_words(400.0), moved_words(0.0)
    ('45 days earlier', '13 months later', 'same day')
    """
    if pd.isna(days):
        return NONE
    if days == 0:
        return "same day"
    size = abs(days)
    count = round(size) if size <= _TO_THE_DAY else round(size / _DAYS_A_MONTH)
    unit = "day" if size <= _TO_THE_DAY else "month"
    return f"{count} {unit}{'' if count == 1 else 's'} {'earlier' if days < 0 else 'later'}"


def _row(row: dict[Any, Any]) -> tuple[str, ...]:
    dates = _pair(_latest(row, ""), _latest(row, "_case"))
    window = _pair(row["outage"] or NONE, row["outage_case"] or NONE)
    chances = _chances(row)
    return (
        row["machine"],
        NONE if pd.isna(row["risk"]) else f"{100 * row['risk']:.3g} %",
        *dates,
        _moves(row),
        *window,
        *chances,
        *_pair(row["governed_by"] or NONE, row["governed_by_case"] or NONE),
        *_pair(_day(row["order_by"]), _day(row["order_by_case"])),
        *_pair(row["renew"] or NONE, row["renew_case"] or NONE),
    )


def _pair(today: str, case: str) -> tuple[str, str]:
    return today, SAME if case == today else case


def _latest(row: dict[Any, Any], which: str) -> str:
    if row[f"outcome{which}"] in _ALREADY and row[f"latest_date{which}"] <= row["as_of"]:
        return "already"
    if pd.isna(row[f"latest_date{which}"]):
        return str(row[f"outcome{which}"])
    return _day(row[f"latest_date{which}"])


def _moves(row: dict[Any, Any]) -> str:
    if not row["moved"]:
        return UNMOVED
    return moved_words(row["moved_days"])


def _chances(row: dict[Any, Any]) -> tuple[str, str]:
    if not row["window"]:
        return NONE, NONE
    today = _chance(row, "")
    if pd.isna(row["chance_at_window_case"]) and pd.notna(row["chance_at_window"]):
        return f"{today}, {row['window']}", "no such window"
    case = _chance(row, "_case")
    return f"{today}, {row['window']}", SAME if case == today else case


def _chance(row: dict[Any, Any], which: str) -> str:
    """A chance; what is past its limit already is not in it, and that is said."""
    beside = " by the others" if row[f"past_today{which}"] else ""
    return chance_text(row[f"chance_at_window{which}"]) + beside


def _day(date: Any) -> str:
    return NONE if pd.isna(date) else f"{date:%Y-%m-%d}"

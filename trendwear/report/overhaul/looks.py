"""Which check before the overhaul is worth its while, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.notes import reckoned_day
from trendwear.planning.worth_a_look import WORTH_A_LOOK
from trendwear.report.rounding import (
    NONE,
    Grain,
    chance_text,
    date_text,
    grain_of,
    length_text,
)

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan

__all__ = ["LOOKS_SAY", "LOOK_MEANINGS", "best_looks_table", "looks_table"]

LOOKS_SAY: Final = (
    "One more reading today, nothing taken apart further than said and nothing reset, may move "
    "the latest overhaul. 9 of 10 such readings would leave it between the two dates; all other "
    "clearances are taken as they are."
)
"""What stands beside the tables."""

LOOK_MEANINGS: Final[dict[str, str]] = {
    "machine": "the machine",
    "clearance": "the clearance to be read once more",
    "moves": "whether it opens or closes with wear",
    "access": "what must be opened to read it",
    "method": "the method of its last check, else of its last reading",
    "uncertainty": "one standard uncertainty of that method, in the unit",
    "unit": "unit of the readings",
    "latest_date": "the machine's latest overhaul as things stand",
    "chance_past": "chance that this clearance is past its limit on that date, 0 to 1",
    "date_p05": "after the reading the latest overhaul would be earlier than this 1 time in 20",
    "date_p95": "and later than this 1 time in 20; empty where no date is in reach",
    "hours_p05": "the earlier of the two in planned running hours from as_of",
    "hours_p95": "the later",
    "reading_p05": "the reading to be expected: lower than this 1 time in 20",
    "reading_p95": "higher than this 1 time in 20",
    "outage": "the window in time, as things stand",
    "chance_sooner": "chance that after the reading it is no longer in time, 0 to 1",
    "later_outage": "the next window that would do",
    "chance_later": "chance that after the reading that one is in time, 0 to 1",
    "reading_later": "a reading no more worn than this lets it wait until then",
    "decides": "whether the reading may well change the window",
    "place": "order in its machine: what decides first, then what is easiest reached",
}
"""What each column of `trendwear.planning_tables.LOOKS` says."""

_PER_MACHINE: Final = 2
_HARDLY_DAYS: Final = 31
_EXACT: Final = 4
_NOISE: Final = 1e-6
_COLUMNS: Final = ["read once more", "open", "with", "reading expected", "latest overhaul then"]


def looks_table(plan: SitePlan, machine: str) -> pd.DataFrame:
    """Return what one more reading of each clearance of a machine may change, as text.

    One row a clearance that has a say in the date, the best first; no row where no reading
    can move it.
    """
    mine = plan.looks[plan.looks["machine"] == machine]
    rows = [_words(row, plan) for row in mine.to_dict("records")]
    return pd.DataFrame(rows, columns=[*_COLUMNS, "what it may change"])


def best_looks_table(plan: SitePlan) -> pd.DataFrame:
    """Return the best one or two readings of every machine whose window may change by them."""
    deciding = plan.looks[plan.looks["decides"].astype(bool)]
    best = deciding.groupby("machine", sort=False).head(_PER_MACHINE)
    rows = [(row["machine"], *_words(row, plan)) for row in best.to_dict("records")]
    return pd.DataFrame(rows, columns=["machine", *_COLUMNS, "what it may change"])


def _words(row: dict[Any, Any], plan: SitePlan) -> tuple[str, ...]:
    low, high = _length(row["reading_p05"], row), _length(row["reading_p95"], row)
    return (
        row["clearance"],
        _opened(row["access"]),
        row["method"] if isinstance(row["method"], str) else NONE,
        f"{low} to {high} {row['unit']}",
        _dates(row, pd.Timestamp(plan.as_of)),
        "; ".join(_changes(row)),
    )


def _opened(access: object) -> str:
    if not isinstance(access, str):
        return "not stated"
    return "nothing" if access == "none" else access


def _length(value: float, row: dict[Any, Any]) -> str:
    return length_text(value, _decimals(row))


def _decimals(row: dict[Any, Any]) -> int:
    """Decimals that show a reading as finely as its gauge tells it."""
    u = row["uncertainty"]
    return min(max(math.ceil(-math.log10(u)), 0), 6) if u > 0 else _EXACT


def _dates(row: dict[Any, Any], as_of: pd.Timestamp) -> str:
    early, late = row["date_p05"], row["date_p95"]
    grain = grain_of(early, late)

    def told(date: pd.Timestamp) -> str:
        by_day = grain is Grain.DAY and pd.notna(date)
        return reckoned_day(date, as_of) if by_day else date_text(date, grain)

    first = "already reached" if row["hours_p05"] == 0 else told(early)
    last = "beyond reach" if pd.isna(row["hours_p95"]) else told(late)
    if row["hours_p95"] == 0:
        last = "already reached"
    return first if first == last else f"{first} to {last}"


def _changes(row: dict[Any, Any]) -> Iterator[str]:
    if row["chance_sooner"] >= WORTH_A_LOOK:
        yield f"{chance_text(row['chance_sooner'])}: {row['outage']} is too late"
    if row["chance_later"] >= WORTH_A_LOOK:
        yield f"{chance_text(row['chance_later'])}: {row['later_outage']} would do{_up_to(row)}"
    if row["decides"]:
        return
    early, late = row["date_p05"], row["date_p95"]
    still = pd.notna(early) and pd.notna(late) and (late - early).days <= _HARDLY_DAYS
    hardly = still or row["hours_p95"] == 0
    yield "hardly moves the date" if hardly else "moves the date, hardly the window"


def _up_to(row: dict[Any, Any]) -> str:
    if pd.isna(row["reading_later"]):
        return ""
    less = row["moves"] == "opens"
    step = 10.0 ** -_decimals(row)
    # Rounded to the side of the less worn.
    steps = row["reading_later"] / step
    whole = (math.floor(steps + _NOISE) if less else math.ceil(steps - _NOISE)) * step
    return f", at {_length(whole, row)} {row['unit']} or {'less' if less else 'more'}"

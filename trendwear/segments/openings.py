"""Which readings and work belong to one opening of a machine.

Rows whose hours lie within 24 h of the opening's first row belong together; where
hours are not stated, rows within 45 days.  Rows of the same named opening always do,
rows of differently named ones never.  A check on a closed machine belongs to none.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["NO_OPENING", "number_openings"]

OPENING_HOURS: Final = 24.0
OPENING_DAYS: Final = 45.0
NO_OPENING: Final = -1


@dataclass
class _Opening:
    """An opening while its rows are gathered."""

    name: str | None
    day: float  # of its first row, NaN where unknown
    hours: float  # of its first row that states them, NaN where none does
    last_day: float  # of its last row that bears its name or states hours, NaN where unknown

    def distance(self, row: _Row) -> float:
        """How far the row lies from the opening, 1 at the edge; inf where it cannot belong."""
        if self.name is not None and row.name is not None and self.name != row.name:
            return np.inf
        if np.isfinite(row.hours) and np.isfinite(self.hours):
            return _share(row.hours - self.hours, OPENING_HOURS)
        if self.spans(row.day):
            return 0.0
        return _share(row.day - self.day, OPENING_DAYS)

    def spans(self, day: float) -> bool:
        """Whether the day lies between its first and its last row: an opening may take weeks."""
        return self.day <= day <= self.last_day

    def begin_no_later_than(self, row: _Row) -> None:
        """A row of the same name may come before those seen so far."""
        self.day = float(np.fmin(self.day, row.day))
        self.last_day = float(np.fmax(self.last_day, row.day))
        self.hours = float(np.fmin(self.hours, row.hours))

    def fill_from(self, row: _Row) -> None:
        """Take what is not known yet from a row that belongs."""
        self.day = row.day if np.isnan(self.day) else self.day
        self.hours = row.hours if np.isnan(self.hours) else self.hours
        if np.isfinite(row.hours):
            self.last_day = float(np.fmax(self.last_day, row.day))


@dataclass(frozen=True)
class _Row:
    name: str | None
    day: float
    hours: float


def _share(gap: float, allowed: float) -> float:
    if not np.isfinite(gap) or allowed <= 0:
        return np.inf
    return abs(gap) / allowed


def number_openings(rows: pd.DataFrame) -> pd.Series:
    """Number the openings of one machine.

    Parameters
    ----------
    rows : DataFrame
        Readings and work of one machine: ``name`` (of the opening, folded; missing
        where none), ``day`` (days since 1970, NaN where unknown), ``hours`` (bridged,
        NaN where unknown) and ``is_check``.

    Returns
    -------
    Series of int
        The opening of each row, 0, 1, … in order of time; `NO_OPENING` for a check.
    """
    numbers = pd.Series(NO_OPENING, index=rows.index, dtype="int64")
    opened = np.flatnonzero(~rows["is_check"].to_numpy(dtype=bool))
    if not len(opened):
        return numbers
    names = (name if isinstance(name, str) else None for name in rows["name"].iloc[opened])
    days, hours = (rows[column].to_numpy(dtype=float)[opened] for column in ("day", "hours"))
    # None stands for NaN, which does not equal itself
    keys = list(zip(names, _known(days), _known(hours), strict=True))
    found: list[_Opening] = []
    belongs = {
        key: _join(found, _Row(key[0], _or_nan(key[1]), _or_nan(key[2])))
        for key in sorted(dict.fromkeys(keys), key=_gathering_order)
    }
    rank = np.argsort(np.argsort([_when(opening, rows) for opening in found], kind="stable"))
    numbers.iloc[opened] = rank[[belongs[key] for key in keys]]
    return numbers


_Key = tuple[str | None, float | None, float | None]


def _known(numbers: NDArray[np.float64]) -> list[float | None]:
    return [None if number != number else number for number in numbers.tolist()]


def _or_nan(number: float | None) -> float:
    return np.nan if number is None else number


def _gathering_order(key: _Key) -> tuple[int, float, float]:
    """Named rows first, then rows that state hours, then the rest; each in order of time."""
    name, day, hours = key
    stage = 0 if name is not None else 1 if hours is not None else 2
    return stage, np.inf if hours is None else hours, np.inf if day is None else day


def _join(found: list[_Opening], row: _Row) -> int:
    """Put the row into the opening it belongs to, a new one where there is none."""
    for number, opening in enumerate(found):
        if row.name is not None and opening.name == row.name:
            opening.begin_no_later_than(row)
            return number
    near = [opening.distance(row) for opening in found]
    if row.name is None and near and min(near) <= 1.0:
        best = int(np.argmin(near))
        found[best].fill_from(row)
        return best
    found.append(_Opening(row.name, row.day, row.hours, row.day))
    return len(found) - 1


def _when(opening: _Opening, rows: pd.DataFrame) -> float:
    """Order of an opening in time: its day, else the day at its hours."""
    if np.isfinite(opening.day):
        return opening.day
    known = rows[rows["day"].notna() & rows["hours"].notna()].sort_values("hours")
    if known.empty:
        return opening.hours
    return float(np.interp(opening.hours, known["hours"], known["day"]))

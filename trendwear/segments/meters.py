"""Hours counted over all hour meters of a machine, and over meters that rolled over.

A ``replaced`` log row is the new meter's first reading; between the old meter's last row
and it no hours are counted.  A ``rolled over`` row is the first reading after the meter
passed its highest figure (99,999 or 999,999) and went on from 0: the hours between are
counted.  Hours that fall without such a row are unknown, and so are hours that could
belong to either of two meters, or that no machine can have run.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["REPLACED", "ROLLED_OVER", "bridge_meters"]

Floats = NDArray[np.float64]
Rows = NDArray[np.bool_]

REPLACED: Final = "replaced"
ROLLED_OVER: Final = "rolled over"
FEWEST_FIGURES: Final = 4
"""Hour meters have four figures before the point or more (*common practice, no source*)."""
_HOURS_A_DAY: Final = 24.0
_FALL: Final = "hours fall and no meter was replaced"
_WHICH_METER: Final = "a meter was replaced and the row's date does not tell which meter it is on"
_TOO_FAST: Final = "a meter is said to have rolled over, but that would be over 24 h a day"


@dataclass(frozen=True)
class _Points:
    """Rows of one machine, as arrays."""

    day: Floats
    vague: Floats
    run: Floats
    stated: Rows

    def highest(self, rows: Rows) -> float:
        """Return the highest reading of some rows, 0 where there is none."""
        return float(self.run[rows].max(initial=0.0))


def bridge_meters(points: pd.DataFrame) -> pd.DataFrame:
    """Count hours over all meters of one machine.

    Parameters
    ----------
    points : DataFrame
        Rows of one machine: ``day`` (NaN where unknown), ``vague`` (days by which the
        day may be off), ``run_hours`` (as on the meter; NaN where not stated),
        ``rough`` (flag: the hours have a spread) and ``meter`` (`REPLACED`,
        `ROLLED_OVER` or missing).

    Returns
    -------
    DataFrame
        The same index with ``hours`` (bridged; NaN where unknown) and ``doubt``
        (why they are unknown, in words; missing where they are known or were not stated).
    """
    bridged, doubt = _over_meters(points)
    doubts = pd.Series(doubt, index=points.index, dtype="object")
    fallen = _falling(points, bridged)
    if fallen.any():
        doubts[fallen] = _why_fallen(points, bridged, fallen)
    return pd.DataFrame({"hours": bridged.mask(fallen), "doubt": doubts})


def _over_meters(points: pd.DataFrame) -> tuple[pd.Series, list[str | None]]:
    """Hours counted over all meters, and why a row's hours cannot be told."""
    hours = points["run_hours"].astype("float64").copy()
    doubt: list[str | None] = [None] * len(points)
    changes = np.flatnonzero(points["meter"].notna() & points["run_hours"].notna())
    if not len(changes):
        return hours, doubt
    run = hours.to_numpy()
    at = _Points(points["day"].to_numpy(), points["vague"].to_numpy(), run, np.isfinite(run))
    rolled = (points["meter"] == ROLLED_OVER).to_numpy()
    is_change = np.zeros(len(points), dtype=bool)
    is_change[changes] = True
    meter = np.zeros(len(points), dtype=int)
    unsure = np.zeros(len(points), dtype=bool)
    offsets = [0.0]
    for number, row in enumerate(changes[np.argsort(at.day[changes])], start=1):
        on_old = (meter == number - 1) & (at.day <= at.day[row]) & ~is_change & at.stated
        went_on, added = _TURN if rolled[row] else _NEW_METER
        is_new = went_on(at, on_old, row)
        offsets.append(offsets[-1] + added(at, on_old & ~is_new, row))
        near = at.vague + at.vague[row]
        unsure |= np.isnan(at.day) | ((near > 0) & (abs(at.day - at.day[row]) <= near))
        newer = (at.day > at.day[row]) | is_new
        newer[row] = True
        meter[newer] = number
    unsure &= at.stated & ~is_change
    counted = hours + np.asarray(offsets)[meter]
    lost = at.stated & counted.isna().to_numpy()
    for place in np.flatnonzero(unsure | lost):
        doubt[place] = _WHICH_METER if unsure[place] else _TOO_FAST
    return counted.mask(unsure), doubt


def _on_new_meter(at: _Points, on_old: Rows, row: int) -> Rows:
    """Rows of the day a meter was replaced that belong to the new one: they lie nearer to it."""
    same_day = on_old & (at.day == at.day[row])
    earlier = on_old & ~same_day
    old_last = at.highest(earlier if earlier.any() else same_day)
    return np.asarray(same_day & (abs(at.run - at.run[row]) < abs(at.run - old_last)))


def _after_turn(at: _Points, on_old: Rows, row: int) -> Rows:
    """Rows between the meter's highest reading and the row that says it has rolled over."""
    if not on_old.any():
        return on_old
    highest = np.flatnonzero(on_old)[np.argmax(at.run[on_old])]
    low = on_old & (at.run <= at.run[row]) & (at.run < at.run[highest])
    return np.asarray(low & (at.day >= at.day[highest]))


def _of_new_meter(at: _Points, stays: Rows, row: int) -> float:
    """Hours to add from a new meter's first reading on."""
    return at.highest(stays) - float(at.run[row])


def _of_turn(at: _Points, stays: Rows, row: int) -> float:
    """Hours to add after a meter rolled over; NaN where no machine runs so fast."""
    last = at.highest(stays)
    days = at.day[row] - at.day[stays][np.argmax(at.run[stays])] if stays.any() else np.inf
    turn = _turn_after(last)
    return turn if _can_run(turn - last + at.run[row], days + at.vague[row]) else float("nan")


_NEW_METER: Final = (_on_new_meter, _of_new_meter)
_TURN: Final = (_after_turn, _of_turn)


def _turn_after(hours: float) -> float:
    """Where a meter of as few figures as will show ``hours`` begins again: 100,000 after 98,500."""
    figures = max(len(str(int(hours))), FEWEST_FIGURES)
    return float(10**figures)


def _can_run(hours: float, days: float) -> bool:
    """Whether a machine can run so many hours from one day to another, both counted whole."""
    return hours <= _HOURS_A_DAY * (days + 1.0)


def _falling(points: pd.DataFrame, hours: pd.Series) -> pd.Series:
    """Rows with a firm date whose hours are fewer than an earlier row's."""
    order = _firm(points, hours)
    falls = order["hours"] < order["hours"].cummax() - 1e-9
    return falls.reindex(points.index, fill_value=False).astype(bool)


def _firm(points: pd.DataFrame, hours: pd.Series) -> pd.DataFrame:
    """Rows with a firm date and hours, in order of time."""
    firm = hours.notna() & points["day"].notna() & (points["vague"] == 0) & ~points["rough"]
    order = pd.DataFrame({"day": points["day"], "hours": hours, "run": points["run_hours"]})
    return order[firm].sort_values(["day", "hours"], kind="stable")


def _why_fallen(points: pd.DataFrame, hours: pd.Series, fallen: pd.Series) -> list[str]:
    """Say that hours fall, and that the meter may have rolled over where it can have."""
    order = _firm(points, hours)
    highest = order["hours"].where(~fallen.reindex(order.index)).ffill()
    before = order[~fallen.reindex(order.index)].drop_duplicates("hours", keep="last")
    before = before.set_index("hours")
    words = []
    for row in points.index[fallen]:
        last = before.loc[highest[row]]
        turn = _turn_after(last["run"])
        run = turn - last["run"] + order.at[row, "run"]
        could = _can_run(run, order.at[row, "day"] - last["day"])
        hint = f"; if it passed {turn - 1:,.0f} h, say rolled over in run_log" if could else ""
        words.append(_FALL + hint)
    return words

"""A family of like clearances in words and as a table: which member wears faster than the rest."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.report.rounding import NONE, hours_text, length_text, share_text
from trendwear.report.units import unit_label

if TYPE_CHECKING:
    from trendwear.forecasting.family import FamilyView

__all__ = ["FASTER", "LIKE", "SLOWER", "family_table", "family_words", "members_in", "rate_unit"]

FASTER: Final = "faster"
LIKE: Final = "as others"
SLOWER: Final = "slower"
_UNKNOWN: Final = "no rate yet"

_RATES: Final = ("rate", "low", "high")
_NAMED: Final = 6
"""At most so many members are named in a sentence."""


def members_in(view: FamilyView, unit: str) -> pd.DataFrame:
    """Return the members with their rates in ``unit`` per 1000 h, the fastest first.

    Returns
    -------
    DataFrame
        Columns machine, clearance, readings, rate, low, high, own_share, and verdict:
        `FASTER` where the whole band lies above the family's mean, `SLOWER` where it
        lies below, else `LIKE`.
    """
    members, per_unit = view.members, MM_PER_UNIT[unit]
    shown = members[["machine", "clearance", "readings", "own_share"]].assign(
        rate=members["rate_mm_per_1000h"] / per_unit,
        low=members["rate_low"] / per_unit,
        high=members["rate_high"] / per_unit,
    )
    verdict = pd.Series(LIKE, index=shown.index)
    if len(shown) > 1:
        verdict[members["rate_low"] > view.rate] = FASTER
        verdict[members["rate_high"] < view.rate] = SLOWER
    return shown.assign(verdict=verdict.where(shown["rate"].notna(), _UNKNOWN))


def family_table(view: FamilyView, unit: str) -> pd.DataFrame:
    """Return the members as text, the fastest first, in ``unit`` per 1000 h."""
    members = members_in(view, unit)
    places = _places(members)
    rates = [
        NONE
        if pd.isna(row.rate)
        else "{} ({} to {})".format(*(length_text(getattr(row, n), places) for n in _RATES))
        for row in members.itertuples()
    ]
    return pd.DataFrame(
        {
            "machine": members["machine"],
            "clearance": members["clearance"],
            f"{unit_label(unit)} per 1000 h": rates,
            "readings": members["readings"],
            "own": members["own_share"].map(share_text),
            "wears": members["verdict"],
        }
    )


def rate_unit(view: FamilyView, unit: str) -> str:
    """Return what a rate of this family is counted in."""
    hours = "1000 h" if view.hours_per_start[0] == 0 else "1000 h of wear, starts counted in"
    return f"{unit_label(unit)} per {hours}"


def family_words(view: FamilyView, unit: str) -> list[str]:
    """Return how the family wears, who stands out, and in what its wear is counted."""
    return [*_mean(view, unit), *_stand_out(view, unit), *_bend(view), *_starts(view)]


def _mean(view: FamilyView, unit: str) -> Iterator[str]:
    count = len(view.members)
    if math.isnan(view.rate):
        yield "No member has two readings in one run yet: no rate can be given."
        return
    members = members_in(view, unit)
    places = _places(members)
    mean, low, high, spread = (
        length_text(rate / MM_PER_UNIT[unit], places)
        for rate in (view.rate, view.rate_low, view.rate_high, view.spread)
    )
    label = unit_label(unit)
    if count == 1:
        yield "It has one member only: there is nothing to compare it with."
        return
    yield (
        f"The {count} members wear {mean} {label} in 1000 h on average; 9 chances in 10 that the "
        f"family's true mean lies between {low} and {high}."
    )
    yield f"Member differs from member: typically {spread} {label} in 1000 h from the mean."
    unread = int((members["rate"].isna() | (members["own_share"] < 0.005)).sum())
    if unread:
        yield (
            f"{unread} of them {'has' if unread == 1 else 'have'} no rate of "
            f"{'its' if unread == 1 else 'their'} own yet: what is shown is lent by the others."
        )


def _stand_out(view: FamilyView, unit: str) -> Iterator[str]:
    members = members_in(view, unit)
    if len(members) == 1 or math.isnan(view.rate):
        return
    fast = members[members["verdict"] == FASTER]
    if fast.empty:
        yield "None wears faster than its sisters beyond doubt: every band reaches the mean."
        return
    places = _places(members)
    named = [
        f"{row.machine} {row.clearance} ({length_text(row.rate, places)})"
        for row in fast.head(_NAMED).itertuples()
    ]
    more = f" and {len(fast) - _NAMED} more" if len(fast) > _NAMED else ""
    yield (
        f"Faster than {'its' if len(fast) == 1 else 'their'} sisters: {', '.join(named)}{more}. "
        "At least 19 chances in 20, for each, that it truly wears faster than the mean: "
        "look for a cause."
    )


def _bend(view: FamilyView) -> Iterator[str]:
    power, low, high = view.power
    if power == 1.0:
        return
    more = "faster and faster" if power > 1 else "fast at first, then slower"
    within = "as given" if math.isnan(low) else f"between {low:.2f} and {high:.2f}"
    yield (
        f"It wears {more}: wear grows with the hours to the power p = {power:.2f} ({within}; "
        "1 would be a straight line). Its rates are those of a run of usual length."
    )


def _starts(view: FamilyView) -> Iterator[str]:
    worth, low, high = view.hours_per_start
    if worth == 0:
        return
    within = "as given" if math.isnan(low) else f"{hours_text(low)} to {hours_text(high)}"
    yield (
        f"Starts wear too: one start wears as much as {hours_text(worth)} of running ({within}). "
        "The rates here are for 1000 such hours, starts counted in."
    )


def _places(members: pd.DataFrame) -> int:
    """Decimals that show two significant figures of the usual band."""
    width = (members["high"] - members["low"]).median()
    return max(0, 1 - math.floor(math.log10(width))) if width > 0 else 3

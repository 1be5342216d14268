"""The record of past forecasts in sentences, small numbers told as small."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from trendwear.hindsight.followed import IN_TIME, LATE, NO_PLAN, UNTESTED
from trendwear.hindsight.found import BANDS
from trendwear.hindsight.rules import RULES
from trendwear.hindsight.score import ALL, FIRST_RUNS
from trendwear.lengths import MM_PER_UNIT
from trendwear.report.limit_table import natural_key
from trendwear.report.rounding import hours_text
from trendwear.report.units import unit_label

if TYPE_CHECKING:
    from trendwear.hindsight.hindcast import Hindcast

__all__ = [
    "HOW",
    "compared",
    "coverage_words",
    "error_text",
    "late_words",
    "plan_words",
    "rule_words",
    "summary_words",
    "verdict",
    "walk_words",
]

FEW: Final = 20
"""Readings below which a share says little."""

HOW: Final = (
    "Each opening was forecast from what was dated before it, and from nothing else.",
    "Its running hours are taken from the opening itself: wear is judged here, not how much the "
    "machine was run.",
    "A band keeps its promise where the readings inside are as many as chance allows; that range "
    "stands beside each count. Readings of one opening are not quite independent, so the true "
    "range is a little wider.",
    "A plan is the latest overhaul at which the chance that any limiting clearance of the machine "
    "is past its limit stays within the accepted risk. It is late where one of them passed its "
    "limit before, reckoned along a straight line between the readings on either side.",
    "A plan is not put to the test where the machine was opened, or not every clearance read, "
    "before its date, with nothing past its limit.",
    "Plans of one machine that follow each other share readings: they are not as many trials as "
    "they are plans.",
)
"""What the record rests on, in sentences."""


def walk_words(told: Hindcast) -> list[str]:
    """Say what was walked through, and what could not be judged."""
    found = told.found
    machines = found["machine"].nunique()
    if found.empty:
        return [
            "No opening with an as-found reading lies behind: there is no past forecast to judge."
        ]
    silent = found["silent"].value_counts()
    words = [
        f"{_count(told.openings, 'past opening')} of {_count(machines, 'machine')} up to "
        f"{told.as_of:%Y-%m-%d} brought {_count(len(found), 'as-found reading')}; "
        f"{int(found['silent'].isna().sum())} of them could have been forecast the day before."
    ]
    if len(silent):
        reasons = ", ".join(f"{reason} ({count})" for reason, count in silent.items())
        words.append(f"Those without a forecast: {reasons}.")
    bounds = int((found["at_least"] & found["silent"].isna()).sum())
    if bounds:
        words.append(f"{_count(bounds, 'reading')} said only *at least*: not judged.")
    if told.undated:
        words.append(
            f"{_names(told.undated)}: no dates, so their openings were taken in order of running "
            "hours, as if all had begun together."
        )
    return words


def coverage_words(score: pd.Series) -> Iterator[str]:
    """Say how many readings of a group lay inside their bands; ``score`` is of the forecast."""
    count = int(score["readings"])
    if count == 0:
        return
    for band in sorted(BANDS, reverse=True):
        inside = int(score[f"inside_{band}"])
        yield (
            f"{inside} of {_count(count, 'reading')} lay inside the {band} % band "
            f"({100 * inside / count:.0f} %). A band that keeps its promise holds "
            f"{score[f'due_low_{band}']:.0f} to {score[f'due_high_{band}']:.0f} of them, nine "
            f"times in ten: {verdict(score, band)}."
        )


def verdict(score: pd.Series, band: int) -> str:
    """Judge one band of one group in a few words."""
    count, inside = int(score["readings"]), int(score[f"inside_{band}"])
    if count == 0:
        return "nothing to judge"
    few = " (few readings: this says little)" if count < FEW else ""
    if inside < score[f"due_low_{band}"]:
        return f"too few inside, the band is too narrow{few}"
    if inside > score[f"due_high_{band}"]:
        return f"more inside than promised, the band is wider than need be{few}"
    return f"as promised{few}"


def error_text(millimetres: float, unit: str) -> str:
    """Return an error to two significant figures in its unit.

    >>> error_text(0.01953, "mm"), error_text(0.0254, "mil"), error_text(float("nan"), "mm")
    ('0.020 mm', '1.0 mil', '—')
    """
    if math.isnan(millimetres):
        return "—"
    value = millimetres / MM_PER_UNIT[unit]
    size = abs(value)
    places = 3 if size == 0 else max(0, 1 - math.floor(math.log10(size) + 1e-9))
    return f"{value:.{places}f} {unit_label(unit)}"


def rule_words(scores: pd.DataFrame, group: str) -> Iterator[str]:
    """Say how far off the forecast was, and whether it beat the two simpler rules."""
    rows = scores[scores["group"] == group].set_index("rule")
    forecast = rows.loc["forecast"]
    if forecast["readings"] == 0:
        return
    unit = forecast["unit"]
    side = "more" if forecast["mean_error_mm"] > 0 else "less"
    yield (
        f"The middle of the forecast was off by {error_text(forecast['mean_abs_error_mm'], unit)} "
        f"on average; the clearances were found {error_text(abs(forecast['mean_error_mm']), unit)} "
        f"{side} worn than it said."
    )
    for rule in list(RULES)[1:]:
        row = rows.loc[rule]
        if row["both"] == 0:
            yield f"The {rule} had nothing to say of these readings."
            continue
        ours, theirs = row["forecast_abs_error_mm"], row["rule_abs_error_mm"]
        yield (
            f"Against the {rule}, on {_count(int(row['both']), 'reading')} that both speak of: "
            f"the forecast was off by {error_text(ours, unit)}, the rule by "
            f"{error_text(theirs, unit)}; the forecast errs {compared(ours, theirs)}. The rule's "
            f"own 90 % band held {100 * row['share_90']:.0f} %."
        )


def compared(ours: float, theirs: float) -> str:
    """Say how much less or more one error is than another.

    >>> compared(0.02, 0.03), compared(0.03, 0.02)
    ('33 % less', '50 % more')
    """
    if not theirs > 0:
        return "as little" if ours == theirs else "more"
    change = 100 * (ours / theirs - 1)
    if abs(change) < 1:
        return "as much"
    return f"{abs(change):.0f} % {'less' if change < 0 else 'more'}"


def plan_words(told: Hindcast) -> list[str]:
    """Say what became of the plans at each accepted risk."""
    words = []
    for risk, rows in told.plans.groupby("risk"):
        made = rows[rows["outcome"] != NO_PLAN]
        count = made["outcome"].value_counts()
        late = int(count.get(LATE, 0))
        low, due, high = due_late(made["due"].to_numpy(dtype=float))
        words.append(
            f"Of {_count(len(made), 'plan')} at {100 * float(risk):.0f} %, {late} "
            f"{'was' if late == 1 else 'were'} late, {int(count.get(IN_TIME, 0))} in time, "
            f"{int(count.get(UNTESTED, 0))} not put to the test. {due:.1f} late ones were to be "
            f"expected ({low} to {high}, nine times in ten): {_kept(late, low, high)}."
        )
        above = len(rows) - len(made)
        if above:
            words.append(
                f"{_count(above, 'closing')} had no plan at {100 * float(risk):.0f} %: the chance "
                "was above it already."
            )
    if not words:
        words.append("No past plan could be followed yet.")
    words += _left_out(told)
    return words


def _kept(late: int, low: int, high: int) -> str:
    if late > high:
        return "more were late than the risk allows, so such dates are not to be trusted here"
    return "fewer were late than the risk allows" if late < low else "as promised"


def _left_out(told: Hindcast) -> Iterator[str]:
    if told.unplanned:
        yield (
            f"{_count(told.unplanned, 'closing')} came before any limiting clearance of the "
            "machine had a forecast."
        )
    if told.unfollowed:
        yield (
            f"{_count(told.unfollowed, 'closing')} cannot be judged yet: nothing was read since, "
            "before the next work."
        )
    once = told.plans.drop_duplicates(["machine", "opening_no"])
    silent, apart = int((once["silent"] > 0).sum()), int((once["apart"] > 0).sum())
    if silent:
        yield (
            f"{_count(silent, 'plan')} did not cover every limiting clearance: some had no "
            "forecast yet."
        )
    if apart:
        yield (
            f"{_count(apart, 'plan')} left out clearances that were past their limit when the "
            "machine was closed."
        )


def due_late(chances: np.ndarray) -> tuple[int, float, int]:
    """How many plans were to be expected late: 5 % point, mean and 95 % point.

    Plans fail with chances of their own; the count is Poisson's binomial.
    """
    spread = np.ones(1)
    for chance in chances[np.isfinite(chances)]:
        spread = np.convolve(spread, [1 - chance, chance])
    total = np.cumsum(spread)
    low, high = (int(np.searchsorted(total, q)) for q in (0.05, 0.95))
    return low, float(np.nansum(chances)), high


def late_words(plans: pd.DataFrame) -> list[str]:
    """Tell every closing whose plan was late in a sentence, the latest first."""
    late = plans[plans["outcome"] == LATE].sort_values(
        ["date", "hours"], ascending=False, kind="stable"
    )
    closings = late.groupby(["machine", "opening_no"], sort=False)
    return [_late_word(list(rows.sort_values("risk").itertuples())) for _, rows in closings]


def _late_word(rows: list[Any]) -> str:
    """Tell what one closing's late plans allowed, and what was found."""
    row = rows[0]
    at = f"at {hours_text(row.hours)}"
    when = at if pd.isna(row.date) else f"after the opening of {row.date:%Y-%m-%d}"
    runs = ", ".join(f"{hours_text(one.latest_hours)} at {100 * one.risk:.0f} %" for one in rows)
    note = f" Beside it: {row.note}." if isinstance(row.note, str) else ""
    return (
        f"{row.machine}, {when}: it might have run {runs}; {row.first_past} was found past its "
        f"limit after {hours_text(row.found_past_hours)} and had reached it at about "
        f"{hours_text(row.crossed_hours)}.{note}"
    )


def summary_words(told: Hindcast) -> list[str]:
    """Return everything in the order in which it should be read."""
    forecasts = told.scores[told.scores["rule"] == "forecast"].set_index("group")
    words = walk_words(told)
    if told.found.empty:
        return words
    words += coverage_words(forecasts.loc[ALL])
    words += rule_words(told.scores, ALL)
    first = forecasts.loc[FIRST_RUNS]
    if first["readings"]:
        words.append(
            f"First runs after a renewal, apart: {int(first['inside_90'])} of "
            f"{int(first['readings'])} inside the 90 % band "
            f"({first['due_low_90']:.0f} to {first['due_high_90']:.0f} to be expected), off by "
            f"{error_text(first['mean_abs_error_mm'], first['unit'])} on average."
        )
    return words


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _names(names: tuple[str, ...]) -> str:
    names = tuple(sorted(names, key=natural_key))
    more = len(names) - 6
    return ", ".join(names[:6]) + (f" and {more} more" if more > 0 else "")

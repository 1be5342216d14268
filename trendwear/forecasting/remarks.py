"""What must be said beside each forecast, in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from trendwear.fit.family_fit import FamilyFit
from trendwear.forecasting.assumed_uncertainty import assumed_uncertainty
from trendwear.forecasting.limit_forecast import Basis, Outcome
from trendwear.forecasting.pair_notes import pair_notes
from trendwear.segments.cutting import STEP
from trendwear.segments.histories import Histories
from trendwear.segments.hour_line import days
from trendwear.wear.exposure_choice import Profile
from trendwear.wording import fold

__all__ = ["remarks"]

EXTRAPOLATED = 1.5
"""A forecast this many times longer than the longest measured run is extrapolated."""

_OF_THE_METER = frozenset({"hour meter replaced", "hour meter rolled over"})
"""Events that wear nothing: the hours are bridged over them."""
_STEADY_ONLY = ("sleeve bearing", "journal bearing", "pivoted shoe", "labyrinth")
_ACCELERATES = ("wear ring",)


def remarks(
    table: pd.DataFrame,
    basis: Basis,
    events: pd.DataFrame,
    doubts: pd.Series,
    bounds_used: set[int],
) -> pd.Series:
    """Return the notes of every row of the table, joined by ``; ``.

    Parameters
    ----------
    table : DataFrame
        As `trendwear.forecasting.limit_forecast.forecast_rows` gives it.
    basis : Basis
        What it was made from.
    events : DataFrame
        `tables.EVENTS` dated on or before the day of the forecast.
    doubts : Series of list of str
        As `trendwear.trust.judge.trust_notes` gives them; index as ``table``.
    bounds_used : set of int
        Rows of ``basis.cut.points`` that say *at least* and the own line took at that.
    """
    cut, families = basis.cut, basis.families
    of_history = _of_histories(cut, bounds_used)
    of_events = _of_events(table, events, _begun_on(cut))
    of_family = _of_families(families)
    both_ways = cut.positions["both_ways"]
    said = []
    for row, doubted in zip(table.to_dict("records"), doubts, strict=True):
        position = row["position"]
        clock = basis.clocks[row["machine"]]
        worth = families.shape.hours_per_start[families.family[position]]
        row["starts_lost"] = worth > 0 and pd.isna(clock.starts_per_hour)
        words = [
            *_of_forecast(row, duty_known=clock.duty.known),
            *doubted,
            *of_history.get(position, []),
            *of_events.get((row["machine"], row["position"]), []),
            *clock.notes,
            *of_family[int(families.family[position])],
            *_of_kind(row, bent=families.shape.power[families.family[position]] != 1.0),
        ]
        if families.wears_at_starts[position]:
            words.insert(
                0, "wears at starts: what one start wears is not known, so no rate by hours"
            )
        if both_ways[position]:
            words.append("limited both ways: one trend, two limits")
        said.append("; ".join(dict.fromkeys(words)) or None)
    return pd.Series(said, index=table.index, dtype="object")


def _of_forecast(row: dict[str, Any], *, duty_known: bool) -> Iterator[str]:
    """What the numbers of the row themselves call for."""
    if row["outcome"] == Outcome.TOO_FEW.value:
        yield from _what_is_missing(row)
    if row["assumed"]:
        yield "start assumed: not measured since renewal, its family's as-left taken"
    run, horizon = row["run_since"], row["horizon_hours"]
    if pd.notna(run) and pd.notna(horizon) and run > horizon:
        yield f"overdue: {run - horizon:,.0f} h beyond the usual interval"
    if pd.notna(row["reach"]) and row["reach"] > EXTRAPOLATED:
        yield f"extrapolated: {row['reach']:.1f} times the longest measured run"
    if pd.notna(row["hours_to_limit_p50"]) and pd.isna(row["hours_to_limit_p95"]):
        yield f"{100 * row['p_never']:.0f} % chance of not reaching the limit within 200,000 h"
    if duty_known and pd.notna(row["hours_to_limit_p50"]) and pd.isna(row["date_p50"]):
        yield "no date: at the duty known the limit is centuries off"


def _what_is_missing(row: dict[str, Any]) -> Iterator[str]:
    limit, last = row["limit"], row["last_reading"]
    if row["readings"] == 0:
        yield "no reading to go by"
    elif pd.isna(row["clearance_now"]) and pd.isna(last):
        yield "not measured since the last work"
    elif row["starts_lost"]:
        yield "coming starts unknown: the duty plan says none, and none were counted"
    elif pd.isna(row["rate_per_1000h"]):
        yield "no two readings of one run: a rate needs a second one"
    else:
        yield "running hours unknown: no present value"
    if pd.notna(limit) and pd.notna(last):
        past = last > limit if row["moves"] == "opens" else last < limit
        if past:
            yield "the last reading is past the limit"


def _of_histories(cut: Histories, bounds_used: set[int]) -> dict[int, list[str]]:
    """Steps nobody explained, readings left out, hours and uncertainties that were assumed."""
    said: dict[int, list[str]] = {}
    for step in cut.segments[cut.segments["cause"] == STEP].itertuples():
        when = _when(step.start_order, step.start_hours, dated=_dated(cut, step.position))
        said.setdefault(step.position, []).append(f"unexplained step {when}")
    points = cut.points
    counts = {
        "left out, hours unknown": points["hours"].isna() & ~points["excluded"],
        "left out, not stated whether before or after the work": points["remark"]
        .fillna("")
        .str.contains("not stated whether"),
        "left out, excluded": points["excluded"],
        "with hours interpolated": points["fitted"] & (points["hours_from"] == "interpolated"),
        "with hours by the duty": points["fitted"] & (points["hours_from"] == "by the duty"),
        "only at least, taken at that": points.index.isin(bounds_used),
    }
    for words, which in counts.items():
        for position, count in points[which].groupby("position").size().items():
            noun = "reading" if count == 1 else "readings"
            said.setdefault(position, []).append(f"{count} {noun} {words}")
    for position, words in _of_bridged_work(cut):
        said.setdefault(position, []).append(words)
    for position, words in assumed_uncertainty(points).items():
        said.setdefault(position, []).append(words)
    for position, words in pair_notes(cut):
        said.setdefault(position, []).append(words)
    falls = points[points["doubt"].notna()].drop_duplicates(["position", "doubt"])
    for row in falls.itertuples():
        said.setdefault(row.position, []).append(row.doubt)
    return said


_WITHOUT_HOURS = {
    "by the duty": "no running hours stated, taken by the duty",
    "last known": "no running hours stated, counted at the last known hours",
    "unknown": "running hours unknown",
}


def _of_bridged_work(cut: Histories) -> Iterator[tuple[int, str]]:
    """Work that began the current segment, where its hours were not stated or are in doubt."""
    current = cut.segments.groupby("position").tail(1)
    began = current.merge(cut.work, on=["position", "work_row"], suffixes=("", "_work"))
    for row in began[began["hours_from"].isin(list(_WITHOUT_HOURS))].itertuples():
        when = f" {row.date:%Y-%m-%d}" if pd.notna(row.date) else ""
        why = f" ({row.doubt})" if isinstance(row.doubt, str) else ""
        yield row.position, f"{row.cause}{when}: {_WITHOUT_HOURS[row.hours_from]}{why}"


def _begun_on(cut: Histories) -> pd.Series:
    """Day on which the current segment of each position began, NaN where it has no date."""
    current = cut.segments.groupby("position").tail(1).set_index("position")
    dated = [_dated(cut, position) for position in current.index]
    return current["start_order"].where(dated)


def _dated(cut: Histories, position: int) -> bool:
    line = cut.chronicle.line(cut.positions.at[position, "machine"])
    return len(line.day) > 0


def _when(order: float, hours: float, *, dated: bool) -> str:
    if dated and pd.notna(order):
        return f"{pd.Timestamp('1970-01-01') + pd.Timedelta(days=int(order)):%Y-%m-%d}"
    return f"at {hours:.0f} h" if pd.notna(hours) else "at an unknown date"


def _of_events(
    table: pd.DataFrame, events: pd.DataFrame, begun: pd.Series
) -> dict[tuple[str, int], list[str]]:
    """Events since the last reading, or the last work: the forecast was made before them."""
    said: dict[tuple[str, int], list[str]] = {}
    events = events[~events["what"].map(fold).isin(_OF_THE_METER)]
    if events.empty:
        return said
    seen = table[["machine", "position", "clearance"]].assign(last=days(table["last_reading_date"]))
    seen["last"] = seen["last"].fillna(seen["position"].map(begun))
    pairs = seen.drop_duplicates("position").merge(
        events.assign(day=days(events["date"])), on="machine"
    )
    pairs = pairs[(pairs["day"] > pairs["last"]) | pairs["last"].isna()]
    for row in pairs.itertuples():
        if isinstance(row.clearances, str) and fold(row.clearance) not in fold(row.clearances):
            continue
        when = f"{row.date:%Y-%m-%d}" if pd.notna(row.date) else "date unknown"
        words = f"made before this event: {row.what}, {when}"
        if isinstance(row.accepted_by, str):
            words = f"event of {when} accepted by {row.accepted_by}: {row.accepted_why}"
        said.setdefault((row.machine, row.position), []).append(words)
    return said


def _of_families(families: FamilyFit) -> list[list[str]]:
    """What was found of the way a family wears, by its code."""
    shape, choice = families.shape, families.choice
    said: list[list[str]] = [[] for _ in families.data.families]
    for code, words in enumerate(said):
        power, worth = shape.power[code], shape.hours_per_start[code]
        if power != 1.0:
            faster = "ever faster" if power > 1 else "ever slower"
            words.append(
                f"its family wears {faster} (p = {power:.2f}{_within(choice.power, code)})"
            )
        if worth > 0:
            interval = _within(choice.hours_per_start, code)
            words.append(f"one start wears as much as {_figures(worth)} h{interval}")
        if families.starts_uncounted[code]:
            words.append("starts not counted: the given k cannot be used")
    return said


def _figures(value: float) -> str:
    """Three figures, as people write them: 0.79, 12.5, 1,340."""
    return f"{value:.3g}" if abs(value) < 1000 else f"{round(value, -1):,.0f}"


def _within(profile: Profile, code: int) -> str:
    """The interval of an estimated value; nothing where a user gave it."""
    low, high = profile.low[code], profile.high[code]
    return f", {_figures(low)} to {_figures(high)}" if profile.accepted[code] else ", given"


def _of_kind(row: dict[str, Any], *, bent: bool) -> Iterator[str]:
    """Kinds that wear in steps, or ever faster (trade experience, see the README)."""
    if pd.isna(row["rate_per_1000h"]):
        return
    kind = fold(str(row["kind"]))
    if any(word in kind for word in _STEADY_ONLY):
        yield "steady wear only: an upset is not in this band"
    if not bent and any(word in kind for word in _ACCELERATES):
        yield "wears ever faster as it opens: this straight line may be late"

"""The parts of a deferral sheet in sentences: what is asked, what stands out, what it is worth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pandas as pd

from trendwear.planning.deferral_question import PlannedBy
from trendwear.report.rounding import NONE, chance_text, hours_text, length_text, limit_decimals
from trendwear.report.units import unit_label

if TYPE_CHECKING:
    from trendwear.planning.deferral import BandRecord, Deferral, PlanRecord

__all__ = [
    "asked_words",
    "due_words",
    "event_words",
    "in_words",
    "not_drawn",
    "past_words",
    "percent",
    "reach_words",
    "record_words",
    "unknown_words",
    "unsigned_words",
]

_MEASURED, _NEAR = 1.0, 1.5
"""Reach up to which a forecast stays within what was measured, and little beyond it."""
_FEW_PLANS = 10


def percent(chance: float) -> str:
    """Return an accepted risk as it was set."""
    return NONE if pd.isna(chance) else f"{100 * chance:.3g} %"


def asked_words(told: Deferral) -> list[tuple[str, str]]:
    """Say what is asked: pairs of a term and what it says."""
    asked, facts = told.question, told.machine_facts
    known = [facts.get(name) for name in ("description", "class", "site")]
    about = ", ".join(dict.fromkeys(str(word) for word in known if isinstance(word, str)))
    meter = f"{hours_text(told.hours_now)} run" if pd.notna(told.hours_now) else "hours unknown"
    return [
        ("machine", ", ".join(word for word in (asked.machine, about, meter) if word)),
        ("from", _from_words(told)),
        ("to", _to_words(told)),
        ("the plan today", _plan_words(told)),
        ("hours taken", _duty_words(told)),
    ]


def _from_words(told: Deferral) -> str:
    asked = told.question
    if pd.isna(asked.planned):
        return f"no date: {asked.planned_by.value}"
    name = f", {asked.window}" if asked.window else ""
    gone = " (has passed)" if asked.planned < told.as_of else ""
    return f"{asked.planned:%Y-%m-%d}{gone}: {asked.planned_by.value}{name}"


def _to_words(told: Deferral) -> str:
    asked = told.question
    start = told.as_of if pd.isna(asked.planned) else max(asked.planned, told.as_of)
    words = f"{asked.to:%Y-%m-%d}: {(asked.to - start).days} days later"
    more = told.at.to if pd.isna(asked.planned) else told.at.to - told.at.planned
    if pd.notna(more):
        words += f", about {hours_text(more)} more"
    return f"{words}; {_window_words(told)}"


def _window_words(told: Deferral) -> str:
    if told.windows_then.empty:
        return "no outage window on file holds this date"
    said = []
    for row in told.windows_then.to_dict("records"):
        why = f" (cannot be opened in it: {row['hindrance']})" if row["hindrance"] else ""
        said.append(f"{row['outage']}{why}")
    return f"in the window {', '.join(said)}"


def _plan_words(told: Deferral) -> str:
    answer = told.question.answer
    words = answer["outcome"]
    if pd.notna(answer["latest_date"]) and told.question.planned_by is not PlannedBy.TODAY:
        words = f"latest overhaul {answer['latest_date']:%Y-%m-%d}"
    windows = told.over_time.windows
    fits = windows[windows["hindrance"].isna()]
    if told.question.window is None and len(fits):
        first = fits.iloc[0]
        words += f"; first window that fits: {first['outage']}, {first['start']:%Y-%m-%d}"
    if isinstance(answer["governed_by"], str):
        words += f"; set by {answer['governed_by'].replace('; ', ', ')}"
    return str(words)


def _duty_words(told: Deferral) -> str:
    duty = told.duty
    if duty.source == "unknown":
        return "unknown: there is no duty plan and no run log to go by"
    source = "duty plan" if duty.source == "plan" else "mean of the last years of the run log"
    words = (
        f"{source}, {duty.hours_per_day:.1f} h a day on average until then, give or take "
        f"{100 * duty.spread:.0f} %"
    )
    if pd.notna(duty.plan_ends) and duty.plan_ends < told.question.to:
        words += (
            f"; THE PLAN ENDS {duty.plan_ends:%Y-%m-%d}, after it its last 12 months are repeated"
        )
    return words


def past_words(told: Deferral) -> list[str]:
    """Say which clearances are past their limit today, and since when."""
    return [_past_word(row) for row in told.past.to_dict("records")]


def _past_word(row: dict[str, Any]) -> str:
    unit, places = unit_label(row["unit"]), int(row["decimals"])
    limit = length_text(row["limit"], limit_decimals(row["limit"], places))
    of = f" ({row['consequence']})" if isinstance(row["consequence"], str) else ""
    meaning = f", limit meaning: {row['limit_meaning']}" if row["limit_meaning"] else ""
    since = f"{row['since']:%Y-%m-%d}" if pd.notna(row["since"]) else "a date that is not known"
    if row["read"]:
        found = length_text(row["reading"], places)
        return (
            f"{row['clearance']}{of}: read past its limit since {since} "
            f"({found} {unit}, limit {limit} {unit}{meaning})"
        )
    return (
        f"{row['clearance']}{of}: past its limit by the forecast since about {since} "
        f"(chance today {chance_text(row['chance'])}, limit {limit} {unit}{meaning})"
    )


def due_words(told: Deferral) -> list[str]:
    """Say which dates set by law, insurer or site rule lie before the date asked for."""
    said = []
    for row in told.due.to_dict("records"):
        late = "OVERDUE: " if row["overdue"] else ""
        by = f" ({row['authority']})" if isinstance(row["authority"], str) else ""
        grace = row["tolerance_days"]
        days = f"; the {grace:.0f} days of grace are the authority's to give" if grace > 0 else ""
        what = row["what"] if isinstance(row["what"], str) else "not named"
        said.append(f"{late}{row['due']:%Y-%m-%d} {what}{by}{days}")
    return said


def unknown_words(told: Deferral) -> list[str]:
    """Say what the sheet cannot know of this machine."""
    said = []
    if told.rests_on.empty:
        said.append("No clearance of this machine has a limit: its clearances say nothing here.")
    elif told.clearances.empty:
        said.append("No limiting clearance has a forecast: there is no chance to show.")
    if told.silent:
        said.append(
            f"Without a forecast, not counted in any chance: {', '.join(told.silent)} "
            "(their notes in the forecast say what is missing)."
        )
    if told.duty.source == "unknown":
        said.append(
            "The duty is unknown, so nothing can be told of a date, only of today: load a "
            "duty_plan or a run_log sheet."
        )
    unsaid = told.chances[told.chances["strictest"]]
    if len(unsaid):
        said.append(
            "Nobody has accepted a risk for some consequences: they are held to the strictest, "
            f"{percent(unsaid['accepted'].iloc[0])}."
        )
    return said


def in_words(told: Deferral) -> list[str]:
    """Say what the later date does to the chance that matters most."""
    rows = told.chances.dropna(subset=["accepted", "to"])
    if rows.empty:
        return []
    row = rows.loc[(rows["to"] / rows["accepted"].clip(lower=1e-9)).idxmax()]
    start, when = row["now"], "today"
    if told.at.planned > 0:
        start, when = row["planned"], f"on {told.question.planned:%Y-%m-%d}"
    accepted = f"accepted is {percent(row['accepted'])}"
    above = "above it" if row["to"] > row["accepted"] else "not above it"
    return [
        f"The chance that a limit is passed ({row['heading']}) goes from {chance_text(start)} "
        f"{when} to {chance_text(row['to'])} on {told.question.to:%Y-%m-%d}; {accepted}: {above}."
    ]


def not_drawn(told: Deferral) -> str:
    """Say what the curves leave out; empty where they hold everything."""
    left = [*told.past["clearance"].drop_duplicates(), *told.silent]
    if not left:
        return ""
    names = ", ".join(left)
    return f"NOT IN THE CURVES: {names}. Curves and diamond are by the other clearances alone."


def reach_words(told: Deferral) -> list[str]:
    """Say how far beyond anything measured the forecast goes."""
    rows = told.clearances.dropna(subset="reach_to")
    if rows.empty:
        if len(told.clearances) and told.duty.source != "unknown":
            return [
                "No two readings of one run exist in these families: nothing measures how long."
            ]
        return []
    first = rows.sort_values("share", ascending=False, kind="stable").iloc[0]
    said = [f"{first['clearance']}: {_reach(first['reach_to'])}."]
    worst = rows.loc[rows["reach_to"].idxmax()]
    if worst["reach_to"] > max(_MEASURED, first["reach_to"]):
        said.append(f"Farthest, {worst['clearance']}: {_reach(worst['reach_to'])}.")
    return said


def _reach(reach: float) -> str:
    times = f"{reach:.1f} times the longest run between readings in its family"
    if reach <= _MEASURED:
        return f"the date asked lies at {times}, within what has been measured"
    if reach <= _NEAR:
        return f"the date asked lies at {times}, a little beyond anything measured"
    return f"EXTRAPOLATED: the date asked lies at {times}; nobody has measured wear over so long"


def record_words(told: Deferral) -> Iterator[str]:
    """Say how good past plans and bands were."""
    record, machine = told.record, told.question.machine
    if not (record.of_all.made + record.bands_of_all.readings):
        yield "There is no past plan or forecast to judge yet."
        return
    near = ""
    if abs(record.risk - told.question.risk) > 1e-9:
        near = f", the nearest to {percent(told.question.risk)} that is kept"
    yield f"Plans at {percent(record.risk)} for all limits of a machine together{near}."
    yield f"{machine}: {_plans(record.of_machine)}."
    yield f"All machines: {_plans(record.of_all)}."
    yield (
        "As-found readings inside their 90 % band: "
        f"its families {_bands(record.bands_of_families)}; all {_bands(record.bands_of_all)}."
    )


def _plans(plans: PlanRecord) -> str:
    if not plans.made:
        return "no past plan can be judged"
    few = " (few: this says little)" if plans.made - plans.untested < _FEW_PLANS else ""
    return (
        f"of {plans.made} plan{'' if plans.made == 1 else 's'} {plans.late} late, {plans.in_time} "
        f"in time, {plans.untested} not put to the test; {plans.late_expected:.1f} late to be "
        f"expected{few}"
    )


def _bands(bands: BandRecord) -> str:
    if not bands.readings:
        return "none to judge"
    kept = "as promised"
    if bands.inside < bands.low:
        kept = "TOO FEW, the bands are too narrow"
    elif bands.inside > bands.high:
        kept = "more than promised, the bands are wide"
    return f"{bands.inside} of {bands.readings} ({bands.low} to {bands.high} expected), {kept}"


def event_words(told: Deferral) -> list[str]:
    """Say what happened since the last readings; no forecast knows of it unless signed for."""
    return [_event_word(row) for row in told.events.to_dict("records")]


def unsigned_words(told: Deferral) -> list[str]:
    """Name the events since the last readings that nobody has signed for."""
    unsigned = told.events[told.events["accepted_by"].isna()]
    return [
        f"{row['what']}, {row['date']:%Y-%m-%d}" if pd.notna(row["date"]) else str(row["what"])
        for row in unsigned.to_dict("records")
    ]


def _event_word(row: dict[str, Any]) -> str:
    when = f"{row['date']:%Y-%m-%d}" if pd.notna(row["date"]) else "date unknown"
    severe = f", {row['severity']}" if isinstance(row["severity"], str) else ""
    note = f": {row['note']}" if isinstance(row["note"], str) else ""
    if isinstance(row["accepted_by"], str):
        signed = f"signed for by {row['accepted_by']} ({row['accepted_why']})"
    else:
        signed = "nobody has signed that the forecasts still hold"
    return (
        f"{when} {row['what']}{severe}{note}; {row['touched']} of {row['of']} limiting clearances "
        f"not read since; {signed}"
    )

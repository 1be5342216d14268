"""One machine's overhaul in sentences: when, what sets it, what to renew and to order."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.notes import BY_CLEARANCES_ALONE, reckoned_day
from trendwear.report.overhaul.answers import ALREADY, meant_window
from trendwear.report.overhaul.held import chance_beside_risk
from trendwear.report.rounding import chance_text, hours_text

if TYPE_CHECKING:
    from trendwear.planning.over_time import OverTime
    from trendwear.planning.plan import SitePlan

__all__ = [
    "answer_sentence",
    "more_to_know",
    "points",
    "risk_words",
]

_FOUND: Final = "latest overhaul found"
_PAST: Final = "past today: "


def answer_sentence(plan: SitePlan, told: OverTime) -> str:
    """Return when the machine is to be overhauled, in one sentence or two."""
    row = _row(plan, told.machine)
    machine, outcome = told.machine, row["outcome"]
    due, latest = row["due_date"], row["latest_date"]
    if outcome == ALREADY[0]:
        return f"{machine} is past its limit today: {_past_words(row)}."
    if outcome == ALREADY[1]:
        return f"{machine} is above the accepted risk today: {_now(row, told)}."
    if outcome == _FOUND and (pd.isna(due) or latest <= due):
        return f"Overhaul {machine} by {reckoned_day(latest, row['as_of'])} at the latest."
    by_law = f"{row['due_what']} is due on {due:%Y-%m-%d}" if pd.notna(due) else ""
    if outcome == _FOUND:
        return (
            f"Open {machine} by {due:%Y-%m-%d} ({row['due_what']}). "
            f"Its clearances alone would allow {reckoned_day(latest, row['as_of'])}."
        )
    said = _without_date(row)
    return f"{said} {by_law[:1].upper()}{by_law[1:]}." if by_law else said


def _past_words(row: dict[Any, Any]) -> str:
    """Which clearances are past, and whether that was read or is a forecast."""
    said = [note for note in _notes(row) if note.startswith(_PAST)]
    return said[0].removeprefix(_PAST) if said else row["past_today"].replace("; ", ", ")


def _now(row: dict[Any, Any], told: OverTime) -> str:
    mine = told.curve[told.curve["heading"] == row["risk_of"]]
    now = float(mine["chance"].iloc[0]) if len(mine) else float("nan")
    return f"chance {chance_text(now)} ({row['risk_of']}), accepted {100 * row['risk']:.3g} %"


def _without_date(row: dict[Any, Any]) -> str:
    machine, hours = row["machine"], hours_text(row["latest_hours"])
    said = {
        "risk not reached within 200,000 h": f"No overhaul of {machine} is due by its clearances: "
        "the accepted risk is not reached within 200,000 running hours.",
        "duty unknown: hours without a date": f"{machine} may run {hours} more. Its duty is "
        "unknown, so there is no date: load a run_log or a duty_plan.",
        "planned to run too little: hours without a date": f"{machine} may run {hours} more, and "
        "is planned to run too little to reach them: no date.",
        "no clearance limits it": f"No clearance limits {machine}: none that may set its overhaul "
        "has a limit. Give limits in the register.",
        "no forecast of any limiting clearance": f"There is no date for {machine}: none of its "
        "limiting clearances can be forecast yet. Load more readings.",
    }
    return said[str(row["outcome"])]


_TOLD_ELSEWHERE: Final = (
    *BY_CLEARANCES_ALONE.split("; "),
    "with those renewed",
    "past today",
    "by the others alone",
    "none starts in time",
    "no date to meet",
    "order-by date has passed",
    "chance today",
    "load a run_log",
    "no coming window",
    "no window fits",
    "it is for ",
    "it has ",
    "it takes no machine",
    "its scope ",
)
"""How the notes begin that the answer and its points say too."""


def more_to_know(plan: SitePlan, machine: str) -> list[str]:
    """Return the notes of a machine that its answer and `points` do not tell already."""
    row = _row(plan, machine)
    windows = tuple(f"{name}: " for name in plan.windows["outage"].unique())
    kept = [
        note
        for note in _notes(row)
        if not note.startswith((*_TOLD_ELSEWHERE, *windows)) and not _is_due(note, row)
    ]
    return [note[:1].upper() + note[1:] for note in kept]


def risk_words(plan: SitePlan, risks: pd.DataFrame) -> str:
    """Say which risk is accepted, by whom and since when.

    Parameters
    ----------
    plan : SitePlan
    risks : DataFrame
        `trendwear.planning_tables.RISKS`.
    """
    if plan.accepted.for_all is not None:
        risk = f"{100 * plan.accepted.for_all:.3g} %"
        return f"{risk}, for all limits of a machine together, for this look only."
    said = []
    for row in risks[risks["accepted"].notna()].to_dict("records"):
        day = f"{row['date']:%Y-%m-%d}" if pd.notna(row["date"]) else "date not given"
        by = row["by"] if isinstance(row["by"], str) else "nobody named"
        said.append((f"{row['consequence']} {100 * row['accepted']:.3g} %", f"{by}, {day}"))
    signed = list(dict.fromkeys(by for _, by in said))
    if len(signed) == 1:
        return f"{', '.join(what for what, _ in said)} ({signed[0]})."
    return "; ".join(f"{what} ({by})" for what, by in said) + "."


def points(plan: SitePlan, machine: str) -> dict[str, str]:
    """Return what else the planner asks, one short answer to each question, in order."""
    return {what: says for what, says in _points(plan, machine) if says}


def _points(plan: SitePlan, machine: str) -> Iterator[tuple[str, str]]:
    row = _row(plan, machine)
    windows = plan.windows[plan.windows["machine"] == machine].reset_index(drop=True)
    meant = meant_window(plan, machine)
    yield "Window", _window(row, windows, meant)
    yield "If it slips by one window", _slips(windows, row["outage"] or meant, _limit(row))
    yield "What sets it", _with_shares(row["governed_by"])
    yield "With those renewed", _next(row)
    yield "Renew", _renew(row, meant)
    yield "Order by", _ordering(plan, row, machine)
    yield "Due", _due_words(row)


def _row(plan: SitePlan, machine: str) -> dict[Any, Any]:
    rows: list[dict[Any, Any]] = plan.overhaul[plan.overhaul["machine"] == machine].to_dict(
        "records"
    )
    return rows[0]


def _window(row: dict[Any, Any], windows: pd.DataFrame, meant: str | None) -> str:
    if windows.empty:
        return "no coming window in the outages sheet"
    name: str | None = row["outage"] or meant
    if name is None:
        fits = windows[windows["hindrance"].isna()]
        if fits.empty:
            return "it cannot be opened in any: see why below"
        first = fits.iloc[0]
        return (
            f"the first in which it can be opened is {first['outage']}, {first['start']:%Y-%m-%d}"
        )
    here = windows[windows["outage"] == name].iloc[0]
    told = chance_beside_risk(here.to_dict(), "chance_before")
    chance = f"chance of {_limit(row)} passed before it: {told}"
    words = f"{name}, from {here['start']:%Y-%m-%d}; {chance}"
    has_date = row["outcome"] in (*ALREADY, _FOUND) or pd.notna(row["due_date"])
    if row["outage"] is None and has_date:
        return f"none starts in time; the first in which it can be opened is {words}"
    return words


def _limit(row: dict[Any, Any]) -> str:
    """What is past today already is not counted in the chances beside it."""
    return "another limit" if row["past_today"] else "a limit"


def _slips(windows: pd.DataFrame, name: str | None, limit: str) -> str:
    fits = windows[windows["hindrance"].isna()]
    here = windows[windows["outage"] == name]
    if here.empty:
        return ""
    after = fits[fits["start"] > here["end"].iloc[0]]
    if after.empty:
        return "no later window in which it can be opened is known"
    then, now = after.iloc[0], here.iloc[0]
    if pd.isna(then["chance_before"]):
        return ""
    return (
        f"{then['outage']}, from {then['start']:%Y-%m-%d}: chance of {limit} passed before it: "
        f"{chance_beside_risk(then.to_dict(), 'chance_before')} instead of "
        f"{chance_beside_risk(now.to_dict(), 'chance_before')}"
    )


def _next(row: dict[Any, Any]) -> str:
    if not row["next_governed_by"]:
        return ""
    names = _with_shares(row["next_governed_by"])
    until = row["next_latest_date"]
    if pd.isna(until):
        return names
    return f"until {reckoned_day(until, row['as_of'])}, then by {names}"


def _renew(row: dict[Any, Any], meant: str | None) -> str:
    if meant is None:
        return ""
    if not row["renew"]:
        return f"nothing in {meant} for these risks' sake"
    names = str(row["renew"]).split("; ")
    said = ", ".join(names)
    return f"{len(names)} clearances: {said}" if len(names) > 3 else said


def _ordering(plan: SitePlan, row: dict[Any, Any], machine: str) -> str:
    orders = plan.orders[plan.orders["machine"] == machine]
    open_ones = orders[orders["to_order"] > 0]
    if orders.empty:
        return ""
    if open_ones.empty:
        return "nothing: what is needed lies on the shelf"
    late = int(open_ones["late"].sum())
    says = (
        f"{row['order_by']:%Y-%m-%d} for the first firm part"
        if pd.notna(row["order_by"])
        else "no firm part has an order date"
    )
    return f"{says}; LATE: {late} of {len(open_ones)}" if late else says


def _due_words(row: dict[Any, Any]) -> str:
    """The note of the due date: who asks for it and what grace is not used."""
    if pd.isna(row["due_date"]):
        return ""
    late = "OVERDUE: " if row["due_date"] < row["as_of"] else ""
    said = [note for note in _notes(row) if _is_due(note, row)]
    note = said[0] if said else f"{late}{row['due_what']} due {row['due_date']:%Y-%m-%d}"
    return f"{note}; the earlier date holds"


def _notes(row: dict[Any, Any]) -> list[str]:
    return [note for note in str(row["notes"] or "").split("; ") if note]


def _is_due(note: str, row: dict[Any, Any]) -> bool:
    return note.removeprefix("OVERDUE: ").startswith(f"{row['due_what']} due ")


def _with_shares(text: str | None) -> str:
    """Names and shares with the shares in brackets: *ring 1 (98 %), ring 2 (2 %)*."""
    bracketed = re.sub(r" (\d+) %(?=; |$)", " (\\1\N{NO-BREAK SPACE}%)", text or "")
    return bracketed.replace("; ", ", ")

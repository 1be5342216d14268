"""What moved an issued plan, in a planner's words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.moved import ALREADY
from trendwear.planning.steps import Group
from trendwear.report.rounding import NONE

if TYPE_CHECKING:
    from trendwear.planning.moved import Moved
    from trendwear.planning.steps import Step

__all__ = [
    "HOW_TO_READ",
    "came_in_words",
    "head_words",
    "latest_words",
    "moved_by",
    "moved_days",
    "reason_lines",
    "step_words",
    "where_moved",
]

HOW_TO_READ: Final = (
    "Inputs are taken over from now one group after another, in this order: "
    + "; ".join(group.value for group in Group)
    + ". Each step says what it adds to those before it; a machine's steps add up to its whole "
    "move. In another order they could share it otherwise."
)

_SHOWN: Final = 3
"""Things that came in by one step that are named; the workbook has all."""
_DAYS_TO_THE_DAY: Final = 60
_DAYS_A_MONTH: Final = 30.44

_ONE: Final = {
    Group.REGISTER: "register",
    Group.READINGS: "new reading",
    Group.CORRECTIONS: "corrected",
    Group.WORK: "work",
    Group.EVENTS: "event",
    Group.HOURS: "hours",
    Group.WINDOWS: "windows and parts",
    Group.CONCESSIONS: "concession",
    Group.RISKS: "accepted risk",
}


def head_words(moved: Moved) -> list[str]:
    """Say which plan is held against what."""
    return list(_head(moved))


def _head(moved: Moved) -> Iterator[str]:
    issue, frozen = moved.issued.issue, moved.issued.frozen
    by = "" if issue.issued_by is None else f" by {issue.issued_by}"
    yield (
        f"Plan {issue.name}, issue {issue.number}, as of {issue.as_of:%Y-%m-%d}; issued "
        f"{issue.issued_at:%Y-%m-%d}{by}. Held against the plan as of {moved.as_of:%Y-%m-%d}."
    )
    if frozen.machines:
        yield f"It was issued for {', '.join(frozen.machines)} alone."
    risk = frozen.plan.accepted.for_all
    if risk is None:
        yield f"Accepted risks then: {'; '.join(_accepted(frozen.site.planning.risks))}."
    else:
        yield (
            f"It was issued at an accepted risk of {100 * risk:.3g} % given for that run; the "
            "same is taken now, whatever the risks sheet says."
        )
    yield from _reckoning(moved)
    dates = frozen.site.record.readings["date"]
    later = dates.gt(pd.Timestamp(issue.as_of)) & dates.le(pd.Timestamp(moved.as_of))
    if later.any():
        some = "1 reading" if later.sum() == 1 else f"{later.sum()} readings"
        yield (
            f"{some} dated after {issue.as_of:%Y-%m-%d} stood in the store already and come in "
            "with the passing of time."
        )
    for was, now in moved.respelt.items():
        yield f"{now} was spelt {was} then."


def _accepted(risks: pd.DataFrame) -> Iterator[str]:
    for row in risks[risks["accepted"].notna()].to_dict("records"):
        signed = [row["by"] if isinstance(row["by"], str) else "nobody named"]
        signed += [f"{row['date']:%Y-%m-%d}"] if pd.notna(row["date"]) else []
        yield f"{row['consequence']} {100 * row['accepted']:.3g} % ({', '.join(signed)})"


def _reckoning(moved: Moved) -> Iterator[str]:
    issue = moved.issued.issue
    if issue.method_version != moved.method_now:
        yield (
            f"The method of reckoning is another now ({issue.method_version} then, "
            f"{moved.method_now} now): what that moves cannot be taken apart further."
        )
        return
    first = moved.moves[moved.moves["step"] == 0]
    if (first["days"].fillna(0) != 0).any():  # no date then and now is no move
        versions = (
            f"both are version {moved.program_now}"
            if issue.program_version == moved.program_now
            else f"version {issue.program_version} then, {moved.program_now} now"
        )
        yield (
            "From the same inputs some dates come out otherwise now, by the same method "
            f"{moved.method_now}: the program changed in something else ({versions})."
        )


def came_in_words(moved: Moved) -> str | None:
    """Say how much came in of each group, whether it moved anything or not."""
    counts: dict[str, int] = {}
    for step in moved.steps:
        counts[step.group.value] = counts.get(step.group.value, 0) + len(step.news)
    told = [f"{group} {count}" for group, count in counts.items() if count]
    return f"Came in since: {', '.join(told)}; --out F.xlsx names each." if told else None


def latest_words(date: Any, outcome: Any) -> str:
    """The latest overhaul: a day, *already*, or why there is none."""
    if outcome in ALREADY:
        return f"already ({outcome})"
    if pd.isna(date):
        return str(outcome) if isinstance(outcome, str) else NONE
    return f"{date:%Y-%m-%d}"


def moved_days(days: float) -> str:
    """How far a date moved.

    >>> moved_days(-34.0), moved_days(1.0), moved_days(-388.0), moved_days(0.0)
    ('34 days earlier', '1 day later', '13 months earlier', 'the same day')
    """
    if pd.isna(days):
        return NONE
    if days == 0:
        return "the same day"
    side = "later" if days > 0 else "earlier"
    count = abs(days)
    if count <= _DAYS_TO_THE_DAY:
        return f"{count:.0f} day{'' if count == 1 else 's'} {side}"
    return f"{count / _DAYS_A_MONTH:.0f} months {side}"


def step_words(step: Step, machine: str) -> str:
    """What came in by a step, as it concerns a machine: its own first, else whose it was."""
    if step.group is Group.RECKONING:
        return "today's program on the same inputs"
    news = step.news
    own = news[news["machine"].isna() | (news["machine"] == machine)]
    if step.group is Group.TIME:
        begun = f" ({_some(own['what'].tolist())})" if len(own) else ""
        return f"the passing of time{begun}"
    if len(own):
        return f"{_ONE[step.group]}: {_some(own['what'].tolist())}"
    told = [f"{row.machine} {row.what}" for row in news.itertuples()]
    return f"{_ONE[step.group]} elsewhere: {_some(told)}"


def _some(told: list[str]) -> str:
    more = len(told) - _SHOWN
    return "; ".join(told[:_SHOWN]) + (f"; and {more} more" if more > 0 else "")


def reason_lines(moved: Moved, machine: str) -> list[str]:
    """Each step that moved a machine's latest overhaul: by how much, and what it was."""
    mine = moved.moves[moved.moves["machine"] == machine]
    return [line for row in mine.to_dict("records") if (line := _reason(moved, row))]


def _reason(moved: Moved, row: dict[str, Any]) -> str | None:
    what = step_words(moved.steps[row["step"]], row["machine"])
    was, now = row["outcome_issued"], row["outcome_now"]
    if was in ALREADY and now in ALREADY:
        return None if was == now else f"{now}: {what}"
    if row["days"] != 0 and pd.notna(row["days"]) and now not in ALREADY and was not in ALREADY:
        return f"{row['days']:+,.0f} day{'' if abs(row['days']) == 1 else 's'}: {what}"
    if was != now:
        return f"now {latest_words(row['latest_date_now'], now)}: {what}"
    return None


def where_moved(moved: Moved, machine: str, name: str) -> str:
    """The groups of steps in which something of a machine's plan changed, for a bracket.

    Parameters
    ----------
    moved : Moved
    machine : str
    name : str
        ``outage``, ``order_by`` or ``renew``.
    """
    mine = moved.moves[moved.moves["machine"] == machine]
    was, now = mine[f"{name}_issued"], mine[f"{name}_now"]
    differs = (was != now) & ~(was.isna() & now.isna())
    return ", ".join(mine.loc[differs, "group"].drop_duplicates())


def moved_by(moved: Moved, machine: str) -> str | None:
    """All that moved a machine's latest overhaul, in one cell."""
    return "; ".join(reason_lines(moved, machine)) or None

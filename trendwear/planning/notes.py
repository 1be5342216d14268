"""What must be said beside each machine's overhaul, in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import pandas as pd

from trendwear.forecasting.remarks import EXTRAPOLATED
from trendwear.planning.accepted import Accepted
from trendwear.planning.overhaul import Answer

__all__ = ["BY_CLEARANCES_ALONE", "chance_said", "notes_of", "reckoned_day"]

BY_CLEARANCES_ALONE: Final = (
    "by clearances alone; cracks, trips, vibration, oil and law are not in it"
)
"""What stands beside every date."""
_TO_THE_DAY: Final = pd.DateOffset(years=2)


def notes_of(row: dict[str, Any], accepted: Accepted) -> str:
    """Return the notes of one machine, joined by ``; ``.

    Parameters
    ----------
    row : dict
        Its answer and windows: keys as `trendwear.planning.plan` collects them.
    accepted : Accepted
    """
    return "; ".join([*_of_answer(row), *_of_limits(row, accepted), *_of_windows(row)])


def _of_answer(row: dict[str, Any]) -> Iterator[str]:
    if pd.notna(row["latest_date"]):
        yield BY_CLEARANCES_ALONE
    if row["answer"] is Answer.ABOVE:
        yield f"chance today {chance_said(row['chance_now'])}, accepted {_percent(row['risk'])}"
    if row["answer"] is Answer.PAST:
        others = row["date_without_past"]
        known = pd.notna(others)
        by_others = f"until {reckoned_day(others, row['as_of'])}" if known else "no date"
        names = [f"{name} ({_how_past(row['past_chance'][name])})" for name in row["past"]]
        yield f"past today: {', '.join(names)}; by the others alone {by_others}"
    yield from row["concessions"]
    if row["answer"] is Answer.NO_DUTY:
        yield "load a run_log or a duty_plan to see dates"
    if pd.notna(row["reach"]) and row["reach"] > EXTRAPOLATED:
        yield f"extrapolated: {row['reach']:.1f} times the longest measured run"
    if pd.notna(row["next_date"]) and len(row["next_governs"]) and not row["past"]:
        yield (
            f"with those renewed, {row['next_governs'].index[0]} governs, "
            f"until {reckoned_day(row['next_date'], row['as_of'])}"
        )


def _how_past(chance: float) -> str:
    """A reading past the limit is a fact; a forecast is not."""
    return "as last read" if chance >= 1.0 else f"by the forecast, {chance_said(chance)} likely"


def _of_limits(row: dict[str, Any], accepted: Accepted) -> Iterator[str]:
    if row["silent"]:
        yield f"without a forecast, not counted: {', '.join(row['silent'])}"
    if row["unsaid"]:
        yield (
            f"no risk is accepted for {', '.join(row['unsaid'])}: held to the strictest, "
            f"{_percent(accepted.strictest)}"
        )


def _of_windows(row: dict[str, Any]) -> Iterator[str]:
    due = row["due_date"]
    if pd.notna(due):
        grace = row["tolerance_days"]
        days = f", {grace:.0f} days of grace not used" if grace > 0 else ""
        late = "OVERDUE: " if row["overdue"] else ""
        yield f"{late}{row['due_what']} due {due:%Y-%m-%d}{_asked_by(row['authority'])}{days}"
    for window in row["running"]:
        yield f"{window}: this plan counts only windows still to begin"
    if row["windows"] == 0:
        yield "no coming window in the outages sheet"
        return
    if row["outage"] is None and row["meant"] is not None:
        some = "another limit passed" if row["past"] else "a limit passed"
        late = (
            f", chance of {some} by then {chance_said(row['chance_meant'])}" if row["told"] else ""
        )
        why = "none starts in time" if pd.notna(row["not_after"]) else "no date to meet"
        yield f"{why}: first window that fits is {row['meant']}{late}"
    if row["meant"] is None:
        yield f"no window fits it ({row['hindered']})"
    elif row["hindered_in_time"]:
        yield f"{row['hindered_in_time']}"
    if row["too_long"] > 0:
        yield (
            f"even with everything renewed the chance before the following opening is "
            f"{chance_said(row['too_long'])}"
        )
    if row["no_lead"]:
        yield f"no lead time known, so no order-by date: {', '.join(row['no_lead'])}"
    if pd.notna(row["order_by"]) and row["order_by"] < row["as_of"]:
        yield f"order-by date has passed ({row['order_by']:%Y-%m-%d})"


def _asked_by(authority: object) -> str:
    return f" ({authority})" if isinstance(authority, str) else ""


def reckoned_day(date: pd.Timestamp, as_of: pd.Timestamp) -> str:
    """Return a date that a forecast gave: its day, or its month where that is far ahead.

    At an accepted risk the plan has one day; more than two years ahead a change of the duty by
    one part in a hundred moves it by a week, so the month is shown.  Windows, due dates and
    order-by dates are days that people set: they are shown as they are.

    >>> reckoned_day(pd.Timestamp("2027-09-08"), pd.Timestamp("2026-11-01"))
    '2027-09-08'
    >>> reckoned_day(pd.Timestamp("2030-06-24"), pd.Timestamp("2026-11-01"))
    '2030-06'
    """
    far = date > as_of + _TO_THE_DAY
    return f"{date:%Y-%m}" if far else f"{date:%Y-%m-%d}"


def chance_said(chance: float) -> str:
    """A chance in words; never none and never certain."""
    return "under 1 %" if chance < 0.01 else f"{min(100 * chance, 99.0):.0f} %"


def _percent(chance: float) -> str:
    """An accepted risk, as it was set."""
    return f"{100 * chance:.3g} %"

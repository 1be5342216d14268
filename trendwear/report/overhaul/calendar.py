"""A site's overhaul plan as a calendar: days to open machines, days to order parts.

iCalendar, RFC 5545.  The same plan makes the same bytes; an event of the same machine and
part carries the same UID in every plan, so that bringing in a newer one moves it.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

import icalendar
import pandas as pd

from trendwear import __version__
from trendwear.errors import UsageProblem
from trendwear.planning.accepted import ANY
from trendwear.planning.spares import FIRM
from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.overhaul.held import chance_beside_risk
from trendwear.report.overhaul.table import BESIDE_EVERY_DATE
from trendwear.wording import fold

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan

__all__ = ["dateless", "plan_calendar"]

_OURS: Final = uuid.uuid5(uuid.NAMESPACE_URL, "urn:trendwear:overhaul-plan")
_FIRST_DAY: Final = dt.date(2000, 1, 1)
_OVERHAUL_ALARMS: Final = (90, 30)
_ORDER_ALARMS: Final = (14, 3)
"""Days ahead on which the calendar speaks up."""
_NOW: Final = ("past its limit today", "above the accepted risk today")


def plan_calendar(plans: Sequence[SitePlan]) -> bytes:
    """Return a plan as an iCalendar file.

    One all-day event a machine that has a date: the window it is opened in, else the last
    day by latest overhaul and due date; one a machine and part to be ordered.  What should
    have happened already stands on the day of the plan and says so.

    Raises
    ------
    UsageProblem
        No risk has been chosen.
    """
    if len(plans) != 1:
        raise UsageProblem(
            "the calendar",
            "it needs an accepted risk, and none has been chosen",
            "Give --risk 0.1 for one in ten, or fill the risks sheet, signed by the person who "
            "accepts it",
        )
    plan = plans[0]
    calendar = icalendar.Calendar()
    calendar.add("prodid", f"-//trendwear//trendwear {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", "Overhaul plan")
    for event in (*_overhauls(plan), *_orders(plan)):
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def dateless(plan: SitePlan) -> dict[str, str]:
    """Return why each machine that has no date, and so no event, has none."""
    return {
        row["machine"]: row["outcome"]
        for row in plan.overhaul.to_dict("records")
        if pd.isna(_last_day(row))
    }


def _last_day(row: dict[Any, Any]) -> Any:
    """The earlier of latest overhaul and due date; NaT where there is neither."""
    return min(
        (day for day in (row["latest_date"], row["due_date"]) if pd.notna(day)), default=pd.NaT
    )


def _overhauls(plan: SitePlan) -> Iterator[icalendar.Event]:
    windows = plan.windows.drop_duplicates(["machine", "outage"]).set_index(["machine", "outage"])
    for row in plan.overhaul.to_dict("records"):
        if pd.isna(_last_day(row)):
            continue
        title, first, last = _overhaul_days(row, windows, plan.as_of)
        said = [
            f"Governed by: {row['governed_by']}." if isinstance(row["governed_by"], str) else "",
            f"Renew: {row['renew']}." if isinstance(row["renew"], str) else "",
            *_notes(row),
        ]
        event = _event(plan.as_of, ("overhaul", row["machine"]), title, said)
        yield _on(event, first, last, _OVERHAUL_ALARMS, plan.as_of)


def _overhaul_days(
    row: dict[Any, Any], windows: pd.DataFrame, as_of: dt.date
) -> tuple[str, dt.date, dt.date]:
    """Title, first and last day of a machine's event."""
    machine, accepted = row["machine"], _accepted(row)
    if isinstance(row["outage"], str):
        window = windows.loc[(machine, row["outage"])]
        chance = chance_beside_risk(row, "chance_at_outage")
        title = (
            f"Overhaul {machine} in {row['outage']}: chance of a passed limit before it: {chance}"
        )
        return f"{title}, {accepted}", window["start"].date(), window["end"].date()
    day = _last_day(row).date()
    if row["outcome"] in _NOW:
        return f"Overhaul {machine}: {row['outcome']}, {accepted}", as_of, as_of
    if day < as_of:
        return f"OVERDUE: {machine}, {row['due_what']} was due {day}", as_of, as_of
    if pd.isna(row["latest_date"]) or day < row["latest_date"].date():
        return f"Overhaul {machine} by this day: {row['due_what']} due", day, day
    return f"Overhaul {machine} by this day at {accepted}", day, day


def _accepted(row: dict[Any, Any]) -> str:
    named = isinstance(row["risk_of"], str) and row["risk_of"] != ANY
    of = f" ({row['risk_of']})" if named else ""
    return (
        "no accepted risk"
        if pd.isna(row["risk"])
        else f"{100 * row['risk']:.3g} % accepted risk{of}"
    )


def _notes(row: dict[Any, Any]) -> list[str]:
    notes = row["notes"] if isinstance(row["notes"], str) else ""
    said = BESIDE_EVERY_DATE.casefold().removesuffix(".")
    kept = [note for note in notes.split("; ") if note and note not in said]
    return [f"{note[:1].upper()}{note[1:]}." for note in kept]


def _orders(plan: SitePlan) -> Iterator[icalendar.Event]:
    orders = plan.orders[(plan.orders["to_order"] > 0) & plan.orders["order_by"].notna()]
    called = orders["part_no"].fillna(orders["part"]).fillna(orders["clearance"])
    for (machine, name), some in orders.groupby([orders["machine"], called], sort=False):
        firm = some[some["need"] == FIRM]
        counted = firm if len(firm) else some
        day, late = counted["order_by"].min().date(), bool(counted["late"].any())
        one = counted.iloc[0]
        what = " ".join(text for text in (one["part"], one["part_no"]) if isinstance(text, str))
        what = f"{counted['to_order'].sum():g} × {what or name}"
        title = f"order {what} for {machine}{_needed(some, counted)}"
        said = [_order_words(row) for row in some.to_dict("records")]
        if late:
            title, said = f"LATE: {title}", [f"Should have been ordered by {day}.", *said]
            day = max(day, plan.as_of)
        else:
            title = f"O{title[1:]} by this day"
        event = _event(plan.as_of, ("order", str(machine), str(name)), title, said)
        yield _on(event, day, day, _ORDER_ALARMS, plan.as_of)


def _needed(orders: pd.DataFrame, counted: pd.DataFrame) -> str:
    """Say what is not firm: all that is counted, or what may be needed beside it."""
    rest = orders.drop(counted.index)
    if len(rest):
        more = rest.groupby("need", sort=False)["to_order"].sum()
        return ", and " + ", ".join(f"{count:g} {need}" for need, count in more.items())
    need = counted["need"].iloc[0]
    return "" if need == FIRM else f" ({need})"


def _order_words(row: dict[Any, Any]) -> str:
    supplier = [row[name] for name in ("supplier", "supplier_part_name", "supplier_part_no")]
    words = [f"{row['clearance']}: {row['to_order']:g}, {row['need']}"]
    words.append(f"order by {row['order_by']:%Y-%m-%d}")
    if pd.notna(row["lead_time_days"]):
        words.append(f"{row['lead_time_days']:.0f} days lead time")
    words.append(" ".join(text for text in supplier if isinstance(text, str)))
    return ", ".join(word for word in words if word) + "."


def _event(
    as_of: dt.date, what: tuple[str, ...], title: str, said: Sequence[str]
) -> icalendar.Event:
    """An event without its days."""
    event = icalendar.Event()
    event.add("uid", str(uuid.uuid5(_OURS, "\n".join(fold(word) for word in what))))
    stamp = dt.datetime(as_of.year, as_of.month, as_of.day, tzinfo=dt.UTC)
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", max((as_of - _FIRST_DAY).days, 0))
    event.add("summary", title)
    lines = [*said, BESIDE_EVERY_DATE, SHORT_CAUTION, f"Plan as of {as_of}."]
    event.add("description", "\n".join(line for line in lines if line))
    event.add("status", "TENTATIVE")
    event.add("transp", "TRANSPARENT")
    event.add("categories", [what[0]])
    return event


def _on(
    event: icalendar.Event, first: dt.date, last: dt.date, ahead: Sequence[int], as_of: dt.date
) -> icalendar.Event:
    """The event on its days, with an alarm so many days ahead where that is still to come."""
    event.add("dtstart", first)
    event.add("dtend", last + dt.timedelta(days=1))  # the end is not in it
    for days in ahead:
        if first - dt.timedelta(days=days) >= as_of:
            alarm = icalendar.Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", str(event["summary"]))
            alarm.add("trigger", dt.timedelta(days=-days))
            event.add_component(alarm)
    return event

"""The overhaul plan as a calendar, parsed back by a reader of iCalendar files."""

from __future__ import annotations

import dataclasses
import datetime as dt

import icalendar
import pandas as pd
import pytest
from invented_plans import AS_OF, FOUND, NO_DATE, ORDER, PAST, WINDOW, Row, site_plan

from trendwear.errors import UsageProblem
from trendwear.planning.plan import SitePlan
from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.overhaul.calendar import dateless, plan_calendar
from trendwear.report.overhaul.table import BESIDE_EVERY_DATE


def events(*overhaul: Row, windows: tuple[Row, ...] = (), orders: tuple[Row, ...] = ()) -> list:
    content = plan_calendar([site_plan(overhaul, windows, (), orders)])
    return icalendar.Calendar.from_ical(content).walk("VEVENT")


def days(event: icalendar.Event) -> tuple[dt.date, dt.date]:
    """First and last day of an all-day event."""
    first, end = event.decoded("dtstart"), event.decoded("dtend")
    assert not isinstance(first, dt.datetime)
    return first, end - dt.timedelta(days=1)


def test_without_a_window_the_latest_date_with_the_accepted_risk_in_the_title() -> None:
    (event,) = events(FOUND)
    assert event["summary"] == "Overhaul T-1 by this day at 10 % accepted risk"
    assert days(event) == (dt.date(2027, 9, 9), dt.date(2027, 9, 9))
    assert event["status"] == "TENTATIVE"
    assert BESIDE_EVERY_DATE in event["description"]
    assert SHORT_CAUTION in event["description"]


def test_with_a_window_all_its_days() -> None:
    mine = {**FOUND, "outage": "Off-season 2027", "chance_at_outage": 0.062, "risk_of": "damage"}
    (event,) = events(mine, windows=({**WINDOW, "machine": "T-2"}, WINDOW))
    assert days(event) == (dt.date(2027, 5, 1), dt.date(2027, 5, 9))
    assert "in Off-season 2027" in event["summary"]
    assert "chance of a passed limit before it: 6 %" in event["summary"]
    assert "10 % accepted risk (damage)" in event["summary"]


def test_the_chance_beside_an_accepted_risk_is_that_of_its_consequence() -> None:
    mine = {**FOUND, "outage": "Off-season 2027", "chance_at_outage": 0.15, "risk_of": "damage"}
    mine |= {"nearest_of": "damage", "nearest_chance": 0.07}
    (event,) = events(mine, windows=(WINDOW,))
    assert "before it: damage 7 %, any 15 %, 10 % accepted risk (damage)" in event["summary"]
    (event,) = events({**mine, "chance_at_outage": 0.071}, windows=(WINDOW,))
    assert "before it: damage 7 %, 10 % accepted risk (damage)" in event["summary"]


def test_what_may_be_needed_too_stands_beside_what_is_firm() -> None:
    maybe = {**ORDER, "clearance": "ring 3", "need": "contingent", "to_order": 3.0}
    (event,) = (
        one for one in events(FOUND, orders=(ORDER, maybe)) if one["categories"].cats == ["order"]
    )
    assert event["summary"] == ("Order 1 × carbon ring R-1 for T-1, and 3 contingent by this day")


def test_a_due_date_that_comes_first_holds() -> None:
    due = {"due_date": pd.Timestamp("2027-03-31"), "due_what": "pressure test"}
    (event,) = events({**FOUND, **due})
    assert days(event)[0] == dt.date(2027, 3, 31)
    assert event["summary"] == "Overhaul T-1 by this day: pressure test due"
    (event,) = events({**FOUND, **due, "due_date": pd.Timestamp("2026-03-31")})
    assert days(event)[0] == AS_OF
    assert event["summary"] == "OVERDUE: T-1, pressure test was due 2026-03-31"


def test_what_is_past_already_stands_on_the_day_of_the_plan() -> None:
    (event,) = events(PAST)
    assert days(event) == (AS_OF, AS_OF)
    assert event["summary"] == "Overhaul T-1: past its limit today, 10 % accepted risk"


def test_a_machine_without_a_date_has_no_event_and_is_named() -> None:
    plan = site_plan([FOUND, {**NO_DATE, "machine": "T-2"}])
    content = icalendar.Calendar.from_ical(plan_calendar([plan]))
    assert len(content.walk("VEVENT")) == 1
    assert dateless(plan) == {"T-2": "no clearance limits it"}


def test_one_order_a_machine_and_part() -> None:
    more = {**ORDER, "clearance": "ring 3", "to_order": 2.0, "order_by": pd.Timestamp("2027-01-20")}
    maybe = {**ORDER, "clearance": "ring 4", "to_order": 4.0, "need": "likely"}
    maybe |= {"order_by": pd.Timestamp("2026-12-01")}
    there = {**ORDER, "part_no": "R-9", "to_order": 0.0}
    found = events(FOUND, orders=(ORDER, more, maybe, there))
    (order,) = [event for event in found if "carbon" in event["summary"]]
    assert order["summary"] == "Order 3 × carbon ring R-1 for T-1, and 4 likely by this day"
    assert days(order)[0] == dt.date(2027, 1, 20)
    assert "ring 4: 4, likely" in order["description"]
    (lone,) = [event for event in events(orders=(maybe,)) if "carbon" in event["summary"]]
    assert lone["summary"] == "Order 4 × carbon ring R-1 for T-1 (likely) by this day"


def test_a_late_order_stands_today_and_says_so() -> None:
    (order,) = events(orders=({**ORDER, "order_by": pd.Timestamp("2026-08-03"), "late": True},))
    assert order["summary"].startswith("LATE: order 1 × carbon ring R-1 for T-1")
    assert days(order) == (AS_OF, AS_OF)
    assert "Should have been ordered by 2026-08-03." in order["description"]
    assert order.walk("VALARM") == []


def test_alarms_speak_up_ahead_and_never_before_the_plan() -> None:
    ahead = [alarm.decoded("trigger").days for alarm in events(FOUND)[0].walk("VALARM")]
    assert ahead == [-90, -30]
    soon = {**FOUND, "latest_date": pd.Timestamp("2026-12-20")}
    ahead = [alarm.decoded("trigger").days for alarm in events(soon)[0].walk("VALARM")]
    assert ahead == [-30]


def test_a_newer_plan_moves_the_same_events() -> None:
    plan = site_plan([FOUND], (), (), [ORDER])
    moved = site_plan(
        [{**FOUND, "machine": "t 1".replace(" ", "-"), "latest_date": pd.Timestamp("2027-10-10")}],
        (),
        (),
        [{**ORDER, "order_by": pd.Timestamp("2027-02-20"), "need": "likely"}],
    )
    moved = dataclasses.replace(moved, as_of=dt.date(2026, 12, 1))
    old, new = (
        {str(event["uid"]): event for event in icalendar.Calendar.from_ical(made).walk("VEVENT")}
        for made in (plan_calendar([plan]), plan_calendar([moved]))
    )
    assert set(old) == set(new)
    assert len(old) == 2
    for uid, event in old.items():
        assert new[uid]["sequence"] > event["sequence"]
        assert new[uid].decoded("dtstamp") > event.decoded("dtstamp")
        assert days(new[uid]) > days(event)


def test_the_same_plan_makes_the_same_bytes_without_asking_the_clock() -> None:
    made = [plan_calendar([site_plan([FOUND, PAST], (), (), [ORDER])]) for _ in range(2)]
    assert made[0] == made[1]
    stamps = {event.decoded("last-modified") for event in events(FOUND)}
    assert stamps == {dt.datetime(2026, 11, 1, tzinfo=dt.UTC)}


def test_awkward_text_comes_back_as_it_was_and_no_line_is_too_long() -> None:
    name = "Mühle 1; Rückführung, lang\\breit " + "Öl" * 60
    content = plan_calendar([site_plan([{**FOUND, "machine": name, "notes": "a,b;c\\d"}])])
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    assert b"\n" not in content.replace(b"\r\n", b"")
    (event,) = icalendar.Calendar.from_ical(content).walk("VEVENT")
    assert event["summary"] == f"Overhaul {name} by this day at 10 % accepted risk"
    assert "A,b;c\\d." in event["description"]


def test_a_line_break_in_a_name_adds_no_property() -> None:
    content = plan_calendar([site_plan([{**FOUND, "machine": "T-1\r\nSTATUS:CONFIRMED"}])])
    (event,) = icalendar.Calendar.from_ical(content).walk("VEVENT")
    assert event["status"] == "TENTATIVE"


def test_without_a_chosen_risk_it_is_refused_with_the_words_to_choose() -> None:
    plans: list[SitePlan] = [site_plan([FOUND]) for _ in range(3)]
    with pytest.raises(UsageProblem, match="--risk"):
        plan_calendar(plans)

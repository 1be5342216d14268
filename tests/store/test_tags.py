"""A machine that was renamed is one machine: from the sheets to its history."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

import trendwear
from trendwear.readings.loaded import LoadReport
from trendwear.store.database import reader

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]

REGISTER = """
machine,clearance,kind,basis,moves,unit,limit
A-1,ring,carbon ring,diametral,opens,mm,0.9
A-1,bearing,sleeve bearing,diametral,opens,mm,0.4
"""
OLD = """
machine,clearance,date,run_hours,state,value
A-1,ring,2014-03-01,8000,as-found,0.30
A-1,ring,2016-03-01,16000,as-found,0.40
"""
NEW = """
machine,clearance,date,run_hours,state,value
T-103,ring,2018-03-01,24000,as-found,0.50
T-103,ring,2020-03-01,32000,as-found,0.60
"""
NAMES = "machine,as_written,clearance,former_tag,until\n"
FOR_EVER = NAMES + "T-103,A-1,,yes,\n"


def machines_of(frame: pd.DataFrame) -> set[str]:
    return set(frame["machine"])


@pytest.mark.parametrize("names_first", [True, False])
def test_readings_under_both_tags_are_one_machine(
    take: Take, stored: Stored, store: Path, *, names_first: bool
) -> None:
    if names_first:
        take("names", names=FOR_EVER)
        take("new register", clearances=REGISTER.replace("A-1", "T-103"))
        take("old", readings=OLD)
    else:
        take("old", clearances=REGISTER, readings=OLD)
        report = take("names", names=FOR_EVER)
        assert any("2 stored rows under a former tag now count" in note for note in report.notes)
    report = take("new", readings=NEW)
    assert report.clean, report.faults.to_string()
    assert report.waiting.empty
    assert machines_of(stored("readings")) == {"T-103"}
    assert machines_of(stored("clearances")) == {"T-103"}
    assert machines_of(stored("machines")) == {"T-103"}
    (row,) = [
        row
        for row in trendwear.forecast(store, as_of=dt.date(2021, 1, 1)).to_dict("records")
        if row["clearance"] == "ring"
    ]
    assert row["readings"] == 4
    assert row["rate_per_1000h"] == pytest.approx(0.0125, rel=0.05)


def test_the_tag_as_written_and_the_old_register_stay_in_the_record(
    take: Take, store: Path
) -> None:
    take("old", clearances=REGISTER, readings=OLD)
    take("names", names=FOR_EVER)
    with reader(store) as connection:
        written = connection.execute("select distinct machine from readings").fetchall()
        former = connection.execute(
            "select replaced_by is not null from clearances where machine = 'A-1'"
        ).fetchall()
    assert written == [("A-1",)]
    assert former == [(True,), (True,)]


def test_old_sheets_loaded_again_change_nothing(take: Take) -> None:
    take("old", clearances=REGISTER, readings=OLD)
    take("names", names=FOR_EVER)
    report = take("old", readings=OLD)
    counts = report.count_of("readings")
    assert (counts.added, counts.unchanged) == (0, 2)
    assert report.clean


def test_a_tag_used_again_is_refused_until_it_is_dated(take: Take, stored: Stored) -> None:
    take("old", clearances=REGISTER, readings=OLD)
    take("names", names=FOR_EVER)
    again = REGISTER.replace("carbon ring", "wear ring")
    report = take("used again", clearances=again)
    assert len(report.faults) == 2
    assert "former tag of T-103" in report.faults["reason"].iloc[0]
    assert "until" in report.faults["instead"].iloc[0]
    take("names", names=NAMES + "T-103,A-1,,yes,2017-12-31\n")
    assert take("used again", clearances=again).clean
    later = "machine,clearance,date,run_hours,state,value\n"
    take("later", readings=later + "A-1,ring,2019-01-01,100,as-found,0.25\n")
    told = stored("readings").set_index("value_mm")["machine"]
    assert told.to_dict() == {0.30: "T-103", 0.40: "T-103", 0.25: "A-1"}
    kinds = stored("clearances").set_index(["machine", "clearance"])["kind"]
    assert kinds[("T-103", "ring")] == "carbon ring"
    assert kinds[("A-1", "ring")] == "wear ring"


def test_a_dated_tag_takes_only_what_was_written_until_then(take: Take, stored: Stored) -> None:
    """Both machines stand under one tag in the store before anybody says so."""
    take("old", clearances=REGISTER, readings=OLD)
    report = take("names", names=NAMES + "T-103,A-1,,yes,2015-12-31\n")
    assert report.clean, report.faults.to_string()
    told = stored("readings").set_index("value_mm")["machine"]
    assert told.to_dict() == {0.30: "T-103", 0.40: "A-1"}
    places = stored("clearances")[["machine", "clearance"]].apply(tuple, axis=1)
    assert set(places) == {("A-1", "ring"), ("A-1", "bearing"), ("T-103", "ring")}


def test_an_undated_reading_under_a_tag_used_again_is_refused(take: Take) -> None:
    take("names", names=NAMES + "T-103,A-1,,yes,2015-12-31\n", clearances=REGISTER)
    report = take(
        "undated",
        readings="machine,clearance,run_hours,state,value\nA-1,ring,500,as-found,0.2\n",
    )
    assert "meant another machine once" in report.faults["reason"].iloc[0]


def test_two_renamings_follow_one_another(take: Take, stored: Stored) -> None:
    take("old", clearances=REGISTER, readings=OLD)
    take("names", names=FOR_EVER)
    take("names again", names=NAMES + "K-9,T-103,,yes,\n")
    take("new", readings=NEW)
    assert machines_of(stored("readings")) == {"K-9"}
    assert machines_of(stored("clearances")) == {"K-9"}


def test_a_sheet_that_carries_its_register_may_bear_the_old_tag(take: Take, stored: Stored) -> None:
    take("names", names=FOR_EVER)
    flat = "machine,clearance,kind,basis,moves,unit,date,run_hours,state,value\n"
    row = "A-1,ring,carbon ring,diametral,opens,mm,2014-03-01,8000,as-found,0.30\n"
    assert take("flat", readings=flat + row).clean
    assert machines_of(stored("clearances")) == {"T-103"}
    assert machines_of(stored("readings")) == {"T-103"}


def test_log_work_events_and_spellings_come_along(take: Take, stored: Stored) -> None:
    take(
        "old",
        clearances=REGISTER,
        run_log="machine,date,run_hours\nA-1,2014-01-01,7000\n",
        work="machine,clearance,date,action,to_machine\nA-1,ring,2014-03-02,renewed,\n",
        events="machine,date,what\nA-1,2014-05-01,trip\n",
        names="machine,as_written,clearance\nA-1,old ring,ring\n",
        duty_plan="machine,from,to,hours_per_day\nA-1,2021-01-01,,12\n",
    )
    take("names", names=FOR_EVER)
    for sheet in ("run_log", "work", "events", "duty_plan"):
        assert machines_of(stored(sheet)) == {"T-103"}, sheet
    report = take(
        "spelt",
        readings="machine,clearance,date,run_hours,state,value\n"
        "T-103,old ring,2018-03-01,24000,as-found,0.50\n",
    )
    assert report.waiting.empty
    assert stored("readings")["clearance"].tolist() == ["ring"]


def test_the_same_reading_under_both_tags_counts_once(take: Take, stored: Stored) -> None:
    take("new", clearances=REGISTER.replace("A-1", "T-103"), readings=OLD.replace("A-1", "T-103"))
    take("old", clearances=REGISTER, readings=OLD)
    report = take("names", names=FOR_EVER)
    assert any("those under the present one count" in note for note in report.notes)
    assert (stored("readings")["machine"] == "T-103").sum() == 2


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (",A-1,,yes,", "a former tag of which machine"),
        ("T-103,A-1,ring,yes,", "means a machine, not a position"),
        ("A-1,a 1,,yes,", "this is the tag it bears now"),
        ("T-103,old ring,ring,,2015-01-01", "only a former tag ends on a day"),
        ("T-103,old ring,,no,", "neither a position nor a kind"),
    ],
)
def test_rows_that_name_no_former_tag(take: Take, row: str, words: str) -> None:
    report = take("names", names=NAMES + row + "\n")
    assert words in report.faults["reason"].iloc[0]


def test_a_part_went_to_the_machine_under_its_former_tag(take: Take, stored: Stored) -> None:
    both = REGISTER + "B-2,ring,carbon ring,diametral,opens,mm,0.9\n"
    head = "machine,clearance,date,action,to_machine\n"
    take("work", clearances=both, work=head + "B-2,ring,2015-01-01,moved,A-1\n")
    take("names", names=FOR_EVER)
    take("more", work=head + "B-2,ring,2016-01-01,moved,a 1\n")
    assert stored("work")["to_machine"].tolist() == ["T-103", "T-103"]


def test_a_part_that_went_nowhere_known_waits(take: Take, stored: Stored) -> None:
    head = "machine,clearance,date,action,to_clearance,to_machine\n"
    rows = "A-1,ring,2015-01-01,moved,slot 9,\nA-1,ring,2016-01-01,moved,,X-9\n"
    report = take("work", clearances=REGISTER, work=head + rows)
    assert report.waiting["rows"].sum() == 2
    assert stored("work").empty
    more = "A-1,slot 9,carbon ring,diametral,opens,mm,0.9\n"
    more += "X-9,ring,carbon ring,diametral,opens,mm,0.9\n"
    report = take("register", clearances=REGISTER + more)
    assert report.waiting.empty
    assert len(stored("work")) == 2


def test_work_may_name_a_partner(take: Take, stored: Stored) -> None:
    register = REGISTER.replace("limit\n", "limit,partner\n").replace("0.9\n", "0.9,Shaft sleeve\n")
    report = take(
        "partner",
        clearances=register,
        work="machine,clearance,date,action\nA-1,shaft-sleeve,2015-01-01,renewed\n",
    )
    assert report.waiting.empty
    assert stored("work")["clearance"].tolist() == ["shaft-sleeve"]

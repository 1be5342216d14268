"""A proposed register from readings alone: what is filled in, and what is left to a person."""

from __future__ import annotations

import pandas as pd
import pytest

from trendwear.readings.draft import Draft, draft
from trendwear.readings.draft_seen import Known, seen
from trendwear.readings.sheet import read_paths

HEAD = "machine,clearance,date,run_hours,state,value,unit"


@pytest.fixture
def drafted(write):
    def drafting(*rows: str, head: str = HEAD, known: Known | None = None) -> Draft:
        path = write("readings.csv", "\n".join((head, *rows)))
        return draft(seen((read_paths([path]).sheets,), known or Known()))

    return drafting


def clearance(proposed: Draft, name: str) -> dict[str, str]:
    (row,) = [one for one in proposed.rows["clearances"] if one["clearance"] == name]
    return row


def to_decide(proposed: Draft, name: str) -> frozenset[str]:
    rows = proposed.rows["clearances"]
    (place,) = [place for place, one in enumerate(rows) if one["clearance"] == name]
    return proposed.open_cells["clearances"][place]


def test_the_kind_is_likely_and_basis_and_direction_are_for_a_person(drafted):
    made = drafted("P-1,IB brg,2020-01-01,,as-found,6,mil", "P-1,IB brg,2022-01-01,,as-found,7,mil")
    row = clearance(made, "IB brg")
    assert row["kind"] == "sleeve bearing"
    assert row["unit"] == "mil"
    assert row["basis"] == row["moves"] == ""
    assert row["(usual)"] == "opens, diametral"
    assert row["(how sure)"].startswith("likely; it may be a rolling bearing")
    assert row["(seen)"] == "2 readings from 2020-01 to 2022-01"
    assert to_decide(made, "IB brg") == {"basis", "moves"}


def test_basis_and_direction_stand_where_the_sheet_says_them(drafted):
    made = drafted(
        "P-1,IB brg,2020-01-01,as-found,6,mil,diametral,opens",
        "P-1,thrust,2020-01-01,as-found,9,mil,axial,",
        head="machine,clearance,date,state,value,unit,basis,moves",
    )
    row = clearance(made, "IB brg")
    assert (row["basis"], row["moves"]) == ("diametral", "opens")
    assert to_decide(made, "IB brg") == frozenset()
    assert clearance(made, "thrust")["basis"] == "axial"


def test_a_basis_that_the_kind_cannot_have_is_left_to_a_person(drafted):
    made = drafted(
        "P-1,end play,2020-01-01,as-found,6,mil,diametral",
        "P-1,IB brg,2020-01-01,as-found,6,mil,radial",
        head="machine,clearance,date,state,value,unit,basis",
    )
    assert clearance(made, "end play")["basis"] == ""
    assert clearance(made, "IB brg")["basis"] == "radial"


def test_a_unit_is_never_guessed(drafted):
    made = drafted(
        "P-1,a ring,2020-01-01,,as-found,6,mil",
        "P-1,a ring,2021-01-01,,as-found,7,",
        "P-1,b ring,2020-01-01,,as-found,6,mil",
        "P-1,b ring,2021-01-01,,as-found,0.18,mm",
        "P-1,c ring,2021-01-01,,as-found,0.18 mm,",
    )
    assert clearance(made, "a ring")["unit"] == ""
    assert "1 mil, 1 without a unit" in clearance(made, "a ring")["(why)"]
    assert clearance(made, "b ring")["unit"] == ""
    assert clearance(made, "c ring")["unit"] == "mm"


def test_where_the_name_does_not_say_the_kind_it_is_for_a_person(drafted):
    made = drafted("P-1,Gland ring 3,2020-01-01,,as-found,6,mil")
    assert clearance(made, "Gland ring 3")["kind"] == ""
    assert "kind" in to_decide(made, "Gland ring 3")


def test_what_all_rows_say_of_the_register_is_carried_and_what_differs_is_not(drafted):
    made = drafted(
        "P-1,IB brg,2020-01-01,as-found,6,mil,12,BS-1,casing",
        "P-1,IB brg,2021-01-01,as-found,7,mil,12,BS-2,casing",
        head="machine,clearance,date,state,value,unit,limit,part_no,access",
    )
    row = clearance(made, "IB brg")
    assert row["limit"] == "12 mil"
    assert row["access"] == "casing"
    assert "part_no" not in row


def test_spellings_that_differ_in_case_and_hyphens_are_one_and_need_no_row(drafted):
    made = drafted("P-1,IB brg,2020-01-01,,as-found,6,mil", "p 1,ib-BRG,2021-01-01,,as-found,7,mil")
    assert len(made.rows["clearances"]) == 1
    assert made.rows["names"] == []


def test_two_spellings_are_joined_only_apart_in_time(drafted):
    rows = ["P-1,IB brg,2020-01-01,,as-found,6,mil", "P-1,IB brg,2016-01-01,,as-found,5,mil"]
    near = drafted(*rows, "P-1,Inboard bearing,2020-02-14,,as-found,7,mil")
    assert near.rows["names"] == []
    far = drafted(*rows, "P-1,Inboard bearing,2020-02-16,,as-found,7,mil")
    (name,) = far.rows["names"]
    assert (name["as_written"], name["clearance"]) == ("Inboard bearing", "IB brg") or (
        name["as_written"],
        name["clearance"],
    ) == ("IB brg", "Inboard bearing")


def test_hours_part_the_openings_where_there_are_no_dates(drafted):
    head = "machine,clearance,run_hours,state,value,unit"
    same = drafted("M,IB brg,1000,as-found,6,mil", "M,brg IB,1020,as-found,7,mil", head=head)
    assert same.rows["names"] == []
    later = drafted("M,IB brg,1000,as-found,6,mil", "M,brg IB,1030,as-found,7,mil", head=head)
    assert len(later.rows["names"]) == 1


def test_a_reading_without_a_date_joins_the_opening_of_its_hours(drafted):
    rows = [
        "M,IB brg,2010-01-01,,as-found,6,mil",
        "M,IB brg,2010-01-02,1000,as-left,6,mil",
        "M,IB brg,2014-01-01,9000,as-found,7,mil",
    ]
    assert drafted(*rows, "M,brg IB,,1010,as-found,7,mil").rows["names"] == []
    assert len(drafted(*rows, "M,brg IB,,5000,as-found,7,mil").rows["names"]) == 1


def test_a_side_is_a_place_only_where_the_name_says_so(drafted):
    made = drafted(
        "M,Steam valve stem,2020-01-01,,as-found,6,mil",
        "M,Brg steam end,2020-01-01,,as-found,6,mil",
        "M,OB brg,2020-01-01,,as-found,6,mil",
    )
    places = {row["clearance"]: row["location"] for row in made.rows["clearances"]}
    assert places == {
        "Steam valve stem": "",
        "Brg steam end": "steam end",
        "OB brg": "outboard",
    }


def test_a_stated_opening_joins_and_parts_whatever_the_dates(drafted):
    head = "machine,clearance,date,state,value,unit,opening"
    row = "M,{},{},as-found,6,mil,{}"
    joined = drafted(
        row.format("IB brg", "2020-01-01", "A"), row.format("brg IB", "2020-06-01", "A"), head=head
    )
    assert joined.rows["names"] == []
    parted = drafted(
        row.format("IB brg", "2020-01-01", "A"), row.format("brg IB", "2020-01-09", "B"), head=head
    )
    assert len(parted.rows["names"]) == 1


def test_what_a_person_must_decide_stands_first_and_is_blank(drafted):
    made = drafted(
        "P-1,IB brg,2010-01-01,,as-found,6,mil",
        "P-1,IB brg,2012-01-01,,as-found,6,mil",
        "P-1,Brg inbd,2014-01-01,,as-found,6,mil",
        "P-1,#1 brg,2016-01-01,,as-found,6,mil",
    )
    first, second = made.rows["names"]
    assert (first["as_written"], first["clearance"]) == ("#1 brg", "")
    assert first["(perhaps)"] == "IB brg"
    assert made.open_cells["names"] == [frozenset({"clearance"}), frozenset()]
    assert second["clearance"] == "IB brg"
    assert [one["clearance"] for one in made.rows["clearances"]] == ["IB brg"]


def test_the_store_s_register_gives_the_names_and_needs_no_row_again(drafted):
    register = pd.DataFrame(
        {"machine": ["P-1"], "clearance": ["Inboard bearing"], "kind": ["sleeve bearing"]}
    )
    past = pd.DataFrame(
        {
            "machine": ["P-1"],
            "clearance": ["Inboard bearing"],
            "date": pd.to_datetime(["2010-01-01"]),
            "run_hours": [1.0],
            "state": ["as-found"],
            "opening": [None],
            "value": [0.1],
            "value_written": ["4"],
            "unit": ["mil"],
        }
    )
    known = Known(register, machines=("P-1",), past=past)
    made = drafted("P-1,IB brg,2020-01-01,,as-found,6,mil", known=known)
    assert made.rows["clearances"] == made.rows["machines"] == []
    (name,) = made.rows["names"]
    assert name["clearance"] == "Inboard bearing"
    assert "last 4 mil (2010-01-01) → first 6 mil (2020-01-01)" in name["(why)"]
    same_day = drafted("P-1,IB brg,2010-01-05,,as-found,6,mil", known=known)
    assert same_day.rows["names"] == []
    assert clearance(same_day, "IB brg")["(why)"].startswith("in the same opening as Inboard")


def test_a_spelling_that_a_person_confirmed_is_read_as_its_position(drafted):
    names = pd.DataFrame(
        {"machine": [None], "as_written": ["Gland ring 1"], "clearance": ["Carbon ring 1"]}
    )
    made = drafted(
        "P-1,Gland ring 1,2020-01-01,,as-found,6,mil",
        "P-1,Carbon ring 1,2016-01-01,,as-found,6,mil",
        known=Known(names=names),
    )
    assert [one["clearance"] for one in made.rows["clearances"]] == ["Carbon ring 1"]
    assert made.rows["names"] == []


def test_readings_that_say_all_of_their_position_need_no_register(drafted):
    made = drafted(
        "P-1,IB brg,sleeve bearing,diametral,opens,mil,2020-01-01,as-found,6",
        head="machine,clearance,kind,basis,moves,unit,date,state,value",
    )
    assert made.is_empty


def test_machines_that_look_alike_are_told(drafted):
    made = drafted("T-101,IB brg,2020-01-01,,as-found,6,mil", "T101,brg,2021-01-01,,as-found,7,mil")
    told = {row["machine"]: row["(why)"] for row in made.rows["machines"]}
    assert "looks like T-101" in told["T101"]


def test_work_under_another_spelling_is_matched_and_else_told(write):
    write("readings.csv", f"{HEAD}\nP-1,IB brg,2020-01-01,,as-found,6,mil")
    folder = write(
        "work.csv",
        "machine,clearance,date,action\nP-1,Brg inbd,2020-01-02,renewed\n"
        "P-1,*,2020-01-02,renewed\nP-1,all rings,2020-01-02,renewed",
    ).parent
    made = draft(seen((read_paths([folder]).sheets,), Known()))
    assert [(n["as_written"], n["clearance"]) for n in made.rows["names"]] == [
        ("Brg inbd", "IB brg")
    ]
    assert made.notes == ("P-1: work names what no reading is of: all rings",)


def test_the_same_rows_told_twice_count_once(write):
    path = write("readings.csv", f"{HEAD}\nP-1,IB brg,2020-01-01,,as-found,6,mil")
    sheets = read_paths([path]).sheets
    (row,) = draft(seen((sheets, sheets), Known())).rows["clearances"]
    assert row["(seen)"] == "1 reading in 2020-01"


def test_no_readings_make_an_empty_draft():
    assert draft(seen((), Known())).is_empty

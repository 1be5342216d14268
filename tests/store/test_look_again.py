"""What is taken in and listed for a second look."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from trendwear.readings.loaded import LoadReport
from trendwear.store.intake import load
from trendwear.store.names_alike import alike

Take = Callable[..., LoadReport]

HEAD = "machine,clearance,kind,basis,moves,unit\n"
LOG = "machine,date,run_hours,meter\n"


def notes(report: LoadReport, words: str) -> list[str]:
    return [note for note in report.notes if words in note]


def test_dates_in_the_future_are_kept_and_listed(folder: Callable[..., Path], store: Path) -> None:
    place = folder(
        clearances=HEAD + "K-1,a,sleeve,diametral,opens,mm\n",
        readings="machine,clearance,date,state,value\nK-1,a,2031-01-02,as-found,0.2\n"
        "K-1,a,2031-01-01,as-found,0.2\n",
    )
    report = load(place, store=store, loaded_at=datetime(2031, 1, 1, 12, 0))
    assert report.count_of("readings").added == 2
    assert notes(report, "future") == [
        "readings: 1 row is dated in the future, and kept: readings.csv row 2"
    ]


@pytest.mark.parametrize(
    ("rows", "falls"),
    [
        ("K-1,2010-01-01,1000,\nK-1,2011-01-01,900,\n", True),
        ("K-1,2010-01-01,1000,\nK-1,2011-01-01,0,replaced\nK-1,2012-01-01,900,\n", False),
        ("K-1,2010-01-01,1000,\nK-1,2010-01-01,20,replaced\nK-1,2012-01-01,10,\n", True),
        ("K-1,2010-01-01,1000,\nK-1,2011-01-01,1000,\nK-1,2012-01-01,2000,\n", False),
    ],
)
def test_hours_that_fall_are_listed(take: Take, rows: str, falls: object) -> None:
    report = take(clearances=HEAD + "K-1,a,sleeve,diametral,opens,mm\n", run_log=LOG + rows)
    assert report.clean
    assert bool(notes(report, "K-1: the hours fall 1 time without")) is falls


LIMITED = "machine,clearance,kind,basis,moves,unit,limit,design_min,design_max\n"


@pytest.mark.parametrize(
    ("position", "reading", "said"),
    [
        (
            "opens,mil,12,,",
            "0.0065,mil",
            "0.0065 mil against a limit of 12 mil: inches written in a mil column?",
        ),
        (
            "opens,mil,12,5,7",
            "0.09,mil",
            "0.09 mil against a limit of 12 mil: millimetres written in a mil column?",
        ),
        (
            "opens,mm,0.3,0.1,0.15",
            "200,mm",
            "200 mm against a limit of 0.3 mm: micrometres written in a mm column?",
        ),
        (
            "opens,in,0.012,0.005,0.007",
            "6.5,in",
            "6.5 in against a limit of 0.012 in: mil written in an in column?",
        ),
        (
            "opens,mil,12,,",
            "0.0065 mil,",
            "0.0065 mil against a limit of 12 mil: inches written as mil?",
        ),
        (
            "closes,mm,0.8,1.5,2",
            "0.0012,mm",
            "0.0012 mm against a limit of 0.8 mm: written 1000 times too small?",
        ),
        ("opens,mm,,0.1,0.15", "0.00001,mm", "1e-05 mm against 0.1 mm as built"),
        # 7.5 mil is 0.19 mm: a column of the other unit makes it 39.4 times less or more.
        (
            "opens,mil,12,5,7",
            "0.19,mil",
            "0.19 mil against a limit of 12 mil: millimetres written in a mil column?",
        ),
        (
            "opens,mil,12,5,7",
            "0.31,mil",
            "0.31 mil against a limit of 12 mil: millimetres written in a mil column?",
        ),
        (
            "opens,mil,12,,",
            "0.3,mil",
            "0.3 mil against a limit of 12 mil: millimetres written in a mil column?",
        ),
        (
            "opens,mm,0.3,0.13,0.18",
            "7.5,mm",
            "7.5 mm against a limit of 0.3 mm: mil written in a mm column?",
        ),
    ],
)
def test_readings_far_off_are_kept_and_listed(
    take: Take, position: str, reading: str, said: str
) -> None:
    report = take(
        clearances=f"{LIMITED}K-1,a,sleeve,diametral,{position}\n",
        readings=f"machine,clearance,date,state,value,unit\nK-1,a,2010-01-01,as-found,{reading}\n",
    )
    assert report.clean
    assert report.count_of("readings").added == 1
    (note,) = notes(report, "against")
    assert note.startswith(f"K-1 / a: look again: {said} (")
    assert note.endswith("readings.csv row 2)")


@pytest.mark.parametrize(
    "reading",
    ["as-left,0,0", "as-found,1.2,", "as-found,55,", "as-found,worn through,", "as-found,>20,"],
)
def test_readings_that_may_be_so_are_not_listed(take: Take, reading: str) -> None:
    report = take(
        clearances=f"{LIMITED}K-1,a,sleeve,diametral,opens,mil,12,5,7\n",
        readings="machine,clearance,date,state,value,uncertainty\n"
        + f"K-1,a,2010-01-01,{reading}\n",
    )
    assert report.count_of("readings").added == 1
    assert not notes(report, "against")


def test_names_that_look_alike_are_listed_with_their_counts(take: Take) -> None:
    report = take(
        clearances=HEAD
        + "K-1,inboard bearing,sleeve bearing,diametral,opens,mm\n"
        + "K-1,inbord bearing,sleeve baering,diametral,opens,mm\n"
        + "K-1,bearing 1,sleeve bearing,diametral,opens,mm\n"
        + "K-1,bearing 2,sleeve bearing,diametral,opens,mm\n"
        + "K-1,brg DE,sleeve bearing,diametral,opens,mm\n"
        + "K-1,brg NDE,sleeve bearing,diametral,opens,mm\n",
        readings="machine,clearance,date,state,value\nK-1,inboard bearing,2010-01-01,as-left,0.2\n"
        "K1,x,2010-01-01,as-left,0.2\nK-1,bearing1,2010-01-01,as-left,0.2\n",
    )
    assert notes(report, "positions that look alike") == [
        "K-1: positions that look alike: 'bearing 1' (0) and 'bearing1' (1), "
        "'inboard bearing' (1) and 'inbord bearing' (0); if they are one, map them in names"
    ]
    assert "'sleeve baering' (1) and 'sleeve bearing' (5)" in notes(report, "kinds that look")[0]
    assert "'K-1' (2) and 'K1' (1); if they are one, use" in notes(report, "machines that look")[0]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("inboard bearing", "inbord bearing"),
        ("bearing", "bearings"),
        ("brg 1", "Brg1"),
        ("brg D.E.", "brg DE"),
        ("drive end bearing", "bearing drive end"),
    ],
)
def test_perhaps_one_name(one: str, other: str) -> None:
    assert alike(one, other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("brg 1", "BRG-1"),
        ("brg DE", "brg NDE"),
        ("inboard bearing", "outboard bearing"),
        ("ring 1", "ring 11"),
        ("stage 1 ring 2", "stage 2 ring 1"),
        ("ring 1-11", "ring 11-1"),
        ("upper half", "lower half"),
        ("P-101A", "P-101B"),
    ],
)
def test_two_names_or_the_very_same(one: str, other: str) -> None:
    assert not alike(one, other)


def test_many_notes_of_one_sort_are_counted(take: Take) -> None:
    report = take(
        clearances=HEAD + "".join(f"K-1,a{n},sleeve,diametral,opens,mm\n" for n in range(25)),
        readings="machine,clearance,date,state,value\n"
        + "".join(f"K-1,a{n},2010-01-01,as-left,7 mil\n" for n in range(25)),
    )
    assert len(notes(report, "read in mil")) == 20
    assert "and 5 more notes like the last one" in report.notes


def test_a_reading_with_and_without_its_plane_is_listed(take: Take) -> None:
    register = HEAD + "K-1,a,sleeve,diametral,opens,mm\n"
    head = "machine,clearance,date,state,value,plane,angle\n"
    one = take(
        clearances=register,
        readings=head + "K-1,a,2010-01-01,as-left,0.2,1,0\nK-1,a,2010-01-01,as-left,0.2,1,90\n",
    )
    assert not notes(one, "perhaps stored twice")
    two = take("b", readings=head + "K-1,a,2010-01-01,as-left,0.2,,0\n")
    assert notes(two, "K-1: look again: 1 reading is perhaps stored twice")


def test_a_unit_changed_in_the_register_is_listed(take: Take) -> None:
    register = HEAD + "K-1,a,sleeve,diametral,opens,mm\n"
    head = "machine,clearance,date,state,value,unit\n"
    take(
        clearances=register,
        readings=head + "K-1,a,2010-01-01,as-left,0.2,\nK-1,a,2011-01-01,as-left,0.2,mm\n",
    )
    report = take("b", clearances=register.replace("mm", "mil"))
    assert notes(report, "K-1 / a: look again: 1 stored reading named no unit")

"""The whole judgement of a site, and the notes it writes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from trendwear.trust.judge import judge, trust_notes

Build = Callable[..., Any]


def _notes(made: Any) -> list[list[str]]:
    trust = judge(made.register, made.cut, made.families, made.events)
    table = made.register.assign(position=trust.decisions["position"])
    return list(trust_notes(trust, made.cut, table))


def test_notes_stand_beside_their_rows(site: Build, rings: Build) -> None:
    register, readings = rings()
    readings[8]["value_mm"] *= 2
    register[4]["limit_mm"] = readings[29]["value_mm"] + 0.001
    notes = _notes(site(register, readings))
    assert [bool(words) for words in notes] == [n in (1, 4) for n in range(8)]
    assert notes[1][0].startswith("look again, as-found 2002-04-30")
    assert ": twice the expected: a diametral reading doubled?" in notes[1][0]
    assert notes[4][0].startswith("too near the limit to tell: ")
    assert notes[4][0].endswith(" % chance that it was within")


def test_a_slip_in_a_small_family_is_told_beside_its_sisters(site: Build, rings: Build) -> None:
    register, readings = rings(count=4)
    readings[8]["value_mm"] *= 2
    notes = _notes(site(register, readings))
    assert notes[1][0].startswith("look again")
    for at in (0, 2, 3):
        assert "its family holds a reading to look at again, which its rate leans on" in notes[at]


def test_many_doubted_readings_are_counted(site: Build, rings: Build) -> None:
    register, readings = rings(count=1)
    for row in readings:
        row["value_mm"] *= 25.4
        row["stated_mm"] = 0.1
    (words,) = _notes(site(register, readings))
    looks = [note for note in words if note.startswith("look again")]
    assert len(looks) == 4
    assert looks[-1] == "look again: 3 more readings"


@pytest.mark.parametrize("count", [0, 1, 2])
def test_next_to_nothing_is_judged_too(site: Build, count: int) -> None:
    readings = [
        {"clearance": "a", "run_hours": 100.0 + 8000.0 * n, "value_mm": 0.2 + 0.04 * n}
        for n in range(count)
    ]
    assert _notes(site([{"clearance": "a"}], readings)) == [[]]
    assert _notes(site([], [])) == []


def test_judging_changes_nothing(site: Build, rings: Build) -> None:
    register, readings = rings()
    readings[8]["value_mm"] *= 2
    made = site(register, readings)
    points, rates = made.cut.points.copy(), made.families.wear.rate.copy()
    judge(made.register, made.cut, made.families, made.events)
    assert made.cut.points.equals(points)
    assert (made.families.wear.rate == rates).all()

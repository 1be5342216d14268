"""A case as it is written in a file, and as the store keeps it."""

from __future__ import annotations

import datetime as dt
import json
import tomllib
from pathlib import Path

import pytest

from trendwear.errors import InputProblem, UsageProblem
from trendwear.planning.case_changes import (
    CancelledWindow,
    NewWindow,
    OtherDuty,
    OtherLimit,
    OtherMove,
    OtherRenewal,
    OtherRisk,
)
from trendwear.planning.case_file import read_case
from trendwear.planning.case_form import case_from, case_written
from trendwear.planning.cases import Case
from trendwear.verbs.case import EXAMPLE

WRITTEN = """
name = "  All sorts "
[[duty]]
machine = "M"
from = 2027-01-01
to = "2027-02-28"
hours_per_day = 22
[[duty]]
factor = 1.1
[[limit]]
machine = "M"
clearance = "a"
limit = 20
unit = "thou"
moves = "opens"
[[window]]
move = "spring"
start = 2027-05-01
end = 2027-05-20
[[window]]
cancel = "autumn"
[[window]]
add = "winter"
start = 2027-12-01
end = 2027-12-31
scope = "bearing caps"
[[renewal]]
machine = "M"
clearance = "a"
window = "spring"
[[risk]]
accepted = 0.2
consequence = "leak"
"""

ALL = Case(
    "All sorts",
    (
        OtherDuty("M", dt.date(2027, 1, 1), dt.date(2027, 2, 28), hours_per_day=22.0),
        OtherDuty(factor=1.1),
        OtherLimit("M", "a", 0.508, "mil", "opens"),
        OtherMove("spring", dt.date(2027, 5, 1), dt.date(2027, 5, 20)),
        CancelledWindow("autumn"),
        NewWindow("winter", dt.date(2027, 12, 1), dt.date(2027, 12, 31), None, "bearing caps"),
        OtherRenewal("M", "a", window="spring"),
        OtherRisk(0.2, "leak"),
    ),
)


def test_every_sort_of_change_is_read() -> None:
    assert case_from(tomllib.loads(WRITTEN)) == ALL


def test_what_is_kept_comes_back_the_same() -> None:
    assert case_from(json.loads(json.dumps(case_written(ALL)))) == ALL


def test_every_change_says_itself() -> None:
    assert [str(change) for change in ALL.changes] == [
        "M runs 22 h a day from 2027-01-01 to 2027-02-28",
        "every machine runs 1.1 times its planned hours from today on",
        "limit of M / a, opens is 20 mil",
        "window spring starts 2027-05-01 and ends 2027-05-20",
        "window autumn is cancelled",
        "new window winter, 2027-12-01 to 2027-12-31, bearing caps",
        "M / a is renewed at the start of spring",
        "accepted risk of leak is 20 %",
    ]


def test_the_example_of_the_help_is_read() -> None:
    case = case_from(tomllib.loads(EXAMPLE.split("\b\n")[1]))
    assert case.name == "A longer season"
    assert len(case.changes) == 5


BAD = {
    "risks = 3": "not understood: risks",
    "name = 3": "case: name",
    "duty = 3": "duty: it is no list",
    "duty = [3]": "duty 1: 3",
    "": "it changes nothing",
    "[[duty]]\nhours = 3\nfactor = 1": "duty 1: not understood: hours",
    "[[duty]]\nhours_per_day = '3'": "duty 1: hours_per_day: '3'",
    "[[duty]]\nhours_per_day = true": "duty 1: hours_per_day: True",
    "[[duty]]\nfactor = 1.1\nfrom = 'May'": "Write a day as 2027-11-21",
    "[[duty]]\nfactor = 1.1\nfrom = 2027-01-01T10:00:00": "Write a day as 2027-11-21",
    "[[duty]]\nfactor = nan": "duty 1: duty: factor: nan",
    "[[limit]]\nmachine = 'M'\nclearance = 'a'\nlimit = 1": "limit 1: unit is missing",
    "[[limit]]\nmachine = 'M'\nclearance = 'a'\nunit = 'mm'": "limit 1: limit is missing",
    "[[limit]]\nmachine = 'M'\nclearance = 'a'\nlimit = 1\nunit = 'cm'": "mm, um, mil or in",
    "[[limit]]\nmachine = 3\nclearance = 'a'\nlimit = 1\nunit = 'mm'": "a text in quotes",
    "[[window]]\nstart = 2027-01-01": "none of move, cancel and add",
    "[[window]]\nmove = 'a'\ncancel = 'a'": "it says move and cancel",
    "[[window]]\nadd = 'a'\nstart = 2027-01-01": "window 1: end is missing",
    "[[window]]\ncancel = 'a'\nstart = 2027-01-01": "not understood: start",
    "[[risk]]\nconsequence = 'leak'": "accepted is missing",
    "[[risk]]\naccepted = 20": "not a chance",
}


@pytest.mark.parametrize("written", BAD)
def test_what_is_not_understood_is_refused_with_its_place(written: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(written, encoding="utf-8")
    with pytest.raises(UsageProblem) as problem:
        read_case(path)
    assert BAD[written] in str(problem.value)
    assert str(path) in str(problem.value)


def test_a_file_that_is_no_case_file(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    with pytest.raises(InputProblem, match="cannot be read"):
        read_case(path)
    for content in (b"[[duty]", b"\xff\xfe\x00"):
        path.write_bytes(content)
        with pytest.raises(InputProblem, match="it is not a case file"):
            read_case(path)


def test_a_case_without_a_name_is_called_as_its_file(tmp_path: Path) -> None:
    path = tmp_path / "longer season.toml"
    path.write_text("[[duty]]\nfactor = 1.1", encoding="utf-8")
    assert read_case(path).name == "longer season"

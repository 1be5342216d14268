"""The headings file, and finding the headings in a sheet."""

from __future__ import annotations

from pathlib import Path

import pytest

from trendwear.errors import HeadingsProblem
from trendwear.readings.dates import DateOrder
from trendwear.readings.decimals import Decimal
from trendwear.readings.headings import Headings, read_headings

SITE = """
[sheets]
"Bearing log" = "readings"

[headings.readings]
"Unit tag" = "machine"
"Pos." = "clearance"

[fixed.readings]
state = "as-found"
unit = "mil"
limiting = true

[dates]
order = "day first"

[numbers]
decimal = "comma"
"""


def test_a_headings_file(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text(SITE, encoding="utf-8")
    headings = read_headings(path)
    assert headings == Headings(
        sheets={"bearing log": "readings"},
        columns={"readings": {"unit tag": "machine", "pos.": "clearance"}},
        fixed={"readings": {"state": "as-found", "unit": "mil", "limiting": "yes"}},
        order=DateOrder.DAY_FIRST,
        decimal=Decimal.COMMA_STATED,
    )


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("[sheets", "TOML"),
        ('[sheets]\n"x" = "reading"', "'reading' is no sheet"),
        ('[sheet]\n"x" = "readings"', "'sheet' is no part"),
        ('[headings.readings]\n"x" = "size"', "'size' is no column of readings"),
        ('[headings.log]\n"x" = "value"', "'log' is no sheet"),
        ('[fixed.readings]\nsize = "1"', "'size' is no column of readings"),
        ('[fixed.readings]\nstate = ["a"]', "the fixed value of state"),
        ('[dates]\norder = "year first"', "'year first' is no order"),
        ('[dates]\nfirst = "day"', "'first' is no setting"),
        ('[numbers]\ndecimal = ";"', "';' is no decimal"),
        ("dates = 1", "dates is no table"),
        ("[sheets]\nx = 1", "1 is no sheet"),
    ],
)
def test_a_wrong_headings_file_says_where(tmp_path: Path, text: str, word: str) -> None:
    path = tmp_path / "site.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(HeadingsProblem) as caught:
        read_headings(path)
    assert word in caught.value.found
    assert caught.value.where == str(path)
    assert caught.value.do


def test_a_headings_file_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(HeadingsProblem, match="cannot be read"):
        read_headings(tmp_path / "none.toml")
    with pytest.raises(HeadingsProblem, match="cannot be read"):
        read_headings(tmp_path)
    path = tmp_path / "latin.toml"
    path.write_bytes(b'[sheets]\n"\xe4" = "readings"')
    with pytest.raises(HeadingsProblem, match="not UTF-8"):
        read_headings(path)


@pytest.mark.parametrize(
    ("name", "sheet"),
    [
        ("readings", "readings"),
        ("Readings ", "readings"),
        ("Run log", "run_log"),
        ("run-log", "run_log"),
        ("readings 2019", "readings"),
        ("readings (2)", "readings"),
        ("old readings", None),
        ("reading", None),
        ("2019", None),
    ],
)
def test_the_sheet_that_a_name_says(name: str, sheet: str | None) -> None:
    assert Headings().sheet_named(name) == sheet

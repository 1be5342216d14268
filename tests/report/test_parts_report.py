"""Parts in words and tables: what a reader is told, and what is not claimed."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from invented_parts import lives, stays

from trendwear.errors import UsageProblem
from trendwear.report.parts.export import check_lives_suffix, write_lives
from trendwear.report.parts.here import here_table, here_words
from trendwear.report.parts.lives import lives_table, lives_words


def said(rows: pd.DataFrame, unit: str = "mm") -> str:
    return " ".join(lives_words(rows, unit))


def test_suppliers_whose_bands_lie_apart_differ() -> None:
    words = said(lives())
    assert "9 parts of S-1 from A: 6 renewed, 3 still in. Half were renewed by 24,000 h" in words
    assert "(20,000 h to no end yet)" in words
    assert "S-1 from B wears 0.0080 (0.0060 to 0.0100) mm in 1000 h, S-1 from A 0.0040" in words
    assert "the bands lie apart, so it wears faster here" in words


def test_bands_that_overlap_tell_no_difference() -> None:
    rows = lives()
    rows.loc[1, "rate_low"] = 0.0045
    assert "the bands overlap, so no difference can be told" in said(rows)


def test_too_few_are_called_too_few() -> None:
    words = said(lives())
    assert "1 part of C: 0 renewed, 1 still in. Too few renewals to tell how long" in words
    assert "Too few places read to compare the wear of C." in words
    table = lives_table(lives(), "um")
    assert table["half renewed by"].tolist()[1:] == ["too few to tell"] * 2
    assert table["wear per 1000 h"].tolist() == [
        "4.0 (3.0 to 5.0) µm",
        "8.0 (6.0 to 10.0) µm",
        "too few to tell",
    ]
    assert table["part no"].iloc[2] == "not named"
    assert "gone elsewhere" not in table


def test_one_supplier_has_nothing_to_be_compared_with() -> None:
    assert "nothing to compare them with" in said(lives().iloc[:1])


def test_most_still_in_is_said() -> None:
    rows = lives()
    rows.loc[0, ["half_renewed_hours", "half_low", "half_high"]] = float("nan")
    assert "More than half run on: how long they last is not known yet." in said(rows)


def test_what_sits_here_is_named_with_its_day() -> None:
    own, against = here_words(stays())
    assert own == ("In it: S-1, serial 77, from A, since 2013-10-22 (renewed), 21,000 h until now.")
    assert against == "It runs against serial R-2, since 2016-07-18 (exchanged)."


def test_what_nobody_recorded_is_not_claimed() -> None:
    assert here_words(stays().iloc[:1].assign(ended="still in")) == []


def test_every_part_that_sat_here_is_listed() -> None:
    table = here_table(stays())
    assert table["put in by"].tolist() == ["exchanged", "renewed", "before the record began"]
    assert table["wear there"].tolist() == ["—", "—", "0.060 mm in 24,000 h"]
    assert table["hours there"].iloc[0] == "hours not known"


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".md"])
def test_the_table_is_written(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"parts{suffix}"
    write_lives(lives(), path)
    if suffix == ".xlsx":
        assert openpyxl.load_workbook(path).sheetnames == ["parts", "numbers", "about"]
        return
    text = path.read_text(encoding="utf-8-sig")
    assert ("half_renewed_hours" if suffix == ".csv" else "half renewed by") in text


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageProblem, match="csv"):
        check_lives_suffix(tmp_path / "parts.pdf")

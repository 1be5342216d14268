"""A sheet of readings that carries the register."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest

from trendwear.readings.loaded import LoadReport

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]

HEAD = "machine,clearance,date,state,value,unit,basis,kind,moves,limit,class,method\n"
DE = (
    "K-101,brg DE,{date},as-found,{value},mil,diametral,sleeve bearing,opens,{limit},pump,{method}"
    "\n"
)


def de(date: str, value: object = 6.5, limit: object = 12, method: str = "feeler") -> str:
    return DE.format(date=date, value=value, limit=limit, method=method)


def refused(report: LoadReport) -> list[tuple[int, str]]:
    return [(f.row, f.column) for f in report.faults.itertuples()]


def test_rows_that_agree_make_the_register(take: Take, stored: Stored) -> None:
    report = take(readings=HEAD + de("2010-05-01") + de("2014-05-01", limit="") + de("2018-05-01"))
    assert report.clean
    (row,) = stored("clearances").to_dict("records")
    assert (row["machine"], row["clearance"], row["kind"]) == ("K-101", "brg DE", "sleeve bearing")
    assert (row["basis"], row["moves"], row["unit"]) == ("diametral", "opens", "mil")
    assert row["limit_mm"] == pytest.approx(0.3048)
    assert row["method"] == "feeler"
    assert list(stored("machines")["class"]) == ["pump"]
    assert len(stored("readings")) == 3


def test_twice_changes_nothing(take: Take) -> None:
    sheet = HEAD + de("2010-05-01") + de("2014-05-01", limit="", method="")
    take(readings=sheet)
    again = take("again", readings=sheet)
    assert not again.changed
    assert again.count_of("readings").unchanged == 2


def test_rows_that_differ_are_refused(take: Take, stored: Stored) -> None:
    report = take(
        readings=HEAD + de("2010-05-01") + de("2014-05-01", limit=13) + de("2018-05-01", limit="")
    )
    assert refused(report) == [(2, "limit"), (3, "limit")]
    assert len(stored("readings")) == 1
    assert pd.isna(stored("clearances")["limit_mm"].iloc[0])


def test_rows_that_differ_from_the_register_are_refused(take: Take, stored: Stored) -> None:
    take(readings=HEAD + de("2010-05-01"))
    report = take(
        "b", readings=HEAD + de("2014-05-01", limit=13) + de("2018-05-01", limit="0.3048 mm")
    )
    assert refused(report) == [(2, "limit")]
    assert "0.3048 mm" in report.faults["reason"].iloc[0]
    assert len(stored("readings")) == 2


def test_the_machine_agrees_too(take: Take, stored: Stored) -> None:
    other = de("2014-05-01").replace("pump", "turbine")
    assert refused(take(readings=HEAD + de("2010-05-01") + other)) == [(2, "class"), (3, "class")]
    take("machines", machines="machine,class\nK-101,pump")
    assert refused(take("c", readings=HEAD + de("2010-05-01") + other)) == [(3, "class")]


def test_a_blank_of_the_register_is_filled(take: Take, stored: Stored) -> None:
    take(readings=HEAD + de("2010-05-01", limit=""))
    report = take("b", readings=HEAD + de("2014-05-01", limit=12))
    assert report.count_of("clearances").replaced == 1
    assert stored("clearances")["limit_mm"].iloc[0] == pytest.approx(0.3048)


def test_the_register_keeps_its_spelling(take: Take, stored: Stored) -> None:
    take(readings=HEAD + de("2010-05-01"))
    report = take("b", readings=HEAD + de("2014-05-01").replace("K-101,brg DE", "k 101,BRG-de"))
    assert report.count_of("clearances").replaced == 0
    assert set(stored("readings")["machine"] + stored("readings")["clearance"]) == {"K-101brg DE"}


def test_a_position_that_lacks_something_waits(take: Take, stored: Stored) -> None:
    row = "K-101,brg DE,2010-05-01,as-found,6.5,mil,diametral,,opens,12,pump,\n"
    report = take(readings=HEAD + row)
    assert report.clean
    assert list(report.waiting["lacks"]) == ["kind"]
    assert stored("clearances").empty
    later = take("b", readings=HEAD + de("2014-05-01"))
    assert later.waiting.empty
    assert len(stored("readings")) == 2


def test_no_unit_anywhere_is_refused(take: Take) -> None:
    report = take(readings=HEAD + de("2010-05-01").replace(",mil,", ",,"))
    assert refused(report) in ([(2, "value")], [(2, "limit")])
    assert "no unit" in report.faults["reason"].iloc[0]


@pytest.mark.parametrize(
    ("cell", "in_mm"), [("0.16 mm", 0.16), ('".0085"""', 0.2159), ("6.5", 0.1651)]
)
def test_a_unit_in_one_cell_belongs_to_that_reading(
    take: Take, stored: Stored, cell: str, in_mm: float
) -> None:
    report = take(readings=HEAD + de("2010-05-01") + de("2014-05-01", cell) + de("2018-05-01"))
    assert report.clean
    assert report.waiting.empty
    (row,) = stored("clearances").to_dict("records")
    assert (row["unit"], row["limit_mm"]) == ("mil", pytest.approx(0.3048))
    assert list(stored("readings")["value_mm"]) == pytest.approx([0.1651, in_mm, 0.1651])


def test_a_unit_in_every_cell_leaves_the_limit_in_that_of_the_column(
    take: Take, stored: Stored
) -> None:
    report = take(readings=HEAD + de("2010-05-01", "0.16 mm") + de("2014-05-01", "0.18 mm"))
    assert report.clean
    (row,) = stored("clearances").to_dict("records")
    assert (row["unit"], row["limit_mm"]) == ("mil", pytest.approx(0.3048))
    assert list(stored("readings")["value_mm"]) == pytest.approx([0.16, 0.18])


def test_a_bare_limit_is_refused_where_the_units_differ(take: Take) -> None:
    blank = de("2014-05-01", "0.16 mm").replace(",mil,", ",,")
    report = take(readings=HEAD + de("2010-05-01") + blank)
    assert refused(report) == [(2, "limit"), (3, "limit")]


def test_several_units_need_limit_unit(take: Take, stored: Stored) -> None:
    blank = de("2014-05-01", "0.16 mm", limit="").replace(",mil,", ",,")
    several = HEAD + de("2010-05-01", limit="") + blank
    report = take(readings=several)
    assert report.clean
    assert "limit_unit" in report.waiting["lacks"].iloc[0]
    head, *rows = several.strip().splitlines()
    said = "\n".join([f"{head},limit_unit", *(f"{row},in" for row in rows)])
    report = take("b", readings=said.replace(",opens,,", ",opens,0.012,"))
    assert report.waiting.empty
    (row,) = stored("clearances").to_dict("records")
    assert (row["unit"], row["limit_mm"]) == ("in", pytest.approx(0.3048))
    assert list(stored("readings")["value_mm"].round(4)) == [0.1651, 0.16]


def test_several_bases_need_register_basis(take: Take, stored: Stored) -> None:
    rows = de("2010-05-01") + de("2014-05-01", 3.5).replace("diametral", "radial")
    report = take(readings=HEAD + rows)
    assert "register_basis" in report.waiting["lacks"].iloc[0]
    text = "\n".join(f"{row},diametral" for row in rows.strip().splitlines())
    report = take("b", readings=f"{HEAD.strip()},register_basis\n{text}\n")
    assert report.waiting.empty
    assert list(stored("readings")["basis"]) == ["diametral", "radial"]
    assert list(stored("clearances")["basis"]) == ["diametral"]


def test_different_methods_belong_to_the_readings(take: Take, stored: Stored) -> None:
    take(readings=HEAD + de("2010-05-01") + de("2014-05-01", method="lift check"))
    assert list(stored("readings")["method"]) == ["feeler", "lift check"]
    assert stored("clearances")["method"].iloc[0] is None


def test_a_limit_that_cannot_be_refuses_the_rows(take: Take, stored: Stored) -> None:
    head = HEAD.strip() + ",design_max\n"
    rows = [f"{de(date).strip()},14" for date in ("2010-05-01", "2014-05-01")]
    report = take(readings=head + "\n".join(rows))
    assert refused(report) == [(2, "limit"), (3, "limit")]
    assert stored("clearances").empty


def test_limits_in_sequence(take: Take, stored: Stored) -> None:
    head = HEAD.strip() + ",limit_from\n"
    report = take(
        readings=head
        + de("2010-05-01").strip()
        + ",\n"
        + de("2020-05-01", limit=10).strip()
        + ",2019-01-01\n"
    )
    assert report.clean
    assert list(stored("clearances")["limit_mm"].round(4)) == [0.3048, 0.254]


def test_a_clearance_limited_both_ways(take: Take, stored: Stored) -> None:
    rows = (
        "K-1,float,{},as-found,{},mm,axial,thrust,{},{},pump,\n".format(*cells)
        for cells in (("2010-05-01", 0.33, "opens", 0.6), ("2014-05-01", 0.4, "closes", 0.2))
    )
    report = take(readings=HEAD + "".join(rows))
    assert report.clean
    assert list(stored("clearances")["moves"]) == ["opens", "closes"]
    unclear = "K-1,float,2018-05-01,as-found,0.41,mm,axial,thrust,,0.6,pump,\n"
    assert refused(take("b", readings=HEAD + unclear)) == [(2, "moves")]


def test_names_join_spellings_before_the_register_is_made(take: Take, stored: Stored) -> None:
    report = take(
        names="machine,as_written,clearance,kind\nK-101,drive end,brg DE,\n"
        ",white metal,,sleeve bearing\n",
        readings=HEAD
        + de("2010-05-01")
        + de("2014-05-01").replace("brg DE", "Drive End").replace("sleeve bearing", "White-Metal"),
    )
    assert report.clean
    assert len(stored("clearances")) == 1
    assert set(stored("readings")["clearance"]) == {"brg DE"}

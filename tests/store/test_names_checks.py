"""One spelling means one position: what the ``names`` sheet is refused for."""

from __future__ import annotations

import pytest

import trendwear

CLEARANCES = """machine,clearance,kind,basis,moves,unit
M,a,sleeve bearing,diametral,opens,mil
M,b,sleeve bearing,diametral,opens,mil
"""


@pytest.fixture
def load(tmp_path):
    def loading(names: str, clearances: str = CLEARANCES):
        for name, text in {"names": names, "clearances": clearances}.items():
            (tmp_path / f"{name}.csv").write_text(text)
        return trendwear.load([tmp_path], store=tmp_path / "s.duckdb")

    return loading


def test_one_spelling_of_two_positions_is_refused_with_both_places(load):
    report = load("machine,as_written,clearance\nM,x,a\nm,X,b\nM,y,a\n")
    assert report.faults["written"].tolist() == ["x", "X"]
    reason = "this spelling is said to mean two positions: a (names.csv row 2) and b (names.csv"
    assert report.faults["reason"].str.startswith(reason).all()
    assert report.count_of("names").added == 1


def test_one_spelling_of_two_kinds_is_refused(load):
    report = load("as_written,kind\nglnd,carbon ring\nglnd,labyrinth\n")
    assert report.faults["reason"].str.contains("two kinds").tolist() == [True, True]


def test_the_same_meaning_twice_is_one(load):
    report = load("machine,as_written,clearance\nM,x,a\nM,x,A\n")
    assert report.clean


def test_a_spelling_for_all_machines_may_mean_another_on_one(load):
    report = load("machine,as_written,clearance\n,x,a\nM,x,b\n")
    assert report.clean
    assert report.count_of("names").added == 2


def test_a_position_of_the_register_is_no_spelling_of_another(load):
    report = load("machine,as_written,clearance\nM,b,a\nM,a,a\n")
    (fault,) = report.faults.itertuples()
    assert fault.written == "b"
    assert fault.reason.endswith("so it is never read as a")


def test_nor_is_one_of_a_register_loaded_before(load):
    load("machine,as_written,clearance\nM,x,a\n")
    report = load("machine,as_written,clearance\nM,B,a\n", CLEARANCES.replace("M,b,", "M,c,"))
    assert report.faults["written"].tolist() == ["B"]


def test_a_meaning_that_the_register_lacks_is_told(load):
    report = load("machine,as_written,clearance\nM,x,nowhere\nM,y,a\n")
    assert report.clean
    assert any("M / x means nowhere" in note and "M / y" not in note for note in report.notes)

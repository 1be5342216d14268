"""Registers: versions, limits in sequence, limits and plans that cannot be."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from trendwear.readings.loaded import LoadReport
from trendwear.store.database import reader
from trendwear.store.history_record import record

REGISTER = """
machine,clearance,kind,basis,moves,unit,limit,design_min,design_max
K-101,brg DE,sleeve bearing,diametral,opens,mil,12,5,7
K-101,thrust,thrust bearing,axial,opens,mm,0.6,0.25,0.35
K-101,nozzle gap,nozzle gap,axial,closes,mm,0.8,1.5,2.0
"""

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]

HEAD = "machine,clearance,kind,basis,moves,unit,limit,limit_from,design_min,design_max\n"
DUTY = "machine,from,to,hours_per_day\n"


def counts(report: LoadReport, sheet: str) -> tuple[int, int, int, int]:
    """Return added, filled, replaced and unchanged rows of a sheet."""
    found = report.count_of(sheet)
    return found.added, found.filled, found.replaced, found.unchanged


class TestVersions:
    """A changed row replaces the old one; the old one stays in the history."""

    def test_a_changed_limit(self, take: Take, stored: Stored, store: Path) -> None:
        take(clearances=REGISTER)
        report = take("new", clearances=REGISTER.replace("mil,12,", "mil,11,"))
        assert counts(report, "clearances") == (0, 0, 1, 2)
        assert any("limit was 0.3048 mm, is 0.2794 mm" in note for note in report.notes)
        rows = stored("clearances")
        assert list(rows["clearance"]) == ["brg DE", "thrust", "nozzle gap"]
        assert rows["limit_mm"].iloc[0] == pytest.approx(0.2794)
        with reader(store) as connection:
            versions = record(connection, "k-101", "BRG de")
        assert list(versions["kind"]) == ["register", "register"]
        assert list(versions["counts"]) == ["until load 2 replaced it", "yes"]
        assert versions["what"].str.startswith(("limit 12 mil", "limit 11 mil")).all()
        assert list(versions["former"]) == [None, "limit was 12 mil"]

    def test_going_back_is_a_change_too(self, take: Take, stored: Stored) -> None:
        take(clearances=REGISTER)
        take("new", clearances=REGISTER.replace("mil,12,", "mil,11,"))
        report = take("back", clearances=REGISTER)
        assert counts(report, "clearances") == (0, 0, 1, 2)
        assert stored("clearances")["limit_mm"].iloc[0] == pytest.approx(0.3048)

    def test_another_limit_from_is_a_limit_in_sequence(self, take: Take, stored: Stored) -> None:
        row = "K-101,brg DE,sleeve bearing,diametral,opens,mil,{},{},5,7\n"
        take(clearances=HEAD + row.format(12, ""))
        report = take("new", clearances=HEAD + row.format(10, "2020-01-01"))
        assert counts(report, "clearances") == (1, 0, 0, 0)
        rows = stored("clearances")
        assert list(rows["limit_mm"].round(4)) == [0.3048, 0.254]
        assert rows["limit_from"].iloc[1] == pd.Timestamp(2020, 1, 1)

    def test_a_month_begins_on_its_first_day(self, take: Take, stored: Stored) -> None:
        take(
            clearances=HEAD
            + "K-101,brg DE,sleeve bearing,diametral,opens,mil,12,2020-05,5,7\n"
            + "K-101,brg NDE,sleeve bearing,diametral,opens,mil,12,2020,5,7\n"
        )
        assert list(stored("clearances")["limit_from"]) == [
            pd.Timestamp(2020, 5, 1),
            pd.Timestamp(2020, 1, 1),
        ]

    def test_a_blank_cell_empties_an_absent_column_does_not(
        self, take: Take, stored: Stored
    ) -> None:
        take(clearances=REGISTER)
        short = take(
            "short",
            clearances="machine,clearance,kind,basis,moves,unit,part\n"
            "K-101,brg DE,sleeve bearing,diametral,opens,mil,shell\n",
        )
        assert stored("clearances")["limit_mm"].iloc[0] == pytest.approx(0.3048)
        silent = "says nothing of limit, limit_status, design_min"
        assert any(silent in note for note in short.notes)
        take("blank", clearances=REGISTER.replace("mil,12,", "mil,,"))
        rows = stored("clearances")
        assert pd.isna(rows["limit_mm"].iloc[0])
        assert not rows["limiting"].iloc[0]
        assert rows["part"].iloc[0] == "shell"

    def test_a_clearance_limited_both_ways_has_two_rows(self, take: Take, stored: Stored) -> None:
        take(
            clearances=HEAD
            + "K-101,float,thrust,axial,opens,mm,0.6,,0.3,0.4\n"
            + "K-101,float,thrust,axial,closes,mm,0.2,,0.3,0.4\n",
            readings="machine,clearance,date,state,value\nK-101,float,2010-05-01,as-left,0.33\n",
        )
        assert list(stored("clearances")["moves"]) == ["opens", "closes"]
        assert len(stored("readings")) == 1

    def test_methods_take_the_place_of_the_starting_values(
        self, take: Take, stored: Stored
    ) -> None:
        take(clearances=REGISTER)
        given = stored("methods").set_index("method")
        assert given.loc["feeler", "uncertainty_mm"] == pytest.approx(0.0254 / 3**0.5)
        take(
            "own",
            methods="method,uncertainty,unit,resolution,bias\nFeeler,0.01,mm,0.05,\n"
            "laser,± 3 um,,,\n",
        )
        own = stored("methods").set_index("method")
        assert own.loc["Feeler", "uncertainty_mm"] == 0.01
        assert "feeler" not in own.index
        assert own.loc["laser", "uncertainty_mm"] == pytest.approx(0.003 / 3**0.5)
        assert own.loc["lift check", "resolution_mm"] == given.loc["lift check", "resolution_mm"]


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("K-1,a,sleeve,diametral,opens,mm,0.1,,0.15,0.2", "limit"),
        ("K-1,a,sleeve,diametral,opens,mm,0.1,,0.15,", "limit"),
        ("K-1,a,gap,axial,closes,mm,1.6,,1.5,2.0", "limit"),
        ("K-1,a,gap,axial,closes,mm,2.1,,,2.0", "limit"),
        ("K-1,a,gap,axial,closes,mm,1.0,,2.5,2.0", "design_min"),
    ],
)
def test_limits_that_cannot_be(take: Take, stored: Stored, row: str, column: str) -> None:
    report = take(clearances=HEAD + row + "\nK-1,b,gap,axial,closes,mm,1.0,,1.5,2.0\n")
    assert [(f.row, f.column) for f in report.faults.itertuples()] == [(2, column)]
    assert list(stored("clearances")["clearance"]) == ["b"]


def test_units_are_heeded_in_comparing_limits(take: Take) -> None:
    report = take(clearances=HEAD + "K-1,a,sleeve,diametral,opens,mil,0.3 mm,,5,7\n")
    assert report.clean


def test_rows_of_one_position_agree_on_the_basis(take: Take, stored: Stored) -> None:
    report = take(
        clearances=HEAD
        + "K-101,float,thrust,axial,opens,mm,0.6,,0.3,0.4\n"
        + "K-101,float,thrust,radial,closes,mm,0.2,,0.3,0.4\n"
    )
    assert list(report.faults["column"]) == ["basis", "basis"]
    assert stored("clearances").empty


def test_kinds_are_named_as_the_names_sheet_says(take: Take, stored: Stored) -> None:
    take(clearances=REGISTER, names="as_written,kind\nthrust bearing,tilting thrust\n")
    assert "tilting thrust" in set(stored("clearances")["kind"])


class TestDutyPlan:
    """A plan that can be followed, and repeated."""

    @pytest.mark.parametrize(
        ("rows", "column"),
        [
            ("K-101,2025-01-01,2025-12-31,20\nK-101,2025-12-31,,10\n", "from"),
            ("K-101,2025-01-01,2025-06-30,20\n", "to"),
            ("K-101,2025-01-01,2025-03-01,20\nK-101,2025-05-01,2025-11-01,20\n", "to"),
            ("K-101,2025-01-01,,25\n", "hours_per_day"),
            ("K-101,2025-01-01,2024-01-01,20\n", "to"),
        ],
    )
    def test_refused(self, take: Take, stored: Stored, rows: str, column: str) -> None:
        report = take(clearances=REGISTER, duty_plan=DUTY + rows)
        assert set(report.faults["column"]) == {column}
        assert stored("duty_plan").empty

    @pytest.mark.parametrize(
        "rows",
        [
            "K-101,2025-01-01,2025-12-31,20\n",
            "K-101,2025-01-01,,20\n",
            "K-101,2025-01-01,,20\nK-101,2025-03-01,,10\n",
            "K-101,2025-01-01,2025-02-01,20\nK-101,2025-06-01,2025-12-31,0\n",
            "K-101,2025-01,2025-12,20\n",
        ],
    )
    def test_accepted(self, take: Take, rows: str) -> None:
        assert take(clearances=REGISTER, duty_plan=DUTY + rows).clean

    def test_an_overlap_with_a_stored_row(self, take: Take, stored: Stored) -> None:
        take(clearances=REGISTER, duty_plan=DUTY + "K-101,2025-01-01,2026-06-30,20\n")
        report = take("b", duty_plan=DUTY + "K-101,2026-01-01,2027-06-30,20\n")
        assert list(report.faults["column"]) == ["from"]
        assert len(stored("duty_plan")) == 1

    def test_a_month_ends_on_its_last_day(self, take: Take, stored: Stored) -> None:
        take(clearances=REGISTER, duty_plan=DUTY + "K-101,2024-01,2025-02,20\n")
        (row,) = stored("duty_plan").itertuples()
        assert stored("duty_plan")["from"].iloc[0] == pd.Timestamp(2024, 1, 1)
        assert row.to == pd.Timestamp(2025, 2, 28)


def test_other_registers_and_their_faults(take: Take, store: Path) -> None:
    report = take(
        parts="part_no,part,lead_time_days\nP-1,shell,120\nP-2,ring,30\n",
        outages="outage,start,end\nspring,2026-04-01,2026-04-20\nautumn,2026-10-20,2026-10-01\n",
        risks="consequence,accepted\ndamage,0.1\npeople,5\n",
        due_dates="machine,what,due\nK-101,insurer,2027-05\n",
        clearances=REGISTER,
    )
    assert sorted(report.faults["column"]) == ["accepted", "end"]
    with reader(store) as connection:
        assert connection.execute("select count(*) from parts").fetchone() == (2,)
        (due,) = connection.execute("select due from due_dates").fetchone() or (None,)
    assert pd.Timestamp(due) == pd.Timestamp(2027, 5, 1)


def test_an_opening_limit_of_nothing_is_refused(take: Take) -> None:
    row = "K-101,brg DE,sleeve bearing,diametral,opens,mil,0,,,\n"
    report = take(clearances=HEAD + row)
    assert list(report.faults["column"]) == ["limit"]
    assert "limit of 0" in report.faults["reason"].iloc[0]


def test_a_negative_limit_is_refused(take: Take) -> None:
    report = take(clearances=HEAD + "K-101,gap,gap,axial,closes,mm,-0.2,,,\n")
    assert list(report.faults["column"]) == ["limit"]

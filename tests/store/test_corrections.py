"""Readings excluded and amended, events accepted: nothing is lost, everything is signed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from trendwear.errors import InputProblem, NotOneRow, StoreMissing, UnknownName, UsageProblem
from trendwear.readings.loaded import LoadReport
from trendwear.store import corrections
from trendwear.store.corrections import accept_event, amend, exclude
from trendwear.store.database import reader
from trendwear.store.history_record import record
from trendwear.store.signed import Signed
from trendwear.store.which_row import EventKey, ReadingKey

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]

REGISTER = """
machine,clearance,kind,basis,moves,unit,limit,limit_from
K-101,brg DE,sleeve bearing,diametral,opens,mil,12,
K-101,land,land,diametral,opens,mil,,
K-101,nozzle gap,nozzle gap,axial,closes,mm,0.8,
"""
READINGS = """
machine,clearance,date,run_hours,state,value,unit,plane
K-101,brg DE,2010-05-01,1000,as-left,6.0,,
K-101,brg DE,2014-05-01,31000,as-found,7.5,,
K-101,brg DE,2014-05-01,31000,as-found,7.7,,B
K-101,brg DE,2018-05-01,61000,as-found,0.23 mm,,
K-101,brg DE,,91000,as-found,0.0102,in,
"""
EVENTS = "machine,date,what\nK-101,2019-05-01,oil loss\nK-101,2019-05-01,oil change\n"
ME = Signed("J. Fitter", "read on the wrong side")
FOUND_18 = ReadingKey("k 101", "BRG-DE", "2018-05-01", "As Found")


def value_of(stored: Stored, row: int) -> float:
    rows = stored("readings").set_index("row")
    return float(rows.at[row, "value_mm"])


@pytest.fixture
def plant(take: Take, store: Path) -> Path:
    """A store with a few readings."""
    assert take(clearances=REGISTER, readings=READINGS, events=EVENTS).clean
    return store


class TestExclude:
    """Readings out of the fit."""

    def test_it_is_kept_and_marked(self, plant: Path, stored: Stored) -> None:
        said = exclude(plant, FOUND_18, ME)
        assert said.startswith("K-101 / brg DE, 2018-05-01, as-found: '0.23 mm' is out of the fit")
        rows = stored("readings").set_index("row")
        assert list(rows.index[rows["excluded"]]) == [5]
        assert rows.at[5, "excluded_why"] == "read on the wrong side (J. Fitter)"
        assert rows.at[5, "value_mm"] == 0.23
        assert rows["excluded_why"].notna().sum() == 1

    def test_it_comes_back_and_both_stay_in_the_record(self, plant: Path, stored: Stored) -> None:
        before = stored("readings")
        exclude(plant, FOUND_18, ME)
        corrections.undo_exclude(plant, FOUND_18, Signed("E. Head", "it was right"))
        pd.testing.assert_frame_equal(stored("readings"), before)
        with reader(plant) as connection:
            told = record(connection, "K-101")
        made = told[told["happened"] != "loaded"]
        assert made[["happened", "by", "why"]].values.tolist() == [
            ["excluded", "J. Fitter", "read on the wrong side"],
            ["undone", "E. Head", "it was right"],
        ]
        assert made["at"].notna().all()
        assert made["item"].nunique() == 1

    def test_twice_or_never_is_said(self, plant: Path) -> None:
        with pytest.raises(NotOneRow, match="it is not excluded"):
            corrections.undo_exclude(plant, FOUND_18, ME)
        exclude(plant, FOUND_18, ME)
        with pytest.raises(NotOneRow, match=r"excluded already: read on the wrong side \(J"):
            exclude(plant, FOUND_18, ME)

    def test_loading_again_does_not_bring_it_back(
        self, plant: Path, take: Take, stored: Stored
    ) -> None:
        exclude(plant, FOUND_18, ME)
        report = take("again", readings=READINGS)
        assert report.clean
        assert not report.changed
        assert stored("readings")["excluded"].sum() == 1


class TestWhichReading:
    """One reading, or a list of those there are."""

    def test_several_are_listed_and_told_apart(self, plant: Path, stored: Stored) -> None:
        both = ReadingKey("K-101", "brg DE", "2014-05-01", "as-found")
        with pytest.raises(NotOneRow) as told:
            exclude(plant, both, ME)
        assert "2 readings answer to it" in str(told.value)
        assert "\n  2014-05-01 as-found '7.5' (readings.csv row 3)" in str(told.value)
        assert "\n  2014-05-01 as-found plane B '7.7' (readings.csv row 4)" in str(told.value)
        exclude(plant, ReadingKey("K-101", "brg DE", "2014-05-01", "as-found", plane=""), ME)
        exclude(plant, ReadingKey("K-101", "brg DE", "2014-05", "as-found", plane="b"), ME)
        rows = stored("readings")
        assert sorted(rows.loc[rows["excluded"], "row"]) == [3, 4]

    def test_a_reading_without_a_date_goes_by_its_hours(self, plant: Path, stored: Stored) -> None:
        exclude(plant, ReadingKey("K-101", "brg DE", "91000 h", "as-found"), ME)
        rows = stored("readings")
        assert list(rows.loc[rows["excluded"], "row"]) == [6]

    @pytest.mark.parametrize(
        ("key", "offered"),
        [
            (ReadingKey("K-9", "brg DE", "2014", "as-found"), "Machines it knows:\n  K-101"),
            (ReadingKey("K-101", "seal", "2014", "as-found"), "\n  nozzle gap"),
            (ReadingKey("K-101", "brg DE", "2011", "as-found"), "\n  2010-05-01 as-left '6.0'"),
        ],
    )
    def test_the_unknown_is_met_with_what_is_there(
        self, plant: Path, key: ReadingKey, offered: str
    ) -> None:
        with pytest.raises(UnknownName) as told:
            exclude(plant, key, ME)
        assert offered in str(told.value)

    @pytest.mark.parametrize(("date", "state"), [("1/5/14", "as-found"), ("2014", "as it was")])
    def test_what_cannot_be_read_is_usage(self, plant: Path, date: str, state: str) -> None:
        with pytest.raises(UsageProblem):
            exclude(plant, ReadingKey("K-101", "brg DE", date, state), ME)

    def test_nobody_and_no_reason_are_refused(self) -> None:
        for by, why in (("", "because"), ("J", " ")):
            with pytest.raises(UsageProblem):
                Signed(by, why)

    def test_a_correction_makes_no_store(self, tmp_path: Path) -> None:
        with pytest.raises(StoreMissing):
            exclude(tmp_path / "none.duckdb", FOUND_18, ME)
        assert list(tmp_path.iterdir()) == []


class TestAmend:
    """Readings with another value."""

    def test_any_notation_and_the_former_value_stays(self, plant: Path, stored: Stored) -> None:
        said = amend(plant, FOUND_18, "9-10 thou", ME)
        assert said.endswith("was '0.23 mm' (0.23 mm), is now '9-10 thou' (0.2413 mm)")
        row = stored("readings").set_index("row").loc[5]
        assert row["value_mm"] == pytest.approx(9.5 * 0.0254)
        assert (row["lower_mm"], row["upper_mm"]) == pytest.approx((0.2286, 0.254))
        assert row["half_width_mm"] == pytest.approx(0.0127)
        assert row["step_mm"] == pytest.approx(0.0254)
        assert (row["written"], row["unit"]) == ("9-10 thou", "mil")
        with reader(plant) as connection:
            told = record(connection, "K-101", "brg DE")
        made = told[told["happened"] != "loaded"]
        assert made[["happened", "former", "written", "read"]].values.tolist() == [
            ["amended", "0.23 mm", "9-10 thou", "9.5 mil, between 9 mil and 10 mil"]
        ]

    def test_a_bare_number_has_the_unit_of_its_row_or_register(
        self, plant: Path, stored: Stored
    ) -> None:
        amend(plant, ReadingKey("K-101", "brg DE", "2010-05-01", "as-left"), "6.2", ME)
        amend(plant, ReadingKey("K-101", "brg DE", "91000 h", "as-found"), "0.0104", ME)
        assert value_of(stored, 2) == pytest.approx(6.2 * 0.0254)
        assert value_of(stored, 6) == pytest.approx(0.0104 * 25.4)

    def test_a_bare_number_that_would_change_the_unit_is_refused(self, plant: Path) -> None:
        with pytest.raises(InputProblem, match="names no unit"):
            amend(plant, FOUND_18, "0.24", ME)

    @pytest.mark.parametrize("value", ["", "about 6", "1/16/2026", "renewed", "-3 mil"])
    def test_what_a_sheet_may_not_say_is_refused(
        self, plant: Path, stored: Stored, value: str
    ) -> None:
        with pytest.raises(InputProblem):
            amend(plant, FOUND_18, value, ME)
        assert value_of(stored, 5) == 0.23

    def test_one_by_one_they_are_taken_back(self, plant: Path, stored: Stored) -> None:
        before = stored("readings")
        amend(plant, FOUND_18, "0.24 mm", ME)
        amend(plant, FOUND_18, "0.25 mm", ME)
        assert value_of(stored, 5) == 0.25
        assert corrections.undo_amend(plant, FOUND_18, ME).endswith("is again '0.24 mm'")
        assert value_of(stored, 5) == 0.24
        corrections.undo_amend(plant, FOUND_18, ME)
        pd.testing.assert_frame_equal(stored("readings"), before)
        with pytest.raises(NotOneRow, match="not amended"):
            corrections.undo_amend(plant, FOUND_18, ME)

    def test_the_sheet_as_it_was_and_as_it_should_be_change_nothing(
        self, plant: Path, take: Take, stored: Stored
    ) -> None:
        amend(plant, FOUND_18, "0.24 mm", ME)
        for text in (READINGS, READINGS.replace("0.23 mm", "0.240 mm")):
            report = take("again", readings=text)
            assert report.clean
            assert not report.changed
            assert value_of(stored, 5) == 0.24
        report = take("again", readings=READINGS.replace("0.23 mm", "0.25 mm"))
        assert len(report.faults) == 1
        assert "trendwear amend" in report.faults["instead"].iloc[0]
        assert value_of(stored, 5) == 0.24


class TestAcceptEvent:
    """Events that a person answers for."""

    def test_signed_refused_twice_and_taken_back(self, plant: Path, stored: Stored) -> None:
        key = EventKey("K-101", "2019-05-01", "Oil Loss")
        assert stored("events")["accepted_by"].isna().all()
        accept_event(plant, key, Signed("E. Head", "bearing looked at"))
        events = stored("events").set_index("what")
        assert events.at["oil loss", "accepted_by"] == "E. Head"
        assert events.at["oil loss", "accepted_why"] == "bearing looked at"
        assert events.at["oil change", "accepted_by"] is None
        with pytest.raises(NotOneRow, match=r"E\. Head accepted it already"):
            accept_event(plant, key, ME)
        corrections.undo_accept_event(plant, key, ME)
        assert stored("events")["accepted_by"].isna().all()
        with pytest.raises(NotOneRow, match="nobody accepted it"):
            corrections.undo_accept_event(plant, key, ME)
        with reader(plant) as connection:
            told = record(connection, "K-101")
        made = told[(told["kind"] == "event") & (told["happened"] != "loaded")]
        assert made[["what", "happened", "by"]].values.tolist() == [
            ["oil loss", "accepted", "E. Head"],
            ["oil loss", "undone", "J. Fitter"],
        ]

    def test_some_of_its_words_will_do_where_they_tell_it(self, plant: Path) -> None:
        assert "oil loss" in accept_event(plant, EventKey("K-101", "2019-05", "loss"), ME)
        with pytest.raises(NotOneRow, match="2 events answer"):
            accept_event(plant, EventKey("K-101", "2019-05-01", "oil"), ME)
        with pytest.raises(UnknownName, match="2019-05-01 oil change"):
            accept_event(plant, EventKey("K-101", "2018-05-01", "oil"), ME)
        with pytest.raises(UnknownName, match="K-101"):
            accept_event(plant, EventKey("K-1", "2018-05-01", "oil"), ME)


class TestWornThrough:
    """Parts of which nothing is left."""

    WORN = (
        "machine,clearance,date,state,value\n"
        "K-101,brg DE,2019-05-01,as-found,Worn through\n"
        "K-101,land,2010-05-01,as-left,20\n"
        "K-101,land,2014-05-01,as-found,24\n"
        "K-101,land,2019-05-01,as-found,wiped\n"
    )

    def test_at_least_the_limit_or_the_reading_before(
        self, plant: Path, take: Take, stored: Stored
    ) -> None:
        report = take("worn", readings=self.WORN)
        assert report.clean
        assert any("worn through counts as at least the limit" in note for note in report.notes)
        rows = stored("readings")
        rows = rows[rows["date"] == pd.Timestamp("2019-05-01")].set_index("clearance")
        assert rows["at_least"].all()
        np.testing.assert_allclose(rows["value_mm"], [12 * 0.0254, 24 * 0.0254])
        assert np.isinf(rows["upper_mm"]).all()
        assert (rows["step_mm"] > 0).all()
        assert rows.at["brg DE", "written"] == "Worn through"
        assert rows.at["land", "note"].startswith("worn through: no limit")
        assert not take("worn", readings=self.WORN).changed

    def test_a_limit_loaded_later_counts_from_its_date(
        self, plant: Path, take: Take, stored: Stored
    ) -> None:
        take("worn", readings=self.WORN)
        row = "K-101,land,land,diametral,opens,mil,"
        later = REGISTER.replace(f"{row},\n", f"{row},\n{row}30,2015-01-01\n{row}40,2020-01-01\n")
        assert take("later", clearances=later).clean
        land = stored("readings").query("clearance == 'land' and at_least")
        np.testing.assert_allclose(land["value_mm"], [30 * 0.0254])

    def test_with_neither_it_stays_out_of_the_fit(self, plant: Path, take: Take, stored: Stored):
        take("worn", readings="machine,clearance,date,state,value\n"
             "K-101,land,2019-05-01,as-found,worn out\n")  # fmt: skip
        land = stored("readings").query("clearance == 'land'").iloc[0]
        assert land["excluded"]
        assert "neither a limit nor a reading before" in land["excluded_why"]
        assert np.isnan(land["value_mm"])

    @pytest.mark.parametrize(
        ("where", "word"),
        [("nozzle gap,2019-05-01,as-found", "closes"), ("land,2019-05-01,as-left", "as-found")],
    )
    def test_only_where_the_gap_opens_and_as_found(
        self, plant: Path, take: Take, where: str, word: str
    ) -> None:
        sheet = f"machine,clearance,date,state,value\nK-101,{where},worn through\n"
        report = take("worn", readings=sheet)
        [fault] = report.faults.itertuples()
        assert word in fault.reason + fault.instead
        assert fault.written == "worn through"

    def test_an_amendment_may_say_so_or_take_it_back(
        self, plant: Path, take: Take, stored: Stored
    ) -> None:
        amend(plant, FOUND_18, "worn through", ME)
        assert value_of(stored, 5) == pytest.approx(12 * 0.0254)
        take("worn", readings=self.WORN)
        land = ReadingKey("K-101", "land", "2019", "as-found")
        amend(plant, land, "28", ME)
        row = stored("readings").query("clearance == 'land'").iloc[-1]
        assert row["value_mm"] == pytest.approx(28 * 0.0254)
        assert not row["at_least"]


class TestFamilies:
    """What a person fixes of how families wear."""

    def test_versions_and_values(self, take: Take, stored: Stored) -> None:
        take(families="family,hours_per_start,power,by\nrings,12,,E. Head\n")
        take("new", families="family,hours_per_start,power,by\nRings,15,0.8,E. Head\n")
        [row] = stored("families").to_dict("records")
        assert (row["hours_per_start"], row["power"], row["by"]) == (15, 0.8, "E. Head")

    @pytest.mark.parametrize(
        ("cells", "column"),
        [("-1,", "hours_per_start"), (",0.1", "power"), (",3.5", "power"), (",0", "power")],
    )
    def test_what_cannot_be_is_refused(self, take: Take, cells: str, column: str) -> None:
        report = take(families=f"family,hours_per_start,power\nrings,{cells}\n")
        assert list(report.faults["column"]) == [column]

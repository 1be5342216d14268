"""Corrections, accepted events and fixed families, from the store to the forecast."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from typer.testing import CliRunner, Result

import trendwear
from trendwear import EventKey, ReadingKey, Signed, outlook
from trendwear.cli import app

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2020, 1, 1)
ME = Signed("J. Fitter", "wrong feeler")


def clearance(name: str, **other: object) -> dict[str, object]:
    """A register row in a family of its own."""
    row = {"machine": "M", "clearance": name, "kind": "ring", "basis": "diametral"}
    return row | {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name} | other


def reading(hours: int, value: object, **other: object) -> dict[str, object]:
    """A reading of clearance a; a year has 8000 hours."""
    day = f"{2010 + hours // 8000}-01-01"
    row = {"machine": "M", "clearance": "a", "date": day, "run_hours": hours}
    return row | {"state": "as-found", "value": value, "uncertainty": 0.005} | other


def steady() -> list[dict[str, object]]:
    return [reading(8000 * i, round(0.2 + 0.02 * i, 3)) for i in range(5)]


def forecast(store: Path) -> pd.DataFrame:
    return trendwear.forecast(store, as_of=AS_OF)


def row_of(store: Path) -> Any:
    [row] = forecast(store).itertuples()
    return row


def run(*words: str) -> Result:
    return CliRunner().invoke(app, list(words))


class TestExcluded:
    """A reading out of the fit."""

    def test_the_forecast_changes_and_comes_back(self, stored: Stored) -> None:
        sheets = {"clearances": [clearance("a")], "readings": [*steady(), reading(40000, 0.38)]}
        store, which = stored(sheets), ("M", "a", "2015-01-01", "as-found", "--store")
        before = forecast(store)
        by = ("--by", "J. Fitter", "--why", "wrong feeler")
        done = run("exclude", *which, str(store), *by)
        assert done.exit_code == 0, done.output
        without = forecast(store)
        assert without["rate_per_1000h"].iloc[0] == pytest.approx(0.0025, rel=1e-3)
        assert without["last_reading"].iloc[0] == pytest.approx(0.28)
        assert without["readings"].iloc[0] == before["readings"].iloc[0] - 1
        assert "1 reading left out, excluded" in without["notes"].iloc[0]
        assert run("exclude", *which, str(store), *by, "--undo").exit_code == 0
        pd.testing.assert_frame_equal(forecast(store), before)
        told = run("history", "M", "a", "--store", str(store)).output
        for word in ("excluded (0.38) by J. Fitter: wrong feeler", "undone (excluded on"):
            assert word in told

    def test_it_is_drawn_with_who_and_why(self, stored: Stored) -> None:
        sheets = {"clearances": [clearance("a")], "readings": [*steady(), reading(40000, 0.38)]}
        store = stored(sheets)
        trendwear.exclude(store, ReadingKey("M", "a", "2015-01-01", "as-found"), ME)
        points = outlook.look(store, as_of=AS_OF).clearance_trend("M", "a").points
        last = points.iloc[-1]
        assert last["remark"] == "excluded: wrong feeler (J. Fitter)"
        assert (last["value_mm"], last["fitted"], last["segment"]) == (0.38, False, 0)
        assert points["fitted"].sum() == 5

    def test_it_neither_cuts_nor_is_chosen_nor_lends_its_step(self, stored: Stored) -> None:
        plain = [
            {**row, "uncertainty": "", "plane": "1", "value": f"{row['value']:.2f}"}
            for row in steady()
        ]
        wrong = reading(16000, "0.905", uncertainty="", plane="2")
        alone = {"clearances": [clearance("a")], "readings": plain}
        first = stored(alone)
        expected = forecast(first).drop(columns="notes")
        first.unlink()
        store = stored({**alone, "readings": [*plain, wrong]})
        assert forecast(store)["segments"].iloc[0] > 1
        key = ReadingKey("M", "a", "2012-01-01", "as-found", plane="2")
        trendwear.exclude(store, key, ME)
        pd.testing.assert_frame_equal(forecast(store).drop(columns="notes"), expected)

    def test_all_of_them_leave_too_few(self, stored: Stored) -> None:
        store = stored({"clearances": [clearance("a")], "readings": [reading(0, 0.2)]})
        trendwear.exclude(store, ReadingKey("M", "a", "2010", "as-found"), ME)
        row = row_of(store)
        assert (row.outcome, row.readings) == ("too few readings", 0)
        assert pd.isna(row.last_reading)


def test_an_amendment_counts_whatever_the_day(stored: Stored) -> None:
    sheets = {"clearances": [clearance("a")], "readings": [*steady(), reading(40000, 0.38)]}
    store = stored(sheets)
    which = ("M", "a", "2015-01-01", "as-found", "--store", str(store), "--by", "J", "--why", "w")
    assert run("amend", *which, "--value", "0.30").exit_code == 0
    early = trendwear.forecast(store, as_of=dt.date(2015, 1, 2))
    assert early["last_reading"].iloc[0] == pytest.approx(0.30)
    assert early["rate_per_1000h"].iloc[0] == pytest.approx(0.0025, rel=1e-3)
    assert run("amend", *which, "--undo").exit_code == 0
    assert forecast(store)["last_reading"].iloc[0] == pytest.approx(0.38)
    assert type(run("amend", *which).exception).__name__ == "UsageProblem"


class TestEvents:
    """Forecasts made before an event."""

    SHEETS: Mapping[str, Rows] = {
        "clearances": [clearance("a")],
        "readings": steady(),
        "events": [{"machine": "M", "date": "2016-05-01", "what": "wet steam"}],
    }

    def test_accepted_by_name(self, stored: Stored) -> None:
        store = stored(self.SHEETS)
        assert "made before this event: wet steam, 2016-05-01" in row_of(store).notes
        trendwear.accept_event(store, EventKey("M", "2016-05-01", "wet steam"), Signed("E", "seen"))
        notes = row_of(store).notes
        assert "made before this event" not in notes
        assert "event of 2016-05-01 accepted by E: seen" in notes
        words = ("M", "2016-05-01", "wet", "--store", str(store), "--by", "E", "--why", "not yet")
        assert run("accept-event", *words, "--undo").exit_code == 0
        assert "made before this event" in row_of(store).notes

    def test_a_check_after_it_ends_it(self, stored: Stored) -> None:
        check = reading(56000, 0.34, state="check")
        store = stored({**self.SHEETS, "readings": [*steady(), check]})
        assert "event" not in str(row_of(store).notes)


class TestFamilies:
    """What a person fixes of how a family wears."""

    def sheets(self, starts: Sequence[object]) -> Mapping[str, Rows]:
        rows = [
            {**row, "clearance": name, "starts": count}
            for name in ("a", "b", "c")
            for row, count in zip(steady(), starts, strict=True)
        ]
        places = [clearance(name, family="Gland rings") for name in ("a", "b", "c")]
        plan = {"machine": "M", "from": "2014-01-01", "hours_per_day": 20}
        return {
            "clearances": places,
            "readings": rows,
            "duty_plan": [{**plan, "starts_per_month": 10}],
            "families": [{"family": "gland  rings", "hours_per_start": 20, "by": "E"}],
        }

    def test_a_given_start_counts(self, stored: Stored) -> None:
        rows = forecast(stored(self.sheets([0, 50, 100, 150, 200])))
        assert rows["notes"].str.contains("one start wears as much as 20 h, given").all()
        assert rows["hours_to_limit_p50"].notna().all()

    @pytest.mark.parametrize("starts", [["", "", "", "", ""], [0, "", 100, 150, ""]])
    def test_starts_not_counted_are_said(self, stored: Stored, starts: list[object]) -> None:
        rows = forecast(stored(self.sheets(starts)))
        assert rows["notes"].str.contains("starts not counted: the given k cannot be used").all()
        assert not rows["notes"].str.contains("one start wears").any()
        assert rows["outcome"].eq("reaches limit").all()

    def test_coming_starts_that_nobody_knows_are_said(self, stored: Stored) -> None:
        sheets = dict(self.sheets([0, 50, 100, 150, 200]))
        lone = {**reading(8000, 0.25), "machine": "N", "clearance": "n", "starts": 30}
        sheets["clearances"] = [
            *sheets["clearances"],
            clearance("n", machine="N", family="Gland rings"),
        ]
        sheets["readings"] = [*sheets["readings"], lone]
        row = forecast(stored(sheets)).set_index("machine").loc["N"]
        assert row["outcome"] == "too few readings"
        assert "coming starts unknown" in row["notes"]
        assert "no two readings" not in row["notes"]

    def test_a_given_bend_is_taken(self, stored: Stored) -> None:
        sheets = dict(self.sheets([0, 50, 100, 150, 200]))
        sheets["families"] = [{"family": "Gland rings", "power": 1.5, "by": "E"}]
        sheets["work"] = [
            {"machine": "M", "clearance": "*", "date": "2010-01-01", "run_hours": 0}
            | {"action": "renewed"}
        ]
        rows = forecast(stored(sheets))
        assert rows["notes"].str.contains(r"ever faster \(p = 1.50, given\)").all()
        assert np.isfinite(rows["rate_per_1000h"]).all()


def test_worn_through_is_past_the_limit(stored: Stored) -> None:
    worn = reading(40000, "worn through", uncertainty="")
    row = row_of(stored({"clearances": [clearance("a")], "readings": [*steady(), worn]}))
    assert row.outcome == "measured past limit"
    assert row.last_reading == pytest.approx(0.5)


def test_worn_through_alone_needs_no_gauge(stored: Stored) -> None:
    worn = reading(40000, "worn through", uncertainty="")
    row = row_of(stored({"clearances": [clearance("a")], "readings": [worn]}))
    assert row.last_reading == pytest.approx(0.5)
    unlimited = {"clearances": [clearance("b", limit="")], "readings": [{**worn, "clearance": "b"}]}
    store = stored(unlimited)
    row = forecast(store).set_index("clearance").loc["b"]
    assert row["outcome"] == "no limit"
    assert pd.isna(row["last_reading"])
    trend = outlook.look(store, as_of=AS_OF).clearance_trend("M", "b")
    assert list(trend.points["remark"].str.contains("neither a limit")) == [True]
    assert trend.shares.empty

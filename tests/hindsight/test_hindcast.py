"""Past openings are forecast from what was known before them, and counted as a hand would."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from small_plants import AS_OF, HOURS, OPENED, STEADY, Sheets, clearance, found, run, undated

import trendwear
from trendwear import ReadingKey, Signed, outlook, tables
from trendwear.hindsight.followed import PLANS
from trendwear.hindsight.found import FOUND, quantile_columns
from trendwear.hindsight.hindcast import Hindcast
from trendwear.hindsight.score import ALL

Stored = Callable[[Sheets], Path]


@pytest.fixture
def walked(stored: Stored, tmp_path: Path) -> Callable[[Sheets], Hindcast]:
    """Load sheets into a new store and walk through their past."""

    def walk(sheets: Sheets) -> Hindcast:
        for old in [*tmp_path.glob("test.duckdb*"), *tmp_path.glob("sheets/*.csv")]:
            old.unlink()
        return outlook.hindcast(stored(sheets), as_of=AS_OF)

    return walk


def row_of(told: Hindcast, name: str, opening: int) -> Any:
    rows = told.found[told.found["clearance"] == name]
    same = rows[rows["hours"] == HOURS[opening]]
    assert len(same) == 1
    return same.iloc[0]


def changed(sheets: Sheets, name: str, opening: int, **cells: object) -> Sheets:
    """The same sheets with one reading changed."""
    readings = [
        {**row, **cells}
        if row["clearance"] == name and row["run_hours"] == HOURS[opening]
        else dict(row)
        for row in sheets["readings"]
    ]
    return {**sheets, "readings": readings}


def test_each_forecast_is_that_of_the_day_before(stored: Stored) -> None:
    store = stored(STEADY)
    told = outlook.hindcast(store, as_of=AS_OF)
    tables.check(told.found, FOUND)
    for opening in range(2, len(OPENED)):
        eve = dt.date.fromisoformat(OPENED[opening]) - dt.timedelta(days=1)
        table = trendwear.forecast(store, as_of=eve, horizon_hours=15_000)
        # What one would read at the opening's own hours, whatever the duty made of the eve.
        for name in "abc":
            row = row_of(told, name, opening)
            there = table[table["clearance"] == name].iloc[0]
            assert row["run_hours"] == 15_000
            assert row["readings"] == there["readings"] == opening
            if there["run_hours"] - HOURS[opening - 1] <= 15_000:
                for percent in ("p05", "p50", "p95"):
                    assert row[f"forecast_{percent}_mm"] == pytest.approx(
                        there[f"found_{percent}"], rel=1e-7
                    )


def test_coverage_is_counted_by_hand(stored: Stored) -> None:
    told = outlook.hindcast(stored(STEADY), as_of=AS_OF)
    judged = told.found[told.found["silent"].isna()]
    # Of six openings the first has no forecast, and after one reading each no rate is known.
    assert len(judged) == 3 * 4
    assert set(told.found["silent"].dropna()) == {
        "first reading of this clearance",
        "no rate could be told yet",
    }
    inside = [
        row.forecast_p05_mm <= row.found_mm <= row.forecast_p95_mm for row in judged.itertuples()
    ]
    score = told.scores[(told.scores["group"] == ALL) & (told.scores["rule"] == "forecast")].iloc[0]
    assert (score["readings"], score["inside_90"]) == (12, sum(inside))
    assert sum(inside) < 12
    last = row_of(told, "c", 5)
    assert last["found_mm"] > last["forecast_p95_mm"]
    assert score["mean_abs_error_mm"] == pytest.approx(
        np.mean([abs(row.found_mm - row.forecast_p50_mm) for row in judged.itertuples()])
    )


def no_work(opening: int) -> Sheets:
    return {}


@pytest.mark.parametrize(
    ("form", "other"),
    [(list, lambda opening: {"work": [work(opening)]}), (undated, no_work)],
    ids=["dated", "undated"],
)
def test_no_later_row_changes_an_earlier_forecast(
    walked: Callable[[Sheets], Hindcast],
    form: Callable[[Any], Any],
    other: Callable[[int], Sheets],
) -> None:
    sheets = {**STEADY, "readings": form(STEADY["readings"])}
    before = walked({**sheets, **other(4)})
    after = walked({**changed(sheets, "b", 4, value=0.46), **other(3)})
    early = before.found["hours"] <= HOURS[3]
    pd.testing.assert_frame_equal(
        before.found[early].drop(columns="note"), after.found[early].drop(columns="note")
    )
    late = before.found["hours"] == HOURS[5]
    assert not before.found[late].equals(after.found[late])
    made = ["machine", "hours", "risk", "latest_hours", "governed_by", "clearances"]
    first, second = (
        told.plans[told.plans["hours"] < HOURS[3]][made].reset_index(drop=True)
        for told in (before, after)
    )
    assert len(first)
    pd.testing.assert_frame_equal(first, second)


def work(opening: int, action: str = "renewed", name: str = "a") -> dict[str, object]:
    row = {"machine": "M", "clearance": name, "date": OPENED[opening], "action": action}
    return row | {"run_hours": HOURS[opening]}


def test_machines_without_dates_go_by_hours_and_tell_the_same(
    walked: Callable[[Sheets], Hindcast],
) -> None:
    dated = walked(STEADY)
    bare = walked({name: undated(rows) for name, rows in STEADY.items()})
    assert bare.undated == ("M",)
    assert bare.found["date"].isna().all()
    columns = [*quantile_columns("forecast"), "found_mm", "run_hours"]
    pd.testing.assert_frame_equal(dated.found[columns], bare.found[columns])
    assert len(bare.plans) == len(dated.plans) > 0


def test_a_machine_without_dates_lends_nothing_to_a_dated_one(
    walked: Callable[[Sheets], Hindcast],
) -> None:
    other = undated(run("x", 0.2, 0.3, 0.4, machine="N"))
    both = {
        "clearances": [*STEADY["clearances"], clearance("x", "N")],
        "readings": [*STEADY["readings"], *other],
    }
    alone, together = walked(STEADY), walked(both)
    assert together.undated == ("N",)
    mine = together.found[together.found["machine"] == "M"].reset_index(drop=True)
    pd.testing.assert_frame_equal(mine, alone.found)


def test_the_last_interval_is_carried_on_by_hand(walked: Callable[[Sheets], Hindcast]) -> None:
    row = row_of(walked(STEADY), "a", 3)
    # 0.24 at 15,000 h and 0.29 at 30,000 h, each +- 0.005; 15,000 h more.
    assert row["last_interval_rate_p50_mm"] == pytest.approx(0.34)
    sd = np.sqrt((2 * 0.005) ** 2 + 0.005**2 + 0.005**2)
    assert row["last_interval_rate_p95_mm"] == pytest.approx(0.34 + stats.norm.ppf(0.95) * sd)


def test_the_own_line_is_the_least_squares_line(walked: Callable[[Sheets], Hindcast]) -> None:
    row = row_of(walked(STEADY), "b", 4)
    hours, values = np.array(HOURS[:4]), np.array([0.21, 0.26, 0.30, 0.36])
    slope, intercept = np.polyfit(hours, values, 1)
    assert row["own_data_line_p50_mm"] == pytest.approx(intercept + slope * HOURS[4])
    design = np.column_stack([np.ones(4), hours])
    here = np.array([1.0, HOURS[4]])
    spread = 0.005**2 * (1 + here @ np.linalg.inv(design.T @ design) @ here)
    scale = ((values - intercept - slope * hours) ** 2).sum() / 0.005**2 / 2
    assert scale > 1  # so the scatter counts, with two degrees of freedom
    high = intercept + slope * HOURS[4] + stats.t.ppf(0.95, 2) * np.sqrt(scale * spread)
    assert row["own_data_line_p95_mm"] == pytest.approx(high)


def test_a_run_after_a_renewal_stands_apart(walked: Callable[[Sheets], Hindcast]) -> None:
    left = found("a", 3, 0.20, state="as-left")
    sheets = {
        **STEADY,
        "work": [work(3)],
        "readings": [
            *[row for row in STEADY["readings"] if row["clearance"] != "a"],
            *run("a", 0.20, 0.24, 0.29, 0.32),
            left,
            found("a", 4, 0.25),
            found("a", 5, 0.29),
        ],
    }
    told = walked(sheets)
    assert row_of(told, "a", 4)["first_run"]
    assert "first run after a renewal" in row_of(told, "a", 4)["note"]
    assert not row_of(told, "a", 5)["first_run"]
    assert not row_of(told, "b", 4)["first_run"]


def test_what_was_different_is_told(walked: Callable[[Sheets], Hindcast]) -> None:
    sheets: dict[str, Any] = {
        "clearances": STEADY["clearances"],
        "readings": [
            *run("a", 0.20, 0.24, 0.29, 0.32, 0.20),
            *run("b", 0.21, 0.26, 0.30, 0.36, method="feeler"),
            found("b", 4, 0.40, method="bore gauge"),
            *run("c", 0.19, 0.22, 0.27, 0.30, 0.33),
        ],
        "events": [
            {"machine": "M", "date": "2017-01-01", "what": "wet steam", "clearances": "c"},
            {"machine": "M", "date": "2011-01-01", "what": "trip"},
        ],
    }
    told = walked(sheets)
    assert "less worn than when last read" in row_of(told, "a", 4)["note"]
    assert "read by bore gauge, the time before by feeler" in row_of(told, "b", 4)["note"]
    assert "after wet steam, 2017-01-01" in row_of(told, "c", 4)["note"]
    assert "wet steam" not in row_of(told, "b", 4)["note"]
    assert row_of(told, "c", 3)["note"] is None
    assert "only 2 readings" in row_of(told, "c", 2)["note"]


def test_what_cannot_be_judged_is_counted(walked: Callable[[Sheets], Hindcast]) -> None:
    rows = [dict(row) for row in STEADY["readings"]]
    rows[5]["value"] = ">0.40"
    told = walked({**STEADY, "readings": rows})
    assert row_of(told, "a", 5)["at_least"]
    score = told.scores[(told.scores["group"] == ALL) & (told.scores["rule"] == "forecast")].iloc[0]
    assert score["readings"] == 11


def test_a_closing_gap_reads_as_it_is_written(walked: Callable[[Sheets], Hindcast]) -> None:
    mirrored = {
        "clearances": [clearance(name, moves="closes", limit=1.5) for name in "abc"],
        "readings": [
            {**row, "value": round(2.0 - float(str(row["value"])), 3)} for row in STEADY["readings"]
        ],
    }
    opening, closing = walked(STEADY), walked(mirrored)
    assert closing.found["forecast_p05_mm"].to_numpy() == pytest.approx(
        2.0 - opening.found["forecast_p95_mm"].to_numpy(), nan_ok=True
    )
    columns = ["outcome", "latest_hours", "crossed_hours", "due"]
    pd.testing.assert_frame_equal(opening.plans[columns], closing.plans[columns])


def test_an_empty_past_is_no_fault(walked: Callable[[Sheets], Hindcast]) -> None:
    told = walked({"clearances": STEADY["clearances"], "readings": run("a", 0.2)})
    assert told.openings == 1
    assert told.found["silent"].tolist() == ["first reading of this clearance"]
    tables.check(told.plans, PLANS)
    assert told.plans.empty


def test_progress_is_told_to_the_end(stored: Stored) -> None:
    steps: list[tuple[str, int, int]] = []
    outlook.hindcast(stored(STEADY), as_of=AS_OF, progress=lambda *step: steps.append(step))
    assert steps[-1][1:] == (12, 12)
    assert [done for _, done, _ in steps] == list(range(13))


def test_an_opening_of_many_days_knows_nothing_of_itself(
    walked: Callable[[Sheets], Hindcast],
) -> None:

    rows = [dict(row) for row in STEADY["readings"]]
    late = [row for row in rows if row["clearance"] == "c" and row["run_hours"] == HOURS[4]]
    late[0]["date"] = "2018-03-20"
    told, plain = walked({**STEADY, "readings": rows}), walked(STEADY)
    names = quantile_columns("forecast")
    for name in "abc":
        for column in names:
            assert row_of(told, name, 4)[column] == pytest.approx(row_of(plain, name, 4)[column])


def test_what_a_person_excluded_is_neither_used_nor_judged(stored: Stored) -> None:
    store = stored(STEADY)
    before = outlook.hindcast(store, as_of=AS_OF)
    key = ReadingKey("M", "c", OPENED[5], "as-found")
    trendwear.exclude(store, key, Signed("J. Fitter", "wrong feeler"))
    after = outlook.hindcast(store, as_of=AS_OF)
    assert len(after.found) == len(before.found) - 1
    assert not (after.found["clearance"].eq("c") & after.found["hours"].eq(HOURS[5])).any()

"""Sizes of partners all the way to the trend: the worst or the mean, radial or diametral."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest

from trendwear import outlook
from trendwear.report.clearance_tables import readings_table
from trendwear.store.intake import load

MIL = 0.0254
AS_OF = dt.date(2025, 1, 1)
READINGS = (
    "machine,clearance,date,run_hours,state,value\n"
    "T-1,brg,2012-05-01,0,as-left,5\nT-1,brg,2016-05-01,20000,as-found,5.5\n"
    "T-1,brg,2020-05-01,40000,as-found,6\n"
)
SIZES = (
    "machine,clearance,date,run_hours,state,part,plane,value,unit,method\n"
    "T-1,brg,2024-05-01,60000,as-found,bore,A,4.0020,in,bore gauge\n"
    "T-1,brg,2024-05-01,60000,as-found,bore,B,4.0024,in,bore gauge\n"
    "T-1,brg,2024-05-01,60000,as-found,journal,,3.9955,in,micrometer\n"
)


def point(tmp_path: Path, reduce: str = "", basis: str = "diametral") -> tuple[pd.Series, str]:
    sheets = {
        "clearances": "machine,clearance,kind,basis,moves,unit,limit,reduce\n"
        f"T-1,brg,sleeve bearing,{basis},opens,mil,12,{reduce}\n",
        "readings": READINGS,
        "dimensions": SIZES,
    }
    for name, text in sheets.items():
        (tmp_path / f"{name}.csv").write_text(text)
    report = load([tmp_path], store=tmp_path / "s.duckdb")
    assert report.clean, report.faults.to_string()
    trend = outlook.look(tmp_path / "s.duckdb", as_of=AS_OF).clearance_trend("T-1", "brg")
    shown = readings_table(trend, "mil")["as written"]
    return trend.points.iloc[-1], shown.iloc[0]


def test_the_trend_takes_the_worst_and_says_how_it_was_made(tmp_path: Path) -> None:
    row, shown = point(tmp_path)
    assert row["value_mm"] / MIL == pytest.approx(6.9)
    assert row["written"] == "computed: bore 4.0024 − journal 3.9955 in, plane B"
    assert row["remark"] == "largest of 2 readings"
    # ± 0.3 mil of the bore gauge and ± 0.4 mil of the micrometer, half-widths: 0.5/sqrt(3).
    assert row["u_mm"] / MIL == pytest.approx(0.5 / 3**0.5)
    assert (row["u_from"], bool(row["fitted"])) == ("starting value", True)
    assert shown.startswith("computed: bore")


def test_or_the_mean_where_the_register_says_so(tmp_path: Path) -> None:
    row, _ = point(tmp_path, reduce="mean")
    assert row["value_mm"] / MIL == pytest.approx(6.7)


def test_a_radial_clearance_is_half_of_it(tmp_path: Path) -> None:
    row, _ = point(tmp_path, basis="radial")
    assert row["value_mm"] / MIL == pytest.approx(3.45)
    assert row["u_mm"] / MIL == pytest.approx(0.25 / 3**0.5)

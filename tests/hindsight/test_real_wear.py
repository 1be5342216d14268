"""The record on real wear: cylinder liners of ship engines, measured in service.

Readings and their source are in ``data/README.md``.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

import trendwear
from trendwear import outlook
from trendwear.hindsight.hindcast import Hindcast
from trendwear.hindsight.score import ALL, FIRST_RUNS, LATER_RUNS

LINERS = Path(__file__).parents[2] / "data" / "cylinder_liners"


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Hindcast:
    store = tmp_path_factory.mktemp("liners") / "liners.duckdb"
    assert trendwear.load([LINERS], store=store).clean
    return outlook.hindcast(store, as_of=dt.date(2026, 1, 1))


def test_bands_keep_their_promise(told: Hindcast) -> None:
    assert len(told.undated) == 21
    scores = told.scores[told.scores["rule"] == "forecast"].set_index("group")
    assert scores.loc[ALL, "readings"] == 40
    for group in (ALL, FIRST_RUNS, LATER_RUNS):
        for band in (50, 80, 90):
            row = scores.loc[group]
            assert row[f"due_low_{band}"] <= row[f"inside_{band}"] <= row[f"due_high_{band}"]


def test_the_forecast_beats_both_simpler_rules(told: Hindcast) -> None:
    rules = told.scores[(told.scores["group"] == ALL) & (told.scores["rule"] != "forecast")]
    assert (rules["both"] == 20).all()
    assert (rules["forecast_abs_error_mm"] < rules["rule_abs_error_mm"]).all()
    assert (rules["inside_90"] < rules["due_low_90"]).all()  # their bands promise too much


def test_no_plan_of_a_liner_was_late(told: Hindcast) -> None:
    assert len(told.plans) == 3 * 20
    assert not told.plans["outcome"].eq("late").any()

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
import source
from plain import plain

from trendwear import outlook
from trendwear.errors import StoreMissing

DAY = datetime.date(2026, 3, 1)


def test_the_store_is_where_the_environment_says(monkeypatch):
    monkeypatch.setenv("TRENDWEAR_STORE", "/plant/mill.duckdb")
    assert source.store_path() == Path("/plant/mill.duckdb")
    monkeypatch.delenv("TRENDWEAR_STORE")
    assert source.store_path() == Path("trendwear.duckdb")


def test_a_missing_store_is_told_as_one(monkeypatch, tmp_path):
    monkeypatch.setenv("TRENDWEAR_STORE", str(tmp_path / "none.duckdb"))
    with pytest.raises(StoreMissing):
        source.limit_forecast(DAY, None)


def test_answers_are_kept_until_the_store_changes(monkeypatch, tmp_path):
    store = tmp_path / "mill.duckdb"
    store.write_bytes(b"one")
    monkeypatch.setenv("TRENDWEAR_STORE", str(store))
    asked = []
    monkeypatch.setattr(outlook, "look", lambda path, **_: Answer(asked))
    monkeypatch.setattr(outlook, "limit_forecast", lambda told: told.number)
    assert source.limit_forecast(DAY, None) == source.limit_forecast(DAY, None) == 1
    store.write_bytes(b"another")
    assert source.limit_forecast(DAY, None) == 2
    assert source.limit_forecast(DAY, 8000.0) == 3


class Answer:
    """Numbered as it is asked for."""

    def __init__(self, asked: list[object]) -> None:
        asked.append(self)
        self.number = len(asked)


@pytest.mark.parametrize("text", ["brg *2*", "a_b_c", "$5", "# 3", "[x](y)", "<b>", "1. ring"])
def test_signs_in_names_are_shown_as_written(text):
    shown = plain(text)
    assert shown.replace("\\", "") == text
    assert shown != text

"""``trendwear template`` from the command line."""

from __future__ import annotations

from typer.testing import CliRunner

from trendwear.cli import app
from trendwear.errors import UsageProblem


def run(*words: str):
    return CliRunner().invoke(app, list(words))


def test_it_writes_the_workbook_and_says_what_comes_next(tmp_path):
    place = tmp_path / "blank.xlsx"
    done = run("template", "--out", str(place))
    assert done.exit_code == 0
    assert place.read_bytes().startswith(b"PK")
    assert f"trendwear load --dry-run {place}" in done.stdout


def test_an_empty_one_loads_kindly(tmp_path):
    place, store = tmp_path / "blank.xlsx", tmp_path / "s.duckdb"
    run("template", "--out", str(place))
    done = run("load", str(place), "--store", str(store))
    assert done.exit_code == 0
    assert "nothing is filled in yet" in done.stdout
    assert "Refused" not in done.stdout


def test_another_ending_is_usage(tmp_path):
    done = run("template", "--out", str(tmp_path / "blank.csv"))
    assert isinstance(done.exception, UsageProblem)
    assert not (tmp_path / "blank.csv").exists()

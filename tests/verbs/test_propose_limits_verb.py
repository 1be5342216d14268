"""Limits that are proposed, loaded, and accepted by a person or not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from typer.testing import CliRunner, Result

import trendwear
from trendwear.cli import app
from trendwear.store import history
from trendwear.store.database import reader

HEAD = "machine,clearance,kind,basis,moves,unit,limit,limit_source,diameter,diameter_unit\n"
REGISTER = (
    HEAD + "P-1,brg,sleeve bearing,diametral,opens,mm,,,4,in\n"
    "P-1,radial brg,sleeve bearing,radial,opens,mm,,,4,in\n"
    "P-1,done,sleeve bearing,diametral,opens,mil,12,\"manual, page 3\",4,in\n"
    "P-1,carbon,carbon ring,diametral,opens,mil,,,4,in\n"
    "P-2,ring,wear ring,diametral,opens,mil,,,3.25,in\n"
)  # fmt: skip
READINGS = "machine,clearance,date,run_hours,state,value\n" + "\n".join(
    f"P-1,brg,{2010 + year}-01-01,{8000 * year},as-found,{0.15 + 0.01 * year:.2f}"
    for year in range(5)
)
DAY = dt.date(2014, 6, 1)


@pytest.fixture
def run(tmp_path: Path) -> Callable[..., Result]:
    """Run a verb upon a store with five clearances, four of them without a limit."""
    store = tmp_path / "plant.duckdb"
    for name, text in (("clearances", REGISTER), ("readings", READINGS)):
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    runner = CliRunner()

    def verb(*words: str) -> Result:
        return runner.invoke(app, [*words, "--store", str(store)])

    assert (
        verb("load", str(tmp_path / "clearances.csv"), str(tmp_path / "readings.csv")).exit_code
        == 0
    )
    return verb


def forecast(tmp_path: Path, clearance: str = "brg") -> pd.Series:
    table = trendwear.forecast(tmp_path / "plant.duckdb", as_of=DAY)
    return table[table["clearance"] == clearance].iloc[0]


def test_rules_side_by_side_and_the_strictest_proposed(run: Callable[..., Result]) -> None:
    out = " ".join(run("propose-limits").output.split())
    for words in (
        "0.005 in as built", "0.008 in as built", "0.012 in limit",
        "PROPOSED limit: 0.012 in (never above 0.003 in per inch of shaft)",
        "no proposal: the rules count diametral, and the register counts radial",
        "no proposal: no rule of thumb for this kind and diameter: take it from the manual",
        "PROPOSED limit: 0.0195 in", "reckoned on the minimum of API 610 11th edition",
        "not a wear limit", "The maker's manual stands above all",
    ):  # fmt: skip
        assert words in out, words
    assert "P-1 / done" not in out


def test_of_one_machine(run: Callable[..., Result]) -> None:
    out = run("propose-limits", "p 2").output
    assert "P-2 / ring" in out
    assert "P-1" not in out
    unknown = run("propose-limits", "P-9")
    assert "It has: P-1, P-2" in str(unknown.exception)


@pytest.mark.parametrize("name", ["clearances.csv", "proposed.xlsx"])
def test_a_proposal_is_kept_and_counts_as_none(
    run: Callable[..., Result], tmp_path: Path, name: str
) -> None:
    before = forecast(tmp_path)
    (tmp_path / "out").mkdir()
    sheet = tmp_path / "out" / name
    said = run("propose-limits", "--out", str(sheet)).output
    assert "2 proposed limits" in said
    assert "none of them counts" in " ".join(said.split())
    assert run("load", str(sheet)).exit_code == 0
    pd.testing.assert_series_equal(forecast(tmp_path), before)
    with reader(tmp_path / "plant.duckdb") as connection:
        register = history.clearances(connection).set_index("clearance")
    assert pd.isna(register.at["brg", "limit_mm"])
    assert register.at["brg", "limit_source"] is None
    assert not register.at["brg", "limiting"]
    told = " ".join(run("history", "P-1", "brg").output.split())
    assert "limit 0.3048 mm (proposed: counts as none)" in told
    assert "PROPOSED in the register, not accepted: 0.3048 mm" in run("propose-limits").output


def accept(tmp_path: Path, **cells: str) -> Path:
    """The sheet of the proposal for brg, with cells written by a person."""
    sheet = pd.read_csv(tmp_path / "out" / "clearances.csv", dtype="str").iloc[:1]
    (tmp_path / "mine").mkdir(exist_ok=True)
    path = tmp_path / "mine" / "clearances.csv"
    sheet.assign(**cells).to_csv(path, index=False)
    return path


class TestAccepting:
    """A limit counts from when a person says where it stands."""

    @pytest.fixture
    def proposed(self, run: Callable[..., Result], tmp_path: Path) -> Callable[..., Result]:
        """The same store, with the proposals loaded."""
        (tmp_path / "out").mkdir()
        run("propose-limits", "--out", str(tmp_path / "out" / "clearances.csv"))
        assert run("load", str(tmp_path / "out" / "clearances.csv")).exit_code == 0
        return run

    def test_with_a_source_it_counts(self, proposed: Callable[..., Result], tmp_path: Path) -> None:
        source = "A. Engineer, 2014-05-30"
        path = accept(tmp_path, limit_status="accepted", limit_source=source)
        assert proposed("load", str(path)).exit_code == 0
        row = forecast(tmp_path)
        assert row["limit"] == pytest.approx(0.3048)
        assert row["limit_source"] == source
        assert "P-1 / brg" not in proposed("propose-limits").output

    @pytest.mark.parametrize("source", ["", None])
    def test_without_a_person_it_is_refused(
        self, proposed: Callable[..., Result], tmp_path: Path, source: str | None
    ) -> None:
        cells = {"limit_status": "accepted"} | ({} if source is None else {"limit_source": source})
        done = proposed("load", str(accept(tmp_path, **cells)))
        assert done.exit_code == 1
        assert "nobody says by whom" in " ".join(done.output.split())
        assert pd.isna(forecast(tmp_path)["limit"])

    def test_a_limit_from_a_manual_needs_no_word(
        self, proposed: Callable[..., Result], tmp_path: Path
    ) -> None:
        path = accept(tmp_path, limit="0.28", limit_status="", limit_source="manual, page 4")
        assert proposed("load", str(path)).exit_code == 0
        row = forecast(tmp_path)
        assert (row["limit"], row["limit_source"]) == (pytest.approx(0.28), "manual, page 4")

    def test_a_status_without_a_limit_is_refused(
        self, proposed: Callable[..., Result], tmp_path: Path
    ) -> None:
        path = accept(tmp_path, limit="", limit_status="accepted", limit_source="me")
        done = proposed("load", str(path))
        assert done.exit_code == 1
        assert "there is no limit of which it could be said" in " ".join(done.output.split())


@pytest.mark.parametrize(("diameter", "unit"), [("4", ""), ("0", "in")])
def test_a_diameter_that_cannot_be_is_refused(
    run: Callable[..., Result], tmp_path: Path, diameter: str, unit: str
) -> None:
    (tmp_path / "odd").mkdir()
    sheet = tmp_path / "odd" / "clearances.csv"
    row = f"P-3,brg,sleeve bearing,diametral,opens,mm,,,{diameter},{unit}\n"
    sheet.write_text(HEAD + row, encoding="utf-8")
    done = run("load", str(sheet))
    assert done.exit_code == 1
    assert "not above 0, or has no unit" in " ".join(done.output.split())


def test_another_ending_is_refused(run: Callable[..., Result], tmp_path: Path) -> None:
    done = run("propose-limits", "--out", str(tmp_path / "p.pdf"))
    assert ".csv or .xlsx" in str(done.exception)


def test_nothing_to_propose(run: Callable[..., Result], tmp_path: Path) -> None:
    text = REGISTER.replace(",,,", ",30,letter,")
    (tmp_path / "clearances.csv").write_text(text, encoding="utf-8")
    run("load", str(tmp_path / "clearances.csv"))
    assert "Every clearance has an accepted limit." in run("propose-limits").output

"""The verb ``case``: what it prints, writes, keeps, and ends with; and the same in Python."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from small_cases import made

import trendwear
from trendwear import cli, other_cases
from trendwear.errors import UnknownName, UsageProblem
from trendwear.planning.case_changes import CancelledWindow, OtherDuty, OtherLimit
from trendwear.planning.case_compare import COMPARED
from trendwear.planning.cases import Case
from trendwear.store import cases as kept_in

Run = Callable[..., tuple[int, str, str]]
CASE = "[[limit]]\nmachine = 'M'\nclearance = 'fast'\nlimit = 0.42\nunit = 'mm'\n"
AS_OF = dt.date(2020, 1, 1)


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made(tmp_path_factory.mktemp("plant"))


@pytest.fixture
def store(plant: Path, tmp_path: Path) -> Path:
    """A store of its own, so that nothing kept by one test is there in another."""
    path = tmp_path / "own.duckdb"
    path.write_bytes(plant.read_bytes())
    return path


@pytest.fixture
def case_file(tmp_path: Path) -> str:
    path = tmp_path / "tighter.toml"
    path.write_text(CASE, encoding="utf-8")
    return str(path)


@pytest.fixture
def ask(store: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run ``trendwear case`` on the small plant: exit code, output, errors."""

    def run(*words: str) -> tuple[int, str, str]:
        argv = ["trendwear", "case", *words, "--store", str(store), "--as-of", "2020-01-01"]
        monkeypatch.setattr("sys.argv", argv)
        with pytest.raises(SystemExit) as end:
            cli.main()
        told = capsys.readouterr()
        return int(end.value.code or 0), told.out, told.err

    return run


def test_on_screen_and_nothing_is_stored(ask: Run, case_file: str, store: Path) -> None:
    ask(case_file)  # the first look keeps the fits
    before = hashlib.sha256(store.read_bytes()).hexdigest()
    code, out, _ = ask(case_file)
    assert code == 0
    assert "tighter: beside the plan as of 2020-01-01" in out
    assert "Limit of M / fast is 0.42 mm." in out
    assert "For 1 of 2 machines something changes" in out
    assert "Nothing changes for N." in out
    assert "Accepted risks of the risks sheet: leak 20 %, damage 10 %" in out
    assert hashlib.sha256(store.read_bytes()).hexdigest() == before


def test_files(ask: Run, case_file: str, tmp_path: Path) -> None:
    for ending in ("csv", "xlsx", "md"):
        code, out, _ = ask(case_file, "--out", str(tmp_path / f"c.{ending}"))
        assert (code, "The case of 2 machines written to" in out) == (0, True)
    table = pd.read_csv(tmp_path / "c.csv")
    assert list(table) == list(COMPARED)
    assert table["machine"].tolist() == ["M", "N"]
    assert table["moved"].tolist() == [True, False]
    sheets = pd.read_excel(tmp_path / "c.xlsx", sheet_name=None, engine="calamine")
    assert list(sheets) == ["side by side", "numbers", "columns", "about"]
    assert sheets["side by side"]["in the case"].tolist()[1] == "same"
    assert "# tighter: beside the plan" in (tmp_path / "c.md").read_text(encoding="utf-8")
    code, _, err = ask(case_file, "--out", "c.pdf")
    assert (code, ".csv, .xlsx or .md" in err) == (2, True)


def test_kept_opened_listed_and_deleted(ask: Run, case_file: str) -> None:
    assert "No case is kept" in ask()[1]
    assert ask(case_file, "--keep", "Tight")[0] == 2  # nobody keeps it
    code, out, _ = ask(case_file, "--keep", "Tight", "--by", "Ann")
    assert (code, "Case Tight is kept" in out) == (0, True)
    assert "Ann" in ask()[1]
    assert "Limit of M / fast is 0.42 mm." in ask("tight")[1]
    assert ask("Tight", "--delete", "Tigth", "--by", "Ann")[0] == 2
    assert "is deleted" in ask("Tight", "--delete", "tight", "--by", "Ann")[1]
    code, _, err = ask("Tight")
    assert (code, "no case of that name is kept" in err) == (1, True)


def test_a_case_that_cannot_be_worked_out_is_not_kept(ask: Run, tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text("[[window]]\ncancel = 'never'\n", encoding="utf-8")
    code, _, err = ask(str(path), "--keep", "bad", "--by", "Ann")
    assert code == 1
    assert "window never: there is no such window. Those to come: spring 2020" in err
    assert "No case is kept" in ask()[1]


def test_a_kept_case_whose_window_and_clearance_are_gone_says_so(
    ask: Run, store: Path, tmp_path: Path
) -> None:
    gone = Case("old", (CancelledWindow("spring 2019"), OtherLimit("M", "former", 0.4)))
    other_cases.keep_case(store, gone, "Ann")
    code, _, err = ask("old")
    assert code == 1
    assert "2 of its changes do not fit today" in err
    assert "window spring 2019" in err
    assert "clearance former of machine M" in err


def test_what_was_kept_in_an_unknown_form_is_said(ask: Run, store: Path) -> None:
    kept_in.keep_case(store, "odd", "{", "Ann")
    kept_in.keep_case(store, "newer", '{"weather": []}', "Ann")
    assert "what was kept is not readable" in ask("odd")[2]
    assert "not understood: weather" in ask("newer")[2]


@pytest.mark.parametrize("words", [("--keep", "a"), ("--out", "a.csv"), ("--delete", "a")])
def test_options_that_need_a_case_are_refused_without_one(ask: Run, words: tuple[str, ...]) -> None:
    assert ask(*words)[0] == 2


def test_a_risk_for_the_run_stands_on_both_sides(ask: Run, case_file: str) -> None:
    code, out, _ = ask(case_file, "--risk", "0.3")
    assert (code, "Accepted risk 30 %" in out) == (0, True)
    assert ask(case_file, "--risk", "3")[0] == 2


def test_in_python(store: Path) -> None:
    longer = Case("longer", (OtherDuty("M", factor=1.04),))
    table = trendwear.other_case(store, longer, as_of=AS_OF)
    assert list(table) == list(COMPARED)
    assert table["moved"].tolist() == [True, False]
    other_cases.keep_case(store, longer, "Ann")
    pd.testing.assert_frame_equal(trendwear.other_case(store, "Longer", as_of=AS_OF), table)
    with pytest.raises(UnknownName):
        trendwear.other_case(store, "shorter", as_of=AS_OF)
    with pytest.raises(UsageProblem):
        trendwear.other_case(store, longer, as_of=AS_OF, risk=2.0)


def test_where_nobody_chose_a_risk_the_case_is_shown_at_each(tmp_path: Path) -> None:
    store = made(tmp_path, risks=[])
    case = Case("", (OtherLimit("M", "fast", 0.42),))
    table = trendwear.other_case(store, case, as_of=AS_OF)
    assert table[table["moved"]]["risk"].tolist() == [0.05, 0.1, 0.2]

"""The verbs that show where numbers came from, and that take a load back."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import load_workbook
from typer.testing import CliRunner, Result

from trendwear.cli import app
from trendwear.history_tables import HISTORY

REGISTER = (
    "machine,clearance,kind,basis,moves,unit,limit,limit_source\n"
    "K-1,drive end bearing of the high speed shaft,sleeve bearing,diametral,opens,mil,12,"
    '"maintenance manual of the compressor, 4th edition, page 127, table 9"\n'
)
READINGS = "machine,clearance,date,run_hours,state,value,by,note\n" + "\n".join(
    f"K-1,drive end bearing of the high speed shaft,{1990 + year}-05-01,{8000 * year},as-found,"
    f'{6 + 0.1 * year:.1f},M. Fitter,"=HYPERLINK(""x"") cap [2] was tight; ¾ of the bolts"'
    for year in range(30)
)
RUN_LOG = "machine,date,run_hours\nK-1,1990-05-01,0\nK-1,2019-05-01,232000"
WHO = ("--by", "J. Planner", "--why", "the file of another mill")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    """Run a verb upon a store with two loads, in a terminal of 100 columns."""
    monkeypatch.setenv("COLUMNS", "100")
    store = tmp_path / "plant.duckdb"
    for name, text in (("clearances", REGISTER), ("readings", READINGS), ("run_log", RUN_LOG)):
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")

    def verb(*words: str) -> Result:
        return CliRunner().invoke(app, [*words, "--store", str(store)])

    for names in (("clearances",), ("readings", "run_log")):
        paths = [str(tmp_path / f"{name}.csv") for name in names]
        assert verb("load", *paths).exit_code == 0
    return verb


def test_a_long_history_is_readable_at_a_hundred_columns(run: Callable[..., Result]) -> None:
    done = run("history", "K-1")
    assert done.exit_code == 0, done.output
    lines = done.output.splitlines()
    assert max(map(len, lines)) <= 100
    whole = " ".join(done.output.split())
    assert "limit 12 mil, limit source maintenance manual of the compressor, 4th edition" in whole
    assert "2019-05-01 as-found, 232,000 h, note: =HYPERLINK" in whole
    assert "'8.9' read as 8.9 mil diametral" in whole
    assert "readings.csv, row 31; load 2 of" in whole
    assert "2019-05-01 run hours 232,000 (run_log.csv, row 3; load 2 of" in whole


def test_of_one_clearance(run: Callable[..., Result]) -> None:
    out = run("history", "k 1", "Drive end bearing of the high speed shaft").output
    assert "Readings:" in out
    assert "Run log:" not in out
    assert "trendwear history k 1" in " ".join(out.split())


def test_every_change_stands_below_its_reading(run: Callable[..., Result]) -> None:
    key = ("K-1", "drive end bearing of the high speed shaft", "1995-05-01", "as-found")
    run("amend", *key, "--value", "6.8", *WHO)
    run("exclude", *key, *WHO)
    run("exclude", *key, *WHO, "--undo")
    run("take-back", "2", *WHO)
    told = " ".join(run("history", "K-1").output.split())
    for words in (
        "amended by J. Planner: was '6.5', now '6.8' (6.8 mil): the file of another mill",
        "excluded (6.8) by J. Planner",
        "undone (excluded on",
        "taken back with load 2 by J. Planner: the file of another mill",
        "it does not count: taken back with load 2",
    ):
        assert words in told, words


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_it_is_written_whole(run: Callable[..., Result], tmp_path: Path, suffix: str) -> None:
    out = tmp_path / f"history{suffix}"
    done = run("history", "K-1", "--out", str(out))
    assert "33 lines written" in done.output
    if suffix == ".csv":
        with out.open(encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
    else:
        sheet = load_workbook(out)["history"]
        rows = [["" if c is None else str(c) for c in row] for row in sheet.values]
    assert rows[0] == list(HISTORY)
    assert len(rows) == 34
    told = dict(zip(rows[0], rows[-3], strict=True))
    assert (told["written"], told["read"]) == ("8.9", "8.9 mil diametral by the register")
    assert (told["date"], told["row"], told["load"]) == ("2019-05-01", "31", "2")
    assert not any(cell.startswith("=") for row in rows for cell in row)


def test_the_loads(run: Callable[..., Result], tmp_path: Path) -> None:
    run("take-back", "2", *WHO)
    out = " ".join(run("history", "--loads").output.split())
    assert "clearances.csv brought 1 clearances; 1 count now" in out
    assert "readings.csv, run_log.csv brought 30 readings, 2 run_log; 0 count now" in out
    assert "by J. Planner: the file of another mill" in out
    assert "2 lines written" in run("history", "--loads", "--out", str(tmp_path / "l.csv")).output
    assert "loaded_at" in (tmp_path / "l.csv").read_text(encoding="utf-8").splitlines()[0]


class TestTakeBack:
    """The verb: what it says, and what it asks for."""

    def test_first_tried_then_done_then_undone(self, run: Callable[..., Result]) -> None:
        tried = run("take-back", "2", *WHO, "--dry-run").output
        assert "30 rows of readings no longer count" in tried
        assert "nothing was stored" in tried
        assert "brought 30 readings, 2 run_log; 32 count" in " ".join(
            run("history", "--loads").output.split()
        )
        done = run("take-back", "2", *WHO).output
        assert "nothing was stored" not in done
        assert done.splitlines()[1:] == tried.splitlines()[1:-1]
        undone = run("take-back", "2", *WHO, "--undo")
        assert "is in again" in undone.output
        assert "30 rows of readings count again" in undone.output

    def test_the_same_files_again(self, run: Callable[..., Result], tmp_path: Path) -> None:
        run("take-back", "2", *WHO)
        files = [str(tmp_path / f"{name}.csv") for name in ("readings", "run_log")]
        told = run("load", *files)
        assert told.exit_code == 0
        assert "trendwear take-back 2 --undo" in " ".join(told.output.split())
        assert "30 added" in run("load", *files, "--again").output

    @pytest.mark.parametrize(
        ("words", "said"),
        [
            (("take-back", "9", *WHO), "It has 1, 2"),
            (("take-back", "1", *WHO), "Take load 2 back first"),
            (("take-back", "2", *WHO, "--undo"), "nothing to undo"),
            (("take-back", "2", "--by", " ", "--why", "x"), "--by"),
            (("history",), "neither a machine nor --loads"),
            (("history", "K-1", "--loads"), "both a machine and --loads"),
            (("history", "K-9"), "holds nothing about it"),
            (("history", "K-1", "--out", "h.pdf"), ".csv or .xlsx"),
        ],
    )
    def test_what_its_user_must_mend(
        self, run: Callable[..., Result], words: tuple[str, ...], said: str
    ) -> None:
        done = run(*words)
        assert done.exit_code != 0
        assert said in f"{done.output}{done.exception}"


def test_no_load_yet(tmp_path: Path) -> None:
    store = tmp_path / "empty.duckdb"
    (tmp_path / "clearances.csv").write_text(REGISTER.splitlines()[0] + "\n", encoding="utf-8")
    runner = CliRunner()
    runner.invoke(app, ["load", str(tmp_path / "clearances.csv"), "--store", str(store)])
    done = runner.invoke(app, ["history", "--loads", "--store", str(store)])
    assert "Nothing was loaded yet." in done.output

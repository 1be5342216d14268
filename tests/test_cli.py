"""The command: what it says, and the code it ends with."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from trendwear import cli

ROOT = Path(__file__).parents[1]
SHEET = """machine,clearance,kind,basis,moves,unit,limit,date,run_hours,state,value
M,a,ring,diametral,opens,mm,0.5,2010-01-01,0,as-found,0.20
M,a,ring,diametral,opens,mm,0.5,2012-01-01,16000,as-found,0.25
M,a,ring,diametral,opens,mm,0.5,2014-01-01,32000,as-found,{last}
"""


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    """Return a function that runs the command in an empty folder: (code, out, err)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("TRENDWEAR_STORE", raising=False)
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)

    def call(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["trendwear", *words])
        code = 0
        try:
            cli.main()
        except SystemExit as end:
            code = int(end.code or 0)
        said = capsys.readouterr()
        return code, said.out, said.err

    return call


@pytest.fixture
def loaded(run, tmp_path: Path):
    (tmp_path / "readings.csv").write_text(SHEET.format(last=0.30), encoding="utf-8")
    assert run("load", "readings.csv")[0] == 0
    return run


def test_load_then_forecast(loaded) -> None:
    code, out, err = loaded("forecast", "--as-of", "2014-01-02")
    assert (code, err) == (0, "")
    assert "Wears" in out
    assert "0.50 mm" in out
    assert "not permission to run" in out


def test_a_refused_row_ends_with_1_and_the_good_rows_are_in(run, tmp_path: Path) -> None:
    (tmp_path / "readings.csv").write_text(SHEET.format(last="=1+1"), encoding="utf-8")
    code, out, _ = run("load", "readings.csv", "--refused", "refused.csv")
    assert code == 1
    assert "=1+1" in out
    assert "row 4" in out or " 4" in out
    assert "=1+1" in (tmp_path / "refused.csv").read_text(encoding="utf-8")
    assert "2 readings" in run("history", "M")[1] or run("history", "M")[0] == 0


def test_a_dry_run_stores_nothing(run, tmp_path: Path) -> None:
    (tmp_path / "readings.csv").write_text(SHEET.format(last=0.30), encoding="utf-8")
    assert run("load", "readings.csv", "--dry-run")[0] == 0
    assert not (tmp_path / "trendwear.duckdb").exists()


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".parquet", ".md"])
def test_the_table_is_written(loaded, tmp_path: Path, suffix: str) -> None:
    code, out, _ = loaded("forecast", "--as-of", "2014-01-02", "--out", f"table{suffix}")
    assert code == 0
    assert "1 row written" in out
    assert (tmp_path / f"table{suffix}").stat().st_size > 0


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("forecast", "--as-of", "3/4/2014"), 2, "2026-11-01"),
        (("forecast", "--horizon-hours", "-5"), 2, "above 0"),
        (("forecast", "--horizon-hours", "many"), 2, "valid number"),
        (("forecast", "--out", "table.doc"), 2, ".xlsx"),
        (("forecast", "--machine", "Z"), 1, "It has: M"),
        (("forecast", "--store", "nowhere.duckdb"), 1, "no store"),
        (("history", "Z"), 1, "nothing about it"),
        (("load", "nowhere.csv"), 1, "nowhere.csv"),
        (("load",), 2, "Missing"),
        (("frobnicate",), 2, "frobnicate"),
    ],
)
def test_what_its_user_must_mend(loaded, words: tuple[str, ...], code: int, said: str) -> None:
    ended, out, err = loaded(*words)
    assert ended == code
    assert said in out + err
    assert "Traceback" not in out + err


def test_a_fault_of_the_program_goes_to_a_log_file(tmp_path: Path) -> None:
    broken = (
        "import sys, trendwear.outlook\n"
        "def fail(*a, **k): raise RuntimeError('a bug')\n"
        "trendwear.outlook.look = fail\n"
        "sys.argv = ['trendwear', 'forecast']\n"
        "from trendwear.cli import main\nmain()"
    )
    done = subprocess.run(
        [sys.executable, "-c", broken],
        cwd=tmp_path,
        env={"TMPDIR": str(tmp_path), "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    (log,) = tmp_path.glob("trendwear-*.log")
    assert str(log) in done.stderr
    assert "RuntimeError: a bug" in log.read_text(encoding="utf-8")


def test_every_command_is_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    told = set(re.findall(r"^\| `trendwear ([a-z-]+)", readme, flags=re.MULTILINE))
    commands = {
        command.name or command.callback.__name__.replace("_", "-")
        for command in cli.app.registered_commands
    }
    assert told == commands


def test_the_record_of_past_forecasts(loaded, tmp_path: Path) -> None:
    code, out, err = loaded("hindcast", "--as-of", "2014-01-02")
    assert (code, err) == (0, "")
    assert "3 past openings of 1 machine" in out
    assert "Of 1 plan at 10 %, 0 were late" in out
    for suffix in (".csv", ".xlsx", ".md"):
        assert loaded("hindcast", "--as-of", "2014-01-02", "--out", f"past{suffix}")[0] == 0
        assert (tmp_path / f"past{suffix}").stat().st_size > 0


def test_a_record_that_cannot_be_written_so_is_said_before_the_work(loaded) -> None:
    code, out, err = loaded("hindcast", "--out", "past.pdf")
    assert (code, out) == (2, "")
    assert ".xlsx" in err

"""The verb ``plan``: what it prints, writes, and ends with."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd
import pytest

from trendwear import cli

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]

SHEETS: Mapping[str, Rows] = {
    "clearances": [
        {"machine": "M", "clearance": "a", "kind": "ring", "basis": "diametral"}
        | {"moves": "opens", "unit": "mm", "limit": 0.5}
    ],
    "readings": [
        {"machine": "M", "clearance": "a", "date": f"{2010 + year}-01-01"}
        | {"run_hours": 8000 * year, "state": "as-found", "value": 0.2 + 0.03 * year}
        for year in range(5)
    ],
    "run_log": [{"machine": "M", "date": "2014-06-01", "run_hours": 35000}],
}


@pytest.fixture
def ask(
    stored: Stored, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    """Run ``trendwear plan`` on a small plant: exit code, output, errors."""
    store = stored(SHEETS)

    def run(*words: str) -> tuple[int, str, str]:
        argv = ["trendwear", "plan", *words, "--store", str(store), "--as-of", "2014-07-01"]
        monkeypatch.setattr("sys.argv", argv)
        with pytest.raises(SystemExit) as end:
            cli.main()
        told = capsys.readouterr()
        return int(end.value.code or 0), told.out, told.err

    return run


def test_on_screen(ask: Callable[..., tuple[int, str, str]]) -> None:
    code, out, _ = ask("--risk", "0.1")
    assert code == 0
    assert "Accepted risk 10 %, for all limits of a machine together" in out
    assert "cracks, trips, vibration, oil and law are not in it" in out


def test_without_a_risk_the_reader_chooses(
    ask: Callable[..., tuple[int, str, str]], tmp_path: Path
) -> None:
    assert "Choose one: give --risk" in ask()[1]
    assert ask("--out", str(tmp_path / "plan.csv"))[0] == 0
    assert pd.read_csv(tmp_path / "plan.csv")["risk"].tolist() == [0.05, 0.1, 0.2]


@pytest.mark.parametrize("risk", ["10", "-0.5", "nan"])
def test_a_risk_outside_0_to_1_is_usage(
    ask: Callable[..., tuple[int, str, str]], risk: str
) -> None:
    code, _, err = ask(f"--risk={risk}")
    assert code == 2
    assert "Give 0 to 1: 0.1 for one in ten." in err


def test_an_unknown_machine(ask: Callable[..., tuple[int, str, str]]) -> None:
    code, _, err = ask("Z", "--risk", "0.1")
    assert code == 1
    assert "machine Z: the register does not have it. It has: M" in err


def test_an_unknown_ending(ask: Callable[..., tuple[int, str, str]]) -> None:
    assert ask("--out", "plan.doc")[0] == 2


def test_the_least_cost_needs_costs_and_the_whole_site(
    ask: Callable[..., tuple[int, str, str]],
) -> None:
    code, _, err = ask("M", "--risk", "0.1", "--aim", "cost")
    assert code == 2
    assert "only the whole site is placed in windows" in err
    code, _, err = ask("--risk", "0.1", "--aim", "cost", "--issue", "spring")
    assert code == 2
    assert "an issued plan is placed by risk" in err
    code, _, err = ask("--aim", "cost")
    assert code == 2
    assert "several risks are shown, or no window is ahead" in err
    assert ask("--risk", "0.1", "--aim", "money")[0] == 2

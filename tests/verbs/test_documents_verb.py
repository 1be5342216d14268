"""Documents and calendars from the command line."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import icalendar
import pypdf
import pytest

from trendwear import cli

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
Ask = Callable[..., tuple[int, str, str]]


def ring(machine: str, value: float, year: int) -> Mapping[str, object]:
    return {"machine": machine, "clearance": "a", "date": f"{year}-01-01"} | {
        "run_hours": 8000 * (year - 2010),
        "state": "as-found",
        "value": value,
    }


SHEETS: Mapping[str, Rows] = {
    "clearances": [
        {"machine": machine, "clearance": "a", "kind": "ring", "basis": "diametral"}
        | {"moves": "opens", "unit": "mm", "limit": limit}
        for machine, limit in (("Mühle 1; links", 0.5), ("N", None))
    ],
    "readings": [
        *(ring("Mühle 1; links", 0.2 + 0.03 * year, 2010 + year) for year in range(5)),
        ring("N", 0.2, 2010),
    ],
    "run_log": [{"machine": "Mühle 1; links", "date": "2014-06-01", "run_hours": 35000}],
}


@pytest.fixture
def ask(stored: Stored, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Ask:
    """Run a verb on a small plant: exit code, output, errors."""
    store = stored(SHEETS)

    def run(*words: str) -> tuple[int, str, str]:
        argv = ["trendwear", *words, "--store", str(store), "--as-of", "2014-07-01"]
        monkeypatch.setattr("sys.argv", argv)
        with pytest.raises(SystemExit) as end:
            cli.main()
        told = capsys.readouterr()
        return int(end.value.code or 0), told.out, told.err

    return run


@pytest.mark.parametrize("verb", [("forecast",), ("plan", "--risk", "0.1"), ("plan",)])
@pytest.mark.parametrize(("paper", "height"), [("a4", 595), ("LETTER", 612)])
def test_a_pdf_on_the_paper_asked_for(
    ask: Ask, tmp_path: Path, verb: tuple[str, ...], paper: str, height: int
) -> None:
    place = tmp_path / "told.PDF"
    assert ask(*verb, "--out", str(place), "--paper", paper)[0] == 0
    pages = pypdf.PdfReader(place).pages
    assert round(pages[0].mediabox.height) == height
    assert "Mühle 1; links" in pages[0].extract_text()


def test_a_plan_drawn_from_a_store_has_its_chart(ask: Ask, tmp_path: Path) -> None:
    place = tmp_path / "plan.pdf"
    ask("plan", "--risk", "0.1", "--out", str(place))
    text = "".join(page.extract_text() for page in pypdf.PdfReader(place).pages)
    assert "chance that a limit is passed" in text


def test_a_paper_that_is_not_known_is_refused(ask: Ask, tmp_path: Path) -> None:
    code, _, said = ask("forecast", "--out", str(tmp_path / "a.pdf"), "--paper", "a5")
    assert code == 2
    assert "letter" in said


def test_a_calendar_and_who_is_not_in_it(ask: Ask, tmp_path: Path) -> None:
    place = tmp_path / "plan.ics"
    code, out, _ = ask("plan", "--risk", "0.1", "--out", str(place))
    assert code == 0
    assert "No date for N: no clearance limits it." in out
    (event,) = icalendar.Calendar.from_ical(place.read_bytes()).walk("VEVENT")
    assert event["summary"] == "Overhaul Mühle 1; links by this day at 10 % accepted risk"


def test_a_calendar_without_a_chosen_risk_is_refused(ask: Ask, tmp_path: Path) -> None:
    code, _, said = ask("plan", "--out", str(tmp_path / "plan.ics"))
    assert code == 2
    assert "--risk" in said
    assert not (tmp_path / "plan.ics").exists()

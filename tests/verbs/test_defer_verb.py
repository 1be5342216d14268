"""The verb ``defer``: what it writes, says and ends with."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from invented_deferrals import AS_OF, PLANT, clearance, steady, store_of
from pypdf import PdfReader

import trendwear
from trendwear import cli

Ask = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rows = [*PLANT["clearances"], clearance("gone", limit=0.3)]
    readings = [*PLANT["readings"], *steady("gone", 0.2, 0.04)]
    sheets = {**PLANT, "clearances": rows, "readings": readings}
    return store_of(sheets, tmp_path_factory.mktemp("store"))


@pytest.fixture
def ask(store: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Ask:
    def run(*words: str) -> tuple[int, str, str]:
        argv = ["trendwear", "defer", *words, "--store", str(store), "--as-of", f"{AS_OF}"]
        monkeypatch.setattr("sys.argv", argv)
        with pytest.raises(SystemExit) as end:
            cli.main()
        told = capsys.readouterr()
        return int(end.value.code or 0), told.out, told.err

    return run


def test_a_sheet_on_letter_paper(ask: Ask, tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    code, said, _ = ask("m", "--to", "2022-06-01", "--paper", "letter", "--out", str(out))
    assert code == 0
    assert f"The deferral sheet of M written to {out}" in said
    assert "Past its limit today: gone" in said
    pages = PdfReader(out).pages
    assert len(pages) == 2
    assert tuple(round(float(side)) for side in pages[0].mediabox[2:]) == (612, 792)


def test_markdown_with_another_planned_date_and_risk(ask: Ask, tmp_path: Path) -> None:
    out = tmp_path / "sheet.md"
    words = ("--to", "2022-06-01", "--from", "2021-01-01", "--risk", "0.3")
    code, _, _ = ask("M", *words, "--out", str(out))
    assert code == 0
    told = out.read_text(encoding="utf-8")
    assert "2021-01-01: given by the person who asks" in told
    assert "given for this sheet, signed by nobody" in told


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("M", "--to", "1/6/2022"), 2, "Write the date as"),
        (("M", "--to", "2019-06-01"), 2, "not after 2020-01-01"),
        (("M", "--to", "2021-06-01", "--from", "2021-06-01"), 2, "nothing is put off"),
        (("M", "--to", "2021-06-01", "--from", "soon"), 2, "--from"),
        (("M", "--to", "2021-06-01", "--risk", "12"), 2, "0 to 1"),
        (("N", "--to", "2021-06-01"), 1, "the register does not have it"),
    ],
)
def test_what_its_user_must_mend(
    ask: Ask, tmp_path: Path, words: tuple[str, ...], code: int, says: str
) -> None:
    out = tmp_path / "sheet.pdf"
    found, _, problem = ask(*words, "--out", str(out))
    assert (found, out.exists()) == (code, False)
    assert says in problem


def test_other_endings_are_refused_before_the_work(ask: Ask, tmp_path: Path) -> None:
    code, _, problem = ask("M", "--to", "2021-06-01", "--out", str(tmp_path / "sheet.docx"))
    assert code == 2
    assert ".pdf or .md" in problem


def test_in_python(store: Path) -> None:
    import datetime as dt

    told = trendwear.defer(store, "M", to=dt.date(2022, 6, 1), as_of=AS_OF)
    assert told.past["clearance"].tolist() == ["gone"]

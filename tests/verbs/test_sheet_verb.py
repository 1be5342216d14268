"""The verb ``sheet``: what it writes, says and ends with."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from invented_benches import AS_OF, MACHINE
from invented_deferrals import store_of
from pypdf import PdfReader

from trendwear import cli

Ask = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return store_of(MACHINE, tmp_path_factory.mktemp("store"))


@pytest.fixture
def ask(store: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Ask:
    def run(*words: str) -> tuple[int, str, str]:
        argv = ["trendwear", "sheet", *words, "--store", str(store), "--as-of", f"{AS_OF}"]
        monkeypatch.setattr("sys.argv", argv)
        with pytest.raises(SystemExit) as end:
            cli.main()
        told = capsys.readouterr()
        return int(end.value.code or 0), told.out, told.err

    return run


def test_a_sheet_on_letter_paper(ask: Ask, tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    code, said, _ = ask("m-1", "--paper", "letter", "--out", str(out))
    assert code == 0
    assert f"The sheet of M-1 (4 positions) written to {out}" in said
    assert "last page, for the lead alone" in said
    box = PdfReader(out).pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (792, 612)


def test_a_blank_sheet_without_tags(ask: Ask, tmp_path: Path) -> None:
    whole, bare = tmp_path / "whole.pdf", tmp_path / "bare.pdf"
    assert ask("M-1", "--out", str(whole))[0] == 0
    code, said, _ = ask("M-1", "--blank", "--no-tags", "--out", str(bare))
    assert code == 0
    assert "lead" not in said
    assert len(PdfReader(bare).pages) == len(PdfReader(whole).pages) - 2


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("M-11", "--out", "sheet.pdf"), 1, "Near to it: M-1"),
        (("M-1", "--out", "sheet.docx"), 2, ".pdf"),
        (("M-1", "--out", "no/such/folder/sheet.pdf"), 1, "there is no folder"),
    ],
)
def test_what_its_user_must_mend(
    ask: Ask, tmp_path: Path, words: tuple[str, ...], code: int, says: str
) -> None:
    found, _, problem = ask(*words[:-1], str(tmp_path / words[-1]))
    assert found == code
    assert says in problem
    assert not list(tmp_path.iterdir())

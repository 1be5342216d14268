"""Workbooks as shops lay them out: read right, or refused with the very cell, and never guessed."""

from __future__ import annotations

from pathlib import Path

import pytest
from layouts.laid_workbooks import Case, others_read, rows_read, write_case
from layouts.sheets_of_histories import HISTORIES
from layouts.sheets_of_openings import OPENINGS

from trendwear.readings.files import tabs_of
from trendwear.readings.headings import Headings, read_headings
from trendwear.readings.layouts.proposal import proposals
from trendwear.readings.layouts.shown import proposal_lines, proposal_toml
from trendwear.readings.sheet import Incoming, read_paths

CASES = (*OPENINGS, *HISTORIES)
every_case = pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)


def read_with(case: Case, folder: Path, toml: str) -> Incoming:
    headings = folder / "site.toml"
    headings.write_text(toml, encoding="utf-8")
    return read_paths([write_case(case, folder)], read_headings(headings))


@every_case
def test_read_as_confirmed(case: Case, tmp_path: Path) -> None:
    incoming = read_with(case, tmp_path, case.layout)
    assert sorted(rows_read(incoming)) == sorted(case.rows)
    assert sorted(others_read(incoming)) == sorted(case.other)
    faults = incoming.faults
    assert sorted(faults["cell"].fillna("")) == sorted(cell or "" for cell, _ in case.refused)
    for cell, reason in case.refused:
        told = faults.loc[faults["cell"] == cell, "reason"]
        assert any(reason in text for text in told), (cell, told.tolist())
    for part in case.notes:
        assert any(part in note for note in incoming.notes), (part, incoming.notes)


@every_case
def test_nothing_is_read_unless_it_is_confirmed(case: Case, tmp_path: Path) -> None:
    incoming = read_paths([write_case(case, tmp_path)])
    assert all(rows.empty for rows in incoming.sheets.values())
    assert len(incoming.faults) == 1
    assert "trendwear layout" in incoming.faults["instead"][0]


@every_case
def test_what_is_proposed(case: Case, tmp_path: Path) -> None:
    path = write_case(case, tmp_path)
    found, _ = proposals(tabs_of(path))
    questions = [question for proposal in found for question in proposal.questions]
    for part in case.asks:
        assert any(part in question for question in questions), questions
    told = "\n".join(proposal_lines(path, tabs_of(path), read_headings_of(tmp_path, "")))
    assert all(question in told for question in questions)
    if not case.proposed:
        return
    assert questions == []
    incoming = read_with(case, tmp_path, proposal_toml(path, tabs_of(path)))
    assert sorted(rows_read(incoming)) == sorted(case.rows)
    assert sorted(incoming.faults["cell"].fillna("")) == sorted(c or "" for c, _ in case.refused)


def read_headings_of(folder: Path, toml: str) -> Headings:
    path = folder / "none.toml"
    path.write_text(toml, encoding="utf-8")
    return read_headings(path)


@every_case
def test_a_proposal_reads_nothing_wrong(case: Case, tmp_path: Path) -> None:
    """Whatever is proposed without a person: each row it reads is one that is right."""
    path = write_case(case, tmp_path)
    incoming = read_with(case, tmp_path, proposal_toml(path, tabs_of(path)))
    read = {row.partition(" ")[0]: row for row in rows_read(incoming)}
    right = {row.partition(" ")[0]: row for row in case.rows}
    questions = [one for proposal in proposals(tabs_of(path))[0] for one in proposal.questions]
    assert read.keys() <= right.keys() or questions
    for cell, row in read.items():
        if cell in right:
            told = [
                (a, b)
                for a, b in zip(row.split("|"), right[cell].split("|"), strict=True)
                if a and b
            ]
            assert all(a == b for a, b in told), row


def test_the_corpus_is_large_enough() -> None:
    assert len({case.name for case in CASES}) == len(CASES) >= 25

"""A proposed layout for a person to judge: in words, with what it would read, and as TOML."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

import pandas as pd

from trendwear.readings.headings import Headings
from trendwear.readings.layouts.proposal import Proposal, proposals
from trendwear.readings.layouts.reading import read_laid
from trendwear.readings.layouts.written import written_layout
from trendwear.readings.tab_reading import ReadTab
from trendwear.readings.tabs import Tab

__all__ = ["proposal_lines", "proposal_toml"]

_SHOWN: Final = 6
_COLUMNS: Final = ("machine", "clearance", "date", "run_hours", "state", "value_written", "unit")


def proposal_lines(path: Path, tabs: Sequence[Tab], headings: Headings) -> Iterator[str]:
    """Yield what each sheet of a workbook seems to be, and what would be read of it."""
    found, unknown = proposals(tabs)
    yield path.name
    for proposal in found:
        yield f"  [layout.{proposal.layout.name}] of {', '.join(proposal.tabs)}"
        yield from (f"    {line}" for line in proposal.understood)
        yield from (f"    ? {line}" for line in proposal.questions)
        for tab in tabs:
            if tab.name in proposal.tabs:
                read = read_laid(path.name, tab, (proposal.layout,), headings)
                yield from (f"    {line}" for line in _read_lines(tab.name, read))
    if unknown:
        yield f"  no heading says as found or as left, nothing proposed: {', '.join(unknown)}"


def proposal_toml(path: Path, tabs: Sequence[Tab]) -> str:
    """Return the proposed layouts as a headings file, with the questions as comments."""
    found, _ = proposals(tabs)
    parts = [f"# Proposed from {path.name}: check each line, and answer the questions.\n"]
    for proposal in found:
        questions = "".join(f"# ? {line}\n" for line in proposal.questions)
        parts.append(questions + written_layout(proposal.layout) + _doubtful(proposal))
    return "\n".join(parts)


def _doubtful(proposal: Proposal) -> str:
    if not proposal.doubtful_words:
        return ""
    told = ", ".join(f'"{word}" = "{state}"' for word, state in proposal.doubtful_words.items())
    return f"# words = {{ {told} }}\n"


def _read_lines(tab: str, read: ReadTab) -> Iterator[str]:
    refused = len(read.faults)
    yield f"{tab}: it would read {len(read.rows)} rows; {refused} faults"
    for row in read.rows.head(_SHOWN).to_dict("records"):
        told = [_cell(row.get(name)) for name in _COLUMNS]
        if not told[-2]:
            told[-2] = _cell(row.get("word"))
        yield f"  {row['cell']}: {' | '.join(told)}"
    if len(read.rows) > _SHOWN:
        yield f"  and {len(read.rows) - _SHOWN} more"
    for fault in read.faults.head(_SHOWN).itertuples():
        place = fault.cell or "the sheet"
        yield f"  refused, {place} {fault.written or ''!r}: {fault.reason}"
    yield from (f"  {note.partition(': ')[2]}" for note in read.notes if "not read" in note)


def _cell(value: object) -> str:
    if value is None or value is pd.NaT or value != value:
        return ""
    if isinstance(value, pd.Timestamp):
        return f"{value:%Y-%m-%d}"
    return f"{value:g}" if isinstance(value, float) else str(value)

"""Everything that a load brings in: files to typed frames, faults and notes.

Typed columns of a row, by what its column ``c`` holds:

=================  ==============================================================
text, name, unit   ``c``: text as trimmed, or the unit's own name; None if blank
word               ``c``: the word as the form spells it
yes or no          ``c``: True, False or None
number, count      ``c``: float, NaN if blank
date               ``c``: datetime64[us], the middle where only month or year is
                   known; ``c_spread_days``: the half-width, else 0
hours              ``c``: float; ``c_spread``: the half-width, else 0
length             ``c``, ``c_lower``, ``c_upper``, ``c_half_width``, ``c_step``: as
                   `trendwear.readings.notation.Length`, in the unit written;
                   ``c_unit``: the unit in the cell or heading, or None;
                   ``c_side``: ``>``, ``<`` or None; ``c_plus_minus``: bool;
                   ``c_written``: the cell as written; of a reading also
                   ``c_basis``: the basis that its cell names, or None
=================  ==============================================================

and ``file``, ``sheet`` (the tab), ``row`` (as the file shows it), ``cell`` (of a workbook: the
cell of the value, such as F12; else None) and ``sha256``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import pandas as pd

from trendwear.errors import InputProblem
from trendwear.progress import Progress, silent
from trendwear.readings.columns import ASIDES
from trendwear.readings.counted import counted
from trendwear.readings.faults import Refusal, file_fault, gathered
from trendwear.readings.files import SourceFile, fingerprint, found_files, is_workbook, tabs_of
from trendwear.readings.form import SHEETS
from trendwear.readings.header_row import Repeated, sheet_by_headings
from trendwear.readings.headings import Headings
from trendwear.readings.layouts.proposal import proposals
from trendwear.readings.layouts.reading import read_laid
from trendwear.readings.meter_rows import split_meters
from trendwear.readings.tab_reading import read_tab
from trendwear.readings.tabs import Tab
from trendwear.readings.whole_sheets import whole_sheet, without_repeated_work
from trendwear.readings.word_rows import split_words

__all__ = ["Incoming", "SourceFile", "read_paths"]


_PARTED: Final = {"readings": split_words, "run_log": split_meters}
"""Sheets whose rows may tell of work or events too."""


@dataclass(frozen=True)
class Incoming:
    """What the files of one load hold."""

    sheets: dict[str, pd.DataFrame]
    """Every sheet of the form by its name: rows of all files without a fault of their own."""
    faults: pd.DataFrame
    """One line a fault (`trendwear.readings.faults.FAULTS`)."""
    notes: tuple[str, ...]
    """What was left unread, and what was read and deserves a look."""
    files: tuple[SourceFile, ...]
    """Files that were read, whatever became of their rows."""


def read_paths(
    paths: Sequence[Path], headings: Headings | None = None, progress: Progress = silent
) -> Incoming:
    """Read folders, workbooks and single files.

    A file or sheet that cannot be read is one fault; its neighbours are read.

    Parameters
    ----------
    paths : sequence of Path
        A folder (its files, not its sub-folders), an ``.xlsx`` or ``.ods`` workbook,
        or a ``.csv`` or ``.parquet`` file.
    headings : Headings, optional
        How the site's own sheets differ from the form.
    progress : callable, optional
        Told how many rows of a sheet have been read.
    """
    found = found_files(paths)
    gathering = _Gathering(headings or Headings(), list(found.notes), progress)
    for problem in found.problems:
        gathering.fault((problem.where, None), problem)
    for path, named_itself in found.files:
        gathering.take_file(path, named_itself=named_itself)
    return gathering.incoming()


@dataclass
class _Gathering:
    """Collects what the files of one load give."""

    headings: Headings
    notes: list[str]
    progress: Progress
    files: list[SourceFile] = field(default_factory=list)
    faults: list[pd.DataFrame] = field(default_factory=list)
    frames: dict[str, list[pd.DataFrame]] = field(default_factory=dict)
    rowless: list[str] = field(default_factory=list)
    """Tabs of the file at hand with headings and nothing below them."""

    def take_file(self, path: Path, *, named_itself: bool) -> None:
        """Read one file, by its name or else by its headings.

        Where neither says its sheet, a note tells of a file that only stands in the
        folder, and a fault of a workbook or a file named itself.
        """
        try:
            file = fingerprint(path)
            tabs = [tab for tab in tabs_of(path) if tab.name not in ASIDES]
        except InputProblem as problem:
            self.fault((problem.where, None), problem)
            return
        laid = [tab for tab in tabs if is_workbook(path) and self.headings.layouts_of(tab.name)]
        tabs = [tab for tab in tabs if tab not in laid]
        taken = [self._take_tab(file, tab, None) for tab in laid]
        known = [(tab, self.headings.sheet_named(tab.name)) for tab in tabs]
        if not laid and not any(sheet for _, sheet in known):
            fitting = self._by_headings(file, tabs)
            if isinstance(fitting, Repeated):
                self.faults.append(file_fault((file.name, None), fitting))
                return
            if not fitting and (named_itself or is_workbook(path)):
                reason = "neither its name nor its headings say which sheet of the form it is"
                instead = f"name it as its sheet, one of {', '.join(SHEETS)}" + (
                    f", or see how it is laid out: trendwear layout {file.name}"
                    if is_workbook(path)
                    else ""
                )
                self.faults.append(file_fault((file.name, None), Refusal(reason, instead)))
                return
            known = fitting or known
        named = [(tab, sheet) for tab, sheet in known if sheet]
        unknown = [tab.name for tab, sheet in known if sheet is None]
        if unknown:
            self.notes.append(f"{file.name}: not one of our sheets, not read: {', '.join(unknown)}")
            strange = [tab for tab, sheet in known if sheet is None]
            self._note_laid_out(file.name, strange if is_workbook(path) else [])
        taken += [self._take_tab(file, tab, sheet) for tab, sheet in named]
        self._note_rowless(file.name, len(named))
        if any(taken):
            self.files.append(file)

    def _note_laid_out(self, file: str, tabs: list[Tab]) -> None:
        """Say which tabs look like readings that are no long table."""
        found, _ = proposals(tabs)
        names = [name for proposal in found for name in proposal.tabs]
        if names:
            self.notes.append(
                f"{file}: readings laid out in another way? {', '.join(names)}: "
                f"trendwear layout {file} proposes how to read them"
            )

    def _note_rowless(self, file: str, tabs: int) -> None:
        """Say which tabs of a file have headings and nothing below them: in one note."""
        shown, more = ", ".join(self.rowless[:4]), len(self.rowless) - 4
        if len(self.rowless) == tabs > 1:
            self.notes.append(f"{file}: nothing is filled in yet below the headings")
        elif self.rowless:
            told = f"{shown} and {more} more" if more > 0 else shown
            self.notes.append(f"{file}, {told}: there are headings and no rows")
        self.rowless.clear()

    def _by_headings(
        self, file: SourceFile, tabs: list[Tab]
    ) -> list[tuple[Tab, str | None]] | Repeated:
        """Return the only tab with text and its sheet, by its headings; nothing if none fits."""
        filled = [(tab, heads) for tab in tabs if (heads := tab.heads())]
        if len(filled) != 1:
            return []
        tab, heads = filled[0]
        sheet = sheet_by_headings(heads, self.headings)
        if isinstance(sheet, Repeated):
            return sheet
        if sheet is None:
            return []
        self.notes.append(f"{file.name}: {tab.name} is read as {sheet}, by its headings")
        return [(tab, sheet)]

    def _take_tab(self, file: SourceFile, tab: Tab, sheet: str | None) -> bool:
        """Read one tab, as that sheet or as it is laid out; return whether it could be read."""
        tab = counted(tab, file.name, self.progress)
        self.notes.extend(remark for remark in tab.remarks if remark not in self.notes)
        try:
            if sheet is None:
                layouts = self.headings.layouts_of(tab.name)
                read = read_laid(file.name, tab, layouts, self.headings)
            else:
                read = read_tab(file.name, tab, sheet, self.headings)
        except InputProblem as problem:
            self.fault((file.name, tab.name), problem)
            return False
        except OSError as problem:
            reason = f"it could not be read to its end: {problem.strerror}"
            self.fault((file.name, tab.name), InputProblem(file.name, reason, "Try again"))
            return False
        self.notes.extend(read.notes)
        self.faults.append(read.faults)
        if read.rowless:
            self.rowless.append(tab.name)
        sheet = sheet or "readings"
        if len(read.rows):
            part = _PARTED.get(sheet)
            parts = part(read.rows) if part else {sheet: read.rows}
            for name, rows in parts.items():
                given = rows.assign(file=file.name, sheet=tab.name, sha256=file.sha256)
                self.frames.setdefault(name, []).append(given.assign(by_word=name != sheet))
        return True

    def fault(self, place: tuple[str, str | None], problem: InputProblem) -> None:
        """Note a file or sheet that is not read."""
        self.faults.append(file_fault(place, Refusal(problem.found, problem.do)))

    def incoming(self) -> Incoming:
        """Return everything, sheet by sheet."""
        sheets = {
            name: whole_sheet(form, self.frames.get(name, [])) for name, form in SHEETS.items()
        }
        sheets["work"], repeated = without_repeated_work(sheets["work"])
        self.notes.extend(repeated)
        sheets = {name: rows.drop(columns="by_word") for name, rows in sheets.items()}
        return Incoming(sheets, gathered(self.faults), tuple(self.notes), tuple(self.files))

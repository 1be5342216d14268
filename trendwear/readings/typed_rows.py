"""Rows of text to typed rows, and every fault of every row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import pandas as pd

from trendwear.readings.faults import Refusal
from trendwear.readings.header_row import HeaderRow, Row
from trendwear.readings.row_shape import Shaped, shaped
from trendwear.readings.said_basis import TOTAL
from trendwear.readings.several_angles import Apart, one_angle_a_row
from trendwear.readings.typed_cells import Customs, typed_column
from trendwear.readings.value_words import word_known, work_named

__all__ = ["Table", "TypedRows", "typed_rows"]

_WORDED_NEEDS: Final = ("machine", "clearance", "date")
"""What a row needs whose value is a word."""


@dataclass(frozen=True)
class Table:
    """What is known of one sheet of a file before its rows are read."""

    header: HeaderRow
    customs: Customs
    fixed: Mapping[str, str]
    """Our columns that the file does not have, and the text that holds in all rows."""
    separator: str | None
    """What parts the cells of a CSV file."""


@dataclass(frozen=True)
class TypedRows:
    """Some rows of one sheet, read."""

    good: pd.DataFrame
    """Rows without a fault: the typed columns that the file has, ``row``, and for
    `readings` ``word``, the value where it is a word."""
    faults: dict[str, list[object]]
    """``row``, ``column``, ``written``, ``reason``, ``instead``: one entry a fault."""
    rows: int
    """Rows that are not blank."""
    stray: bool
    """Whether a column without a heading holds anything."""


def typed_rows(rows: Sequence[Row], table: Table) -> TypedRows:
    """Read rows below the headings; all faults of a row are listed, in the order of columns."""
    shape = shaped(rows, table.header, table.separator)
    apart = one_angle_a_row(shape, table.header)
    reading = _Reading(table, apart.shape, apart)
    reading.read_cells()
    reading.units_of_headings()
    reading.basis_of_cells()
    reading.needs()
    return TypedRows(
        reading.good(), reading.faults(), len(shape.numbers) + len(shape.refused), shape.stray
    )


@dataclass
class _Reading:
    """The rows of one sheet while they are read."""

    table: Table
    shape: Shaped
    apart: Apart
    typed: dict[str, pd.Series] = field(default_factory=dict)
    blank: dict[str, np.ndarray] = field(default_factory=dict)
    found: list[tuple[int, int, str, Refusal]] = field(default_factory=list)
    """Row's place, column's place in the sheet, column, why."""

    def texts(self, column: str) -> np.ndarray | None:
        """Return the cells of a column as written; None where the file has no such column."""
        header, count = self.table.header, len(self.shape.numbers)
        if column in self.apart.given:
            return self.apart.given[column]
        if column in header.places:
            return self.shape.columns[header.places[column]]
        if column in self.table.fixed:
            return np.full(count, self.table.fixed[column], dtype=object)
        return None

    def read_cells(self) -> None:
        """Read every column; a word in the value of a reading is no length."""
        self.typed["row"] = pd.Series(self.shape.numbers, dtype="int64")
        for order, column in enumerate(self.table.header.sheet.all_columns):
            texts = self.texts(column.name)
            if texts is None:
                continue
            if column.name == "value" and self.table.header.sheet.name == "readings":
                words = _words(texts)
                self.typed["word"] = words
                texts = np.where(words.notna(), "", texts)
            read = typed_column(texts, column, self.table.customs)
            self.blank[column.name] = read.blank
            for name, cells in read.columns.items():
                known = self.typed.get(name)  # a unit in the cell goes before limit_unit
                self.typed[name] = cells if known is None else known.where(known.notna(), cells)
            for place, why in read.refused.items():
                self.found.append((place, order, column.name, why))
        if self.apart.written is not None:
            written = pd.Series(self.apart.written, dtype="object")
            read_at_all = self.typed["value_written"].notna()
            self.typed["value_written"] = written.where(read_at_all, None)
        self.found.extend(
            (place, self._order("value"), "value", why) for place, why in self.apart.refused.items()
        )

    def basis_of_cells(self) -> None:
        """Give the basis that a reading's cell names to its row; refuse where they differ."""
        said = self.typed.get("value_basis")
        if said is None:
            return
        said = said.where(said != TOTAL, None)  # what it is depends on the position
        stated = self.typed.get("basis", pd.Series(None, range(len(said)), "object"))
        for place in np.flatnonzero(said.notna() & stated.notna() & (said != stated)):
            why = Refusal(
                f"the cell says {said[place]}, the row {stated[place]}",
                "write the basis that the reading was taken on, once",
            )
            self.found.append((int(place), self._order("value"), "value", why))
        self.typed["basis"] = stated.where(stated.notna(), said)

    def units_of_headings(self) -> None:
        """Give the unit in a heading to the cells below it, and the main one's to the row."""
        for column, unit in self.table.header.units.items():
            bare = self.typed[column].notna() & self.typed[f"{column}_unit"].isna()
            self.typed[f"{column}_unit"] = self.typed[f"{column}_unit"].mask(bare, unit)
        main = self.table.header.sheet.main_length
        unit_of_main = self.table.header.units.get(main or "")
        if unit_of_main is None:
            return
        stated = self.typed.get("unit", pd.Series(None, range(len(self.shape.numbers)), "object"))
        for place in np.flatnonzero(stated.notna() & (stated != unit_of_main)):
            why = Refusal(
                f"the heading of {main} says {unit_of_main}",
                "take the unit out of the heading, or write the same one here",
            )
            self.found.append((int(place), self._order("unit"), "unit", why))
        self.typed["unit"] = stated.where(stated.notna(), unit_of_main)
        self.blank["unit"] = np.zeros(len(stated), dtype=bool)

    def needs(self) -> None:
        """List the cells that may not be blank and are."""
        count = len(self.shape.numbers)
        worded = self.typed.get("word", pd.Series(None, range(count), "object")).notna().to_numpy()
        for name in self.table.header.sheet.needs:
            free = worded if name not in _WORDED_NEEDS else np.zeros(count, bool)
            self._blank(name, self.blank[name] & ~free, "it may not be blank")
        if self.table.header.sheet.name == "readings":
            undated = self.blank.get("date", np.ones(count, bool))
            self._blank("date", undated & worded, "work and events need a date")
            lost = undated & self.blank.get("run_hours", np.ones(count, bool)) & ~worded
            self._blank("date", lost, "both date and run_hours are blank")

    def good(self) -> pd.DataFrame:
        """Return the rows without a fault."""
        frame = pd.DataFrame(self.typed)
        faulty = {place for place, *_ in self.found}
        return frame.drop(index=sorted(faulty)) if faulty else frame

    def faults(self) -> dict[str, list[object]]:
        """Return every fault, by row and column."""
        lines: list[tuple[int, str | None, str | None, str, str]] = [
            (number, None, text, why.reason, why.instead)
            for number, text, why in self.shape.refused
        ]
        for place, _, name, why in sorted(self.found, key=lambda one: one[:2]):
            texts = self.apart.written if name == "value" else None
            texts = self.texts(name) if texts is None else texts
            written = texts[place] if texts is not None and texts[place].strip() else None
            number = int(self.shape.numbers[place])
            lines.append((number, name, written, why.reason, why.instead))
        lines.sort(key=lambda line: line[0])
        names = ("row", "column", "written", "reason", "instead")
        return {name: [line[place] for line in lines] for place, name in enumerate(names)}

    def _blank(self, name: str, where: np.ndarray, reason: str) -> None:
        why = Refusal(reason, f"write the {name.replace('_', ' ')}")
        order = self._order(name)
        self.found.extend((int(place), order, name, why) for place in np.flatnonzero(where))

    def _order(self, name: str) -> int:
        return self.table.header.sheet.names.index(name)


def _words(texts: np.ndarray) -> pd.Series:
    """Return the known words among values, None elsewhere."""
    words = {text: text.strip() for text in pd.unique(texts) if _is_word(text)}
    return pd.Series(texts, dtype="object").map(words).astype("object")


def _is_word(text: str) -> bool:
    return bool(text.strip()) and (work_named(text) is not None or word_known(text))

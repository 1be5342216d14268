"""A site's own headings, tabs and fixed values, from a small TOML file.

::

    [sheets]                    # the site's tab or file name = our sheet
    "Bearing log" = "readings"

    [headings.readings]         # the site's heading = our column
    "Unit tag" = "machine"

    [fixed.readings]            # our column = the value of all its rows
    state = "as-found"

    [dates]
    order = "day first"         # or "month first" or "ISO"

    [numbers]
    decimal = "comma"           # or "point": which mark is the decimal one

and, for sheets that are no long table, ``[layout.NAME]`` (`trendwear.readings.layouts.written`).
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Final

from trendwear.errors import HeadingsProblem
from trendwear.readings.dates import DateOrder
from trendwear.readings.decimals import Decimal
from trendwear.readings.form import SHEETS
from trendwear.readings.layouts.layout import SheetLayout
from trendwear.readings.layouts.written import layouts_in
from trendwear.wording import fold

__all__ = ["Headings", "read_headings"]

_PARTS: Final = ("sheets", "headings", "fixed", "dates", "numbers", "layout")
_ORDERS: Final = {order.value: order for order in DateOrder}
_DECIMALS: Final = {"point": Decimal.POINT, "comma": Decimal.COMMA_STATED}


@dataclass(frozen=True)
class Headings:
    """How a site's sheets differ from the form."""

    sheets: Mapping[str, str] = field(default_factory=dict)
    """Folded name of a tab or file to the name of our sheet."""
    columns: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """Our sheet to folded heading to our column."""
    fixed: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """Our sheet to our column to the text that holds in all rows."""
    order: DateOrder = DateOrder.ISO
    decimal: Decimal | None = None
    """What marks in numbers mean, where it is stated."""
    layouts: tuple[SheetLayout, ...] = ()
    """How sheets of readings that are no long table are laid out."""

    def layouts_of(self, name: str) -> tuple[SheetLayout, ...]:
        """Return the layouts of a tab of that name.

        A tab that is called like one of our sheets is that sheet, unless a layout names it.
        """
        ours = self.sheet_named(name) is not None
        return tuple(
            layout
            for layout in self.layouts
            if layout.fits_name(name) and not (ours and "*" in layout.tabs)
        )

    def sheet_named(self, name: str) -> str | None:
        """Return our sheet that a tab or file of that name holds, or None.

        A number behind the sheet's name does not matter: ``readings 2019``.
        """
        folded = fold(name)
        if folded in self.sheets:
            return self.sheets[folded]
        stem = folded.rstrip("0123456789() ")
        for sheet in SHEETS:
            if fold(sheet) in (folded, stem):
                return sheet
        return None


def read_headings(path: Path) -> Headings:
    """Read a headings file.

    Raises
    ------
    HeadingsProblem
        It cannot be read, is no TOML, or names a sheet or column that the form lacks.
    """
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as problem:
        raise HeadingsProblem(
            str(path), f"it cannot be read: {problem.strerror}", _SEE
        ) from problem
    except UnicodeDecodeError as problem:
        raise HeadingsProblem(str(path), "it is not UTF-8 text", "Save it as UTF-8") from problem
    except tomllib.TOMLDecodeError as problem:
        raise HeadingsProblem(str(path), f"it is no TOML: {problem}", "Mend that line") from problem
    return _Reader(str(path)).headings(content)


_SEE: Final = "Check the name and the rights of the file"


@dataclass(frozen=True)
class _Reader:
    """Checks a headings file and says where it is wrong."""

    path: str

    def headings(self, content: dict[str, object]) -> Headings:
        for part in content:
            self.one_of(part, _PARTS, "part of a headings file")
        sheets = self.table(content, "sheets")
        return Headings(
            sheets={fold(tab): self.one_of(name, SHEETS, "sheet") for tab, name in sheets.items()},
            columns={
                sheet: {fold(own): self.column(sheet, column) for own, column in names.items()}
                for sheet, names in self.by_sheet(content, "headings").items()
            },
            fixed={
                sheet: {self.column(sheet, c): self.cell(c, value) for c, value in values.items()}
                for sheet, values in self.by_sheet(content, "fixed").items()
            },
            order=self.order(content),
            decimal=self.decimal(content),
            layouts=layouts_in(self.table(content, "layout"), self.problem),
        )

    def table(self, content: Mapping[str, object], name: str) -> dict[str, object]:
        part = content.get(name, {})
        if not isinstance(part, dict):
            raise self.problem(f"{name} is no table", f"Write [{name}] on a line of its own")
        return part

    def by_sheet(self, content: Mapping[str, object], name: str) -> dict[str, dict[str, object]]:
        part = self.table(content, name)
        return {self.one_of(sheet, SHEETS, "sheet"): self.table(part, sheet) for sheet in part}

    def one_of(self, name: object, known: Mapping[str, object] | tuple[str, ...], what: str) -> str:
        for right in known:
            if isinstance(name, str) and fold(name) == fold(right):
                return right
        raise self.problem(f"{name!r} is no {what}", f"Use one of {', '.join(known)}")

    def column(self, sheet: str, name: object) -> str:
        columns = tuple(column.name for column in SHEETS[sheet].all_columns)
        return self.one_of(name, columns, f"column of {sheet}")

    def cell(self, column: str, value: object) -> str:
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, str | int | float | date):
            return str(value)
        raise self.problem(f"the fixed value of {column} is no text", 'Write it in "…"')

    def order(self, content: Mapping[str, object]) -> DateOrder:
        stated = self.setting(content, "dates", "order", tuple(_ORDERS))
        return _ORDERS[stated] if stated else DateOrder.ISO

    def decimal(self, content: Mapping[str, object]) -> Decimal | None:
        stated = self.setting(content, "numbers", "decimal", tuple(_DECIMALS))
        return _DECIMALS[stated] if stated else None

    def setting(
        self, content: Mapping[str, object], part: str, name: str, known: tuple[str, ...]
    ) -> str | None:
        settings = self.table(content, part)
        for other in settings:
            self.one_of(other, (name,), f"setting of [{part}]")
        return self.one_of(settings[name], known, name) if name in settings else None

    def problem(self, found: str, do: str) -> HeadingsProblem:
        return HeadingsProblem(self.path, found, do)

"""A sheet in a layout that a headings file confirms, to typed rows, faults and notes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import pandas as pd

from trendwear.lengths import unit_named
from trendwear.readings.cell_marks import mark_notes
from trendwear.readings.cell_names import CellPlace, cell_name
from trendwear.readings.columns import Holds
from trendwear.readings.decimals import Decimal
from trendwear.readings.faults import Refusal, fault_frame, gathered
from trendwear.readings.form import SHEETS
from trendwear.readings.header_row import HeaderRow
from trendwear.readings.headings import Headings
from trendwear.readings.layouts.grid import Grid, grid_of
from trendwear.readings.layouts.laid import Laid, LaidRow, laid_rows
from trendwear.readings.layouts.layout import SheetLayout
from trendwear.readings.marked_cells import typed_as_text, unit_conflict
from trendwear.readings.tab_reading import ReadTab
from trendwear.readings.tabs import Tab
from trendwear.readings.typed_cells import Customs
from trendwear.readings.typed_rows import Table, TypedRows, typed_rows

__all__ = ["read_laid"]

_READINGS: Final = SHEETS["readings"]
_COUNTED: Final = (Holds.NUMBER, Holds.COUNT, Holds.HOURS)
_COUNTED_NAMES: Final = {c.name for c in _READINGS.columns if c.holds in _COUNTED}
_TWO_WAYS: Final = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
_BEGINS: Final = re.compile(r"\s*[<>~±]?\s*[.,]?[0-9]")
_NAMED: Final = 6


@dataclass
class _Faults:
    """Faults of one sheet: one a cell and reason, with how many readings hang on it."""

    lines: dict[tuple[object, ...], int] = field(default_factory=dict)

    def add(self, at: CellPlace | None, column: str | None, text: str | None, why: Refusal) -> None:
        row, cell = (at[0], cell_name(*at)) if at else (0, None)
        line = (row, column, text, why.reason, why.instead, cell)
        self.lines[line] = self.lines.get(line, 0) + 1

    def frame(self, place: tuple[str, str]) -> pd.DataFrame:
        names = ("row", "column", "written", "reason", "instead", "cell")
        told = [
            (row, column, text, f"{why} ({times} readings hang on it)" if times > 1 else why, *more)
            for (row, column, text, why, *more), times in sorted(
                self.lines.items(), key=lambda one: (one[0][0], str(one[0][5]))
            )
        ]
        return fault_frame(place, {name: [one[n] for one in told] for n, name in enumerate(names)})


def read_laid(file: str, tab: Tab, layouts: Sequence[SheetLayout], headings: Headings) -> ReadTab:
    """Read one sheet of readings as layouts say that it is laid out.

    Raises
    ------
    InputProblem
        The file breaks off.
    """
    grid = grid_of(tab)
    about = f"{file}, {tab.name}"
    if not grid.cells:
        return ReadTab(pd.DataFrame(), gathered([]), (f"{about}: it is empty",))
    faults, frames, laids = _Faults(), [], []
    for layout in layouts:
        laid = laid_rows(grid, layout, tab.name)
        for at, column, text, why in laid.refused:
            faults.add(at, column, text or None, why)
        lacking = _lacking(layout, headings)
        if lacking:
            faults.add(None, None, None, lacking)
        else:
            frames.append(_typed(grid, laid, headings, faults))
        laids.append(laid)
    good = [frame for frame in frames if len(frame)]
    rows = pd.concat(good, ignore_index=True) if good else pd.DataFrame()
    notes = (*mark_notes(grid.marks, about), *_notes(grid, laids, layouts, about))
    return ReadTab(rows, faults.frame((file, tab.name)), notes)


def _lacking(layout: SheetLayout, headings: Headings) -> Refusal | None:
    given = {*layout.columns, *headings.fixed.get("readings", {})}
    missing = [name for name in _READINGS.needs if name not in given]
    if not given & {"date", "run_hours"}:
        missing.append("date")
    if not missing:
        return None
    return Refusal(
        f"the layout {layout.name} does not say where the {', '.join(missing)} stands",
        f"add it to [layout.{layout.name}] in the headings file",
    )


def _typed(grid: Grid, laid: Laid, headings: Headings, faults: _Faults) -> pd.DataFrame:
    if not laid.rows:
        return pd.DataFrame()
    fixed = headings.fixed.get("readings", {})
    told = {name for row in laid.rows for name in row.told}
    names = [column.name for column in _READINGS.columns if column.name in told | fixed.keys()]
    cells = [
        (place, [_text(grid, row, name, (headings, fixed)) for name in names])
        for place, row in enumerate(laid.rows)
    ]
    width = len(names)
    header = HeaderRow(
        _READINGS,
        row=0,
        cells=width,
        width=width,
        headed=tuple(range(width)),
        places={name: place for place, name in enumerate(names)},
        units={},
        unknown=(),
    )
    customs = Customs(headings.order, headings.decimal or Decimal.POINT)
    part = typed_rows(cells, Table(header, customs, {}, None))
    bad = {
        place
        for place, _ in enumerate(laid.rows)
        if _marked(grid, laid.rows[place], headings, faults)
    }
    _give_back(part, laid, faults)
    good = part.good[~part.good["row"].isin(bad)]
    ats = [laid.rows[place].at for place in good["row"]]
    return good.assign(
        row=pd.array([at[0] for at in ats], dtype="int64"), cell=[cell_name(*at) for at in ats]
    ).reset_index(drop=True)


def _text(grid: Grid, row: LaidRow, name: str, given: tuple[Headings, Mapping[str, str]]) -> str:
    headings, fixed = given
    text, place = row.told.get(name, ("", None))
    if not text.strip():
        return fixed.get(name, text)
    counted = name in _COUNTED_NAMES
    if counted and headings.decimal is Decimal.COMMA_STATED and place not in grid.marks.typed:
        return f"{text}0" if _TWO_WAYS.fullmatch(text) else text
    return text


def _marked(grid: Grid, row: LaidRow, headings: Headings, faults: _Faults) -> bool:
    """Refuse a reading whose format shows another unit, or whose hours are text; tell whether."""
    shown = grid.marks.shown.get(row.at)
    said = unit_named(row.told.get("unit", ("", None))[0])
    found = False
    if shown and shown.unit and said and shown.unit != said:
        faults.add(row.at, "value", row.told["value"][0], unit_conflict(shown.unit, said))
        found = True
    if headings.decimal is None:
        for name, (text, place) in row.told.items():
            if place in grid.marks.typed and name in _COUNTED_NAMES:
                faults.add(place, name, text, typed_as_text(text))
                found = True
    return found


def _give_back(part: TypedRows, laid: Laid, faults: _Faults) -> None:
    """Take the faults of typed rows over, each with the cell that it is about."""
    columns = [part.faults[name] for name in ("row", "column", "written", "reason", "instead")]
    for place, column, written, reason, instead in zip(*columns, strict=True):
        row = laid.rows[int(str(place))]
        at = row.told.get(str(column), ("", None))[1] or row.at
        text = str(written) if written is not None else None
        faults.add(at, str(column), text, Refusal(str(reason), str(instead)))


def _notes(
    grid: Grid, laids: Sequence[Laid], layouts: Sequence[SheetLayout], about: str
) -> Iterator[str]:
    names = ", ".join(layout.name for layout in layouts)
    count = sum(len(laid.rows) for laid in laids)
    yield f"{about}: laid out as {names}: {count} reading{'' if count == 1 else 's'} found"
    repeated = sorted({row for laid in laids for row in laid.repeated})
    if repeated:
        yield f"{about}: headings repeated in row {_listed([str(row) for row in repeated])}"
    skipped = sorted({place for laid in laids for place in laid.skipped})
    if skipped:
        told = [f"{cell_name(*place)} {grid.text(place)!r}" for place in skipped]
        yield f"{about}: left out, as the layout says: {_listed(told)}"
    used = {place for laid in laids for place in laid.used}
    left = sorted(place for place in grid.cells if place not in used)
    for word, wanted in (("numbers", True), ("cells", False)):
        told = [
            f"{cell_name(*place)} {_short(grid.cells[place])!r}"
            for place in left
            if bool(_BEGINS.match(grid.cells[place])) == wanted
        ]
        if told:
            yield f"{about}: {word} not read: {_listed(told)}"
    words = Counter(
        (row.told["value"][0], cell_name(*row.at))
        for laid in laids
        for row in laid.rows
        if not any(sign.isdigit() for sign in row.told["value"][0])
    )
    if words:
        told = [f"{cell} {text!r}" for text, cell in words]
        yield f"{about}: words in place of readings: {_listed(told)}"


def _listed(names: list[str]) -> str:
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return ", ".join(names[:_NAMED]) + more


def _short(text: str) -> str:
    plain = " ".join(text.split())
    return plain if len(plain) <= 60 else plain[:60] + " …"

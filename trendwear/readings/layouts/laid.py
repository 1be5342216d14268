"""A sheet in some layout to rows of text: one for each reading, with the cell of every part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from trendwear.lengths import unit_named
from trendwear.readings.cell_marks import Range
from trendwear.readings.cell_names import CellPlace, cell_name
from trendwear.readings.faults import Refusal
from trendwear.readings.layouts.block_table import BlockTable, block_table
from trendwear.readings.layouts.constants import constants_of
from trendwear.readings.layouts.grid import Grid, plain_label
from trendwear.readings.layouts.layout import SheetLayout, pattern_of

__all__ = ["Laid", "LaidRow", "Source", "laid_rows"]

Source = tuple[str, CellPlace | None]
"""A text and the cell it stands in; no cell where the tab's name or the layout says it."""


@dataclass(frozen=True)
class LaidRow:
    """One reading."""

    at: CellPlace
    told: dict[str, Source]
    """Our column to what the sheet says."""


@dataclass
class Laid:
    """What a sheet in some layout holds."""

    rows: list[LaidRow] = field(default_factory=list)
    refused: list[tuple[CellPlace | None, str | None, str, Refusal]] = field(default_factory=list)
    """Cell, our column, text and why."""
    used: set[CellPlace] = field(default_factory=set)
    """Cells that were understood, whatever became of them."""
    repeated: list[int] = field(default_factory=list)
    """Rows that repeat the headings."""
    skipped: list[CellPlace] = field(default_factory=list)
    """Labels that the layout leaves out: means, totals."""


def laid_rows(grid: Grid, layout: SheetLayout, tab: str) -> Laid:
    """Return every reading of a sheet, block by block."""
    laid = Laid()
    for name, text in layout.signs.items():
        _check_sign(grid, (name, text), laid)
    if laid.refused:
        return laid
    for top, block in _blocks(grid, layout, laid):
        _take_block(block, top, layout, (tab, laid))
    return laid


def _check_sign(grid: Grid, sign: tuple[str, str], laid: Laid) -> None:
    from_name = next((p for p in grid.cells if cell_name(*p) == sign[0].upper()), None)
    found = grid.cells.get(from_name, "") if from_name else ""
    if from_name and plain_label(found) == plain_label(sign[1]):
        laid.used.add(from_name)
        return
    why = Refusal(
        f"cell {sign[0]} should say {sign[1]!r}: the sheet does not have this look",
        "write a layout of its own for it, or correct the sheet",
    )
    laid.refused.append((from_name, None, found, why))


def _blocks(grid: Grid, layout: SheetLayout, laid: Laid) -> Iterator[tuple[int, Grid]]:
    """Yield the first row and the cells of each block."""
    last = grid.rows[1]
    if layout.blocks is None:
        yield 1, grid
        return
    begins = pattern_of(layout.blocks)
    tops = sorted({row for (row, _), text in grid.cells.items() if begins.fullmatch(text.strip())})
    if not tops:
        why = Refusal(
            f"no cell says {layout.blocks!r}, with which each block begins",
            "correct the sheet, or write a layout of its own for it",
        )
        laid.refused.append((None, None, "", why))
    for top, following in zip(tops, [*tops[1:], last + 1], strict=True):
        yield top, grid.between(top, following - 1)


def _take_block(block: Grid, top: int, layout: SheetLayout, hand: tuple[str, Laid]) -> None:
    tab, laid = hand
    table = block_table(block, top, layout)
    if isinstance(table, Refusal):
        laid.refused.append((None, None, "", table))
        return
    constants = constants_of(block, top, layout, tab)
    laid.refused.extend(constants.refused)
    laid.used |= constants.used | table.used
    laid.repeated.extend(table.repeated)
    laid.skipped.extend(table.skipped)
    if constants.refused:
        return
    for row, column in table.places(block):
        told = _told(block, (row, column), table)
        for name, source in constants.told.items():
            told.setdefault(name, []).append(source)
        laid.used.add((row, column))
        laid.used |= {place for sources in told.values() for _, place in sources if place}
        if _over_several(block, (row, column), table):
            why = Refusal(
                f"one cell, {block.range_of((row, column))}, is merged over several readings",
                "part it, and write each reading into its own cell",
            )
            laid.refused.append(((row, column), "value", block.text((row, column)), why))
            continue
        one = _agreed(told, layout, laid, (row, column))
        if one is not None:
            text = block.text((row, column))
            laid.rows.append(LaidRow((row, column), {**one, "value": (text, (row, column))}))


def _over_several(block: Grid, at: CellPlace, table: BlockTable) -> bool:
    merged = block.range_of(at)
    if merged == Range(*at, *at):
        return False
    rows = sum(merged.top <= row <= merged.bottom for row in table.rows)
    return rows * sum(merged.left <= column <= merged.right for column in table.columns) > 1


def _told(block: Grid, at: CellPlace, table: BlockTable) -> dict[str, list[Source]]:
    told: dict[str, list[Source]] = {}
    for name, line in table.lines.items():
        place = line.beside(block, at)
        text, unit = line.said(block.text(place))
        told.setdefault(name, []).append((text, place))
        if unit:
            told.setdefault("unit", []).append((unit, place))
    return told


def _agreed(
    told: dict[str, list[Source]], layout: SheetLayout, laid: Laid, at: CellPlace
) -> dict[str, Source] | None:
    """Return what is told once; None, and a fault, where two cells tell different things."""
    one: dict[str, Source] = {}
    for name, sources in told.items():
        spoken = [source for source in sources if source[0].strip()] or sources[:1]
        if len(spoken) > 1 and len({_meaning(text, name, layout) for text, _ in spoken}) > 1:
            said = " and ".join(f"{text!r} in {_named(place)}" for text, place in spoken)
            why = Refusal(f"the sheet says {said}", f"write one {name} for this reading")
            laid.refused.append((at, name, "", why))
            return None
        text, place = spoken[0]
        one[name] = (_in_our_words(text, name, layout), place)
    return one


def _meaning(text: str, name: str, layout: SheetLayout) -> str:
    plain = _in_our_words(text, name, layout)
    return (unit_named(plain) or plain) if name == "unit" else plain_label(plain)


def _in_our_words(text: str, name: str, layout: SheetLayout) -> str:
    """Return what the layout says that a word means; *in* for as found is no unit."""
    meant = layout.words.get(plain_label(text), text)
    return text if name == "unit" and unit_named(meant) is None else meant


def _named(place: CellPlace | None) -> str:
    return cell_name(*place) if place else "the tab's name or the layout"

"""What a sheet tells once for all readings of a block: in title cells, texts, the tab's name."""

from __future__ import annotations

from dataclasses import dataclass, field

from trendwear.readings.cell_names import CellPlace, cell_name
from trendwear.readings.faults import Refusal
from trendwear.readings.layouts.finding import found_at
from trendwear.readings.layouts.grid import Grid, plain_label
from trendwear.readings.layouts.layout import SheetLayout, pattern_of

__all__ = ["Constants", "constants_of"]


@dataclass
class Constants:
    """What holds for all readings of a block."""

    told: dict[str, tuple[str, CellPlace | None]] = field(default_factory=dict)
    """Our column to a text and the cell it stands in."""
    used: set[CellPlace] = field(default_factory=set)
    refused: list[tuple[CellPlace | None, str | None, str, Refusal]] = field(default_factory=list)

    def tell(self, name: str, text: str, place: CellPlace | None) -> None:
        """Take what the sheet says; refuse it where another place says something else."""
        known = self.told.get(name)
        if known and known[0].strip() and known[0] != text:
            where = cell_name(*known[1]) if known[1] else "the tab's name or the layout"
            why = Refusal(
                f"the sheet says {text!r} here and {known[0]!r} in {where}",
                f"write one {name}, or take one of them out of the layout",
            )
            self.refused.append((place, name, text, why))
            return
        self.told[name] = (text, place)


def constants_of(block: Grid, top: int, layout: SheetLayout, tab: str) -> Constants:
    """Return what is told once for a block."""
    found = Constants()
    for name, where in layout.given.items():
        if not where.for_all:
            continue
        place = found_at(where, block, top)
        if isinstance(place, Refusal):
            found.refused.append((None, name, "", place))
            continue
        found.used |= {block.first(place), *(block.labelled(where.label) if where.label else ())}
        if _is_label(block.text(place), layout):
            why = Refusal(
                f"the cell {where} holds another label, so it is blank",
                f"write the {name} there",
            )
            found.refused.append((place, name, block.text(place), why))
            continue
        found.tell(name, block.text(place), place)
    if layout.tab_name:
        _from_tab(layout.tab_name, tab, found)
    for pattern in layout.texts:
        _from_texts(pattern, block, found)
    for name, text in layout.always.items():
        found.tell(name, text, None)
    return found


def _is_label(text: str, layout: SheetLayout) -> bool:
    labels = {plain_label(where.label) for where in layout.given.values() if where.label}
    return text.rstrip().endswith(":") or plain_label(text) in labels


def _from_tab(pattern: str, tab: str, found: Constants) -> None:
    match = pattern_of(pattern).fullmatch(tab)
    if match is None:
        why = Refusal(
            f"the tab's name {tab!r} is not like {pattern!r}",
            "name the tab so, or write a layout of its own for it",
        )
        found.refused.append((None, None, tab, why))
        return
    for name, text in match.groupdict().items():
        found.tell(name, text.strip(), None)


def _from_texts(pattern: str, block: Grid, found: Constants) -> None:
    wanted = pattern_of(pattern)
    matches = [
        (place, match)
        for place, text in block.cells.items()
        if (match := wanted.fullmatch(" ".join(text.split())))
    ]
    if not matches:
        why = Refusal(
            f"no cell is like {pattern!r}: the sheet does not have this look",
            "correct the cell, or write a layout of its own for the sheet",
        )
        found.refused.append((None, None, "", why))
    for place, match in matches:
        found.used.add(place)
        for name, text in match.groupdict().items():
            found.tell(name, text.strip().rstrip("."), place)

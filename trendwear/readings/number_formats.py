"""What a spreadsheet's number format shows beside the number: a unit, a percent sign.

The parts of a format: ECMA-376, Office Open XML, part 1, 18.8.31 (numFmts).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from trendwear.lengths import unit_named
from trendwear.readings.said_basis import without_basis

__all__ = ["PERCENT_FORMATS", "Shown", "shown_behind", "shown_by"]

PERCENT_FORMATS: Final = {9: "0%", 10: "0.00%"}
"""Formats with a percent sign that have a number and no code (ECMA-376 part 1, 18.8.30)."""

_PIECE: Final = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|(?P<gap>_.|\*.|\[[^\]]*\])|(?P<digit>[0#?]+)'
    r"|(?P<scale>,(?![0#?]))|(?P<section>;)|(?P<other>.)",
    re.DOTALL,
)


@dataclass(frozen=True)
class Shown:
    """What stands beside the number of a cell on the screen."""

    unit: str | None = None
    """The unit's own name."""
    basis: str | None = None
    percent: bool = False
    doubt: str | None = None
    """The format, where it shows other numbers otherwise or a part of the number."""

    def text(self, number: str) -> str:
        """Return the number with what is shown beside it.

        >>> Shown(unit="mil").text("6.5"), Shown(percent=True).text("0.065")
        ('6.5 mil', '6.5%')
        """
        if self.doubt:
            return f"{number} (shown as {self.doubt})"
        if self.percent:
            return f"{float(number) * 100:.12g}%"
        return " ".join(part for part in (number, self.unit, self.basis) if part)


def shown_by(code: str) -> Shown | None:
    """Return what a number format shows beside the number; None where that is nothing.

    >>> shown_by('0.0" mil"').unit, shown_by("0.0%").percent, shown_by("0.000")
    ('mil', True, None)
    """
    sections: list[list[str]] = [[]]
    percent = scaled = digits = False
    for found in _PIECE.finditer(code):
        kind, piece = found.lastgroup, found[0]
        if kind == "section":
            sections.append([])
        elif kind in ("quoted", "escaped"):
            sections[-1].append(found[kind])
        elif kind == "other" and piece == "%":
            percent = True
        elif kind == "scale" and digits:
            scaled = True
        elif kind == "digit":
            digits = True
    if scaled and digits:
        return Shown(doubt=code)
    if percent:
        return Shown(percent=True)
    told = [shown_behind("".join(section)) for section in sections if section]
    units = {shown for shown in told if shown}
    if len(units) > 1:
        return Shown(doubt=code)
    return units.pop() if units else None


def shown_behind(text: str) -> Shown | None:
    """Return the unit, and perhaps basis, that a text beside a number names; else None.

    >>> shown_behind(" mil dia"), shown_behind(" h")
    (Shown(unit='mil', basis='diametral', percent=False, doubt=None), None)
    """
    plain = " ".join(text.casefold().split())
    if unit := unit_named(plain):
        return Shown(unit)
    before, basis = without_basis(plain)
    unit = unit_named(before)
    return Shown(unit, basis) if unit and basis else None

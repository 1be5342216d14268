"""Lengths as people write them: text to bounds and steps, or a refusal.

The unit is the one that stands in the text, or None; a text is read as what it
says, never as what is probable.  Notations: numbers (``.0065"``, ``160 µm``,
``0,16 mm``), fractions of powers of two (``1/16"``, ``6½``, ``6-1/2``), one length in
two units that agree (``0.25 mm (0.010 in)``), ranges (``10-15 thou``, ``0.080 to 0.100``),
go/no-go pairs of feelers (``in 0.006, no-go 0.007``), bounds (``<0.002``, ``>.040``, ``worn
through``), a half-width or tolerances (``60 ± 20 thou``, ``.0065 +.0005/-.0000``), an
estimate (``~6``), a journal and its bore (``3.9955 / 4.0020 (journal/bore)``).  A word beside
it may say its basis (``6 mil dia``, ``0.003 TIR``).
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from fractions import Fraction
from typing import Final

from trendwear.lengths import MM_PER_UNIT
from trendwear.readings.bounds import read_bounds
from trendwear.readings.columns import Takes
from trendwear.readings.decimals import DIGITS, Decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.length import NUMBER, ONE, UNITS, Length, named, read_number, span
from trendwear.readings.partner_pair import read_pair
from trendwear.readings.said_basis import without_basis
from trendwear.readings.unreadable import looks_like_date, why_unreadable
from trendwear.readings.value_words import WORN_THROUGH, worn_through

__all__ = ["Length", "read_length"]

_LONGEST: Final = 200
"""Characters beyond which a cell is prose."""

_WORN_THROUGH: Final = Length(math.nan, math.nan, math.nan, 0.0, math.nan, None, side=WORN_THROUGH)

_VULGAR: Final = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_SINGLE: Final = re.compile(ONE)
_LONE_PLUS_MINUS: Final = re.compile(rf"(?:±|\+\s*/?\s*-)\s*{ONE}")
_SAID: Final = rf"({NUMBER})\s*({UNITS})"
_TWO_UNITS: Final = re.compile(rf"{_SAID}\s*(?:=\s*{_SAID}|/\s*{_SAID}|\(\s*{_SAID}\s*\))")
_SIGNED: Final = re.compile(rf"([+-])\s*({DIGITS}.*)")


def read_length(
    text: str, takes: Takes = Takes.READING, decimal: Decimal = Decimal.POINT
) -> Length | Refusal:
    """Read one cell.

    Parameters
    ----------
    text : str
        The cell, not blank.
    takes : Takes
        Which notations the column accepts.
    decimal : Decimal
        What the marks in this file's numbers mean.

    Examples
    --------
    >>> read = read_length("10-15 thou")
    >>> read.lower, read.value, read.upper, read.step, read.unit
    (10.0, 12.5, 15.0, 1.0, 'mil')
    """
    if len(text) > _LONGEST:
        return why_unreadable(text)
    plain = _plain(text)
    if takes is Takes.READING:
        read = _reading(text, plain, decimal)
    elif takes is Takes.SHIFT and (signed := _SIGNED.fullmatch(plain)):
        size = read_length(signed[2], Takes.SIZE, decimal)
        return size if isinstance(size, Refusal) or signed[1] == "+" else _turned(size)
    elif takes is Takes.SPREAD and (found := _LONE_PLUS_MINUS.fullmatch(plain)):
        size = _single(found, decimal)
        return size if isinstance(size, Refusal) else _as_half_width(size)
    else:
        read = _one_number(plain, decimal)
        if read is None and isinstance(read_bounds(plain, decimal), Length):
            return Refusal("one number is wanted here", "write the one number that holds")
    if read is None or (isinstance(read, Refusal) and looks_like_date(text)):
        return why_unreadable(text)
    return read


def _reading(text: str, plain: str, decimal: Decimal) -> Length | Refusal | None:
    """Read what may stand where a reading does; None where it is nothing known."""
    if worn_through(text):
        return _WORN_THROUGH
    if (pair := read_pair(plain, decimal)) is not None:
        return pair
    plain, basis = without_basis(plain)
    read = _one_number(plain, decimal)
    if read is None:
        read = read_bounds(plain, decimal)
    return replace(read, basis=basis) if isinstance(read, Length) else read


def _plain(text: str) -> str:
    """Return the text in lower case with single blanks, ordinary dashes and fractions."""
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    text = re.sub(r"[‐‑‒–—−]", "-", text.replace("⁄", "/").replace("’", "'"))
    return " ".join(text.casefold().split())


def _one_number(plain: str, decimal: Decimal) -> Length | Refusal | None:
    """Read one number, in one unit or in two that agree."""
    if found := _SINGLE.fullmatch(plain):
        return _single(found, decimal)
    if found := _TWO_UNITS.fullmatch(plain):
        return _in_two_units(found, decimal)
    return None


def _single(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    unit = named(found[2])
    number = read_number(found[1], decimal, unit)
    if isinstance(number, Refusal):
        return number
    lone_fraction = "/" in found[1] and number.value < 1
    if lone_fraction and unit != "in" and number.value > Fraction(1, 2):
        instead = f'write {float(number.value):g}, or {found[1]}" where inches are meant'
        return Refusal("this may be a fraction or two readings", instead)
    return span(number.value, number.value, number.step, unit)


def _in_two_units(found: re.Match[str], decimal: Decimal) -> Length | Refusal | None:
    """Read one length written in two units as the first of them says it.

    They agree where they differ by at most half of the finer step written; a
    fraction counts as exact.
    """
    texts = [text for text in found.groups() if text]
    units = [named(text) or "" for text in texts[1::2]]
    if units[0] == units[1]:
        return None
    first, second = (read_number(texts[2 * n], decimal, units[n]) for n in (0, 1))
    if isinstance(first, Refusal):
        return first
    if isinstance(second, Refusal):
        return second
    mm = [Fraction(str(MM_PER_UNIT[unit])) for unit in units]
    steps = [
        number.step * mm[n] for n, number in enumerate((first, second)) if "/" not in texts[2 * n]
    ]
    apart = abs(first.value * mm[0] - second.value * mm[1])
    if apart > min(steps, default=Fraction(0)) / 2:
        meant = f"{texts[0]} {units[0]} is {float(first.value * mm[0] / mm[1]):.4g} {units[1]}"
        return Refusal(f"its two lengths differ: {meant}", "write the one that was measured")
    return span(first.value, first.value, first.step, units[0])


def _as_half_width(size: Length) -> Length:
    """Return a lone ± as the half-width that it states; its bounds stay the number written."""
    return replace(size, half_width=size.value, plus_minus=True)


def _turned(size: Length) -> Length:
    return replace(size, value=-size.value, lower=-size.upper, upper=-size.lower)

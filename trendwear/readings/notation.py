"""Lengths as people write them: text to bounds and steps, or a refusal.

The unit is the one that stands in the text, or None; a text is read as what it
says, never as what is probable.  Notations: numbers (``.0065"``, ``160 µm``,
``0,16 mm``), fractions of powers of two (``1/16"``, ``6½``, ``6-1/2``), one length in
two units that agree (``0.25 mm (0.010 in)``), ranges (``10-15 thou``, ``0.080 to 0.100``),
go/no-go pairs of feelers (``in 0.006, no-go 0.007``), bounds (``<0.002``, ``>.040``, ``worn
through``) and a value with a half-width (``60 ± 20 thou``).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from trendwear.lengths import MM_PER_UNIT, UNIT_SPELLINGS, unit_named
from trendwear.readings.columns import Takes
from trendwear.readings.decimals import DIGITS, Decimal, Number, read_decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.unreadable import why_unreadable
from trendwear.readings.value_words import WORN_THROUGH, worn_through

__all__ = ["Length", "read_length"]

FINEST_STEP: Final = 1e-5
"""No gauge shows more decimals than these, in any unit: further ones were computed."""

_LONGEST: Final = 200
"""Characters beyond which a cell is prose."""


@dataclass(frozen=True)
class Length:
    """A length as written, in the unit as written."""

    value: float
    """The midpoint; of ``>`` the bound itself; of ``<`` half the bound."""
    lower: float
    upper: float
    """The bounds that were written; equal where one number was."""
    half_width: float
    step: float
    """The finest step of the numbers written: 0.0001 for .0065, 1/16 for 3/16."""
    unit: str | None
    """``mm``, ``um``, ``mil`` or ``in`` as in the text; None where it names none."""
    side: str | None = None
    """``>`` or ``<`` where one bound was written; `WORN_THROUGH` where words say so and
    there is no number."""
    plus_minus: bool = False
    """Whether the half-width was written with ±."""


_WORN_THROUGH: Final = Length(math.nan, math.nan, math.nan, 0.0, math.nan, None, side=WORN_THROUGH)

_VULGAR: Final = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_UNITS: Final = "|".join(re.escape(u) for u in sorted(UNIT_SPELLINGS, key=len, reverse=True))
_NUMBER: Final = rf"(?:(?:[0-9]+(?:\s+|-))?[0-9]+/[0-9]+|{DIGITS})"
_ONE: Final = rf"({_NUMBER})\s*({_UNITS})?"
_SINGLE: Final = re.compile(_ONE)
_FRACTION: Final = re.compile(r"(?:([0-9]+)[\s-]+)?([0-9]+)/([0-9]+)")
_SIDED: Final = re.compile(rf"([<>≤≥])\s*{_ONE}")
_PLUS_MINUS: Final = re.compile(rf"{_ONE}\s*(?:±|\+\s*/?\s*-)\s*{_ONE}")
_LONE_PLUS_MINUS: Final = re.compile(rf"(?:±|\+\s*/?\s*-)\s*{_ONE}")
_RANGE: Final = re.compile(rf"{_ONE}(?:\s*-\s*|\s+to\s+){_ONE}")
_NO_GO: Final = r"no[\s-]*go|not\s+in"
_GO_FIRST: Final = re.compile(rf"(?:in|go|goes|enters)[\s:]+{_ONE}[\s,;/]+(?:{_NO_GO})[\s:]+{_ONE}")
_GO_LAST: Final = re.compile(rf"{_ONE}\s+(?:go|goes)[\s,;/]+{_ONE}\s+(?:{_NO_GO})")
_SAID: Final = rf"({_NUMBER})\s*({_UNITS})"
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
    if takes is Takes.READING and worn_through(text):
        return _WORN_THROUGH
    plain = _plain(text)
    if takes is Takes.SHIFT and (signed := _SIGNED.fullmatch(plain)):
        size = read_length(signed[2], Takes.SIZE, decimal)
        return size if isinstance(size, Refusal) or signed[1] == "+" else _turned(size)
    if found := _SINGLE.fullmatch(plain):
        return _single(found, decimal)
    if takes is Takes.SPREAD and (found := _LONE_PLUS_MINUS.fullmatch(plain)):
        size = _single(found, decimal)
        return size if isinstance(size, Refusal) else _as_half_width(size)
    if found := _TWO_UNITS.fullmatch(plain):
        return _in_two_units(found, decimal)
    interval = _interval(plain, decimal)
    if interval is None:
        return why_unreadable(text)
    if takes is not Takes.READING and not isinstance(interval, Refusal):
        return Refusal("one number is wanted here", "write the one number that holds")
    return interval


def _plain(text: str) -> str:
    """Return the text in lower case with single blanks, ordinary dashes and fractions."""
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    text = re.sub(r"[‐‑‒–—−]", "-", text.replace("⁄", "/"))
    return " ".join(text.casefold().split())


def _interval(plain: str, decimal: Decimal) -> Length | Refusal | None:
    if found := _SIDED.fullmatch(plain):
        return _sided(found, decimal)
    if found := _PLUS_MINUS.fullmatch(plain):
        return _with_half_width(found, decimal)
    for pattern in (_RANGE, _GO_FIRST, _GO_LAST):
        if found := pattern.fullmatch(plain):
            return _between(found, decimal)
    return None


def _single(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    unit = unit_named(found[2]) if found[2] else None
    number = _number(found[1], decimal, unit)
    if isinstance(number, Refusal):
        return number
    lone_fraction = "/" in found[1] and number.value < 1
    if lone_fraction and unit != "in" and number.value > Fraction(1, 2):
        instead = f'write {float(number.value):g}, or {found[1]}" where inches are meant'
        return Refusal("this may be a fraction or two readings", instead)
    return _length(number.value, number.value, _step(number), unit)


def _number(text: str, decimal: Decimal, unit: str | None) -> Number | Refusal:
    """Read digits, a fraction or a whole number with a fraction."""
    parts = _FRACTION.fullmatch(text)
    if parts is None:
        return read_decimal(text, decimal, unit)
    above, below = int(parts[2]), int(parts[3])
    halved = below in (2, 4, 8, 16, 32, 64, 128) and above % 2 == 1 and above < below
    if not halved or any(part and part.startswith("0") for part in parts.groups()):
        instead = "write a decimal number, or each reading in a row of its own"
        return Refusal("this may be a fraction or two readings", instead)
    return Number(int(parts[1] or 0) + Fraction(above, below), Fraction(1, below))


def _in_two_units(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    """Read one length written in two units as the first of them says it.

    They agree where they differ by at most half of the finer step written; a
    fraction counts as exact.
    """
    texts = [text for text in found.groups() if text]
    units = [unit_named(text) or "" for text in texts[1::2]]
    if units[0] == units[1]:
        return why_unreadable(found[0])
    first, second = (_number(texts[2 * n], decimal, units[n]) for n in (0, 1))
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
    return _length(first.value, first.value, _step(first), units[0])


def _sided(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    unit = unit_named(found[3]) if found[3] else None
    number = _number(found[2], decimal, unit)
    if isinstance(number, Refusal):
        return number
    bound = float(number.value)
    if found[1] in ">≥":
        return Length(bound, bound, math.inf, 0.0, _step(number), unit, side=">")
    if not bound:
        return Refusal("a clearance is never less than 0", "write what was measured")
    return replace(_length(Fraction(0), number.value, _step(number), unit), side="<")


def _with_half_width(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    pair = _two_numbers(found, decimal)
    if isinstance(pair, Refusal):
        return pair
    middle, half, unit = pair
    if half.value > middle.value:
        return Refusal("its ± is larger than the value", "write the value and its own ±")
    low, high = middle.value - half.value, middle.value + half.value
    return replace(_length(low, high, _step(middle), unit), plus_minus=True)


def _between(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    pair = _two_numbers(found, decimal)
    if isinstance(pair, Refusal):
        return pair
    low, high, unit = pair
    if low.value >= high.value:
        return Refusal("the first of the two is not the smaller", "write the smaller one first")
    return _length(low.value, high.value, min(_step(low), _step(high)), unit)


def _two_numbers(
    found: re.Match[str], decimal: Decimal
) -> tuple[Number, Number, str | None] | Refusal:
    """Read two numbers in one unit: written behind the second, behind both, or nowhere."""
    first_unit, unit = (unit_named(text) if text else None for text in (found[2], found[4]))
    if first_unit not in (None, unit):
        reason = "the two numbers do not carry the same unit"
        return Refusal(reason, "write the unit once, behind the second number")
    first, second = (_number(text, decimal, unit) for text in (found[1], found[3]))
    if isinstance(first, Refusal):
        return first
    if isinstance(second, Refusal):
        return second
    return first, second, unit


def _length(lower: Fraction, upper: Fraction, step: float, unit: str | None) -> Length:
    middle, half = (lower + upper) / 2, (upper - lower) / 2
    return Length(float(middle), float(lower), float(upper), float(half), step, unit)


def _as_half_width(size: Length) -> Length:
    """Return a lone ± as the half-width that it states; its bounds stay the number written."""
    return replace(size, half_width=size.value, plus_minus=True)


def _turned(size: Length) -> Length:
    return replace(size, value=-size.value, lower=-size.upper, upper=-size.lower)


def _step(number: Number) -> float:
    return max(float(number.step), FINEST_STEP)

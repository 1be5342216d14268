"""Lengths of which bounds were written: ranges, feelers, one-sided ones, tolerances, estimates."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Final

from trendwear.readings.decimals import DIGITS, Decimal, Number
from trendwear.readings.faults import Refusal
from trendwear.readings.length import ONE, UNITS, Length, named, read_number, span

__all__ = ["read_bounds"]

_NO_GO: Final = r"no[\s-]*go|not\s+in|does\s+not\s+(?:go|enter)|(?:won't|will\s+not)\s+(?:go|enter)"
_SIGNS: Final = (
    (re.compile(r"<=|=<|\bat most\b"), "≤"),
    (re.compile(r">=|=>|\bat least\b"), "≥"),
    (re.compile(r"\b(?:less than|under|below)\b"), "<"),
    (re.compile(r"\b(?:more than|greater than|over|above)\b"), ">"),
)
"""Words and pairs of signs for one bound, and the sign that says it."""


def read_bounds(plain: str, decimal: Decimal) -> Length | Refusal | None:
    """Read a length written by its bounds; None where the text is none.

    Parameters
    ----------
    plain : str
        The cell in lower case with single blanks.
    decimal : Decimal
        What the marks in this file's numbers mean.
    """
    for pattern, sign in _SIGNS:
        plain = pattern.sub(sign, plain)
    for notation, reads in _NOTATIONS:
        if found := notation.fullmatch(plain):
            return reads(found, decimal)
    return None


def _sided(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    unit = named(found[3])
    number = read_number(found[2], decimal, unit)
    if isinstance(number, Refusal):
        return number
    if found[1] in ">≥":
        bound = span(number.value, number.value, number.step, unit)
        return replace(bound, upper=math.inf, side=">")
    if not number.value:
        return Refusal("a clearance is never less than 0", "write what was measured")
    return replace(span(Fraction(0), number.value, number.step, unit), side="<")


def _with_half_width(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    pair = _two_numbers(found, decimal)
    if isinstance(pair, Refusal):
        return pair
    middle, half, unit = pair
    if half.value > middle.value:
        return Refusal("its ± is larger than the value", "write the value and its own ±")
    low, high = middle.value - half.value, middle.value + half.value
    return replace(span(low, high, middle.step, unit), plus_minus=True)


def _toleranced(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    """Read a value that may be more by one number and less by another."""
    units = {named(text) for text in (found[2], found[5]) if text}
    if len(units) > 1:
        return Refusal("its numbers do not carry the same unit", "write the unit once, at the end")
    unit = units.pop() if units else None
    read = [read_number(found[place], decimal, unit) for place in (1, 3, 4)]
    numbers = [number for number in read if isinstance(number, Number)]
    if len(numbers) < len(read):
        return next(number for number in read if isinstance(number, Refusal))
    nominal, above, below = numbers
    low, high = nominal.value - below.value, nominal.value + above.value
    if low < 0:
        return Refusal("its tolerance reaches below 0", "write the value and its own tolerance")
    return replace(span(low, high, nominal.step, unit), plus_minus=True)


def _estimated(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    """Read an estimate: off by one step of what was written (common practice, no source)."""
    unit = named(found[2])
    number = read_number(found[1], decimal, unit)
    if isinstance(number, Refusal):
        return number
    low = max(number.value - number.step, Fraction(0))
    return span(low, 2 * number.value - low, number.step, unit)


def _between(found: re.Match[str], decimal: Decimal) -> Length | Refusal:
    pair = _two_numbers(found, decimal)
    if isinstance(pair, Refusal):
        return pair
    low, high, unit = pair
    if low.value >= high.value:
        return Refusal("the first of the two is not the smaller", "write the smaller one first")
    return span(low.value, high.value, min(low.step, high.step), unit)


def _two_numbers(
    found: re.Match[str], decimal: Decimal
) -> tuple[Number, Number, str | None] | Refusal:
    """Read two numbers in one unit: written behind the second, behind both, or nowhere."""
    first_unit, unit = named(found[2]), named(found[4])
    if first_unit not in (None, unit):
        reason = "the two numbers do not carry the same unit"
        return Refusal(reason, "write the unit once, behind the second number")
    first, second = (read_number(text, decimal, unit) for text in (found[1], found[3]))
    if isinstance(first, Refusal):
        return first
    if isinstance(second, Refusal):
        return second
    return first, second, unit


_Reads = Callable[["re.Match[str]", Decimal], Length | Refusal]
_NOTATIONS: Final[tuple[tuple[re.Pattern[str], _Reads], ...]] = tuple(
    (re.compile(pattern), reads)
    for pattern, reads in (
        (rf"([<>≤≥])\s*{ONE}", _sided),
        (rf"{ONE}\s*(?:±|\+\s*/?\s*-)\s*{ONE}", _with_half_width),
        (rf"{ONE}\s*\+\s*({DIGITS})\s*[/,]?\s*-\s*({DIGITS})\s*({UNITS})?", _toleranced),
        (rf"(?:[~≈]|(?:circa|ca\.?|c\.|approx\.?|about|abt\.?)(?=[\s.0-9]))\s*{ONE}", _estimated),
        (rf"{ONE}(?:\s*-\s*|\s+to\s+){ONE}", _between),
        (rf"(?:in|go|goes|enters)[\s:]+{ONE}[\s,;/]+(?:{_NO_GO})[\s:]+{ONE}", _between),
        (rf"{ONE}\s+(?:go|goes|enters)[\s,;/]+{ONE}\s+(?:{_NO_GO})", _between),
        (rf"go\s*/\s*no[\s-]*go[\s:]+{ONE}\s*/\s*{ONE}", _between),
        (rf"{ONE}\s*/\s*{ONE}\s+\(?go\s*/\s*no[\s-]*go\)?", _between),
    )
)

"""Numbers as people write them: which mark is the decimal one, and how finely it was written.

A point is a decimal point, a comma is refused unless nothing else can be meant:

- beside a metric unit (``0,16 mm``), but not where it may part thousands (``1,250 mm``);
- in a file that separates its cells by semicolons or tabs and whose own numbers
  show decimal commas and no decimal points.  There ``1,250`` is one and a quarter,
  and ``1.250`` is refused, for it may part thousands.

In columns of hours and plain numbers ``11.000`` is eleven or eleven thousand: there
a text file must have its decimal mark stated in a headings file.

What a file shows is read from numbers that can be read one way only: ``0,16`` and
``6,5`` show a decimal comma, ``.0065`` and ``6.5`` a decimal point, ``1,250`` and
``1.250`` nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import Final

from trendwear.readings.faults import Refusal

__all__ = ["DIGITS", "Decimal", "Number", "decimal_shown", "read_decimal"]


class Decimal(Enum):
    """What the marks in the numbers of one file mean."""

    POINT = "the point is the decimal mark"
    POINT_TAKEN = "the point is taken for the decimal mark, though nobody stated it"
    COMMA = "the comma is the decimal mark"
    COMMA_STATED = "the comma is the decimal mark, and the point parts thousands"
    MIXED = "both marks stand before decimals"
    UNCLEAR = "no number shows which mark is the decimal one"


@dataclass(frozen=True)
class Number:
    """A number and the finest step in which it was written, both exact."""

    value: Fraction
    step: Fraction


DIGITS: Final = r"(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)"
"""Digits with their marks, whatever those mean, as part of a regular expression."""

_ONE_MARK: Final = re.compile(r"([0-9]*)(?:([.,])([0-9]+))?")
_GROUPED: Final = re.compile(r"[1-9][0-9]{0,2}[.,][0-9]{3}")
_RUN: Final = re.compile(DIGITS)
_LONGEST: Final = 25
_POINTS: Final = (Decimal.POINT, Decimal.POINT_TAKEN)
_COMMAS: Final = (Decimal.COMMA, Decimal.COMMA_STATED)


def read_decimal(text: str, decimal: Decimal, unit: str | None = None) -> Number | Refusal:
    """Read digits with at most one decimal mark.

    Parameters
    ----------
    text : str
        The digits, matched by `DIGITS`.
    decimal : Decimal
        What the marks of this file mean.
    unit : str, optional
        The unit that stands in the same cell.

    Examples
    --------
    >>> read_decimal(".0065", Decimal.POINT)
    Number(value=Fraction(13, 2000), step=Fraction(1, 10000))
    """
    found = _ONE_MARK.fullmatch(text)
    if found is None or not text or len(text) > _LONGEST:
        return Refusal("this is not one number", "write one number, with a point as decimal mark")
    whole, mark, places = found.groups()
    if len(whole) > 1 and whole.startswith("0"):
        return Refusal("it begins with a nought: is its decimal point lost?", "write the point too")
    refused = mark and _mark_refused(text, decimal, unit)
    if refused:
        return refused
    digits = places or ""
    step = Fraction(1, 10 ** len(digits))
    return Number(int((whole or "0") + digits) * step, step)


def decimal_shown(texts: Iterable[str]) -> Decimal:
    """Return what the marks mean, as the numbers in these cells show it.

    >>> decimal_shown(["0,16 mm", "1,250"]).name, decimal_shown(["1,250"]).name
    ('COMMA', 'UNCLEAR')
    """
    shown: set[str] = set()
    for text in texts:
        for number in _RUN.findall(text):
            found = _ONE_MARK.fullmatch(number)
            if found and found[2] and not _GROUPED.fullmatch(number):
                shown.add(found[2])
        if len(shown) == 2:
            return Decimal.MIXED
    if not shown:
        return Decimal.UNCLEAR
    return Decimal.COMMA if "," in shown else Decimal.POINT


def _mark_refused(text: str, decimal: Decimal, unit: str | None) -> Refusal | None:
    grouped = _GROUPED.fullmatch(text) is not None
    if "." in text:
        if not grouped or decimal in _POINTS:
            return None
        reason = "the point may part thousands or be the decimal mark"
    elif unit in ("in", "mil"):
        reason = "a decimal comma does not go with inches"
    elif grouped and decimal not in _COMMAS:
        reason = "the comma may part thousands or be the decimal mark"
    elif unit is None and decimal in (*_POINTS, Decimal.MIXED):
        reason = "the comma may be a decimal mark or part two numbers"
    else:
        return None
    pointed = text.replace(",", ".")
    if not grouped:
        return Refusal(reason, f"write {'0' if pointed.startswith('.') else ''}{pointed}")
    joined = pointed.replace(".", "")
    if decimal in _POINTS:
        return Refusal(reason, f"write {joined} or {pointed}")
    if decimal is Decimal.COMMA_STATED:
        other = "the size in mil" if "," in text else text.replace(".", ",")
        return Refusal(reason, f"write {joined} or {other}")
    settled = 'say which mark is the decimal one in a headings file: [numbers] decimal = "point"'
    return Refusal(reason, f"write {joined} or {pointed}, and {settled}")

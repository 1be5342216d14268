"""Lengths on the bench sheet: in the gauge's own unit and in the other, as fine as it reads."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import Final

from trendwear.bench.position import Position
from trendwear.lengths import from_mm
from trendwear.report.rounding import NONE, limit_decimals
from trendwear.report.units import decimals_in, unit_label

__all__ = ["both_units", "limit_text", "other_unit", "own_range", "own_unit", "range_text"]

_OPENS: Final = "opens"


def other_unit(unit: str) -> str:
    """Return the unit that stands in brackets: mil beside mm and um, mm beside mil and in.

    >>> other_unit("mm"), other_unit("in")
    ('mil', 'mm')
    """
    return "mil" if unit in ("mm", "um") else "mm"


def own_unit(mm: float, position: Position) -> str:
    """Return a length in the position's own unit, as the gauge carries it."""
    return _written(mm, position.unit, position.decimals, ROUND_HALF_EVEN)


def both_units(mm: float, position: Position) -> str:
    """Return a length in both units; a dash where there is none."""
    if math.isnan(mm):
        return NONE
    return f"{own_unit(mm, position)} ({_other(mm, position, ROUND_HALF_EVEN)})"


def range_text(low: float, high: float, position: Position) -> str:
    """Return a range in both units, each unit written once; open where an end is missing."""
    if math.isnan(low) and math.isnan(high):
        return NONE
    own = own_range(low, high, position)
    other = other_unit(position.unit)
    places = decimals_in(position.decimals, position.unit, other)
    return f"{own} ({_range(low, high, other, places)})"


def own_range(low: float, high: float, position: Position) -> str:
    """Return a range in the position's own unit; open where an end is missing."""
    return _range(low, high, position.unit, position.decimals)


def limit_text(limit_mm: float, moves: str, position: Position) -> str:
    """Return a limit in both units.

    In its own it stands in full; in the other it is rounded to what the gauge carries,
    never past the limit.
    """
    if math.isnan(limit_mm):
        return "none given"
    limit = from_mm(limit_mm, position.unit)
    own = f"{limit:.{limit_decimals(limit, position.decimals)}f} {unit_label(position.unit)}"
    inward = ROUND_FLOOR if moves == _OPENS else ROUND_CEILING
    return f"{own} ({_other(limit_mm, position, inward)})"


def _other(mm: float, position: Position, rounding: str) -> str:
    other = other_unit(position.unit)
    places = decimals_in(position.decimals, position.unit, other)
    return _written(mm, other, places, rounding)


def _range(low: float, high: float, unit: str, places: int) -> str:
    ends = [_number(one, unit, places, ROUND_HALF_EVEN) for one in (low, high)]
    if math.isnan(low):
        return f"up to {ends[1]} {unit_label(unit)}"
    if math.isnan(high):
        return f"from {ends[0]} {unit_label(unit)}"
    written = ends[0] if ends[0] == ends[1] else " to ".join(ends)
    return f"{written} {unit_label(unit)}"


def _written(mm: float, unit: str, places: int, rounding: str) -> str:
    number = _number(mm, unit, places, rounding)
    return number if number == NONE else f"{number} {unit_label(unit)}"


def _number(mm: float, unit: str, places: int, rounding: str) -> str:
    if math.isnan(mm):
        return NONE
    exact = Decimal(repr(from_mm(mm, unit)))
    return f"{exact.quantize(Decimal(1).scaleb(-places), rounding=rounding):f}"

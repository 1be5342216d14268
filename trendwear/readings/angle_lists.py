"""One cell that holds readings at several angles: each of them with the angle it names.

``6.5/7.0 (0/90)``, ``T/B/L/R: 5/7/6/6 mil``, ``T 5 B 7``, ``6.5 V / 7.0 H``, ``12 o'clock 5,
6 o'clock 7``.  Angles are what they are called on the sheet: top and bottom, clock, compass,
vertical and horizontal, degrees.  Numbers without a name to each are several readings of
nobody knows what, and no such list.
"""

from __future__ import annotations

import re
from typing import Final

from trendwear.lengths import UNIT_SPELLINGS
from trendwear.readings.decimals import DIGITS

__all__ = ["at_angles"]

_UNITS: Final = "|".join(re.escape(u) for u in sorted(UNIT_SPELLINGS, key=len, reverse=True))
_VALUE: Final = rf"(?:{DIGITS}\s*[½¼¾]?|[½¼¾])"
_LETTERS: Final = (
    "top|bottom|bot|left|right|north|east|south|west|ne|nw|se|sw"
    "|vertical|vert|horizontal|horiz|hor|[tblrneswvh]"
)
_CLOCK: Final = r"[0-9]{1,2}\s*o'?\s*clock"
_DEGREES: Final = r"[0-9]{1,3}\s*(?:°|deg(?:rees)?)"
_NAMED: Final = rf"(?:{_CLOCK}|{_DEGREES}|(?:{_LETTERS})(?![a-z]))\.?"
_LISTED: Final = rf"(?:{_NAMED}|[0-9]{{1,3}})"
_APART: Final = r"\s*[/,;]\s*"
_ONE: Final = rf"{_VALUE}\s*(?:{_UNITS})?"
_VALUES: Final = rf"{_ONE}(?:{_APART}{_ONE})+"
_BEHIND: Final = re.compile(rf"({_VALUES})\s*\(\s*({_LISTED}(?:[\s/,;]+{_LISTED})+)\s*\)")
_BEFORE: Final = re.compile(
    rf"({_LISTED}(?:{_APART}{_LISTED})+)\s*(?::|=|(?<=[a-z.°])\s)\s*({_VALUES})"
)
_NAME_FIRST: Final = re.compile(rf"({_NAMED})\s*[:=]?\s*({_ONE})(?:\s*[/,;]\s*|\s+|$)")
_NAME_LAST: Final = re.compile(rf"({_ONE})\s*({_NAMED})(?:\s*[/,;]\s*|\s+|$)")
_UNIT: Final = re.compile(rf".*?({_UNITS})")


def at_angles(text: str) -> tuple[tuple[str, str], ...] | None:
    """Return the angle and the text of each reading in a cell; None where it is no such list.

    A unit behind the last reading alone holds for all of them.

    >>> at_angles("6.5/7.0 mil (0/90)")
    (('0', '6.5 mil'), ('90', '7.0 mil'))
    >>> at_angles("T 5 B 7"), at_angles("6.5/7.0")
    ((('t', '5'), ('b', '7')), None)
    """
    plain = " ".join(text.casefold().replace("’", "'").split())
    if found := _BEHIND.fullmatch(plain):
        angles, values = _parts(found[2], r"[\s/,;]+(?!o'?\s*clock)"), _parts(found[1], _APART)
    elif found := _BEFORE.fullmatch(plain):
        angles, values = _parts(found[1], _APART), _parts(found[2], _APART)
    else:
        angles, values = _pairs(plain)
    if len(angles) < 2 or len(angles) != len(values) or len(set(angles)) < len(angles):
        return None
    return tuple(zip(angles, _with_unit(values), strict=True))


def _pairs(plain: str) -> tuple[list[str], list[str]]:
    """Return angles and values that stand in turn, whichever comes first."""
    for pattern, angle, value in ((_NAME_FIRST, 1, 2), (_NAME_LAST, 2, 1)):
        angles, values, place = [], [], 0
        while found := pattern.match(plain, place):
            angles.append(found[angle].rstrip(". "))
            values.append(found[value].strip())
            place = found.end()
        if place == len(plain):
            return angles, values
    return [], []


def _parts(text: str, apart: str) -> list[str]:
    return [part.strip().rstrip(".") for part in re.split(apart, text.strip())]


def _with_unit(values: list[str]) -> list[str]:
    units = [_UNIT.fullmatch(value) for value in values]
    last = units[-1]
    if last and not any(units[:-1]):
        return [f"{value} {last[1]}" for value in values[:-1]] + [values[-1]]
    return values

"""Cells other than lengths and dates: numbers, hours, yes or no, set words, units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from trendwear.lengths import unit_named
from trendwear.readings.decimals import DIGITS, Decimal, read_decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.unreadable import looks_like_date
from trendwear.wording import fold

__all__ = [
    "Hours",
    "read_count",
    "read_hours",
    "read_number",
    "read_unit",
    "read_word",
    "read_yes_no",
]


@dataclass(frozen=True)
class Hours:
    """An hour-meter reading and the half-width written with it, both in running hours."""

    hours: float
    spread: float = 0.0


_MOST_HOURS: Final = 10_000_000.0
"""More than a thousand years of running: a slip of the pen."""

_POWER: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?)[eE]([+-]?[0-9]{1,2})")
_THOUSANDS: Final = re.compile(r"[1-9][0-9]{0,2}(?:[ ,'’][0-9]{3})+")
_POINT_GROUPS: Final = re.compile(r"[1-9][0-9]{0,2}(?:\.[0-9]{3})+(?:,[0-9]+)?")
_TWO_WAYS: Final = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
_HOURS: Final = re.compile(rf"({DIGITS})\s*(?:h|hrs?\.?|hours)?", re.IGNORECASE)
_SPREAD_HOURS: Final = re.compile(
    rf"[~≈]?\s*({DIGITS})\s*(?:±|\+\s*/?\s*[-−])\s*({DIGITS})\s*(?:h|hrs?\.?|hours)?", re.IGNORECASE
)
_SHORT: Final = {
    "af": "asfound",
    "found": "asfound",
    "al": "asleft",
    "left": "asleft",
    "dia": "diametral",
    "diam": "diametral",
    "diametrical": "diametral",
    "rad": "radial",
    "ax": "axial",
    **dict.fromkeys(("id", "i.d", "insidediameter", "bearing", "bearingbore", "shell"), "bore"),
    **dict.fromkeys(("jnl", "shaft", "od", "o.d", "outsidediameter", "shaftjournal"), "journal"),
    **dict.fromkeys(("towards", "fwd", "forward"), "toward"),
    **dict.fromkeys(("aft", "back", "backward"), "away"),
    **dict.fromkeys(("padid", "padsbore", "machinedpadbore"), "padbore"),
    **dict.fromkeys(("°c", "degc", "celsius"), "c"),
    **dict.fromkeys(("°f", "degf", "fahrenheit"), "f"),
}
"""What set words are shortened to on sheets (workshop usage; common practice, no source)."""
_YES_NO: Final = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def read_number(text: str, decimal: Decimal = Decimal.POINT) -> float | Refusal:
    """Read a plain number that is not negative.

    >>> read_number("1.5e3"), read_number("12,5", Decimal.COMMA)
    (1500.0, 12.5)
    >>> read_number("11.000", Decimal.POINT), read_number("11.000", Decimal.COMMA_STATED)
    (11.0, 11000.0)
    """
    if _POWER.fullmatch(text):
        return float(text)
    if decimal is Decimal.POINT_TAKEN and _TWO_WAYS.fullmatch(text):
        return _read_two_ways(text)
    comma_stated = decimal is Decimal.COMMA_STATED
    if comma_stated and _POINT_GROUPS.fullmatch(text):
        text = text.replace(".", "")
    if re.fullmatch(DIGITS, text) and (comma_stated or not _THOUSANDS.fullmatch(text)):
        number = read_decimal(text, decimal)
        return number if isinstance(number, Refusal) else float(number.value)
    return _no_number(text)


def read_count(text: str, decimal: Decimal = Decimal.POINT) -> float | Refusal:
    """Read a whole number that is not negative."""
    number = read_number(text, decimal)
    if isinstance(number, float) and not number.is_integer():
        return Refusal("this is no whole number", "write a whole number, or leave the cell blank")
    return number


def read_hours(text: str, decimal: Decimal = Decimal.POINT) -> Hours | Refusal:
    """Read an hour meter, perhaps with the half-width by which it may be off.

    >>> read_hours("~32000 ±3000")
    Hours(hours=32000.0, spread=3000.0)
    """
    if found := _SPREAD_HOURS.fullmatch(text):
        hours, spread = read_number(found[1], decimal), read_number(found[2], decimal)
    elif found := _HOURS.fullmatch(text):
        hours, spread = read_number(found[1], decimal), 0.0
    elif re.match(r"[~≈]|(ca\.?|c\.|approx\.?|about|abt\.?)\s", text.casefold()):
        return Refusal("it does not say how uncertain it is", "write it as ~32000 ±3000")
    elif looks_like_date(text) or ":" in text:
        reason = "this is a date or a time of day: the cell's format hides the number"
        return Refusal(reason, "format the column as plain numbers and check the entry")
    else:
        return _no_number(text)
    if isinstance(hours, Refusal):
        return hours
    if isinstance(spread, Refusal):
        return spread
    if hours > _MOST_HOURS:
        return Refusal("no machine has run a thousand years", "write the running hours")
    return Hours(hours, spread)


def read_yes_no(text: str) -> bool | Refusal:
    """Read yes or no."""
    read = _YES_NO.get(text.casefold())
    return Refusal("this is neither yes nor no", "write yes or no") if read is None else read


def read_unit(text: str) -> str | Refusal:
    """Read a unit of length and return its own name."""
    return unit_named(text) or Refusal("this is no unit known here", "write mm, um, mil or in")


def read_word(text: str, words: Sequence[str]) -> str | Refusal:
    """Return the one of ``words`` that ``text`` spells.

    >>> read_word("As Found", ["as-found", "as-left"]), read_word("AL", ["as-found", "as-left"])
    ('as-found', 'as-left')
    """
    spelt = fold(text).replace(" ", "").rstrip(".")
    spelt = _SHORT.get(spelt, spelt)
    for word in words:
        if fold(word).replace(" ", "") == spelt:
            return word
    return Refusal("this word is not one of those that can stand here", f"write {_either(words)}")


def _read_two_ways(text: str) -> Refusal:
    pointed = text.rstrip("0").rstrip(".")
    unlike = pointed if len(pointed) < len(text) else f"{text}0"
    settled = '[numbers] decimal = "point" or "comma" in a headings file'
    reason = "it can be read two ways: the point may part thousands or be the decimal mark"
    return Refusal(reason, f"write {text.replace('.', '')} or {unlike}, or state {settled}")


def _no_number(text: str) -> Refusal:
    if _THOUSANDS.fullmatch(text):
        joined = re.sub("[^0-9]", "", text)
        reason = "the mark or blank may part thousands, decimals or two numbers"
        return Refusal(reason, f"write {joined} where that is meant")
    if text.startswith("="):
        return Refusal("this is a formula, not its result", "paste the value in its place")
    if re.fullmatch(r"[-−][\s0-9.,]+", text):
        return Refusal("a negative number cannot stand here", "write the number, or leave it blank")
    return Refusal("this is no plain number", "write a number such as 12.5, or leave it blank")


def _either(words: Sequence[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last

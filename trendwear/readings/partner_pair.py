"""A journal and its bore in one cell: the clearance is the bore less the journal."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from trendwear.readings.decimals import Decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.length import ONE, Length, named, read_number, span

__all__ = ["names_partners", "read_pair"]

_INNER: Final = r"journal|jnl|shaft|od|o\.d\."
_OUTER: Final = r"bore|id|i\.d\."
_PART: Final = rf"({_INNER}|{_OUTER})"
_NAMED: Final = re.compile(rf"{_PART}[\s:=]+{ONE}\s*[\s,;/]\s*{_PART}[\s:=]+{ONE}")
_TOLD: Final = re.compile(rf"{ONE}\s*/\s*{ONE}\s*\(?\s*{_PART}\s*/\s*{_PART}\s*\)?")


def names_partners(text: str) -> bool:
    """Whether a cell holds the sizes of a journal and a bore that are named as such.

    >>> names_partners("3.9955 / 4.0020 (journal/bore)"), names_partners("6 mil in the bore")
    (True, False)
    """
    plain = " ".join(text.casefold().split())
    return bool(_NAMED.fullmatch(plain) or _TOLD.fullmatch(plain))


def read_pair(plain: str, decimal: Decimal) -> Length | Refusal | None:
    """Read the difference of a bore and a journal that are named as such; None if it is no pair.

    The clearance is diametral.  Each of the two was read, so its half-width is that of one
    more reading of the step written.

    Parameters
    ----------
    plain : str
        The cell in lower case with single blanks.
    decimal : Decimal
        What the marks in this file's numbers mean.
    """
    if found := _NAMED.fullmatch(plain):
        parts, sizes = (found[1], found[4]), ((found[2], found[3]), (found[5], found[6]))
    elif found := _TOLD.fullmatch(plain):
        parts, sizes = (found[5], found[6]), ((found[1], found[2]), (found[3], found[4]))
    else:
        return None
    inner = [re.fullmatch(_INNER, part) is not None for part in parts]
    units = {named(unit) for _, unit in sizes if unit}
    if inner[0] == inner[1] or len(units) > 1:
        return Refusal(
            "a journal and a bore in one unit are wanted here",
            "write it as 3.9955 / 4.0020 in (journal/bore)",
        )
    unit = units.pop() if units else None
    read = [read_number(text, decimal, unit) for text, _ in sizes]
    if inner[1]:
        read.reverse()
    journal, bore = read
    if isinstance(journal, Refusal):
        return journal
    if isinstance(bore, Refusal):
        return bore
    if bore.value < journal.value:
        return Refusal("the bore is smaller than the journal", "write the two sizes as measured")
    step = max(journal.step, bore.step)
    gap = span(bore.value - journal.value, bore.value - journal.value, step, unit)
    return replace(gap, half_width=float(step / 2), basis="diametral")

"""Words beside a length that say how it is counted: across, to one side, along, or in all.

Workshop usage; common practice, no source.
"""

from __future__ import annotations

import re
from typing import Final

__all__ = ["TOTAL", "without_basis"]

TOTAL: Final = "total"
"""The whole travel of an indicator (TIR): across for a running gap, along for a float."""

_SPELLINGS: Final = {
    "diametral": ("diametral", "diametrical", "diam", "dia", "on dia", "on diameter", "ø"),
    "radial": ("radial", "rad", "per side", "each side", "a side", "/side"),
    "axial": ("axial", "ax"),
    TOTAL: ("tir", "t.i.r", "fim", "total indicator reading", "full indicator movement"),
}  # fmt: skip
_MEANS: Final = {spelt: basis for basis, spellings in _SPELLINGS.items() for spelt in spellings}
_WORD: Final = "|".join(re.escape(word) for word in sorted(_MEANS, key=len, reverse=True))
_BEHIND: Final = re.compile(rf"(.*?\S)(?:\s*[\s,(]\s*|(?<=[0-9\"”″]))({_WORD})\.?\s*\)?")
_BEFORE: Final = re.compile(rf"({_WORD})\.?(?![a-z])\s*[:=]?\s*(.+)")


def without_basis(plain: str) -> tuple[str, str | None]:
    """Return a text in lower case without the word for its basis, and the basis it names.

    >>> without_basis("6.5 mil dia"), without_basis("0.003 (tir)"), without_basis("6.5 mil")
    (('6.5 mil', 'diametral'), ('0.003', 'total'), ('6.5 mil', None))
    """
    if found := _BEHIND.fullmatch(plain):
        return found[1], _MEANS[found[2]]
    if found := _BEFORE.fullmatch(plain):
        return found[2], _MEANS[found[1]]
    return plain, None

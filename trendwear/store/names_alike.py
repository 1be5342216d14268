"""Names that are perhaps one, spelt in two ways: listed with their rows, never joined."""

from __future__ import annotations

import difflib
import itertools
import re
from dataclasses import dataclass
from typing import Final

import pandas as pd

from trendwear.store.ledger import Ledger, listing
from trendwear.wording import fold

__all__ = ["alike", "note_names_alike"]

_IN_COMMON: Final = 0.8  # share of its letters that a word with a slip of the pen keeps
_LONG_WORD: Final = 5
_MOST_PAIRS: Final = 20
_MOST_NAMES: Final = 400
"""Names of one machine, or kinds, that are compared with one another."""


@dataclass(frozen=True)
class _Spelt:
    """A name and what of it is compared."""

    name: str
    words: tuple[str, ...]
    bare: str
    """Its letters and digits."""
    numbers: tuple[str, ...]


def note_names_alike(spelt: pd.DataFrame, ledger: Ledger) -> None:
    """Note machines, kinds, and positions of the machines touched by the load, that look alike.

    Parameters
    ----------
    spelt : frame
        ``what`` (machines, positions, kinds), ``machine`` of positions, ``name``, ``rows``.
    """
    where = spelt["machine"].map(fold, na_action="ignore").astype("object")
    for (what, machine), names in spelt.groupby(["what", where], dropna=False):
        of_machine = isinstance(machine, str)
        if of_machine and machine not in ledger.touched:
            continue
        pairs = _pairs(names.groupby("name", sort=False)["rows"].sum().to_dict())
        if pairs:
            place = f"{names['machine'].iloc[0]}: " if of_machine else ""
            advice = "use one spelling" if what == "machines" else "map them in names"
            ledger.note(
                f"{place}{what} that look alike: {listing(pairs)}; if they are one, {advice}"
            )


def alike(one: str, other: str) -> bool:
    """Whether two names are perhaps one.

    They are if only dots and blanks differ, or the order of their words, or if a
    long word has a slip of the pen.

    >>> alike("inboard bearing", "inbord bearing"), alike("brg 1", "Brg1")
    (True, True)
    >>> alike("brg DE", "brg NDE"), alike("stage 1 ring 2", "stage 2 ring 1")
    (False, False)
    """
    return _alike(_spelt(one), _spelt(other))


def _pairs(rows: dict[str, int]) -> list[str]:
    spelt = [_spelt(name) for name in sorted(rows)[:_MOST_NAMES]]
    pairs = (
        f"{one.name!r} ({rows[one.name]}) and {other.name!r} ({rows[other.name]})"
        for one, other in itertools.combinations(spelt, 2)
        if _alike(one, other)
    )
    return list(itertools.islice(pairs, _MOST_PAIRS))


def _spelt(name: str) -> _Spelt:
    folded = fold(name)
    bare = "".join(c for c in folded if c.isalnum())
    return _Spelt(name, tuple(folded.split()), bare, tuple(re.findall(r"\d+", folded)))


def _alike(one: _Spelt, other: _Spelt) -> bool:
    if one.words == other.words or one.numbers != other.numbers:
        return False
    if one.bare == other.bare or sorted(one.words) == sorted(other.words):
        return True
    return len(one.words) == len(other.words) and all(
        a == b or _slip(a, b) for a, b in zip(one.words, other.words, strict=True)
    )


def _slip(one: str, other: str) -> bool:
    if min(len(one), len(other)) < _LONG_WORD or not (one.isalpha() and other.isalpha()):
        return False
    return difflib.SequenceMatcher(None, one, other).ratio() >= _IN_COMMON

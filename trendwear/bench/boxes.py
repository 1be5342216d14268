"""Which boxes a position needs on the sheet: where to measure, what of, and what to look for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import pandas as pd

from trendwear.wording import fold

__all__ = ["Place", "conditions_of", "in_segments", "places_of", "sizes_of"]


@dataclass(frozen=True)
class Place:
    """Where on a part a reading is taken; both missing: anywhere."""

    plane: str | None = None
    angle: str | None = None


_BOTH_ENDS: Final = tuple(
    Place(plane, angle)
    for plane in ("inner end", "outer end")
    for angle in ("vertical", "horizontal")
)
"""A bearing at both of its ends, vertical and horizontal (NAVEDTRA 14150, seen as study cards)."""
_TWO_ANGLES: Final = (Place(None, "vertical"), Place(None, "horizontal"))
"""The least that shows a bore out of round (common practice, no source)."""
_SIDES: Final = (Place(None, "left"), Place(None, "right"), Place(None, "top"))
"""A labyrinth by feeler at the sides, by lead at the top (from memory, no source)."""
_QUADRANTS: Final = tuple(Place(None, f"{hour} o'clock") for hour in (12, 3, 6, 9))
"""Four quadrants (US Bureau of Reclamation, FIST 2-7, 1994, section 3.1)."""
_ANYWHERE: Final = (Place(),)

_PLACES: Final[tuple[tuple[tuple[str, ...], tuple[Place, ...]], ...]] = (
    (("tilting", "pivot", "rolling", "ball bearing", "roller"), _ANYWHERE),
    (("labyrinth",), _SIDES),
    (("nozzle", "blade", "bucket"), _QUADRANTS),
    (("bearing", "journal"), _BOTH_ENDS),
    (("ring", "bush", "sleeve", "packing", "pin"), _TWO_ANGLES),
)
_ROUND: Final = ("diametral", "radial")
_BY_CLOCK: Final = ("nozzle", "blade", "bucket")
_SAME_OPENING: Final = pd.Timedelta(days=45)


def places_of(row: dict[Any, Any], readings: pd.DataFrame) -> tuple[Place, ...]:
    """Return where a position is measured: as it was read last, else as its kind needs it.

    Parameters
    ----------
    row : mapping
        One of `trendwear.tables.CLEARANCES`.
    readings : DataFrame
        `trendwear.tables.READINGS` of the position.
    """
    named = readings[readings["plane"].notna() | readings["angle"].notna()]
    if len(named):
        last = named["date"].max()
        if pd.notna(last):
            named = named[named["date"] >= last - _SAME_OPENING]
        pairs = named[["plane", "angle"]].drop_duplicates().to_dict("records")
        return tuple(Place(_text(pair["plane"]), _text(pair["angle"])) for pair in pairs)
    kind = fold(row["kind"])
    for words, places in _PLACES:
        if any(word in kind for word in words):
            wanted = row["basis"] in _ROUND or words == _BY_CLOCK
            return places if wanted else _ANYWHERE
    return _ANYWHERE


def sizes_of(row: dict[Any, Any], method: str | None) -> tuple[str, ...]:
    """Return what is measured to find the clearance; empty where it is read by itself.

    A bore and what runs in it by micrometers, a float by two pushes against a dial.
    """
    kind, how = fold(row["kind"]), fold(method or "")
    if row["basis"] == "diametral" and "micrometer" in how:
        return ("bore", "journal")
    if row["basis"] == "axial" and "dial" in how and _any(kind, ("thrust", "float", "end play")):
        return ("toward", "away")
    return ()


_CONDITIONS: Final[tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]] = (
    (
        ("carbon", "segmented", "packing"),
        ("cracks", "chipped", "wire-drawn face", "butts worn", "garter spring", "shaft scored"),
    ),
    (("labyrinth",), ("rubbed", "teeth bent", "cracks", "wire-drawn face", "deposits")),
    (("piston ring",), ("broken", "cracks", "scoring", "sticking", "groove worn")),
    (
        ("thrust", "float", "end play"),
        ("wiped", "cracks", "bond loose", "scoring", "pads not free", "collar scored"),
    ),
    (
        ("tilting", "pivot"),
        ("wiped", "cracks", "bond loose", "scoring", "pads not free", "pivots worn"),
    ),
    (("rolling", "ball", "roller"), ("pitting", "cracks", "cage worn", "runs rough")),
    (("nozzle", "blade", "bucket"), ("rubbed", "cracks", "worn by steam", "deposits")),
    (
        ("bearing", "journal"),
        ("wiped", "cracks", "bond loose", "scoring", "pitting", "journal scored"),
    ),
    (("rider", "band"), ("cracks", "scoring", "melted", "chipped")),
    (("wear ring", "bush", "sleeve"), ("cracks", "scoring", "wire-drawn face", "fit loose")),
    (("pin",), ("cracks", "scoring", "oil hole blocked", "fit loose")),
)
"""What is looked for by kind (common practice, no source)."""
_ANY_KIND: Final = ("cracks", "scoring", "corrosion", "fit loose")


def conditions_of(kind: str) -> tuple[str, ...]:
    """Return what to look for on a part of that kind, in the trade's words.

    >>> conditions_of("Carbon ring")[:2], conditions_of("key")
    (('cracks', 'chipped'), ('cracks', 'scoring', 'corrosion', 'fit loose'))
    """
    for words, conditions in _CONDITIONS:
        if _any(fold(kind), words):
            return conditions
    return _ANY_KIND


def in_segments(kind: str) -> bool:
    """Whether a part of that kind comes apart into segments that must not change places."""
    return _any(fold(kind), ("carbon", "segmented"))


def _any(kind: str, words: tuple[str, ...]) -> bool:
    return any(word in kind for word in words)


def _text(cell: object) -> str | None:
    return cell if isinstance(cell, str) else None

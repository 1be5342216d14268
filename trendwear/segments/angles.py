"""Angles and clock positions, and radial readings taken opposite one another."""

from __future__ import annotations

import re
from typing import Final

import numpy as np
import pandas as pd

from trendwear.wording import fold

__all__ = ["degrees", "join_opposite"]

_WORDS: Final = {
    "t": 0.0,
    "top": 0.0,
    "r": 90.0,
    "right": 90.0,
    "b": 180.0,
    "bottom": 180.0,
    "l": 270.0,
    "left": 270.0,
}
_CLOCK: Final = re.compile(r"(\d{1,2})\s*(?:o'?clock|h|:00)")
_DEGREES: Final = re.compile(r"(\d+(?:\.\d+)?)\s*(?:°|deg|degrees)?")


def degrees(angles: list[str]) -> list[float | None]:
    """Return the angles of one plane in degrees; None where one cannot be told.

    Bare numbers are degrees, unless all of them are whole and within 1 to 12 and
    none is 0: then they are hours of the clock.

    >>> degrees(["T", "B"]), degrees(["3", "9"]), degrees(["0", "180"])
    ([0.0, 180.0], [90.0, 270.0], [0.0, 180.0])
    """
    texts = [fold(angle) for angle in angles]
    bare = [text for text in texts if text.isdigit()]
    as_clock = len(bare) > 1 and all(1 <= int(text) <= 12 for text in bare)
    return [_one(text, hours=30.0 if as_clock else 1.0) for text in texts]


def _one(text: str, *, hours: float) -> float | None:
    if text in _WORDS:
        return _WORDS[text]
    clock = _CLOCK.fullmatch(text)
    if clock:
        return int(clock[1]) % 12 * 30.0
    plain = _DEGREES.fullmatch(text)
    if plain:
        factor = hours if text.isdigit() else 1.0
        return float(plain[1]) * factor % 360.0
    return None


def join_opposite(radial: pd.DataFrame) -> pd.DataFrame:
    """Turn radial readings into diametral ones.

    Readings at opposite angles of one opening, state, plane and repeat are added, with
    their uncertainties in quadrature; one that has no opposite is doubled.

    Parameters
    ----------
    radial : DataFrame
        ``machine``, ``clearance``, ``opening_no``, ``order``, ``state``, ``plane``,
        ``repeat``, ``angle``, ``value_mm``, ``u_mm``, ``bias_mm``, ``remark``.

    Returns
    -------
    DataFrame
        The same columns, diametral; a pair leaves one row, its first reading's.
    """
    place = ["machine", "clearance", "opening_no", "order", "state", "plane", "repeat"]
    out = radial.copy()
    gone: list[object] = []
    for _, group in radial.groupby(place, dropna=False, sort=False):
        gone += _pair_up(out, group)
    lone = out["remark"].isna()
    out.loc[lone, ["value_mm", "u_mm", "bias_mm"]] *= 2
    out.loc[lone, "remark"] = "radial reading doubled"
    return out.drop(index=gone)


def _pair_up(out: pd.DataFrame, group: pd.DataFrame) -> list[object]:
    """Add opposite readings in ``out``; return the rows that went into their partners."""
    known = group[group["angle"].notna()]
    places = degrees(known["angle"].tolist())
    waiting: dict[float, object] = {}
    gone: list[object] = []
    for index, place in zip(known.index, places, strict=True):
        if place is None:
            continue
        partner = waiting.pop((place + 180.0) % 360.0, None)
        if partner is None:
            waiting.setdefault(place, index)
            continue
        first, second = out.loc[partner], out.loc[index]
        out.loc[partner, "value_mm"] = first["value_mm"] + second["value_mm"]
        out.loc[partner, "bias_mm"] = first["bias_mm"] + second["bias_mm"]
        out.loc[partner, "u_mm"] = float(np.hypot(first["u_mm"], second["u_mm"]))
        out.loc[partner, "remark"] = "sum of opposite radial readings"
        gone.append(index)
    return gone

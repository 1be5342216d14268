"""Whose readings have an uncertainty that nobody stated: one short remark a clearance.

Most sheets name no uncertainty, so these remarks stand beside nearly every row; tables
for people say them once (`ASSUMED` is how each begins).
"""

from __future__ import annotations

from typing import Final

import pandas as pd

from trendwear.derived.clearances import BY_DIAMETERS, BY_PUSHES

__all__ = ["ASSUMED", "assumed_uncertainty"]

ASSUMED: Final = "uncertainty assumed: "
"""How every such remark begins."""
_OF_SIZES: Final = {BY_DIAMETERS: "its bore and journal", BY_PUSHES: "its two pushes"}
"""Of readings that were computed: what was measured by the methods meant."""


def assumed_uncertainty(points: pd.DataFrame) -> dict[int, str]:
    """Return what is assumed of the fitted readings of each clearance, by its position.

    Parameters
    ----------
    points : DataFrame
        As in `trendwear.segments.histories.Histories`.
    """
    fitted = points[points["fitted"]]
    step = fitted["u_from"] == "written resolution"
    starting = fitted["u_from"] == "starting value"
    said: dict[int, list[str]] = {}
    for position, part in fitted[starting].groupby("position"):
        methods = ", ".join(dict.fromkeys(_OF_SIZES.get(name, name) for name in part["method"]))
        said.setdefault(int(position), []).append(f"a starting value for {methods}")
    counts = step.groupby(fitted["position"]).agg(["sum", "size"])
    for position, count, size in counts[counts["sum"] > 0].itertuples():
        some = "" if count == size else f" for {count} of {size} readings"
        said.setdefault(int(position), []).append(f"one step as written{some}")
    return {position: ASSUMED + ", ".join(words) for position, words in said.items()}

"""The interval that renewals buy: hours from an opening until an accepted risk is exceeded."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.forecasting.ahead import Ahead
from trendwear.forecasting.crossing import Crossing
from trendwear.planning.accepted import Accepted
from trendwear.planning.together import Together
from trendwear.wear.state import WearMixture

__all__ = ["Choices", "intervals"]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]


@dataclass(frozen=True)
class Choices:
    """What may be renewed at the openings of several machines.

    Attributes
    ----------
    rows : DataFrame
        Clearances with ``code`` (of the machine), ``position`` and ``consequence``.
    old : Crossing
        The rows left as they are; ``run`` holds the hours from the last reading to the opening.
    new : Crossing
        The rows renewed at the opening; NaN levels where no start is known.
    place : ndarray of int
        Order of renewal of each row in its machine, from 1.
    """

    rows: pd.DataFrame
    old: Crossing
    new: Crossing
    place: Codes


def intervals(choices: Choices, accepted: Accepted, asked: pd.DataFrame) -> Floats:
    """Return the hours from the opening until an accepted risk is exceeded.

    Parameters
    ----------
    choices : Choices
    accepted : Accepted
    asked : DataFrame
        ``code`` of a machine and ``renewed``: rows with a place up to it are renewed.

    Returns
    -------
    ndarray, one for each row asked
        0 where a risk is exceeded at the opening; `FARTHEST_HOURS` where none ever is.
    """
    rows = choices.rows
    count = len(rows)
    members = rows[["code", "position", "consequence"]].assign(
        row=np.arange(count), place=choices.place
    )
    told = asked.assign(question=np.arange(len(asked))).merge(members, on="code", how="inner")
    renewed = told["place"] <= told["renewed"]
    startless = ~choices.new.wear.has_level[told["row"]] & renewed
    told, renewed = told[~startless], renewed[~startless]
    if told.empty:
        return np.full(len(asked), np.nan)
    keys = pd.DataFrame(
        {"question": told["question"], "heading": accepted.heading(told["consequence"])}
    )
    group = keys.groupby(["question", "heading"], sort=False).ngroup().to_numpy(dtype=np.int64)
    groups = keys.drop_duplicates()
    both = _joined(choices.old, choices.new)
    crossing = both.rows((told["row"] + count * renewed).to_numpy(dtype=np.int64))
    risk = np.array([accepted.risk(name) for name in groups["heading"]], dtype=float)
    together = Together.in_hours(crossing, group, len(groups)).by_part(told["position"])
    hours = np.nan_to_num(together.latest(risk))
    least = pd.Series(hours).groupby(groups["question"].to_numpy()).min()
    return np.asarray(least.reindex(range(len(asked))), dtype=float)


def _joined(first: Crossing, second: Crossing) -> Crossing:
    """Return the clearances of both, one after the other."""
    fields = WearMixture.__dataclass_fields__
    wear = {
        name: np.concatenate([getattr(part.wear, name) for part in (first, second)])
        for name in fields
    }
    ahead = [
        np.concatenate([getattr(part.ahead, name) for part in (first, second)])
        for name in Ahead.__dataclass_fields__
    ]
    return Crossing(
        wear=WearMixture(**wear),
        limit=np.concatenate([first.limit, second.limit]),
        side=np.concatenate([first.side, second.side]),
        run=np.concatenate([first.run, second.run]),
        ahead=Ahead(*ahead),
    )

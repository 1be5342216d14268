"""What it costs to end the present run at each opening on offer.

The machine is in mid-run, so the age-replacement cost of a renewed machine does not speak of
it.  With ``F`` the chance that some limit is passed before an opening ``H`` running hours
from now, the opening is expected to cost

    E(H) = c_p + (c_f - c_p) F(H)

and after it the machine goes on as a renewed one, at the least cost ``g`` per running hour of
its standing interval.  Two openings are compared by

    E(H) - g integral_0^H (1 - F(h)) dh

the hours that the present run still gives, counted at what hours cost afterwards (the rule of
renewal theory that the age-replacement cost itself rests on: Barlow & Proschan,
*Mathematical Theory of Reliability*, 1965).  ``F`` is the chance of passing a *limit*.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.planning.overhaul import Limiting
from trendwear.planning.together import Together
from trendwear.planning_tables import OPENING_COSTS

__all__ = ["LATEST_OVERHAUL", "opening_costs"]

Floats = NDArray[np.float64]

LATEST_OVERHAUL: Final = "latest overhaul"
_POINTS: Final = 4


def opening_costs(openings: pd.DataFrame, costs: pd.DataFrame, standing: Limiting) -> pd.DataFrame:
    """Return what each opening costs (`OPENING_COSTS`).

    Parameters
    ----------
    openings : DataFrame
        ``machine``, ``opening``, ``date``, ``hours_until``, ``chance_before``,
        ``window_cost``, ``past`` (a limit is passed today), ``hindrance``.
    costs : DataFrame
        Indexed by machine: ``parts_cost``, ``crew_cost``, ``planned``, ``past_limit``,
        ``best_cost_per_1000h``; NaN where not known.
    standing : Limiting
        The clearances not past their limit today.
    """
    mine = costs.reindex(openings["machine"]).set_index(openings.index)
    planned = mine["parts_cost"] + mine["crew_cost"].fillna(0.0) + openings["window_cost"]
    planned = planned.where(mine["planned"].notna())
    chance = openings["chance_before"].where(~openings["past"], 1.0)
    expected = planned + (mine["past_limit"] - mine["planned"]) * chance
    still = hours_still(openings, standing) * ~openings["past"]
    relative = expected - mine["best_cost_per_1000h"] / 1000.0 * still
    on_offer = openings["hindrance"].isna() & (openings["opening"] != LATEST_OVERHAUL)
    least = relative.where(on_offer).groupby(openings["machine"]).transform("min")
    table = openings.assign(
        chance_before=chance, planned=planned, expected_cost=expected, dearer_by=relative - least
    )
    return tables.conform(table[table["planned"].notna()].reset_index(drop=True), OPENING_COSTS)


def hours_still(openings: pd.DataFrame, standing: Limiting) -> pd.Series:
    """Planned hours that each machine is expected to run before an opening with no limit passed.

    The integral of the chance of none passed, from Gauss-Legendre points between one
    opening and the next.
    """
    place = standing.machines.get_indexer(openings["machine"])
    order = openings.assign(place=place).sort_values(["place", "hours_until"], kind="stable")
    until = order["hours_until"].to_numpy(dtype=float)
    before = order.groupby("place")["hours_until"].shift(1).fillna(0.0).to_numpy(dtype=float)
    code = order["place"].to_numpy(dtype=np.int64)
    turn = order.groupby("place").cumcount().to_numpy(dtype=np.int64)
    rows = standing.only(np.isin(standing.rows["code"].to_numpy(dtype=np.int64), code))
    together = Together.in_hours(
        rows.crossing, rows.rows["code"].to_numpy(dtype=np.int64), len(standing.machines)
    ).by_part(rows.rows["position"])
    nodes, weights = np.polynomial.legendre.leggauss(_POINTS)
    gained = np.zeros(len(order))
    for number in range(int(turn.max(initial=-1)) + 1):
        now = turn == number
        asked = np.zeros(len(standing.machines))
        for node, weight in zip(nodes, weights, strict=True):
            asked[code[now]] = (before + (until - before) * (1.0 + node) / 2)[now]
            none = 1.0 - together.any(np.nan_to_num(asked))
            gained[now] += (weight * (until - before) / 2)[now] * none[code[now]]
    summed = pd.Series(gained, index=order.index).groupby(order["place"]).cumsum()
    return summed.where(openings["hours_until"].notna())

"""Renew or leave: what each clearance risks before the following opening, both ways."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.limit_forecast import Basis
from trendwear.planning.accepted import Accepted
from trendwear.planning.intervals import Choices, intervals
from trendwear.planning.overhaul import Limiting
from trendwear.planning.renewed import renewed_crossing
from trendwear.planning.together import Together, none_of
from trendwear.planning_tables import RENEWALS
from trendwear.wording import fold_column

__all__ = ["Openings", "Renewals", "renewals_at"]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]

_BEYOND: Final = 2
"""Further renewals beyond those recommended whose interval is reckoned too."""
_CERTAIN: Final = 1.0 - 1e-12


@dataclass(frozen=True)
class Openings:
    """The opening meant of each machine, and the following one.

    Attributes
    ----------
    outage, following : list of str or None
        Their names, one a machine; None where there is none.
    until, until_following : ndarray, shape (machines,)
        Planned hours from now until each; NaN where unknown.
    """

    outage: list[str | None]
    following: list[str | None]
    until: Floats
    until_following: Floats


@dataclass(frozen=True)
class Renewals:
    """What is recommended at the openings.

    Attributes
    ----------
    table : DataFrame
        `trendwear.planning_tables.RENEWALS`.
    as_it_is : dict of str to float
        Machine: hours from the opening until an accepted risk is exceeded with nothing
        renewed; 0 where it is at the opening.
    too_long : dict of str to float
        Machines that exceed an accepted risk before the following opening whatever is
        renewed, with the chance they then run.
    """

    table: pd.DataFrame
    as_it_is: dict[str, float]
    too_long: dict[str, float]


def renewals_at(
    basis: Basis, limiting: Limiting, accepted: Accepted, openings: Openings
) -> Renewals:
    """Return what each limiting clearance risks, and which parts to renew.

    Recommended are those parts that gain most, measured by the accepted risk, until
    every accepted risk holds up to the following opening; clearances of one set are
    renewed together.

    Parameters
    ----------
    basis : Basis
    limiting : Limiting
        All that may limit, those past today among them.
    accepted : Accepted
    openings : Openings
    """
    rows = limiting.rows
    code = rows["code"].to_numpy(dtype=np.int64)
    fresh, start_from = renewed_crossing(basis, rows)
    old = Together.as_planned(limiting.crossing, code, limiting.spread)
    left = old.at_nodes(openings.until_following)
    new = Together.as_planned(fresh, code, limiting.spread)
    renewed = new.at_nodes(openings.until_following - openings.until)
    table = pd.DataFrame(
        {
            **{name: rows[name] for name in ("machine", "clearance", "moves")},
            "outage": [openings.outage[number] for number in code],
            "following": [openings.following[number] for number in code],
            "chance_left": left @ old.weights,
            "chance_renewed": renewed @ old.weights,
            "start_from": start_from,
            "limiting": True,
            "renew": False,
            "place": 0,
            "code": code,
        }
    )
    known = np.isfinite(table["chance_left"].to_numpy())
    too_long = {}
    for number in np.unique(code[known]):
        mine = np.flatnonzero(code == number)
        bench = _Bench(rows.iloc[mine], accepted, left[mine], renewed[mine], old.weights)
        place, recommended, remains = bench.choose()
        table.loc[mine, "place"] = place
        table.loc[mine, "renew"] = place <= recommended
        if remains > 0:
            too_long[str(limiting.machines[number])] = remains
    bought = _bought(table[known], rows, limiting, openings, (fresh, accepted))
    keys = zip(table["code"], table["place"], strict=True)
    table["interval_hours"] = [bought.get(key, np.nan) for key in keys]
    as_it_is = {
        str(limiting.machines[number]): hours
        for (number, place), hours in bought.items()
        if place == 0
    }
    table = table.sort_values(["code", "place"], kind="stable").reset_index(drop=True)
    return Renewals(tables.conform(table, RENEWALS), as_it_is, too_long)


def _bought(
    table: pd.DataFrame,
    rows: pd.DataFrame,
    limiting: Limiting,
    openings: Openings,
    given: tuple[Crossing, Accepted],
) -> dict[tuple[int, int], float]:
    """Hours that each number of renewals buys, by machine's code and number."""
    fresh, accepted = given
    until = np.nan_to_num(openings.until[rows["code"].to_numpy(dtype=np.int64)])
    then = replace(limiting.crossing, run=limiting.crossing.run + until)
    place = table["place"].reindex(rows.index, fill_value=0).to_numpy(dtype=np.int64)
    last = (table["place"] * table["renew"]).groupby(table["code"]).max() + _BEYOND
    most = np.minimum(last, table.groupby("code")["place"].max())
    asked = pd.DataFrame(
        [(code, number) for code, most_of in most.items() for number in range(int(most_of) + 1)],
        columns=["code", "renewed"],
        dtype="int64",
    )
    hours = intervals(Choices(rows, then, fresh, place), accepted, asked)
    keys = zip(asked["code"], asked["renewed"], strict=True)
    return {
        (int(code), int(number)): float(h) for (code, number), h in zip(keys, hours, strict=True)
    }


class _Bench:
    """One machine lying open: its clearances, each to be renewed or left.

    Parameters
    ----------
    rows : DataFrame
        Its clearances: ``clearance``, ``position``, ``set``, ``consequence``.
    accepted : Accepted
    left, renewed : ndarray, shape (n, nodes)
        Chances to pass the limit before the following opening; NaN renewed where no
        start is known: such a part counts as renewed for good.
    weights : ndarray, shape (nodes,)
    """

    def __init__(
        self, rows: pd.DataFrame, accepted: Accepted, left: Floats, renewed: Floats, weights: Floats
    ) -> None:
        heading = accepted.heading(rows["consequence"])
        self.headings, names = pd.factorize(heading)
        self.risk = np.array([accepted.risk(name) for name in names], dtype=float)
        alone = "\0" + rows["clearance"].astype(str)
        # A clearance limited both ways is one part, whichever of its rows names the set.
        sets = fold_column(rows["set"]).where(rows["set"].notna())
        units = sets.groupby(rows["position"]).transform("first")
        self.units, _ = pd.factorize(units.where(units.notna(), alone))
        self.parts = rows["position"].to_numpy(dtype=np.int64)
        self.left, self.renewed, self.weights = left, np.nan_to_num(renewed), weights

    def choose(self) -> tuple[Codes, int, float]:
        """Return the place of each clearance, how many places to renew, what chance remains."""
        allowed = -np.log1p(-np.clip(self.risk, 1e-9, _CERTAIN))
        worth = ((self._logs(self.renewed) - self._logs(self.left)) / allowed).sum(axis=1)
        order = np.argsort(-worth, kind="stable")
        taken = np.zeros(len(order), dtype=bool)
        for unit in order:
            mine = self.units == unit
            if self._broken(taken)[self.headings[mine]].any() and worth[unit] > 0:
                taken[unit] = True
        ranked = np.concatenate([order[taken[order]], order[~taken[order]]])
        place = np.empty(len(order), dtype=np.int64)
        place[ranked] = np.arange(1, len(order) + 1)
        broken = self._broken(taken)
        remains = float(self._chances(taken)[broken].max()) if broken.any() else 0.0
        return place[self.units], int(taken.sum()), remains

    def _logs(self, chances: Floats) -> Floats:
        """Log of the chance (units, headings) that nothing of a unit passes its limit."""
        count, headings = int(self.units.max()) + 1, len(self.risk)
        group = self.units * headings + self.headings
        averaged = np.minimum(chances @ self.weights, _CERTAIN)[:, None]
        none = none_of(averaged, group, count * headings, self.parts)
        return np.log(np.maximum(none, 1.0 - _CERTAIN)).reshape(count, headings)

    def _chances(self, taken: NDArray[np.bool_]) -> Floats:
        """Chance of each heading before the following opening."""
        chances = np.where(taken[self.units][:, None], self.renewed, self.left)
        none = none_of(chances, self.headings, len(self.risk), self.parts)
        return np.asarray((1.0 - none) @ self.weights, dtype=float)

    def _broken(self, taken: NDArray[np.bool_]) -> NDArray[np.bool_]:
        return np.asarray(self._chances(taken) > self.risk, dtype=bool)

"""The latest overhaul of a machine as it would be after one more reading of one clearance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.forecasting.crossing import FARTHEST_HOURS
from trendwear.forecasting.dates import duty_factors, duty_weights
from trendwear.planning.accepted import Accepted
from trendwear.planning.chance_curves import ChanceCurves, chances_along, hours_of, place_of
from trendwear.planning.one_reading import after_reading, as_of_now, readings_expected
from trendwear.planning.overhaul import Limiting
from trendwear.wear.state import rows_of

__all__ = ["SHARES", "After", "latest_after"]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]

_READINGS: Final = 20
SHARES: Final[Floats] = (np.arange(_READINGS) + 0.5) / _READINGS
"""Of the readings to be expected, those at these quantiles: each stands for one in twenty."""
_HALVINGS: Final = 26
_NEARLY_SURE: Final = 1.0 - 1e-12


@dataclass(frozen=True)
class After:
    """What one more reading of each of ``n`` clearances would make of its machine's date.

    Attributes
    ----------
    reading : ndarray, shape (n, readings)
        Readings to be expected now, at `SHARES`: mm, worn-positive, rising.
    planned : ndarray, shape (n, readings)
        Planned hours from now until an accepted risk of the machine is exceeded, after that
        reading: 0 where one is now, `FARTHEST_HOURS` where none ever is.
    """

    reading: Floats
    planned: Floats


def latest_after(
    limiting: Limiting, accepted: Accepted, asked: Codes, uncertainty: Floats
) -> After:
    """Return the latest overhaul after one more reading today.

    Exact, over the grid of variances: what the reading would be, what would then be believed
    of its clearance, and the latest overhaul of the machine by that, all other clearances
    being believed as they are.  Approximated: the readings to be expected are twenty of equal
    chance; chances are drawn through knots (`ChanceCurves`); what the reading says of other
    members of its family is left out.

    Parameters
    ----------
    limiting : Limiting
        All clearances that count.
    accepted : Accepted
    asked : ndarray of int, shape (n,)
        Positions to be read again.
    uncertainty : ndarray, shape (n,)
        Standard uncertainty of each reading, mm.
    """
    site = _Site(limiting, accepted, asked)
    now = as_of_now(limiting.crossing)
    position = limiting.rows["position"].to_numpy()
    first = np.array([np.flatnonzero(position == one)[0] for one in asked], dtype=np.int64)
    reading = readings_expected(rows_of(now.wear, first), uncertainty, SHARES)

    # Every way in which an asked clearance is limited, after every reading.
    own = site.ways[site.ways["asked"] >= 0]
    which = own["asked"].to_numpy(dtype=np.int64)
    known = now.rows(np.repeat(own["row"].to_numpy(dtype=np.int64), _READINGS))
    told = after_reading(
        known.wear, np.repeat(uncertainty[which], _READINGS), reading[which].ravel()
    )
    after = chances_along(replace(known, wear=told))
    return After(reading, site.latest(own["part"].to_numpy(dtype=np.int64), after))


class _Site:
    """The machines of the clearances asked for: their parts, each under an accepted risk.

    A part is a clearance under one accepted risk, both its limits together; the parts of a
    machine under one risk are a group.
    """

    def __init__(self, limiting: Limiting, accepted: Accepted, asked: Codes) -> None:
        rows = limiting.rows
        heading = accepted.heading(rows["consequence"])
        ways = pd.DataFrame(
            {
                "row": np.arange(len(rows)),
                "code": rows["code"].to_numpy(dtype=np.int64),
                "position": rows["position"].to_numpy(dtype=np.int64),
                "heading": heading.to_numpy(),
                "asked": pd.Index(asked).get_indexer(rows["position"]),
            }
        )
        ways = ways[ways["code"].isin(ways.loc[ways["asked"] >= 0, "code"])]
        ways = ways.reset_index(drop=True)
        ways["group"] = ways.groupby(["code", "heading"], sort=False).ngroup()
        ways["part"] = ways.groupby(["group", "position"], sort=False).ngroup()
        self.ways = ways
        self.parts = ways.drop_duplicates("part").reset_index(drop=True)
        self.groups = ways.drop_duplicates("group").reset_index(drop=True)
        self._risk = np.array([accepted.risk(one) for one in self.groups["heading"]], dtype=float)
        self._factors = duty_factors(limiting.spread[self.groups["code"]])
        chances = chances_along(limiting.crossing.rows(ways["row"].to_numpy(dtype=np.int64)))
        self._log_part = _log_none(_sums(chances, ways["part"], len(self.parts)))
        self._log_group = _sums(self._log_part, self.parts["group"], len(self.groups))

    def latest(self, part: Codes, after: Floats) -> Floats:
        """Planned hours (asked, readings) until an accepted risk of the machine is exceeded.

        Parameters
        ----------
        part : ndarray of int, shape (k,)
            Parts of the clearances asked for; limited both ways one stands twice.
        after : ndarray, shape (k * readings, knots)
            Chances of each after each reading.
        """
        number, changed = pd.factorize(part)
        chances = _sums(after.reshape(len(part), -1), pd.Series(number), len(changed))
        of_part = self.parts.iloc[changed]
        group = of_part["group"].to_numpy(dtype=np.int64)
        others = self._log_group[group] - self._log_part[changed]
        beside = np.repeat(np.arange(len(changed)), _READINGS)
        found = self._until(
            group[beside],
            [
                (ChanceCurves(1.0 - np.exp(others)), beside),
                (ChanceCurves(chances.reshape(-1, after.shape[1])), np.arange(len(beside))),
            ],
        ).reshape(-1, _READINGS)
        asked = of_part["asked"].to_numpy(dtype=np.int64)
        least = np.full((int(self.ways["asked"].max()) + 1, _READINGS), FARTHEST_HOURS)
        np.minimum.at(least, asked, found)
        # Under its other accepted risks the machine stays as it is.
        as_it_is = self._as_it_is()
        for place in range(len(least)):
            code = self.ways.loc[self.ways["asked"] == place, "code"].iloc[0]
            other = (self.groups["code"] == code) & ~self.groups["group"].isin(
                group[asked == place]
            )
            least[place] = np.minimum(least[place], as_it_is[other].min(initial=FARTHEST_HOURS))
        return least

    def _as_it_is(self) -> Floats:
        """Planned hours (groups,) until each accepted risk is exceeded, nothing read again."""
        every = np.arange(len(self.groups))
        return self._until(every, [(ChanceCurves(1.0 - np.exp(self._log_group)), every)])

    def _until(self, group: Codes, causes: list[tuple[ChanceCurves, Codes]]) -> Floats:
        """Planned hours (m,) until the chance of any cause exceeds the group's risk."""
        risk, factors, weights = self._risk[group], self._factors[group], duty_weights()

        def held(planned: Floats) -> NDArray[np.bool_]:
            hours = planned[:, None] * factors
            none = np.prod([1.0 - curves.at(hours, which) for curves, which in causes], axis=0)
            return np.asarray((1.0 - none) @ weights <= risk, dtype=bool)

        low, high = np.zeros(len(group)), np.full(len(group), place_of(np.array(FARTHEST_HOURS)))
        at_once, never = ~held(low), held(np.full(len(group), FARTHEST_HOURS))
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            kept = held(hours_of(middle))
            low, high = np.where(kept, middle, low), np.where(kept, high, middle)
        return np.where(at_once, 0.0, np.where(never, FARTHEST_HOURS, hours_of(low)))


def _log_none(chances: Floats) -> Floats:
    return np.asarray(np.log1p(-np.minimum(chances, _NEARLY_SURE)), dtype=float)


def _sums(values: Floats, code: pd.Series, count: int) -> Floats:
    """Sums (count, knots) of the rows (n, knots) of each code."""
    summed = np.zeros((count, values.shape[1]))
    np.add.at(summed, code.to_numpy(dtype=np.int64), values)
    return summed

"""Does an accepted risk come true: machines opened at their latest overhaul, and how many late.

Simulated fleets as in ``fleets.py``: clearances of families of several sizes, pooled over
cells of wear and gauge noise, are dealt out to machines of 6 to 14 clearances; each has a limit
from one to five intervals' mean wear above its last reading: the machine is just overhauled, and
what was nearer its limit has been renewed.  Every machine's
latest overhaul is set at 5, 10 and 20 % in running hours, and its clearances wear on along
paths of gamma increments.  Printed are, for each risk,

- the machines already over the risk, counted apart;
- the share of the others that passed a limit inside their interval, with its binomial error;
- the median interval against that of one who knows every true rate and present clearance, and
  how unsteadily each wears, at the same risk.

Departures of ``fleets.py`` are held to the same rule, to show where the promise breaks.
Run it with ``python tests/bench/plan_risk.py``; it takes about a minute.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from fleets import INTERVAL_HOURS, RATE, Cell, Departure, Fleet, coming_wear, simulate

from trendwear.forecasting.ahead import Ahead, plain_hours
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.planning.together import Together
from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Flags, Floats
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.state import WearMixture

RISKS = {0.05: 0.02, 0.10: 0.025, 0.20: 0.03}
"""Accepted risks, and how far the share that comes true may lie off."""
CELLS = [Cell(*some) for some in itertools.product((0.2, 0.4, 0.6), (0.1, 0.4), (0.02, 0.2))]
SIZES = (6, 40, 200)
CLEARANCES = 480
JUST_OVERHAULED = (1.0, 5.0)
"""Limits above the last reading, in mean intervals' wear: what is nearer has been renewed."""
CLOSE_BY = (0.3, 5.0)
FEWEST, MOST = 6, 14  # clearances of a machine
PATH_HOURS = np.concatenate([np.geomspace(50.0, 60_000.0, 400), [FARTHEST_HOURS]])
SEED = 20250301


@dataclass(frozen=True)
class Site:
    """All clearances of all cells: what is believed of them, what is true, what became of them."""

    crossing: Crossing
    oracle: Crossing
    crossed: Floats
    """(n,) hours after the last reading at which each passed its limit; inf where never."""


def run_cell(cell: Cell, size: int, above: tuple[float, float], seed: int) -> Site:
    """Fit one fleet, give it limits and let it wear on."""
    clearances = -(-CLEARANCES // size) * size
    fleet = simulate(cell, clearances, size, seed)
    draw = np.random.default_rng(seed + 1)
    limit = fleet.last_value + RATE * INTERVAL_HOURS * draw.uniform(*above, clearances)
    believed = _crossing(wear_mixture(fit_wear(fleet.histories)), limit)
    worn = coming_wear(fleet, cell, PATH_HOURS, seed + 2)
    if cell.departure is Departure.UPSET_AFTER:
        blow = np.exp(0.3 * draw.standard_normal(clearances))
        worn += 2.0 * RATE * INTERVAL_HOURS * blow[:, None] * (PATH_HOURS > INTERVAL_HOURS / 2)
    past = fleet.last_truth[:, None] + worn > limit[:, None]
    crossed = np.where(past.any(axis=1), PATH_HOURS[past.argmax(axis=1)], np.inf)
    crossed = np.where(fleet.last_truth > limit, 0.0, crossed)
    return Site(believed, _crossing(_known(fleet, cell), limit), crossed)


def _crossing(wear: WearMixture, limit: Floats) -> Crossing:
    count = len(limit)
    return Crossing(wear, limit, np.ones(count), np.zeros(count), plain_hours(count))


def _known(fleet: Fleet, cell: Cell) -> WearMixture:
    """What one knows who knows the present clearance, the rate and how unsteady the wear is."""
    count = len(fleet.rate)
    zero, one = np.zeros((count, 1)), np.ones((count, 1))
    return WearMixture(
        weight=one,
        level=fleet.last_truth[:, None],
        rate=fleet.rate[:, None],
        var_level=zero,
        cov_level_rate=zero,
        var_rate=zero,
        var_wear=((cell.interval_noise * fleet.rate) ** 2 * INTERVAL_HOURS)[:, None],
        gauge_scale=one,
        has_level=np.ones(count, dtype=bool),
        own_share=np.ones(count),
        family_rate=fleet.rate,
        family_rate_sd=np.zeros(count),
        tau=np.zeros(count),
    )


def gather(
    departure: Departure,
    sizes: tuple[int, ...],
    seed: int,
    above: tuple[float, float] = JUST_OVERHAULED,
) -> list[Site]:
    """All cells at one departure."""
    cells = [replace(cell, departure=departure) for cell in CELLS]
    return [
        run_cell(cell, size, above, seed + 1000 * number + size)
        for (number, cell), size in itertools.product(enumerate(cells), sizes)
    ]


def machines_of(count: int, seed: int) -> np.ndarray:
    """Deal ``count`` clearances out to machines of 6 to 14; those left over get -1."""
    draw = np.random.default_rng(seed)
    sizes = draw.integers(FEWEST, MOST + 1, count)
    sizes = sizes[np.cumsum(sizes) <= count]
    dealt = np.full(count, -1)
    dealt[: sizes.sum()] = np.repeat(np.arange(len(sizes)), sizes)
    return draw.permutation(dealt)


def judge(sites: list[Site], seed: int) -> pd.DataFrame:
    """Set every machine's interval at each risk and see how many were late."""
    crossed = np.concatenate([site.crossed for site in sites])
    machine = machines_of(len(crossed), seed)
    keep = machine >= 0
    group = machine[keep]
    machines = int(group.max()) + 1
    first = np.full(machines, np.inf)
    np.minimum.at(first, group, crossed[keep])
    together = Together.in_hours(_joined([s.crossing for s in sites], keep), group, machines)
    oracle = Together.in_hours(_joined([s.oracle for s in sites], keep), group, machines)
    rows = []
    for risk, tolerance in RISKS.items():
        interval = together.latest(np.full(machines, risk))
        best = oracle.latest(np.full(machines, risk))
        planned = ~np.isnan(interval)
        late = first[planned] <= interval[planned]
        share, error = late.mean(), np.sqrt(risk * (1 - risk) / planned.sum())
        rows.append(
            {
                "accepted": risk,
                "machines": int(planned.sum()),
                "over_already": int((~planned).sum()),
                "came_true": share,
                "binomial_error": error,
                "median_hours": np.median(interval[planned]),
                "of_oracle": np.median(interval[planned]) / np.nanmedian(best[planned]),
                "goal_met": abs(share - risk) <= tolerance,
            }
        )
    return pd.DataFrame(rows).set_index("accepted")


def _joined(parts: list[Crossing], keep: Flags) -> Crossing:
    """All clearances in one; mixtures of fewer components are filled up with weightless ones."""
    most = max(part.wear.weight.shape[1] for part in parts)

    def fill(name: str, part: Crossing) -> Floats:
        value = getattr(part.wear, name)
        if value.ndim == 1:
            return value
        more = most - value.shape[1]
        last = np.zeros((len(value), more)) if name == "weight" else value[:, :1].repeat(more, 1)
        return np.concatenate([value, last], axis=1)

    names = WearMixture.__dataclass_fields__
    wear = {name: np.concatenate([fill(name, part) for part in parts])[keep] for name in names}
    limit = np.concatenate([part.limit for part in parts])[keep]
    count = len(limit)
    ahead: Ahead = plain_hours(count)
    return Crossing(WearMixture(**wear), limit, np.ones(count), np.zeros(count), ahead)


def main() -> None:
    """Print the shares that came true."""
    _print("just overhauled; families of 6, 40 and 200", gather(Departure.NONE, SIZES, SEED))
    _print("limits close by too", gather(Departure.NONE, SIZES, SEED, CLOSE_BY))
    _print("families of 1", gather(Departure.NONE, (1,), SEED))
    for departure in Departure:
        if departure is not Departure.NONE:
            _print(f"{departure.value}; families of 40", gather(departure, (40,), SEED))


def _print(what: str, sites: list[Site]) -> None:
    print(what)
    print(judge(sites, SEED).to_string(float_format="{:.4f}".format), end="\n\n")


if __name__ == "__main__":
    main()

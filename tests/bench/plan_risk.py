"""Does an accepted risk come true: machines opened at their latest overhaul, and how many late.

Simulated fleets as in ``fleets.py``: clearances of families of several sizes, pooled over
cells of wear and gauge noise, are dealt out to machines of 6 to 14 clearances; each has a limit
from one to five intervals' mean wear above its last reading: the machine is just overhauled, and
what was nearer its limit has been renewed.  Every machine's
latest overhaul is set at 5, 10 and 20 % in running hours, and its clearances wear on along
paths of gamma increments.  Printed are, for each case and risk, a row each with

- the machines that are judged, and those already over the risk, counted apart;
- the share of the former that passed a limit inside their interval, with its binomial error;
- the same of intervals set by one who knows every true rate and present clearance, and
  how unsteadily each wears, but takes its scatter for normal as the model does;
- the median interval against that of this one, at the same risk;
- whether the promise holds.

The cases beside the first show where it breaks: limits close by, families of one, families seen
at a single opening, and departures from the model, among them upsets and wipes to come, of
which no reading tells.  Then, of the first case, who was late: by rate against the family's, by
size of family, and by how unsteady wear and gauge are.

Run it with ``python tests/bench/plan_risk.py``; it takes about a minute.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
import pandas as pd
from fleets import INTERVAL_HOURS, RATE, UPSET, Cell, Departure, Fleet, coming_wear, simulate

from trendwear.forecasting.ahead import Ahead, plain_hours
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.planning.together import Together
from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Codes, Flags, Floats, Histories, of_segments
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.state import WearMixture

RISKS = {0.05: 0.02, 0.10: 0.025, 0.20: 0.03}
"""Accepted risks, and how far the share that comes true may lie off."""
CELLS = [Cell(*some) for some in itertools.product((0.2, 0.4, 0.6), (0.1, 0.4), (0.02, 0.2))]
SIZES = (6, 40, 200)
CLEARANCES = 480  # of each cell and size
JUST_OVERHAULED = (1.0, 5.0)
"""Limits above the last reading, in mean intervals' wear: what is nearer has been renewed."""
CLOSE_BY = (0.3, 5.0)
FEWEST, MOST = 6, 14  # clearances of a machine
PATH_HOURS = np.concatenate([np.geomspace(50.0, 60_000.0, 400), [FARTHEST_HOURS]])
SEED = 20250301


WIPES_PER_INTERVAL = 0.01
WIPE = 5.0  # mean intervals' wear at one blow: past any limit


class Fate(Enum):
    """What becomes of a fleet besides its steady wear."""

    NONE = "none"
    WIPES = "sudden wipes"


@dataclass(frozen=True)
class Case:
    """A kind of fleet, and what is known and becomes of it."""

    name: str
    sizes: tuple[int, ...] = SIZES
    above: tuple[float, float] = JUST_OVERHAULED
    departure: Departure = Departure.NONE
    fate: Fate = Fate.NONE
    single_opening: bool = False

    @property
    def clearances(self) -> int:
        """So many of each cell and size that a thousand machines are judged."""
        return CLEARANCES * (3 if len(self.sizes) == 1 else 1)


FIRST = Case("just overhauled")
CASES = (
    FIRST,
    Case("limits close by too", above=CLOSE_BY),
    Case("families of 1", sizes=(1,)),
    Case("families of 6 with a single opening each", sizes=(6,), single_opening=True),
    Case("families of 40 with a single opening each", sizes=(40,), single_opening=True),
    *(
        Case(f"{departure.value}; families of 40", sizes=(40,), departure=departure)
        for departure in Departure
        if departure is not Departure.NONE
    ),
    Case("sudden wipes of 1 % an interval; families of 40", sizes=(40,), fate=Fate.WIPES),
)


@dataclass(frozen=True)
class Site:
    """All clearances of all cells: what is believed of them, what is true, what became of them."""

    crossing: Crossing
    oracle: Crossing
    crossed: Floats
    """(n,) hours after the last reading at which each passed its limit; inf where never."""
    kind: pd.DataFrame
    """(n,) ``size``, ``rate_cv``, ``interval``, ``gauge``."""


def run_cell(case: Case, cell: Cell, size: int, seed: int) -> Site:
    """Fit one fleet, give it limits and let it wear on."""
    clearances = -(-case.clearances // size) * size
    fleet = simulate(cell, clearances, size, seed)
    draw = np.random.default_rng(seed + 1)
    limit = fleet.last_value + RATE * INTERVAL_HOURS * draw.uniform(*case.above, clearances)
    seen = last_opening(fleet.histories) if case.single_opening else fleet.histories
    believed = _crossing(wear_mixture(fit_wear(seen)), limit)
    worn = coming_wear(fleet, cell, PATH_HOURS, seed + 2)
    worn += _blows(case, draw, clearances)
    past = fleet.last_truth[:, None] + worn > limit[:, None]
    crossed = np.where(past.any(axis=1), PATH_HOURS[past.argmax(axis=1)], np.inf)
    crossed = np.where(fleet.last_truth > limit, 0.0, crossed)
    kind = {
        "size": size,
        "rate_cv": cell.rate_cv,
        "interval": cell.interval_noise,
        "gauge": cell.gauge_noise,
    }
    kinds = pd.DataFrame(kind, index=range(clearances))
    return Site(believed, _crossing(_known(fleet, cell), limit), crossed, kinds)


def last_opening(histories: Histories) -> Histories:
    """Keep the last two readings of each clearance: as it was put in, and at its one opening."""
    final = np.append(np.diff(histories.clearance) != 0, True)
    only = of_segments(histories, final)
    left = np.bincount(only.segment)[only.segment]
    place = np.arange(len(only.segment)) - np.searchsorted(only.segment, only.segment)
    keep = place >= left - 2
    return replace(
        only,
        value=only.value[keep],
        exposure=only.exposure[keep],
        uncertainty=only.uncertainty[keep],
        at_least=only.at_least[keep],
        segment=only.segment[keep],
    )


def _blows(case: Case, draw: np.random.Generator, clearances: int) -> Floats:
    """Wear at one blow that adds to each path."""
    if case.departure is Departure.UPSET_AFTER:
        blow = UPSET * np.exp(0.3 * draw.standard_normal(clearances))
        struck = np.full(clearances, INTERVAL_HOURS / 2)
    elif case.fate is Fate.WIPES:
        blow = np.full(clearances, WIPE)
        struck = draw.exponential(INTERVAL_HOURS / WIPES_PER_INTERVAL, clearances)
    else:
        return np.zeros((clearances, 1))
    added: Floats = RATE * INTERVAL_HOURS * blow[:, None] * (struck[:, None] < PATH_HOURS)
    return added


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


def gather(case: Case, seed: int = SEED) -> list[Site]:
    """All cells of a case."""
    cells = [replace(cell, departure=case.departure) for cell in CELLS]
    return [
        run_cell(case, cell, size, seed + 1000 * number + size)
        for (number, cell), size in itertools.product(enumerate(cells), case.sizes)
    ]


def machines_of(count: int, seed: int) -> np.ndarray:
    """Deal ``count`` clearances out to machines of 6 to 14; those left over get -1."""
    draw = np.random.default_rng(seed)
    sizes = draw.integers(FEWEST, MOST + 1, count)
    sizes = sizes[np.cumsum(sizes) <= count]
    dealt = np.full(count, -1)
    dealt[: sizes.sum()] = np.repeat(np.arange(len(sizes)), sizes)
    return draw.permutation(dealt)


@dataclass(frozen=True)
class Machines:
    """Clearances dealt out to machines, and when each machine was first past a limit."""

    kind: pd.DataFrame
    group: Codes
    crossed: Floats
    first: Floats
    together: Together
    oracle: Together

    @property
    def count(self) -> int:
        """How many machines there are."""
        return len(self.first)


def deal(sites: list[Site], seed: int = SEED) -> Machines:
    """Deal out the clearances of all sites."""
    crossed = np.concatenate([site.crossed for site in sites])
    machine = machines_of(len(crossed), seed)
    keep = machine >= 0
    group = machine[keep]
    machines = int(group.max()) + 1
    first = np.full(machines, np.inf)
    np.minimum.at(first, group, crossed[keep])
    return Machines(
        pd.concat([site.kind for site in sites], ignore_index=True)[keep],
        group,
        crossed[keep],
        first,
        Together.in_hours(_joined([s.crossing for s in sites], keep), group, machines),
        Together.in_hours(_joined([s.oracle for s in sites], keep), group, machines),
    )


def judge(machines: Machines) -> pd.DataFrame:
    """Set every machine's interval at each risk and see how many were late."""
    rows = []
    for risk, tolerance in RISKS.items():
        asked = np.full(machines.count, risk)
        interval, best = machines.together.latest(asked), machines.oracle.latest(asked)
        planned = ~np.isnan(interval)
        late = machines.first[planned] <= interval[planned]
        share, error = late.mean(), np.sqrt(risk * (1 - risk) / planned.sum())
        known = ~np.isnan(best)
        rows.append(
            {
                "accepted": risk,
                "machines": int(planned.sum()),
                "over_already": int((~planned).sum()),
                "came_true": share,
                "error": error,
                "all_known": np.mean(machines.first[known] <= best[known]),
                "median_hours": np.median(interval[planned]),
                "of_known": np.median(interval[planned]) / np.nanmedian(best[planned]),
                "goal_met": abs(share - risk) <= tolerance,
            }
        )
    return pd.DataFrame(rows).set_index("accepted")


def promise(share: float, risk: float) -> str:
    """Say in a word what became of the promise."""
    off = share - risk
    if abs(off) <= RISKS[risk]:
        return "holds"
    return "broken: late" if off > 0 else "kept with room"


def who_was_late(machines: Machines, risk: float = 0.05) -> pd.DataFrame:
    """Passed limits inside the intervals against those foretold, by kinds of clearances."""
    interval = machines.together.latest(np.full(machines.count, risk))
    wear = machines.together.crossing.wear
    pace = (wear.weight * wear.rate).sum(axis=1) / wear.family_rate
    told = machines.kind.assign(
        foretold=machines.together.each(interval),
        came=machines.crossed <= interval[machines.group],
        rate_over_family=pd.cut(pace, [-np.inf, 0.8, 1.0, 1.25, 1.6, np.inf]).astype(str),
    )
    parts = []
    for name in ("rate_over_family", "size", "rate_cv", "interval", "gauge"):
        part = told.groupby(name)[["foretold", "came"]].sum()
        part.index = pd.Index([f"{name} {value}" for value in part.index])
        parts.append(part)
    table = pd.concat(parts)
    return table.assign(ratio=table["came"] / table["foretold"])


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
    """Print the shares that came true, and who was late."""
    rows = []
    for case in CASES:
        machines = deal(gather(case))
        table = judge(machines).reset_index().drop(columns="goal_met")
        said = [promise(*row) for row in zip(table["came_true"], table["accepted"], strict=True)]
        rows.append(table.assign(promise=said, case=case.name))
        if case is FIRST:
            late = who_was_late(machines)
    whole = pd.concat(rows).set_index(["case", "accepted"])
    print(whole.to_string(float_format="{:.3f}".format), end="\n\n")
    print("just overhauled, 5 %: limits passed inside the intervals")
    print(late.to_string(float_format="{:.2f}".format))


if __name__ == "__main__":
    main()

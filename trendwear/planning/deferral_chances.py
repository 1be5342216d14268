"""What a later date does to one machine: chances by consequence, clearances and their readings.

Chances are those of the plan, by `trendwear.planning.together`.  The reading to be expected
after ``H`` planned hours is a quantile of the mixture over the nodes ``f_j``, ``w_j`` of the duty
and the components ``k`` of the wear,

    sum_jk w_j w_k Phi((x - m_k(f_j H)) / sqrt(v_k(f_j H) + u^2))

with ``u`` the reading's own uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.dates import duty_factors, duty_weights
from trendwear.forecasting.mixtures import quantile
from trendwear.lengths import MM_PER_UNIT
from trendwear.planning.accepted import UNSAID, Accepted
from trendwear.planning.overhaul import Limiting
from trendwear.planning.together import Together, none_of
from trendwear.tables import Columns
from trendwear.wording import fold

__all__ = [
    "AT_DATES",
    "CHANCES",
    "TOGETHER",
    "Moments",
    "chances_at",
    "clearances_at",
    "of_machine",
]

Floats = NDArray[np.float64]

TOGETHER: Final = "all limits together"
_NOT_STATED: Final = "consequence not stated"

CHANCES: Final[Columns] = {
    "heading": "text",  # a consequence, or TOGETHER
    "accepted": "number",  # risk that holds for it; empty where none does
    "by": "text",  # who accepted it, and when
    "accepted_on": "date",
    "strictest": "flag",  # nobody accepted one for it: held to the strictest of all
    "clearances": "count",
    **dict.fromkeys(("now", "planned", "to"), "number"),  # chance that some limit is passed
}

AT_DATES: Final[Columns] = {
    **dict.fromkeys(("clearance", "moves", "consequence", "unit"), "text"),
    "position": "count",
    "past": "flag",  # past its limit today: it stands apart
    "limit": "number",
    "chance_now": "number",
    "chance_planned": "number",
    "chance_to": "number",
    "share": "number",  # of the sum of chances at the later date; none for those past today
    **{f"planned_{q}": "number" for q in ("p05", "p50", "p95")},  # reading to be expected
    **{f"to_{q}": "number" for q in ("p05", "p50", "p95")},
    "reach_planned": "number",  # hours since the last reading over the longest run measured
    "reach_to": "number",
}
"""Lengths in each row's own unit."""

_QUANTILES: Final = {"p05": 0.05, "p50": 0.50, "p95": 0.95}


@dataclass(frozen=True)
class Moments:
    """Planned running hours from now to the planned and to the later date; NaN where unknown."""

    planned: float
    to: float


def of_machine(limiting: Limiting, machine: str) -> Limiting:
    """The limiting clearances of one machine, as a site of its own."""
    place = int(limiting.machines.get_indexer([machine])[0])
    mine = limiting.only((limiting.rows["code"] == place).to_numpy())
    return replace(
        mine,
        machines=limiting.machines[[place]],
        rows=mine.rows.assign(code=0),
        spread=limiting.spread[[place]],
    )


def chances_at(
    mine: Limiting, accepted: Accepted, risks: pd.DataFrame, at: Moments, read_past: pd.Series
) -> pd.DataFrame:
    """Return `CHANCES`: by consequence, and of all limits of the machine together.

    What was read past its limit counts as past for certain.

    Parameters
    ----------
    mine : Limiting
        Of one machine, those past their limit today among them.
    accepted : Accepted
    risks : DataFrame
        The ``risks`` sheet (`trendwear.planning_tables.RISKS`): who accepted what.
    at : Moments
    read_past : Series of str
        Consequences of the clearances that were read past their limit and have no forecast.
    """
    consequence = pd.concat([mine.rows["consequence"], read_past], ignore_index=True)
    if consequence.empty:
        return tables.empty(CHANCES)
    by_risk = accepted.for_all is None
    heading = accepted.heading(consequence) if by_risk else _named(consequence)
    code, names = pd.factorize(heading)
    table = pd.DataFrame({"heading": names, "clearances": np.bincount(code)})
    table = table.assign(strictest=names == UNSAID, **_any(mine, code.astype(np.int64), at))
    every = np.zeros(len(consequence), dtype=np.int64)
    whole = pd.DataFrame({"heading": [TOGETHER], "clearances": len(every), "strictest": False})
    whole = whole.assign(**_any(mine, every, at))
    if not by_risk:
        whole["accepted"] = accepted.for_all
        return tables.conform(pd.concat([whole, table], ignore_index=True), CHANCES)
    table["accepted"] = [accepted.risk(str(name)) for name in names]
    signed = risks.assign(heading=[fold(str(name)) for name in risks["consequence"]])
    signed = signed.drop_duplicates("heading", keep="last").set_index("heading")
    signed = signed.reindex([str(name) for name in names])
    table["by"], table["accepted_on"] = signed["by"].to_numpy(), signed["date"].to_numpy()
    table = table.sort_values("accepted", kind="stable")
    return tables.conform(pd.concat([table, whole], ignore_index=True), CHANCES)


def together_at(mine: Limiting, at: Moments) -> dict[str, float]:
    """Return the chance that any of these limits is passed, by ``now``, ``planned``, ``to``."""
    if mine.rows.empty:
        return dict.fromkeys(("now", "planned", "to"), float("nan"))
    one = _any(mine, np.zeros(len(mine.rows), dtype=np.int64), at)
    return {name: float(value[0]) for name, value in one.items()}


def _named(consequence: pd.Series) -> pd.Series:
    return consequence.map(lambda text: fold(text) if isinstance(text, str) else _NOT_STATED)


def _any(mine: Limiting, group: NDArray[np.int64], at: Moments) -> dict[str, Floats]:
    """Chances of groups at the three moments; groups beyond the rows are past for certain."""
    count, known = int(group.max()) + 1, len(mine.rows)
    read_past = mine.rows["measured_past"].to_numpy(dtype=bool)
    spread = np.full(known, float(mine.spread[0]))
    alone = Together.as_planned(mine.crossing, np.arange(known), spread)
    # Both limits of one clearance are one part; rows beyond the known ones are parts of their own.
    part = np.append(mine.rows["position"], -1 - np.arange(len(group) - known)).astype(np.int64)
    found = {}
    for name, value in {"now": 0.0, "planned": at.planned, "to": at.to}.items():
        nodes = np.ones((len(group), len(alone.weights)))
        if known:
            nodes[:known] = alone.at_nodes(np.full(known, value))
        nodes[:known][read_past] = 1.0
        none = none_of(nodes, group, count, part)
        found[name] = np.asarray((1.0 - none) @ alone.weights, dtype=float)
    return found


def clearances_at(mine: Limiting, u_mm: Floats, sign: Floats, at: Moments) -> pd.DataFrame:
    """Return `AT_DATES`: those past today first, then by their share of the chance.

    Parameters
    ----------
    mine : Limiting
        Of one machine.
    u_mm : ndarray, shape (n,)
        Standard uncertainty of a reading of each.
    sign : ndarray, shape (n,)
        1 where wear opens the clearance, -1 where it closes it.
    at : Moments
    """
    rows, crossing = mine.rows, mine.crossing
    spread = float(mine.spread[0])
    alone = Together.as_planned(crossing, np.arange(len(rows)), np.full(len(rows), spread))
    past = rows["past"].to_numpy(dtype=bool)
    per_unit = rows["unit"].map(MM_PER_UNIT).to_numpy(dtype=float)
    run, longest = rows["run"].to_numpy(dtype=float), rows["longest_run"].to_numpy(dtype=float)
    chance = {
        name: alone.each(np.full(len(rows), hours)) if len(rows) else np.zeros(0)
        for name, hours in {"now": 0.0, "planned": at.planned, "to": at.to}.items()
    }
    read_past = rows["measured_past"].to_numpy(dtype=bool)
    chance = {name: np.where(read_past, 1.0, value) for name, value in chance.items()}
    told = chance["to"] if np.isfinite(at.to) else chance["now"]
    counted = np.where(past, 0.0, told)
    total = counted.sum()
    table = rows.assign(
        limit=rows["limit_mm"] / per_unit,
        share=np.where(past, np.nan, counted / total if total > 0 else np.nan),
        reach_planned=(run + at.planned) / longest,
        reach_to=(run + at.to) / longest,
        **{f"chance_{name}": value for name, value in chance.items()},
    )
    for name, hours in (("planned", at.planned), ("to", at.to)):
        found = _expected(crossing, u_mm, spread, hours)
        for q, level in _QUANTILES.items():
            other = f"p{round(100 * (1 - level)):02d}"
            worn = np.where(sign > 0, found[q], -found[other])
            table[f"{name}_{q}"] = worn / per_unit
    order = table.assign(first=~past, most=-table["share"].fillna(0.0))
    table = table.loc[order.sort_values(["first", "most"], kind="stable").index]
    return tables.conform(table, AT_DATES)


def _expected(crossing: Crossing, u_mm: Floats, spread: float, hours: float) -> dict[str, Floats]:
    """Quantiles (n,) of the reading to be expected after so many planned hours, worn-positive."""
    factors, weights = duty_factors(np.array([spread]))[0], duty_weights()
    parts = [crossing.true_clearance(crossing.run + hours * factor) for factor in factors]
    mean = np.concatenate([part[0] for part in parts], axis=1)
    gauge = crossing.wear.gauge_scale * u_mm[:, None]
    sd = np.concatenate([np.hypot(part[1], gauge) for part in parts], axis=1)
    weight = np.concatenate([crossing.wear.weight * one for one in weights], axis=1)
    if not np.isfinite(hours):
        return {name: np.full(len(mean), np.nan) for name in _QUANTILES}
    return {name: quantile(weight, mean, sd, q) for name, q in _QUANTILES.items()}

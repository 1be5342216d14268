"""The next outage at which each clearance can be reached, and when to order its part for it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.forecasting.evidence import evidence
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.limiting import against_limits, crossing_of
from trendwear.planning.spares import OrderRules, needed_on, orders_of, parts_fitted
from trendwear.planning.together import Together
from trendwear.planning.windows import ahead_of, hindrance, planned_hours
from trendwear.planning_tables import NEXT_OPENINGS

__all__ = ["next_openings"]

Floats = NDArray[np.float64]


def next_openings(told: SiteForecast, rules: OrderRules | None = None) -> pd.DataFrame:
    """Return the next outage of every clearance with a limit (`NEXT_OPENINGS`).

    It is the first window after today that the machine fits and that reaches the
    clearance.  Its part is to be ordered where, left as it is, the clearance may well pass
    its limit before the outage after that one (`OrderRules.contingent`).

    Returns
    -------
    DataFrame
        Empty where no window is ahead.
    """
    rules = rules or OrderRules()
    as_of = pd.Timestamp(told.as_of).as_unit("us")
    coming = ahead_of(told.site.planning.outages, as_of)
    register = told.basis.register
    register = register[register["limit_mm"].notna()].reset_index(drop=True)
    if coming.empty or register.empty:
        return tables.empty(NEXT_OPENINGS)
    clocks = told.basis.clocks
    machines = pd.Index(register["machine"].unique(), dtype="object")
    code = machines.get_indexer(register["machine"])
    planned = planned_hours([clocks[str(name)] for name in machines], coming["start"])
    first, after = _first_two(told, register, coming)
    usual = np.array([told.basis.horizon_hours[str(name)] for name in machines], dtype=float)
    until = np.where(first >= 0, planned[code, first], np.nan)
    beyond = np.where(after >= 0, planned[code, after], until + usual[code])
    chance, chance_after = _chances(told, register, [until, beyond])
    names = np.array([*coming["outage"], None], dtype=object)
    needed = needed_on(coming, as_of).to_numpy()
    table = register.assign(
        outage=names[first],
        chance=chance,
        chance_needed=np.where(first >= 0, chance_after, np.nan),
        needed_on=np.where(first >= 0, needed[first], np.datetime64("NaT")),
    )
    orders = _orders(told, table, rules)
    table = table[["machine", "clearance", "moves", "outage", "chance"]].merge(
        orders, how="left", on=["machine", "clearance"], validate="m:1"
    )
    for flag in ("on_shelf", "late"):
        table[flag] = table[flag].astype("boolean").fillna(value=False).astype(bool)
    return tables.conform(table, NEXT_OPENINGS)


def _orders(told: SiteForecast, table: pd.DataFrame, rules: OrderRules) -> pd.DataFrame:
    """What is to be ordered by when, the shelf shared out among all that may need a part."""
    most = table.sort_values("chance_needed", ascending=False, kind="stable", na_position="last")
    wanted = most.drop_duplicates(["machine", "clearance"])
    fitted = parts_fitted(wanted, told.basis.cut.work)
    wanted = wanted.assign(
        register_part_no=wanted["part_no"],
        part_no=fitted["part_no"],
        fitted_differs=fitted["fitted_differs"],
        renew=False,
    )
    as_of = pd.Timestamp(told.as_of).as_unit("us")
    orders = orders_of(wanted, told.site.planning.parts, as_of, rules)
    return orders[["machine", "clearance", "order_by", "late"]].assign(
        on_shelf=~(orders["to_order"] > 0)
    )


def _first_two(
    told: SiteForecast, register: pd.DataFrame, coming: pd.DataFrame
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Places of the first window that reaches each clearance, and of the next after it; else -1."""
    facts = told.site.machines.drop_duplicates("machine").set_index("machine").to_dict("index")
    windows = coming.to_dict("records")
    starts, ends = coming["start"].tolist(), coming["end"].tolist()

    def two(machine: str, access: object) -> tuple[int, int]:
        reached = {access} if isinstance(access, str) else set()
        own: dict[Any, Any] = facts.get(machine, {})
        fits = [place for place, one in enumerate(windows) if not hindrance(own, one, reached)]
        later = [place for place in fits[1:] if starts[place] > ends[fits[0]]]
        return (fits[0] if fits else -1), (later[0] if later else -1)

    keys = register[["machine", "access"]]
    told_once = {
        (row.machine, row.access if isinstance(row.access, str) else None): two(
            str(row.machine), row.access
        )
        for row in keys.drop_duplicates().itertuples()
    }
    both = np.array(
        [
            told_once[(machine, access if isinstance(access, str) else None)]
            for machine, access in zip(keys["machine"], keys["access"], strict=True)
        ],
        dtype=np.int64,
    )
    return both[:, 0], both[:, 1]


def _chances(told: SiteForecast, register: pd.DataFrame, asked: list[Floats]) -> list[Floats]:
    """Chance of each clearance past its limit after planned hours; NaN where unknown."""
    basis = told.basis
    clocks = [basis.clocks[str(name)] for name in register["machine"]]
    hours = np.array([clock.hours for clock in clocks], dtype=float)
    rows = against_limits(basis, register, evidence(basis.cut), hours)
    known = np.flatnonzero(rows["told"].to_numpy(dtype=bool))
    crossing = crossing_of(basis, rows.iloc[known])
    spread = np.array([clocks[place].duty.spread for place in known], dtype=float)
    together = Together.as_planned(crossing, np.arange(len(known)), spread)
    chances = []
    for until in asked:
        chance = np.full(len(register), np.nan)
        if len(known):
            chance[known] = together.each(np.nan_to_num(until[known]))
        chances.append(np.where(np.isfinite(until), chance, np.nan))
    return chances

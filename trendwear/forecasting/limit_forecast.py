"""The limit-forecast table: one row for every register row, in its own unit."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from enum import Enum

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import planning_tables, tables
from trendwear.fit.family_fit import FamilyFit
from trendwear.forecasting.ahead import Ahead
from trendwear.forecasting.clock import Clock
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.dates import planned_hours_at
from trendwear.forecasting.evidence import evidence
from trendwear.lengths import MM_PER_UNIT
from trendwear.segments.histories import Histories
from trendwear.segments.hour_line import dates_of
from trendwear.wear.state import WearMixture, rows_of

__all__ = ["METHOD_VERSION", "Basis", "LimitForecast", "Outcome", "forecast_rows"]

Floats = NDArray[np.float64]

METHOD_VERSION = "2: family model with scatter of wear"
WEARS_FOR_SURE = 0.9
"""Below this chance that the rate is positive it is not called wear."""
NOISE = 9
"""Decimals beyond which a reading in its own unit is nothing but the noise of conversion."""
USUAL_RUN = 8000.0
"""Hours over which a rate is meant where neither an interval nor a run is known."""
_QUANTILES = {"p05": 0.05, "p50": 0.50, "p95": 0.95}


class Outcome(Enum):
    """What a row's forecast comes to; the first that applies."""

    NO_LIMIT = "no limit"
    TOO_FEW = "too few readings"
    MEASURED_PAST = "measured past limit"
    PAST = "past limit"
    REACHES = "reaches limit"
    NO_WEAR = "no measurable wear"
    BEYOND = "beyond horizon"


@dataclass(frozen=True)
class LimitForecast:
    """The limit-forecast table and what is needed to show it.

    Attributes
    ----------
    table : DataFrame
        `tables.LIMIT_FORECAST`, one row a register row, in the register's order.
    decimals : Series of int
        Decimals that the gauge carries, in the row's own unit; index as ``table``.
    limiting : Series of bool
        Whether the row may set the overhaul; index as ``table``.
    as_of : date
    method_version : str
    next_openings : DataFrame
        `trendwear.planning_tables.NEXT_OPENINGS`; empty where no outage is planned.
    """

    table: pd.DataFrame
    decimals: pd.Series
    limiting: pd.Series
    as_of: dt.date
    method_version: str = METHOD_VERSION
    next_openings: pd.DataFrame = field(
        default_factory=lambda: tables.empty(planning_tables.NEXT_OPENINGS)
    )


@dataclass(frozen=True)
class Basis:
    """What a forecast stands on.

    Attributes
    ----------
    register : DataFrame
        `tables.CLEARANCES` rows in force, one for each clearance and way it is limited.
    cut : Histories
    families : FamilyFit
    wear : WearMixture
        One row a position: as the families say, starts of renewed parts assumed.
    ahead : Ahead
        One row a position: the exposure that coming hours bring.
    last_hours : Series
        By position: hours of the current segment's last reading, or of its start.
    assumed : Series of bool
        By position: the present value is assumed from the family.
    clocks : dict of str to Clock
    horizon_hours : dict of str to float
        Overhaul interval of each machine, NaN where unknown.
    """

    register: pd.DataFrame
    cut: Histories
    families: FamilyFit
    wear: WearMixture
    ahead: Ahead
    last_hours: pd.Series
    assumed: pd.Series
    clocks: dict[str, Clock]
    horizon_hours: dict[str, float]


def forecast_rows(basis: Basis, as_of: pd.Timestamp) -> pd.DataFrame:
    """Return the limit-forecast table (`tables.LIMIT_FORECAST`, ``notes`` still empty).

    Rows stand in the register's order and bear its index; columns ``position``,
    ``limiting``, ``consequence``, ``assumed``, ``p_never``, ``run_since``, ``u_mm`` are added
    for those who write the notes.
    """
    rows = _register_columns(basis, as_of)
    _evidence(rows, basis)
    crossing = _crossing(basis, rows)
    _present(rows, crossing)
    _rates(rows, crossing)
    _hours_and_dates(rows, crossing, basis)
    _horizon(rows, crossing)
    _reach(rows)
    rows["outcome"] = _outcome(rows, crossing)
    rows["notes"] = None
    extra = ["position", "limiting", "consequence", "assumed", "p_never", "run_since", "u_mm"]
    table = tables.conform(rows, tables.LIMIT_FORECAST)
    return pd.concat([table, rows[extra]], axis=1)


def _register_columns(basis: Basis, as_of: pd.Timestamp) -> pd.DataFrame:
    """The register's columns in the row's own unit, and where the machine stands."""
    cut = basis.cut
    rows = basis.register.copy()
    key = pd.MultiIndex.from_frame(cut.positions[["machine", "clearance"]])
    rows["position"] = key.get_indexer(pd.MultiIndex.from_frame(rows[["machine", "clearance"]]))
    rows["per_unit"] = rows["unit"].map(MM_PER_UNIT).astype("float64")
    sign = cut.positions["sign"].to_numpy()[rows["position"]]
    rows["sign"] = sign
    rows["side"] = np.where(rows["moves"] == "opens", 1.0, -1.0) * sign
    rows["limit"] = (rows["limit_mm"] / rows["per_unit"]).round(NOISE)
    rows["as_of"] = as_of
    rows["family"] = cut.positions["family"].to_numpy()[rows["position"]]
    rows["assumed"] = basis.assumed.to_numpy()[rows["position"]]
    clocks = [basis.clocks[machine] for machine in rows["machine"]]
    rows["run_hours"] = [clock.hours for clock in clocks]
    rows["day"] = [clock.day for clock in clocks]
    rows["spread"] = [clock.duty.spread for clock in clocks]
    last = basis.last_hours.to_numpy()[rows["position"]]
    rows["run_since"] = np.maximum(rows["run_hours"] - last, 0.0)
    rows["horizon_hours"] = [basis.horizon_hours[machine] for machine in rows["machine"]]
    numbers = ["run_hours", "day", "spread", "run_since", "horizon_hours", "side", "sign"]
    return rows.astype(dict.fromkeys(numbers, "float64"))


def _crossing(basis: Basis, rows: pd.DataFrame) -> Crossing:
    """The forecasts of the rows: one mixture a row, worn-positive."""
    at = rows["position"].to_numpy(dtype=np.int64)
    return Crossing(
        wear=rows_of(basis.wear, at),
        limit=(rows["limit_mm"] * rows["sign"]).to_numpy(),
        side=rows["side"].to_numpy(),
        run=rows["run_since"].to_numpy(),
        ahead=basis.ahead.at(at),
    )


def _present(rows: pd.DataFrame, crossing: Crossing) -> None:
    run = crossing.run
    mean, _ = crossing.true_clearance(run)
    level = (crossing.wear.weight * mean).sum(axis=1)
    rows["clearance_now"] = level * rows["sign"] / rows["per_unit"]
    rows["chance_past_now"] = crossing.chance_at(run)
    design = rows[["design_min_mm", "design_max_mm"]].mean(axis=1)
    allowance = rows["limit_mm"] - design
    used = (rows["clearance_now"] * rows["per_unit"] - design) / allowance
    rows["allowance_used"] = (100.0 * used).where(allowance != 0)


def _rates(rows: pd.DataFrame, crossing: Crossing) -> None:
    per_1000h = 1000.0 / rows["per_unit"]
    side = crossing.side
    over = rows["horizon_hours"].fillna(rows["longest_run"]).fillna(USUAL_RUN).to_numpy()
    low, high = crossing.wear_per_hour(over, 0.05), crossing.wear_per_hour(over, 0.95)
    rows["rate_per_1000h"] = side * crossing.mean_wear_per_hour(over) * per_1000h
    rows["rate_low"] = np.where(side > 0, low, -high) * per_1000h
    rows["rate_high"] = np.where(side > 0, high, -low) * per_1000h
    rows["own_share"] = crossing.wear.own_share


def _hours_and_dates(rows: pd.DataFrame, crossing: Crossing, basis: Basis) -> None:
    has_rate = rows["rate_per_1000h"].notna().to_numpy()
    past = _measured_past(rows, crossing)
    spread = rows["spread"].to_numpy()
    for name, q in _QUANTILES.items():
        hours = np.maximum(crossing.hours_at(q) - crossing.run, 0.0)
        hours = np.where(has_rate & (hours <= FARTHEST_HOURS), hours, np.nan)
        # What was read past its limit is past it, whether or not there is a rate.
        hours = np.where(past & ~has_rate, 0.0, hours)
        rows[f"hours_to_limit_{name}"] = hours
        planned = np.where(np.isfinite(hours), planned_hours_at(crossing, spread, q), np.nan)
        planned = np.where(hours == 0.0, 0.0, planned)
        rows[f"date_{name}"] = _dates(rows, planned, basis.clocks)
    far = np.full(len(rows), FARTHEST_HOURS) + np.nan_to_num(crossing.run)
    rows["p_never"] = 1.0 - crossing.chance_at(far)


def _dates(rows: pd.DataFrame, planned: Floats, clocks: dict[str, Clock]) -> pd.Series:
    """The dates by which so many planned hours have been run."""
    day = np.full(len(rows), np.nan)
    for machine, places in rows.groupby("machine").indices.items():
        clock = clocks[str(machine)]
        day[places] = clock.duty.day_after(clock.day, planned[places])
    return dates_of(pd.Series(day, index=rows.index))


def _horizon(rows: pd.DataFrame, crossing: Crossing) -> None:
    """Chance at the horizon and the reading one would then take; overdue: at the day."""
    horizon = rows["horizon_hours"].to_numpy()
    at = np.maximum(horizon, crossing.run)
    rows["chance_past_horizon"] = crossing.chance_at(at)
    u = rows["u_mm"].to_numpy(dtype=float)
    worn = {q: crossing.found_at(at, u, q) for q in _QUANTILES.values()}
    falls = rows["sign"].to_numpy() < 0
    for name, q in _QUANTILES.items():
        value = np.where(falls, -worn[round(1 - q, 2)], worn[q])
        rows[f"found_{name}"] = value / rows["per_unit"]


def _evidence(rows: pd.DataFrame, basis: Basis) -> None:
    """The last reading and how much there is to go by."""
    told = evidence(basis.cut).loc[rows["position"]].set_axis(rows.index)
    for name in ("u_mm", "readings", "segments", "longest_run", "last_worn_mm", "last_at_least"):
        rows[name] = told[name]
    rows["last_reading"] = (told["last_value_mm"] / rows["per_unit"]).round(NOISE)
    rows["last_reading_date"] = dates_of(told["last_day"])


def _reach(rows: pd.DataFrame) -> None:
    """How far the forecast goes beyond the longest run that was ever measured."""
    from_last = rows["hours_to_limit_p50"] + rows["run_since"]
    rows["reach"] = from_last.fillna(rows["horizon_hours"]) / rows["longest_run"]


def _measured_past(rows: pd.DataFrame, crossing: Crossing) -> NDArray[np.bool_]:
    """Whether the last reading of the current segment, later shims counted, is past the limit."""
    measured = rows["last_worn_mm"].to_numpy() * crossing.side
    limit = crossing.limit * crossing.side
    at_least = rows["last_at_least"].to_numpy() & (crossing.side > 0) & (measured >= limit)
    past: NDArray[np.bool_] = (measured > limit) | at_least
    return past


def _outcome(rows: pd.DataFrame, crossing: Crossing) -> list[str]:
    past = _measured_past(rows, crossing)
    wears = crossing.chance_that_it_wears()
    too_few = rows["clearance_now"].isna() | rows["rate_per_1000h"].isna()
    return list(
        np.select(
            [
                rows["limit"].isna(),
                too_few,
                past,
                rows["chance_past_now"] >= 0.5,
                rows["hours_to_limit_p50"].notna(),
                wears < WEARS_FOR_SURE,
            ],
            [
                Outcome.NO_LIMIT.value,
                Outcome.TOO_FEW.value,
                Outcome.MEASURED_PAST.value,
                Outcome.PAST.value,
                Outcome.REACHES.value,
                Outcome.NO_WEAR.value,
            ],
            Outcome.BEYOND.value,
        )
    )

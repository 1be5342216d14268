"""Which parts the openings meant will need, and how likely each is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from trendwear.forecasting.clock import Clock
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.overhaul import Limiting
from trendwear.planning.renewals import Renewals
from trendwear.planning.spares import OrderRules, needed_on, orders_of, parts_fitted
from trendwear.planning.together import Together
from trendwear.planning.windows import planned_hours

__all__ = ["orders_at"]


def orders_at(
    told: SiteForecast,
    limiting: Limiting,
    renewals: Renewals,
    coming: pd.DataFrame,
    rules: OrderRules,
) -> pd.DataFrame:
    """Return what to order for the openings meant (`trendwear.planning_tables.ORDERS`).

    A part's chance of being needed is the chance that, left as it is, it would pass its
    limit before the following opening.
    """
    as_of = pd.Timestamp(told.as_of).as_unit("us")
    orders = orders_of(_wanted(told, renewals, coming), told.site.planning.parts, as_of, rules)
    machine_clocks = [told.basis.clocks[str(machine)] for machine in limiting.machines]
    delivery = as_of + pd.to_timedelta(orders["lead_time_days"], unit="D")
    orders["chance_before_delivery"] = _chances(limiting, orders, delivery, machine_clocks)
    orders.loc[~(orders["to_order"] > 0), "chance_before_delivery"] = np.nan
    return orders


def _wanted(told: SiteForecast, renewals: Renewals, coming: pd.DataFrame) -> pd.DataFrame:
    """One row a clearance that may be renewed at its machine's opening."""
    table = renewals.table
    table = table[table["outage"].notna() & table["chance_left"].notna()]
    both = table.groupby(["machine", "clearance"], sort=False, as_index=False).agg(
        outage=("outage", "first"), chance_needed=("chance_left", "max"), renew=("renew", "any")
    )
    register = told.basis.register.drop_duplicates(["machine", "clearance"])
    fitted = parts_fitted(register, told.basis.cut.work)
    known = register[["machine", "clearance", "part", "quantity"]].assign(
        part_no=fitted["part_no"],
        fitted_differs=fitted["fitted_differs"],
        register_part_no=register["part_no"],
    )
    by_name = needed_on(coming, pd.Timestamp(told.as_of)).set_axis(coming["outage"])
    wanted = both.merge(known, how="left", on=["machine", "clearance"])
    by_name = by_name[~by_name.index.duplicated()]
    return wanted.assign(needed_on=by_name.reindex(wanted["outage"]).to_numpy())


def _chances(
    limiting: Limiting, orders: pd.DataFrame, dates: pd.Series, clocks: Sequence[Clock]
) -> np.ndarray:
    """Chance of each order's clearance to pass its limit by a date of its own."""
    rows = limiting.rows
    keys = pd.MultiIndex.from_frame(rows[["machine", "clearance"]])
    first = ~keys.duplicated()
    place = pd.Series(np.flatnonzero(first), index=keys[first])
    at = place.reindex(pd.MultiIndex.from_frame(orders[["machine", "clearance"]]))
    at = at.to_numpy(dtype=np.int64)
    code = rows["code"].to_numpy(dtype=np.int64)[at]
    hours = np.array(
        [
            planned_hours([clocks[number]], pd.Series([date], dtype="datetime64[us]"))[0, 0]
            for number, date in zip(code, dates, strict=True)
        ],
        dtype=float,
    )
    alone = Together.as_planned(
        limiting.crossing.rows(at), np.arange(len(at)), limiting.spread[code]
    )
    return alone.each(hours) if len(at) else hours

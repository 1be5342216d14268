"""A case beside today's plan: what moves, by how much, and what does not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.fit.kept import NOTHING_KEPT, KeptFits
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.case_renewals import Renewed, after_renewals, with_renewed
from trendwear.planning.cases import Case, accepted_in, check_fits, oddities, supposed
from trendwear.planning.plan import SitePlan, plan_dates
from trendwear.planning.spares import OrderRules
from trendwear.tables import Columns

__all__ = ["COMPARED", "Comparison", "compare_case"]

COMPARED: Final[Columns] = {
    "machine": "text",
    "as_of": "date",
    "moved": "flag",  # whether anything that follows is another
    "risk": "number",  # accepted today
    "latest_date": "date",
    "latest_date_case": "date",
    "moved_days": "number",  # of the latest date, later positive; empty where one is missing
    "outcome": "text",
    "outcome_case": "text",
    "outage": "text",  # last window in time
    "outage_case": "text",
    "window": "text",  # today's window, else the first that fits
    "chance_at_window": "number",  # that some limit is passed before it starts
    "chance_at_window_case": "number",  # empty where the case has no such window
    **dict.fromkeys(("governed_by", "governed_by_case"), "text"),
    **dict.fromkeys(("order_by", "order_by_case"), "date"),
    **dict.fromkeys(("renew", "renew_case"), "text"),
    "risk_case": "number",
    # Clearances past their limit already; chances at the window are by the others alone.
    **dict.fromkeys(("past_today", "past_today_case"), "text"),
}
"""One row a machine: whose date moves most first, those for which nothing changes last."""

_PAIRS: Final = ("latest_date", "outcome", "outage", "order_by", "renew", "risk", "past_today")
_NAMES: Final = ("governed_by",)
_LEAST_CHANCE: Final = 1e-9


@dataclass(frozen=True)
class Comparison:
    """A case beside today's plan.

    Attributes
    ----------
    case : Case
    today, then : SitePlan
        The plan as it is, and as the case has it.
    told : SiteForecast
        The forecast as the case has it, renewals left out.
    renewed : list of Renewed
        What renewals make of their machines.
    table : DataFrame
        `COMPARED`.
    remarks : tuple of str
        What must be known beside the numbers.
    """

    case: Case
    today: SitePlan
    then: SitePlan
    told: SiteForecast
    renewed: list[Renewed]
    table: pd.DataFrame
    remarks: tuple[str, ...]


def compare_case(
    told: SiteForecast,
    case: Case,
    today: SitePlan,
    rules: OrderRules | None = None,
    kept: KeptFits = NOTHING_KEPT,
) -> Comparison:
    """Work out a case and hold it beside today's plan.  Nothing is stored.

    Parameters
    ----------
    told : SiteForecast
        The forecast that ``today`` was planned from.
    case : Case
    today : SitePlan
        At the accepted risks that the case is compared with.
    rules : OrderRules, optional
        Those of ``today``.
    kept : KeptFits, optional
        Fits from before, of use where a renewal changes a history.

    Raises
    ------
    UnknownName, UsageProblem
        The case does not fit the site today: as `trendwear.planning.cases.check_fits`.
    """
    check_fits(told, case, today.accepted)
    accepted = accepted_in(case, today.accepted)
    as_supposed = supposed(told, case)
    then = plan_dates(as_supposed, accepted, rules)
    renewed = after_renewals(as_supposed, case, (accepted, rules), kept)
    remarks = [*oddities(told, as_supposed, case)]
    for one in renewed:
        then, more = with_renewed(then, one)
        remarks += more
    table = _side_by_side(today, then)
    return Comparison(case, today, then, as_supposed, renewed, table, tuple(remarks))


def _side_by_side(today: SitePlan, then: SitePlan) -> pd.DataFrame:
    one = today.overhaul.set_index("machine")
    other = then.overhaul.set_index("machine").reindex(one.index)
    window = _window(today)
    rows = pd.DataFrame(
        {
            "as_of": one["as_of"],
            "moved_days": (other["latest_date"] - one["latest_date"]).dt.days,
            "window": window.reindex(one.index),
            **{name: one[name] for name in (*_PAIRS, *_NAMES)},
            **{f"{name}_case": other[name] for name in (*_PAIRS, *_NAMES)},
        }
    )
    rows["chance_at_window"] = _chance(today, rows["window"])
    rows["chance_at_window_case"] = _chance(then, rows["window"])
    rows["moved"] = _moved(rows)
    rows = rows.reset_index(names="machine")
    days = rows["moved_days"].abs().fillna(-1.0)
    rows = rows.assign(days=days).sort_values(["moved", "days"], ascending=False, kind="stable")
    return tables.conform(rows.reset_index(drop=True), COMPARED)


def _window(today: SitePlan) -> pd.Series:
    """Each machine's last window in time, else the first in which it can be opened."""
    fit = today.windows[today.windows["hindrance"].isna()].drop_duplicates("machine")
    first = fit.set_index("machine")["outage"]
    in_time = today.overhaul.set_index("machine")["outage"]
    return in_time.where(in_time.notna(), first.reindex(in_time.index)).astype("object")


def _chance(plan: SitePlan, window: pd.Series) -> pd.Series:
    found = plan.windows.drop_duplicates(["machine", "outage"])
    chance = found.set_index(["machine", "outage"])["chance_before"]
    wanted = pd.MultiIndex.from_arrays([window.index, window])
    return pd.Series(chance.reindex(wanted).to_numpy(dtype=float), index=window.index)


def _moved(rows: pd.DataFrame) -> pd.Series:
    """Whether a row's answer is another: shares of what governs may shift unsaid."""
    differ = pd.Series(data=False, index=rows.index)
    for name in _PAIRS:
        differ |= _unlike(rows[name], rows[f"{name}_case"])
    one, other = rows["chance_at_window"], rows["chance_at_window_case"]
    apart = (one - other).abs() > _LEAST_CHANCE
    return differ | apart | (one.isna() != other.isna())


def _unlike(one: pd.Series, other: pd.Series) -> pd.Series:
    both: Any = one.isna() & other.isna()
    return pd.Series(np.asarray((one != other) & ~both, dtype=bool), index=one.index)

"""The cost side of a site's plan: standing intervals, and the openings on offer."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import Accepted
from trendwear.planning.answers import Answers
from trendwear.planning.cost import CostCurve
from trendwear.planning.cost_basis import overhaul_costs, to_renew
from trendwear.planning.cost_curves import Renewed, curves_of, renewed_machines
from trendwear.planning.cost_openings import LATEST_OVERHAUL, opening_costs
from trendwear.planning.limiting import may_limit
from trendwear.planning.overhaul import Limiting
from trendwear.planning.windows import planned_hours
from trendwear.planning_tables import COSTS, OPENING_COSTS

__all__ = ["PlanCosts", "costs_of_plan"]


@dataclass(frozen=True)
class PlanCosts:
    """What intervals and openings cost; empty where no costs are given.

    Attributes
    ----------
    table : DataFrame
        `trendwear.planning_tables.COSTS`, one row for each machine that costs are given for.
    openings : DataFrame
        `trendwear.planning_tables.OPENING_COSTS`.
    curves : dict of str to CostCurve
        Cost of the standing interval by machine, per running hour.
    """

    table: pd.DataFrame = field(default_factory=lambda: tables.empty(COSTS))
    openings: pd.DataFrame = field(default_factory=lambda: tables.empty(OPENING_COSTS))
    curves: dict[str, CostCurve] = field(default_factory=dict)

    def of(self, machines: set[str]) -> PlanCosts:
        """Return the same of some machines."""
        return PlanCosts(
            self.table[self.table["machine"].isin(machines)].reset_index(drop=True),
            self.openings[self.openings["machine"].isin(machines)].reset_index(drop=True),
            {name: curve for name, curve in self.curves.items() if name in machines},
        )


def costs_of_plan(
    told: SiteForecast,
    limiting: Limiting,
    answers: Answers,
    accepted: Accepted,
    planned: tuple[pd.DataFrame, pd.DataFrame],
) -> PlanCosts:
    """Return the cost of every machine's intervals and openings.

    Parameters
    ----------
    told : SiteForecast
    limiting : Limiting
        All that may limit, those past today among them.
    answers : Answers
    accepted : Accepted
    planned : (DataFrame, DataFrame)
        `WINDOWS` with their hindrances, and `RENEWALS`.
    """
    machines = told.site.machines
    if machines[["cost_if_past", "crew_day_cost"]].isna().all(axis=None):
        return PlanCosts()
    windows, renewals = planned
    windows = _with_costs(windows, told.site.planning.outages)
    governs = {
        str(machine): [*row["governs"].index, *row["past"]]
        for machine, row in answers.table.iterrows()
    }
    register = told.basis.register[may_limit(told.basis.register)]
    renewed = to_renew(register, renewals, governs)
    costs = overhaul_costs(told, renewed, _cheapest(windows))
    renewed = renewed[renewed["machine"].isin(costs.index)]
    fresh = renewed_machines(told.basis, _only(limiting, renewed), accepted)
    curves = curves_of(fresh, costs)
    usual = pd.Series(told.basis.horizon_hours, dtype=float)
    costs = _with_intervals(costs, fresh, curves, usual)
    openings = pd.concat([windows, _latest(told, answers, costs)], ignore_index=True)
    openings["place"] = costs.index.get_indexer(openings["machine"])
    openings = openings[openings["place"] >= 0].sort_values(["place", "date"], kind="stable")
    openings = openings.reset_index(drop=True)
    openings["past"] = [bool(answers.table.at[name, "past"]) for name in openings["machine"]]
    ended = opening_costs(openings, costs, answers.standing)
    _say(costs, (fresh, curves, ended), set(openings.loc[openings["past"], "machine"]))
    return PlanCosts(tables.conform(costs.reset_index(), COSTS), ended, curves)


def _only(limiting: Limiting, renewed: pd.DataFrame) -> Limiting:
    pairs = set(renewed.itertuples(index=False, name=None))
    named = zip(limiting.rows["machine"], limiting.rows["clearance"], strict=True)
    return limiting.only(np.array([pair in pairs for pair in named], dtype=bool))


def _with_costs(windows: pd.DataFrame, outages: pd.DataFrame) -> pd.DataFrame:
    """The windows as openings; one without a cost costs nothing."""
    cost = outages.drop_duplicates("outage").set_index("outage")["cost"].fillna(0.0)
    return windows.rename(columns={"outage": "opening", "start": "date"}).assign(
        window_cost=windows["outage"].map(cost).astype(float)
    )


def _cheapest(windows: pd.DataFrame) -> pd.DataFrame:
    """By machine the cheapest window that it can be opened in, the first of equal ones."""
    fits = windows[windows["hindrance"].isna()]
    first = fits.sort_values("window_cost", kind="stable").drop_duplicates("machine")
    return first.set_index("machine").rename(columns={"opening": "window"})[
        ["window", "window_cost"]
    ]


def _with_intervals(
    costs: pd.DataFrame, fresh: Renewed, curves: dict[str, CostCurve], usual: pd.Series
) -> pd.DataFrame:
    costs = costs.assign(
        usual_hours=usual.reindex(costs.index), risk_hours=fresh.risk_hours.reindex(costs.index)
    )
    told = pd.DataFrame(
        {
            "best_hours": {name: curve.best_hours for name, curve in curves.items()},
            "best_cost_per_1000h": {name: 1000 * one.best_cost for name, one in curves.items()},
            "flat_from": {name: curve.flat_from for name, curve in curves.items()},
            "flat_to": {name: curve.flat_to for name, curve in curves.items()},
        },
        dtype=float,
    )
    costs = costs.join(told)
    costs["no_best"] = [name in curves and curves[name].at_the_end for name in costs.index]
    for what in ("risk", "usual"):
        costs[f"{what}_cost_per_1000h"] = [
            1000.0 * curves[name].cost_at(hours) if name in curves else np.nan
            for name, hours in costs[f"{what}_hours"].items()
        ]
    return costs


def _latest(told: SiteForecast, answers: Answers, costs: pd.DataFrame) -> pd.DataFrame:
    """The latest overhaul still ahead of each machine, at what its cheapest window costs."""
    table = answers.table
    ahead = table["latest_date"] > pd.Timestamp(told.as_of)
    meant = table.index[ahead & table["past"].map(len).eq(0)]
    meant = meant.intersection(costs.index)
    place = answers.standing.machines.get_indexer(meant)
    clocks = told.basis.clocks
    hours = np.zeros(len(answers.standing.machines))
    for machine, number in zip(meant, place, strict=True):
        date = table.loc[[machine], "latest_date"]
        hours[number] = planned_hours([clocks[str(machine)]], date)[0, 0]
    chance = answers.standing.by_machine.any(hours) if len(meant) else hours
    return pd.DataFrame(
        {
            "machine": meant,
            "opening": LATEST_OVERHAUL,
            "date": table.loc[meant, "latest_date"].to_numpy(),
            "hours_until": hours[place],
            "chance_before": chance[place],
            "window_cost": costs.loc[meant, "window_cost"].to_numpy(),
            "hindrance": None,
        }
    )


def _say(
    costs: pd.DataFrame,
    found: tuple[Renewed, dict[str, CostCurve], pd.DataFrame],
    past: set[str],
) -> None:
    """Add what else must be known, and what is missing before there is a cost."""
    fresh, curves, ended = found
    unknown = set(ended.loc[ended["expected_cost"].isna(), "machine"])
    for machine in costs.index:
        notes, missing = [costs.at[machine, "notes"]], costs.at[machine, "missing"]
        name = str(machine)
        if name in fresh.startless:
            notes.append(
                f"not in the interval's cost, no start known: {', '.join(fresh.startless[name])}"
            )
        if not missing and name not in curves:
            missing = "a start of what is renewed: as-left readings after renewals, or design_min"
            costs.at[machine, "missing"] = missing
        if name in past and not missing:
            notes.append(
                "past its limit today: the cost of passing is counted whole in every window, "
                "waiting longer changes nothing in these costs"
            )
        if name in unknown:
            notes.append("no cost of the windows: its duty or a chance is not known")
        if name in curves and costs.at[machine, "cost_if_past"] < costs.at[machine, "planned"]:
            notes.append(
                "passing a limit costs less than an overhaul: opening early saves little, "
                "look at the cost_if_past again"
            )
        costs.at[machine, "notes"] = "; ".join(note for note in notes if note) or None
        costs.at[machine, "missing"] = missing or None

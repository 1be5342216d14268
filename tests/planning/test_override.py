"""The planner's own choice of window and renewals, held to the plan's own reckoning."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import trendwear
from trendwear import outlook, tables
from trendwear.errors import UnknownName
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import Accepted, accepted_for_all
from trendwear.planning.around import TODAY
from trendwear.planning.override import BY_HEADING, OpenMachine, open_at
from trendwear.planning.plan import SitePlan, plan_site
from trendwear.planning_tables import ORDERS, RENEWALS

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2020, 1, 1)
WINDOWS = {name: f"{name[-4:]}-05-01" for name in ("spring 2020", "spring 2021", "spring 2022")}


def clearance(name: str, **other: object) -> dict[str, object]:
    row: dict[str, object] = {
        "machine": "M",
        "clearance": name,
        "kind": "ring",
        "basis": "diametral",
    }
    row |= {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name, "part_no": "R-1"}
    row |= {"design_min": 0.1, "design_max": 0.2, "part": "ring"}
    return row | other


def steady(name: str, per_8000h: float, machine: str = "M") -> Rows:
    return [
        {
            "machine": machine,
            "clearance": name,
            "date": f"{2010 + number}-01-01",
            "run_hours": 8000 * number,
            "state": "as-found",
            "value": round(0.2 + per_8000h * number, 4),
            "uncertainty": 0.005,
        }
        for number in range(5)
    ]


PLANT: Mapping[str, Rows] = {
    "clearances": [
        clearance("fast", consequence="leak"),
        clearance("other", consequence="leak", set="pair"),
        clearance("slow", consequence="damage", set="pair"),
        clearance("float", consequence="damage", limit=0.48),
        clearance("float", consequence="damage", moves="closes", limit=0.02),
        clearance("of N", machine="N"),
    ],
    "readings": [
        *steady("fast", 0.04),
        *steady("other", 0.03),
        *steady("slow", 0.03),
        *steady("float", 0.02),
        *steady("of N", 0.05, "N"),
    ],
    "run_log": [{"machine": name, "date": "2019-12-31", "run_hours": 40000} for name in "MN"],
    "duty_plan": [
        {"machine": name, "from": "2020-01-01", "hours_per_day": 23, "spread": 0.2}
        for name in "MN"
    ],
    "outages": [
        {"outage": name, "start": start, "end": f"{start[:8]}20"}
        for name, start in WINDOWS.items()
    ],
    "parts": [
        {"part_no": "R-1", "part": "ring", "lead_time_days": 90, "in_stock": 1, "supplier": "A"}
    ],
}  # fmt: skip


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> SiteForecast:
    folder = tmp_path_factory.mktemp("plant")
    for name, rows in PLANT.items():
        pd.DataFrame(rows).to_csv(folder / f"{name}.csv", index=False)
    store = folder / "plant.duckdb"
    trendwear.load([folder], store=store)
    return outlook.look(store, as_of=AS_OF)


@pytest.fixture(scope="module")
def plan(told: SiteForecast) -> SitePlan:
    return plan_site(told, accepted_for_all(0.1))


def meant(plan: SitePlan, machine: str = "M") -> str:
    table = plan.renewals.table
    return str(table.loc[table["machine"] == machine, "outage"].iloc[0])


def mine(table: pd.DataFrame, machine: str = "M") -> pd.DataFrame:
    return table[table["machine"] == machine].reset_index(drop=True)


def test_the_plans_own_choice_gives_the_plans_own_numbers(
    told: SiteForecast, plan: SitePlan
) -> None:
    opened = open_at(told, plan, "M", meant(plan))
    recommended = mine(plan.renewals.table)
    pd.testing.assert_frame_equal(opened.table, recommended)
    assert opened.recommended == set(recommended.loc[recommended["renew"], "clearance"])
    assert opened.recommended
    found = opened.consequence(opened.recommended)
    tables.check(found.lines, RENEWALS)
    tables.check(found.by_heading, BY_HEADING)
    tables.check(found.orders, ORDERS)
    last = recommended.loc[recommended["renew"], "interval_hours"].iloc[-1]
    assert found.interval_hours == pytest.approx(last, rel=1e-9)
    pd.testing.assert_frame_equal(found.orders, mine(plan.orders))
    assert found.by_heading["holds"].all()


def test_nothing_renewed_is_as_it_is(told: SiteForecast, plan: SitePlan) -> None:
    left = open_at(told, plan, "M", meant(plan)).consequence([])
    assert left.interval_hours == pytest.approx(plan.renewals.as_it_is["M"])
    assert not left.by_heading["holds"].all()
    assert not left.lines["renew"].any()
    assert (left.lines["chance"] == left.lines["chance_left"]).all()


def test_one_renewal_more_never_shortens_the_interval(told: SiteForecast, plan: SitePlan) -> None:
    opened = open_at(told, plan, "M", meant(plan))
    hours, chances = [], []
    for count in range(5):
        found = opened.consequence(["fast", "slow", "other", "float"][:count])
        hours.append(found.interval_hours)
        chances.append(found.by_heading["chance"].max())
    assert hours == sorted(hours)
    assert chances == sorted(chances, reverse=True)
    assert hours[0] < hours[-1]


def counted(crossing: Crossing, gained: Any, draw: np.random.Generator) -> Any:
    """Whether each of many simulated machines has each clearance past its limit; (n, many)."""
    wear, many = crossing.wear, gained.shape[1]
    past = []
    for row in range(len(crossing.limit)):
        node = draw.choice(wear.weight.shape[1], size=many, p=wear.weight[row])
        level, rate = draw.standard_normal((2, many))
        sd_level = np.sqrt(wear.var_level[row, node])
        cov = wear.cov_level_rate[row, node]
        slope = np.divide(cov, sd_level, out=np.zeros(many), where=sd_level > 0)
        rest = np.sqrt(np.maximum(wear.var_rate[row, node] - slope**2, 0.0))
        rates = wear.rate[row, node] + slope * level + rest * rate
        steps = np.sqrt(wear.var_wear[row, node] * gained[row]) * draw.standard_normal(many)
        worn = wear.level[row, node] + sd_level * level + rates * gained[row] + steps
        past.append(crossing.side[row] * (worn - crossing.limit[row]) > 0)
    return np.array(past)


def test_the_chance_until_the_following_window_is_what_simulated_machines_do(
    told: SiteForecast, plan: SitePlan
) -> None:
    opened = open_at(told, plan, "M", "spring 2021")
    assert opened.following == "spring 2022"
    draw, many = np.random.default_rng(11), 200_000
    sigma = np.sqrt(np.log1p(0.2**2))
    factor = np.exp(sigma * draw.standard_normal(many) - sigma**2 / 2)
    found = opened.consequence(["slow"])
    rows, old, new = opened._mine.rows, opened._mine.crossing, opened._fresh
    left = counted(old, old.run[:, None] + opened.until_following * factor[None, :], draw)
    ahead = (opened.until_following - opened.until) * factor[None, :]
    renewed = counted(new, np.repeat(ahead, len(rows), axis=0), draw)
    past = np.where(rows["clearance"].eq("slow").to_numpy()[:, None], renewed, left)
    # One way of the float is drawn apart from the other: let it be as good as impossible.
    lower = (rows["moves"] == "closes").to_numpy()
    assert past[lower].mean() < 1e-3
    share = past[~lower].any(axis=0).mean()
    assert 0.05 < share < 0.95
    assert found.by_heading["chance"].iloc[0] == pytest.approx(share, abs=0.005)


def test_each_consequence_is_held_to_its_own_risk(told: SiteForecast) -> None:
    accepted = Accepted(by_consequence={"leak": 0.3, "damage": 0.01})
    opened = open_at(told, plan_site(told, accepted), "M", "spring 2021")
    table = opened.consequence(["slow", "float"]).by_heading.set_index("heading")
    assert table["risk"].to_dict() == {"leak": 0.3, "damage": 0.01}
    assert table["holds"].to_dict() == {"leak": False, "damage": True}


def test_the_interval_ends_where_the_risk_is_reached_and_what_governs_it(
    told: SiteForecast, plan: SitePlan
) -> None:
    found = open_at(told, plan, "M", "spring 2020").consequence(["fast"])
    assert found.governs.index[0] in ("slow", "other")
    assert 0 < found.interval_hours < FARTHEST_HOURS
    # 23 hours a day from the window's start on.
    days = found.interval_hours / 23
    assert abs(found.interval_date - (pd.Timestamp("2020-05-01") + pd.Timedelta(days=days))) < (
        pd.Timedelta(days=1.01)
    )


def test_parts_follow_the_choice(told: SiteForecast, plan: SitePlan) -> None:
    opened = open_at(told, plan, "M", "spring 2020")
    need = {
        names: opened.consequence(names).orders.set_index("clearance")["need"].to_dict()
        for names in [(), ("float",)]
    }
    assert "float" not in need[()]
    assert need["float",]["float"] == "firm"


def test_the_shelf_is_shared_with_the_other_machines(told: SiteForecast, plan: SitePlan) -> None:
    firm = mine(plan.orders, "N")["need"].tolist() == ["firm"]
    orders = open_at(told, plan, "M", meant(plan)).consequence(["fast", "other", "slow"]).orders
    whole = orders["from_stock"].sum() + (mine(plan.orders, "N")["from_stock"].sum() if firm else 0)
    assert whole <= 1.0


def test_a_set_renewed_in_part_is_told(told: SiteForecast, plan: SitePlan) -> None:
    opened = open_at(told, plan, "M", "spring 2020")
    assert opened.consequence(["slow"]).split_sets == ["pair"]
    assert opened.consequence(["slow", "other"]).split_sets == []


def test_a_part_limited_both_ways_is_renewed_for_both(told: SiteForecast, plan: SitePlan) -> None:
    lines = open_at(told, plan, "M", "spring 2020").consequence(["float"]).lines
    both = lines[lines["clearance"] == "float"]
    assert len(both) == 2
    assert both["renew"].all()


def test_opened_today_the_first_window_follows_and_parts_are_needed_now(
    told: SiteForecast, plan: SitePlan
) -> None:
    opened = open_at(told, plan, "M", TODAY)
    assert (opened.until, opened.following) == (0.0, "spring 2020")
    orders = opened.consequence(["fast", "slow"]).orders
    assert (orders["needed_on"] == pd.Timestamp(AS_OF)).all()
    assert orders.loc[orders["to_order"] > 0, "late"].all()


def test_after_the_last_window_the_usual_interval_follows(
    told: SiteForecast, plan: SitePlan
) -> None:
    opened = open_at(told, plan, "M", "spring 2022")
    assert opened.following == "usual interval"
    assert opened.until_following == pytest.approx(opened.until + 8000)


def test_with_unknown_duty_no_chance_is_told(stored: Stored) -> None:
    sheets = {name: rows for name, rows in PLANT.items() if name not in ("duty_plan", "run_log")}
    readings = [{**row, "date": None} for row in PLANT["readings"] if row["machine"] == "M"]
    told = outlook.look(stored({**sheets, "readings": readings}), as_of=AS_OF)
    opened = open_at(told, plan_site(told, accepted_for_all(0.1)), "M", "spring 2020")
    found = opened.consequence(["fast"])
    assert opened.recommended == frozenset()
    assert found.by_heading["chance"].isna().all()
    assert np.isnan(found.interval_hours)
    assert pd.isna(found.interval_date)
    now = open_at(told, plan_site(told, accepted_for_all(0.1)), "M", TODAY).consequence(["fast"])
    assert now.interval_hours > 0


def test_a_machine_that_nothing_limits_has_no_lines(stored: Stored) -> None:
    bare = [clearance("fast", limit=None), clearance("of N", machine="N")]
    readings = [*steady("fast", 0.04), *steady("of N", 0.05, "N")]
    told = outlook.look(stored({**PLANT, "clearances": bare, "readings": readings}), as_of=AS_OF)
    opened: OpenMachine = open_at(told, plan_site(told, accepted_for_all(0.1)), "M", "spring 2021")
    found = opened.consequence([])
    assert opened.table.empty
    assert found.by_heading.empty
    assert found.orders.empty
    assert np.isnan(found.interval_hours)


@pytest.mark.parametrize(
    ("machine", "outage", "renewed"),
    [("X", "spring 2020", []), ("M", "spring 1999", []), ("M", "spring 2020", ["of N"])],
)
def test_names_that_are_not_there_are_refused(
    told: SiteForecast, plan: SitePlan, machine: str, outage: str, renewed: list[str]
) -> None:
    with pytest.raises(UnknownName):
        open_at(told, plan, machine, outage).consequence(renewed)

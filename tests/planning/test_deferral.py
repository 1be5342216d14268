"""The evidence for a later date: dates, chances, readings, events, due dates and parts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from invented_deferrals import AS_OF, PLANT, clearance, steady, store_of
from scipy.stats import norm

from trendwear import outlook
from trendwear.errors import UnknownName, UsageProblem
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.deferral import BandRecord, Deferral, PastRecord, PlanRecord, deferral
from trendwear.planning.deferral_chances import AT_DATES, CHANCES, TOGETHER
from trendwear.planning.deferral_evidence import DUE, EVENTS_SINCE, PAST, RESTS_ON
from trendwear.planning.deferral_question import PlannedBy, Request, question
from trendwear.planning_tables import ORDERS
from trendwear.tables import check

Rows = Sequence[Mapping[str, object]]
TO = dt.date(2022, 6, 1)
NONE = BandRecord(0, 0, 0, 0)
NO_PLANS = PlanRecord(0, 0, 0, 0, 0, 0.0)
NO_RECORD = PastRecord(0.1, NO_PLANS, NO_PLANS, NONE, NONE)


def told_of(folder: Path, **sheets: Rows) -> SiteForecast:
    return outlook.look(store_of({**PLANT, **sheets}, folder), as_of=AS_OF)


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> SiteForecast:
    """The plant as it is."""
    return told_of(tmp_path_factory.mktemp("plain"))


def put_off(told: SiteForecast, to: dt.date = TO, **other: object) -> Deferral:
    asked = question(told, Request("M", to, AS_OF, **other))  # type: ignore[arg-type]
    return deferral(told, asked, NO_RECORD)


def drawn(told: SiteForecast, name: str, hours: float, count: int) -> tuple[np.ndarray, float]:
    """Draw the true clearance so many planned hours from now, and give its gauge's uncertainty."""
    rng = np.random.default_rng(7)
    (at,) = np.flatnonzero(told.cut.positions["clearance"] == name)
    wear = told.basis.wear
    since = told.basis.clocks["M"].hours - float(told.basis.last_hours[at])
    sigma = np.sqrt(np.log(1 + 0.1**2))
    run = since + hours * np.exp(sigma * rng.standard_normal(count) - sigma**2 / 2)
    which = rng.choice(wear.weight.shape[1], size=count, p=wear.weight[at])
    mean = wear.level[at, which] + wear.rate[at, which] * run
    variance = wear.var_level[at, which] + 2 * wear.cov_level_rate[at, which] * run
    variance += wear.var_rate[at, which] * run**2 + wear.var_wear[at, which] * run
    gauge = wear.gauge_scale[at, which] * 0.005
    value = mean + np.sqrt(variance) * rng.standard_normal(count)
    return value, value + gauge * rng.standard_normal(count)  # type: ignore[return-value]


def test_frames_have_their_columns(plain: SiteForecast) -> None:
    told = put_off(plain)
    for frame, columns in (
        (told.chances, CHANCES),
        (told.clearances, AT_DATES),
        (told.rests_on, RESTS_ON),
        (told.past, PAST),
        (told.events, EVENTS_SINCE),
        (told.due, DUE),
        (told.orders, ORDERS),
    ):
        check(frame, columns)


def test_chances_and_readings_are_those_of_a_simulation(plain: SiteForecast) -> None:
    site = plain
    told = put_off(site)
    hours = 20.0 * (TO - AS_OF).days
    assert told.at.to == pytest.approx(hours)
    assert pd.isna(told.duty.plan_ends)
    rows = told.clearances.set_index("clearance")
    past = {}
    for name in ("fast", "slow"):
        true, read = drawn(site, name, hours, 200_000)
        past[name] = true > 0.5
        assert rows.loc[name, "chance_to"] == pytest.approx(past[name].mean(), abs=0.004)
        for q in (5, 50, 95):
            found = np.percentile(read, q)
            assert rows.loc[name, f"to_p{q:02d}"] == pytest.approx(found, abs=0.002)
    chances = told.chances.set_index("heading")
    assert chances.loc["leak", "to"] == pytest.approx(past["fast"].mean(), abs=0.004)
    assert chances.loc["damage", "to"] == pytest.approx(past["slow"].mean(), abs=0.004)


def test_the_duty_is_shared_by_all_limits_of_a_machine(plain: SiteForecast) -> None:
    """The product stands inside the average over the duty: here by a fine sum over it."""
    site = plain
    told = put_off(site)
    wear, hours = site.basis.wear, told.at.to
    z = np.linspace(-6, 6, 2001)
    weight = norm.pdf(z) / norm.pdf(z).sum()
    sigma = np.sqrt(np.log(1 + 0.1**2))
    none = np.ones_like(z)
    for at in range(2):
        since = site.basis.clocks["M"].hours - float(site.basis.last_hours[at])
        run = (since + hours * np.exp(sigma * z - sigma**2 / 2))[:, None]
        mean = wear.level[at] + wear.rate[at] * run
        variance = wear.var_level[at] + 2 * wear.cov_level_rate[at] * run
        variance = variance + wear.var_rate[at] * run**2 + wear.var_wear[at] * run
        none *= 1 - (wear.weight[at] * norm.sf((0.5 - mean) / np.sqrt(variance))).sum(axis=1)
    together = told.chances.set_index("heading").loc[TOGETHER, "to"]
    assert together == pytest.approx(float(weight @ (1 - none)), abs=0.002)


def test_chances_rise_with_the_date_and_shares_are_whole(plain: SiteForecast) -> None:
    told = put_off(plain)
    assert (told.chances["now"] <= told.chances["planned"]).all()
    assert (told.chances["planned"] < told.chances["to"]).all()
    assert told.clearances["share"].sum() == pytest.approx(1.0)
    assert told.clearances["share"].is_monotonic_decreasing
    signed = told.chances.set_index("heading")
    assert list(signed["by"]) == ["works manager", "mill engineer", None]
    assert signed.loc["leak", "accepted_on"] == pd.Timestamp("2019-05-01")


def test_the_chances_at_a_window_are_the_plan_s(plain: SiteForecast) -> None:
    told = put_off(plain, dt.date(2030, 3, 1))
    window = told.question.plan.windows.set_index("outage").loc["spring 2030"]
    assert told.chances.set_index("heading").loc[TOGETHER, "to"] == pytest.approx(
        window["chance_before"]
    )
    assert list(told.windows_then["outage"]) == ["spring 2030"]


def test_one_risk_for_all_is_held_against_all(tmp_path: Path) -> None:
    told = put_off(told_of(tmp_path, risks=[]), risk=0.15)
    rows = told.chances.set_index("heading")
    assert rows["accepted"].dropna().to_dict() == {TOGETHER: 0.15}
    assert set(rows.index) == {TOGETHER, "leak", "damage"}


def test_a_consequence_nobody_accepted_is_held_to_the_strictest(tmp_path: Path) -> None:
    told = put_off(told_of(tmp_path, risks=[{"consequence": "damage", "accepted": 0.1}]))
    row = told.chances[told.chances["strictest"]].iloc[0]
    assert row["accepted"] == 0.1
    assert row["by"] is None


@pytest.mark.parametrize(
    ("sheets", "planned", "by"),
    [
        ({"events": []}, "2020-05-01", PlannedBy.WINDOW),
        ({"outages": []}, None, PlannedBy.LATEST),
        (
            {"outages": [], "due_dates": [{"machine": "M", "what": "test", "due": "2020-05-01"}]},
            "2020-05-01",
            PlannedBy.DUE,
        ),
    ],
)
def test_the_date_to_be_put_off_is_the_plan_s(
    tmp_path: Path, sheets: Mapping[str, Rows], planned: str | None, by: PlannedBy
) -> None:
    asked = put_off(told_of(tmp_path, **sheets)).question
    wanted = asked.answer["latest_date"] if planned is None else pd.Timestamp(planned)
    assert (asked.planned, asked.planned_by) == (wanted, by)


def test_a_person_may_name_the_planned_date(plain: SiteForecast) -> None:
    told = put_off(plain, planned=dt.date(2020, 8, 1))
    assert told.question.planned_by is PlannedBy.PERSON
    assert told.at.planned == pytest.approx(20 * (dt.date(2020, 8, 1) - AS_OF).days)


def test_a_planned_date_that_has_passed_counts_as_today(plain: SiteForecast) -> None:
    told = put_off(plain, planned=dt.date(2019, 8, 1))
    assert told.at.planned == 0.0
    assert told.chances["planned"].equals(told.chances["now"])


@pytest.mark.parametrize(
    ("machine", "to", "problem", "says"),
    [
        ("M", dt.date(2019, 12, 31), UsageProblem, "not after 2020-01-01"),
        ("M", AS_OF, UsageProblem, "not after"),
        ("M", dt.date(2020, 5, 1), UsageProblem, "nothing is put off"),
        ("M", dt.date(2099, 1, 1), UsageProblem, "30 years"),
        ("Mm", TO, UnknownName, "Near it: M"),
        ("turbine 9", TO, UnknownName, "It has: M"),
    ],
)
def test_what_cannot_be_asked(
    plain: SiteForecast, machine: str, to: dt.date, problem: type[Exception], says: str
) -> None:
    with pytest.raises(problem, match=says):
        question(plain, Request(machine, to, AS_OF))


def test_a_risk_must_have_been_accepted(tmp_path: Path) -> None:
    with pytest.raises(UsageProblem, match="nobody has set one"):
        question(told_of(tmp_path, risks=[]), Request("M", TO, AS_OF))


def test_read_past_its_limit_stands_apart_with_its_date(tmp_path: Path) -> None:
    rows = [*PLANT["clearances"], clearance("gone", limit=0.3)]
    told = put_off(
        told_of(
            tmp_path, clearances=rows, readings=[*PLANT["readings"], *steady("gone", 0.2, 0.04)]
        )
    )
    past = told.past.set_index("clearance").loc["gone"]
    # 0.204, 0.236, 0.284, 0.316, 0.364: past since the fourth
    assert past["read"]
    assert (past["since"], past["reading"]) == (pd.Timestamp("2018-01-01"), 0.316)
    assert told.question.planned_by is PlannedBy.TODAY
    assert told.chances.set_index("heading").loc["leak", "now"] == 1.0
    first = told.clearances.iloc[0]
    assert (first["clearance"], first["chance_now"], first["past"]) == ("gone", 1.0, True)
    assert pd.isna(first["share"])
    assert told.without_past["now"] < 0.5
    assert told.clearances["share"].sum() == pytest.approx(1.0)


def test_read_past_without_a_forecast_counts_too(tmp_path: Path) -> None:
    once = {**steady("new", 0.6, 0.0)[4], "value": 0.6}
    rows = [*PLANT["clearances"], clearance("new", consequence="people")]
    told = put_off(told_of(tmp_path, clearances=rows, readings=[*PLANT["readings"], once]))
    assert told.past["clearance"].tolist() == ["new"]
    chances = told.chances.set_index("heading")
    assert (chances.loc[TOGETHER, ["now", "planned", "to"]] == 1.0).all()


def test_past_by_the_forecast_tells_since_when_it_was_an_even_chance(tmp_path: Path) -> None:
    site = told_of(tmp_path, clearances=[clearance("fast", limit=0.425), PLANT["clearances"][1]])
    told = put_off(site)
    past = told.past.set_index("clearance").loc["fast"]
    assert not past["read"]
    assert past["chance"] >= 0.5
    # 8000 h were run from the last reading to the end of 2019, evenly.
    assert pd.Timestamp("2019-01-01") < past["since"] < pd.Timestamp(AS_OF)
    wear = site.basis.wear
    share = (past["since"] - pd.Timestamp("2019-01-01")) / pd.Timedelta(days=364)
    run = 8000.0 * share
    mean = wear.level[0] + wear.rate[0] * run
    variance = wear.var_level[0] + 2 * wear.cov_level_rate[0] * run
    variance = variance + wear.var_rate[0] * run**2 + wear.var_wear[0] * run
    chance = float(wear.weight[0] @ norm.sf((0.425 - mean) / np.sqrt(variance)))
    assert chance == pytest.approx(0.5, abs=0.02)


def test_what_the_readings_rest_on(tmp_path: Path) -> None:
    new = [
        *steady("fast", 0.20, 0.05)[:4],
        {"machine": "M", "clearance": "fast", "date": "2018-01-01", "run_hours": 24000}
        | {"state": "as-left", "value": 0.15, "method": "by eye"},
        *steady("slow", 0.20, 0.04),
    ]
    work = [{"machine": "M", "clearance": "fast", "date": "2018-01-01", "action": "renewed"}]
    rests = put_off(told_of(tmp_path, readings=new, work=work)).rests_on.set_index("clearance")
    slow, fast = rests.loc["slow"], rests.loc["fast"]
    assert (slow["method"], slow["u_from"], slow["in_run"]) == ("bore gauge", "stated", 5)
    assert slow["u"] == pytest.approx(0.005)
    assert slow["days_since"] == 365
    assert slow["hours_since"] == pytest.approx(8000, rel=0.01)
    assert (fast["in_run"], fast["state"], fast["u_from"]) == (1, "as-left", "written resolution")
    assert fast["hours_since"] == pytest.approx(16000, rel=0.01)


def test_an_assumed_start_is_told(tmp_path: Path) -> None:
    work = [{"machine": "M", "clearance": "fast", "date": "2019-06-01", "action": "renewed"}]
    left = [
        {**row, "state": "as-left", "value": 0.2, "clearance": "fast", "date": "2016-06-01"}
        | {"run_hours": 12000}
        for row in steady("fast", 0.2, 0.05)[:1]
    ]
    before = [{**work[0], "date": "2016-06-01"}]
    told = put_off(told_of(tmp_path, readings=[*PLANT["readings"], *left], work=[*before, *work]))
    assert told.rests_on.set_index("clearance")["assumed"].to_dict()["fast"]


def test_events_since_the_last_reading_of_what_they_touch(tmp_path: Path) -> None:
    events = [
        {"machine": "M", "date": "2019-06-01", "what": "oil loss", "clearances": "slow"},
        {"machine": "M", "date": "2019-07-01", "what": "trip"},
        {"machine": "M", "date": "2018-07-01", "what": "long ago"},
    ]
    found = put_off(told_of(tmp_path, events=events)).events
    assert found[["what", "touched", "of"]].to_numpy().tolist() == [
        ["trip", 2, 2],
        ["oil loss", 1, 2],
    ]
    assert found["accepted_by"].isna().all()


def test_due_dates_before_the_date_asked_for(tmp_path: Path) -> None:
    due = [
        {"machine": "M", "what": "late", "due": "2019-06-01", "authority": "law"},
        {"machine": "M", "what": "kept", "due": "2018-06-01"},
        {"machine": "M", "what": "kept", "due": "2030-06-01"},
        {"machine": "M", "what": "inside", "due": "2022-05-31", "authority": "insurer"},
        {"machine": "M", "what": "that day", "due": "2022-06-01"},
    ]
    found = put_off(told_of(tmp_path, due_dates=due)).due
    assert found["what"].tolist() == ["late", "inside"]
    assert found["overdue"].tolist() == [True, False]


def test_parts_are_those_of_an_opening_on_the_date_asked(tmp_path: Path) -> None:
    other = [{**row, "machine": "N"} for row in PLANT["clearances"]]
    read = [{**row, "machine": "N"} for row in PLANT["readings"]]
    log = [*PLANT["run_log"], {**PLANT["run_log"][0], "machine": "N"}]
    site = told_of(
        tmp_path,
        clearances=[*other, *PLANT["clearances"]],
        readings=[*read, *PLANT["readings"]],
        run_log=log,
    )
    orders = put_off(site).orders.set_index("clearance")
    assert set(orders["machine"]) == {"M"}
    assert orders.loc["fast", "needed_on"] == pd.Timestamp(TO)
    assert orders.loc["fast", "order_by"] == pd.Timestamp(TO) - pd.Timedelta(days=90 + 14)
    # The one on the shelf goes to this machine, whatever the other one wants.
    assert orders.loc["slow", "from_stock"] == 1


def test_a_duty_that_nobody_knows_leaves_only_today(tmp_path: Path) -> None:
    undated = [{**row, "date": ""} for row in PLANT["readings"]]
    told = put_off(told_of(tmp_path, readings=undated, run_log=[], duty_plan=[]))
    assert told.duty.source == "unknown"
    assert told.chances["now"].notna().all()
    assert told.chances["to"].isna().all()
    assert told.clearances["to_p50"].isna().all()
    assert told.clearances["share"].sum() == pytest.approx(1.0)
    assert told.question.planned_by is PlannedBy.NOTHING


def test_the_end_of_the_duty_plan_is_told(tmp_path: Path) -> None:
    duty = [{"machine": "M", "from": "2020-01-01", "to": "2021-06-30", "hours_per_day": 20}]
    told = put_off(told_of(tmp_path, duty_plan=duty))
    assert told.duty.plan_ends == pd.Timestamp("2021-06-30")


@pytest.mark.parametrize("limit", ["", 0.5])
def test_a_machine_without_limits_or_without_a_forecast(tmp_path: Path, limit: object) -> None:
    rows = [clearance("new", limit=limit)]
    told = put_off(told_of(tmp_path, clearances=rows, readings=[]))
    assert told.chances.empty
    assert told.clearances.empty
    assert told.over_time.curve.empty
    assert told.silent == (("new",) if limit else ())

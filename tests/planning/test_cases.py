"""Other cases beside today's plan: laws, and the same change loaded for real."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_cases import AS_OF, PLANT, clearance, made, planned, seasons, window

from trendwear.errors import TrendwearError, UnknownName, UsageProblem
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.case_changes import (
    CancelledWindow,
    Change,
    NewWindow,
    OtherDuty,
    OtherLimit,
    OtherMove,
    OtherRenewal,
    OtherRisk,
)
from trendwear.planning.case_compare import COMPARED, Comparison, compare_case
from trendwear.planning.cases import Case, supposed
from trendwear.planning.plan import SitePlan
from trendwear.tables import check

Day = dt.date
Supposing = Callable[..., Comparison]

few = settings(
    max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> tuple[SiteForecast, SitePlan]:
    return planned(made(tmp_path_factory.mktemp("today")))


@pytest.fixture
def suppose(plant: tuple[SiteForecast, SitePlan]) -> Supposing:
    told, today = plant
    return lambda *changes: compare_case(told, Case("what if", changes), today)


def latest(compared: Comparison, which: str = "latest_date_case") -> pd.Series:
    return compared.table.set_index("machine")[which].sort_index()


NOTHING: list[Change] = [
    OtherDuty(factor=1.0),
    OtherDuty("M", Day(2020, 3, 1), Day(2020, 10, 31), hours_per_day=23),
    OtherDuty(start=Day(2020, 11, 1), end=Day(2020, 12, 31), factor=2.0),
    OtherLimit("M", "fast", 0.5),
    OtherMove("spring 2021", Day(2021, 5, 1)),
    OtherRisk(0.2, "Leak"),
]


@pytest.mark.parametrize("change", NOTHING, ids=str)
def test_a_change_that_changes_nothing_leaves_the_plan_as_it_is(
    suppose: Supposing, change: Change
) -> None:
    if change == NOTHING[2]:  # the stop of M; N runs by its log all year
        change = OtherDuty("M", Day(2020, 11, 1), Day(2020, 12, 31), factor=2.0)
    compared = suppose(change)
    check(compared.table, COMPARED)
    assert not compared.table["moved"].any()
    pd.testing.assert_frame_equal(compared.then.overhaul, compared.today.overhaul)
    pd.testing.assert_frame_equal(compared.then.windows, compared.today.windows)
    pd.testing.assert_frame_equal(compared.then.orders, compared.today.orders)


@few
@given(first=st.floats(0.3, 0.9), second=st.floats(0.3, 0.9))
def test_a_tighter_limit_is_never_later(suppose: Supposing, first: float, second: float) -> None:
    tight, wide = sorted((first, second))
    narrow = latest(suppose(OtherLimit("m", "Fast", tight)))
    assert (narrow <= latest(suppose(OtherLimit("M", "fast", wide)))).all()


@few
@given(
    first=st.floats(0, 24),
    second=st.floats(0, 24),
    start=st.dates(Day(2020, 1, 1), Day(2022, 1, 1)),
    length=st.integers(0, 900),
)
def test_more_duty_is_never_later(
    suppose: Supposing, first: float, second: float, start: Day, length: int
) -> None:
    end = start + dt.timedelta(days=length)
    less, more = sorted((first, second))
    one = suppose(OtherDuty(None, start, end, hours_per_day=less))
    other = suppose(OtherDuty(None, start, end, hours_per_day=more))
    assert (latest(other) <= latest(one)).all()


@few
@given(start=st.dates(Day(2020, 1, 2), Day(2026, 1, 1)))
def test_moving_a_window_moves_no_latest_date(suppose: Supposing, start: Day) -> None:
    for change in (
        OtherMove("Spring-2021", start),
        CancelledWindow("spring 2022"),
        NewWindow("autumn", start, start),
    ):
        compared = suppose(change)
        assert (latest(compared) == latest(compared, "latest_date")).all()
        assert (compared.table["moved_days"] == 0).all()


@few
@given(first=st.floats(0.001, 0.9), second=st.floats(0.001, 0.9))
def test_a_greater_accepted_risk_is_never_earlier(
    suppose: Supposing, first: float, second: float
) -> None:
    less, more = sorted((first, second))
    one, other = suppose(OtherRisk(less, "leak")), suppose(OtherRisk(more, "leak"))
    assert (latest(one) <= latest(other)).all()


def _longer() -> list[dict[str, object]]:
    """The season of 2020 a month longer; what repeats afterwards is the plan as it was."""
    rows = [row for row in seasons(2020, 2022) if row["from"] != "2020-11-01"]
    for row in rows:
        if row["from"] == "2020-03-01":
            row["to"] = "2020-11-30"
    rest = {"machine": "M", "from": "2020-12-01", "to": "2020-12-31", "hours_per_day": 0}
    return [*rows, rest | {"spread": 0.1}]


REAL: dict[str, tuple[tuple[Change, ...], dict[str, list[dict[str, object]]]]] = {
    "limit": (
        (OtherLimit("M", "fast", 0.42),),
        {
            "clearances": [
                clearance("M", "fast", consequence="leak", limit=0.42),
                *PLANT["clearances"][1:],
            ]
        },
    ),
    "limit where there was none": (
        (OtherLimit("N", "no limit", 0.6),),
        {"clearances": [*PLANT["clearances"][:3], clearance("N", "no limit", limit=0.6)]},
    ),
    "longer season": (
        (OtherDuty("M", Day(2020, 11, 1), Day(2020, 11, 30), hours_per_day=23),),
        {"duty_plan": _longer()},
    ),
    "less from a day on, for good": (
        (OtherDuty("M", Day(2020, 6, 1), None, hours_per_day=5),),
        {
            "duty_plan": [
                *seasons(2020, 2020)[:1],
                {"machine": "M", "from": "2020-03-01", "to": "2020-05-31", "hours_per_day": 23},
                {"machine": "M", "from": "2020-06-01", "hours_per_day": 5, "spread": 0.1},
            ]
        },
    ),
    "window moved": (
        (OtherMove("spring 2022", Day(2022, 11, 10)),),
        {
            "outages": [
                *PLANT["outages"][:3],
                window("spring 2022", "2022-11-10", "2022-11-29", freeze="2022-08-12"),
                *PLANT["outages"][4:],
            ]
        },
    ),
    "window added": (
        (NewWindow("autumn 2022", Day(2022, 9, 1), Day(2022, 9, 9)),),
        {"outages": [*PLANT["outages"], window("autumn 2022", "2022-09-01", "2022-09-09")]},
    ),
    "window cancelled": ((CancelledWindow("spring 2022"),), {"outages": [
        row for row in PLANT["outages"] if row["outage"] != "spring 2022"
    ]}),
    "risk": (
        (OtherRisk(0.02, "leak"),),
        {"risks": [{"consequence": "leak", "accepted": 0.02}, PLANT["risks"][1]]},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REAL)
def test_a_case_is_the_plan_of_a_store_in_which_the_same_was_loaded(
    suppose: Supposing, tmp_path: Path, name: str
) -> None:
    changes, sheets = REAL[name]
    then = suppose(*changes).then
    _, real = planned(made(tmp_path, **sheets))
    pd.testing.assert_frame_equal(then.overhaul, real.overhaul, rtol=1e-9)
    pd.testing.assert_frame_equal(then.windows, real.windows, rtol=1e-9)
    pd.testing.assert_frame_equal(then.orders, real.orders, rtol=1e-9)
    assert suppose(*changes).table["moved"].any()


def test_the_forecast_of_a_case_is_that_of_the_store_too(
    plant: tuple[SiteForecast, SitePlan], tmp_path: Path
) -> None:
    told, _ = plant
    changes, sheets = REAL["less from a day on, for good"]
    then = supposed(told, Case("", changes))
    real, _ = planned(made(tmp_path, **sheets))
    pd.testing.assert_frame_equal(then.rows, real.rows, rtol=1e-9)
    assert (then.rows["date_p50"] > told.rows["date_p50"]).any()
    assert told.rows["date_p50"].equals(planned(made(tmp_path / "again"))[0].rows["date_p50"])


RENEWED: dict[str, dict[str, object]] = {
    "fast": {"action": "renewed", "clearance": "fast"},
    "all": {"action": "renewed", "clearance": "*"},
}


def _with_as_left(sheets: dict[str, list[dict[str, object]]]) -> None:
    """An earlier renewal of another ring of the family, so that a renewed one has a start."""
    rows = [clearance("N", "sister", family="M fast", limit=None)]
    sheets["clearances"] = [*PLANT["clearances"], *rows]
    at = {"machine": "N", "clearance": "sister", "date": "2012-01-01", "run_hours": 16000}
    sheets["readings"] = [
        *PLANT["readings"],
        {**at, "state": "as-found", "value": 0.40, "uncertainty": 0.005},
        {**at, "state": "as-left", "value": 0.15, "uncertainty": 0.005},
    ]
    work = {"machine": "N", "clearance": "sister", "date": "2012-01-01", "run_hours": 16000}
    sheets["work"] = [work | {"action": "renewed"}]


def test_a_renewal_is_the_plan_of_that_day_with_the_work_loaded(tmp_path: Path) -> None:
    sheets: dict[str, list[dict[str, object]]] = {}
    _with_as_left(sheets)
    (tmp_path / "one").mkdir()
    (tmp_path / "other").mkdir()
    told, today = planned(made(tmp_path / "one", **sheets))
    case = Case("", (OtherRenewal("M", "fast", window="spring 2021"),))
    compared = compare_case(told, case, today)
    day = Day(2021, 5, 1)
    work = {"machine": "M", "clearance": "fast", "date": "2021-05-01", "action": "renewed"}
    sheets["work"] = [*sheets["work"], work]
    _, real = planned(made(tmp_path / "other", **sheets), day)

    def of_machine(plan: SitePlan, name: str) -> pd.DataFrame:
        table = plan.overhaul
        return table[table["machine"] == name].reset_index(drop=True)

    pd.testing.assert_frame_equal(of_machine(compared.then, "M"), of_machine(real, "M"), rtol=1e-9)
    pd.testing.assert_frame_equal(of_machine(compared.then, "N"), of_machine(today, "N"))
    row = compared.table.set_index("machine").loc["M"]
    assert row["governed_by"].startswith("fast")
    assert row["moved_days"] > 0
    before = compared.then.windows.set_index(["machine", "outage"])["chance_before"]
    was = today.windows.set_index(["machine", "outage"])["chance_before"]
    assert before["M", "spring 2021"] == was["M", "spring 2021"]
    assert before["M", "spring 2022"] < was["M", "spring 2022"]
    assert any("count from the renewal" in remark for remark in compared.remarks)


def test_a_renewal_after_the_latest_date_says_that_the_risk_does_not_hold_until_then(
    suppose: Supposing,
) -> None:
    compared = suppose(OtherRenewal("M", "slow", on=Day(2023, 5, 1)))
    assert any("the renewal is not enough" in remark for remark in compared.remarks)
    assert any("does not hold until the renewal" in remark for remark in compared.remarks)
    assert (latest(compared) == latest(compared, "latest_date")).all()


def test_machines_that_do_not_move_stand_last(suppose: Supposing) -> None:
    compared = suppose(OtherLimit("N", "only", 0.4))
    assert compared.table["machine"].tolist() == ["N", "M"]
    assert compared.table["moved"].tolist() == [True, False]
    moved = compared.table.iloc[0]
    assert moved["moved_days"] == (moved["latest_date_case"] - moved["latest_date"]).days < 0
    assert moved["chance_at_window_case"] > moved["chance_at_window"]


def test_what_must_be_known_beside_a_case_is_said(suppose: Supposing) -> None:
    (past,) = suppose(OtherLimit("M", "fast", 0.3)).remarks
    assert "the last reading (0.36 mm on 2014-01-01) is past the supposed limit of 0.3 mm" in past
    assert "a part as built may be past" in suppose(OtherLimit("M", "fast", 0.15)).remarks[1]
    winter = NewWindow("winter", Day(2021, 1, 5), Day(2021, 1, 20))
    run = OtherDuty("M", Day(2021, 1, 10), Day(2021, 1, 31), hours_per_day=10)
    (within,) = suppose(winter, run).remarks
    assert "that is within winter" in within
    # A machine that runs through a window today runs through it in the case too.
    assert suppose(OtherDuty("M", factor=1.04)).remarks == ()


REFUSED: list[tuple[Callable[[], Change], type[TrendwearError], str]] = [
    (lambda: OtherDuty(factor=0.0), UsageProblem, "factor: 0"),
    (lambda: OtherDuty(hours_per_day=-1.0), UsageProblem, "Give 0 to 24"),
    (lambda: OtherDuty(hours_per_day=25.0), UsageProblem, "Give 0 to 24"),
    (lambda: OtherDuty(hours_per_day=0.0), UsageProblem, "never run again"),
    (lambda: OtherDuty(), UsageProblem, "neither is given"),
    (lambda: OtherDuty(factor=1.0, hours_per_day=2.0), UsageProblem, "both are given"),
    (
        lambda: OtherDuty(None, Day(2021, 1, 1), Day(2020, 1, 1), 3.0),
        UsageProblem,
        "before it starts",
    ),
    (lambda: OtherDuty("Z", factor=1.1), UnknownName, "It has: M, N"),
    (lambda: OtherDuty(factor=1.5), UsageProblem, "M would run 34.5 h a day"),
    (lambda: OtherDuty(end=Day(2019, 1, 1), factor=1.1), UsageProblem, "that time is over"),
    (lambda: OtherDuty(end=Day(2999, 1, 1), factor=1.01), UsageProblem, "too far off"),
    (lambda: OtherLimit("M", "fast", 0.0), UsageProblem, "above 0"),
    (lambda: OtherLimit("M", "fast", float("nan")), UsageProblem, "above 0"),
    (lambda: OtherLimit("M", "fast", 0.3, moves="up"), UsageProblem, "opens or closes"),
    (lambda: OtherLimit("M", "fast", 0.3, moves="closes"), UnknownName, "It has: opens"),
    (lambda: OtherLimit("M", "quick", 0.3), UnknownName, "It has: fast, slow"),
    (lambda: OtherLimit("Z", "fast", 0.3), UnknownName, "It has: M, N"),
    (lambda: OtherMove("autumn", Day(2021, 1, 1)), UnknownName, "Those to come: spring 2020"),
    (lambda: OtherMove("gone", Day(2021, 1, 1)), UsageProblem, "begun or is over"),
    (lambda: OtherMove("spring 2021", Day(2019, 1, 1)), UsageProblem, "would start on 2019-01-01"),
    (
        lambda: OtherMove("spring 2021", Day(2021, 2, 1), Day(2021, 1, 1)),
        UsageProblem,
        "before it starts",
    ),
    (lambda: CancelledWindow(" "), UsageProblem, "blank"),
    (lambda: CancelledWindow("autumn"), UnknownName, "no such window"),
    (
        lambda: NewWindow("Spring 2021", Day(2021, 2, 1), Day(2021, 2, 3)),
        UsageProblem,
        "of that name already",
    ),
    (lambda: OtherRisk(1.2), UsageProblem, "not a chance"),
    (lambda: OtherRisk(float("nan")), UsageProblem, "not a chance"),
    (lambda: OtherRisk(0.2, "noise"), UnknownName, "There are: damage, leak"),
    (lambda: OtherRenewal("M", "fast"), UsageProblem, "neither is given"),
    (lambda: OtherRenewal("M", "fast", on=Day(2019, 1, 1)), UsageProblem, "is before 2020-01-01"),
    (lambda: OtherRenewal("M", "fast", window="autumn"), UnknownName, "no such window"),
    (lambda: OtherRenewal("M", "quick", window="autumn"), UnknownName, "It has: fast, slow"),
]


@pytest.mark.parametrize(("make", "kind", "says"), REFUSED, ids=[row[2] for row in REFUSED])
def test_what_means_nothing_is_refused_in_words(
    suppose: Supposing, make: Callable[[], Change], kind: type[TrendwearError], says: str
) -> None:
    with pytest.raises(kind) as problem:
        suppose(make())
    assert says in str(problem.value)


def test_a_case_that_changes_nothing_or_one_thing_twice_is_refused() -> None:
    with pytest.raises(UsageProblem, match="it changes nothing"):
        Case("empty")
    with pytest.raises(UsageProblem, match="two changes of one thing"):
        Case("", (CancelledWindow("a b"), OtherMove("A-B", Day(2021, 1, 1))))
    with pytest.raises(UsageProblem, match="one accepted risk for all limits, and another"):
        Case("", (OtherRisk(0.1), OtherRisk(0.1, "leak")))


def test_all_that_does_not_fit_is_said_at_once(suppose: Supposing) -> None:
    with pytest.raises(UnknownName) as problem:
        suppose(OtherLimit("Z", "a", 0.3), CancelledWindow("autumn"), OtherRisk(0.1))
    assert "2 of its changes do not fit today" in str(problem.value)
    assert "machine Z" in str(problem.value)
    assert "window autumn" in str(problem.value)


def test_a_machine_of_unknown_duty_can_be_given_one_but_not_a_factor(tmp_path: Path) -> None:
    readings = [
        {"machine": "U", "clearance": "a", "run_hours": 8000 * number, "state": "as-found"}
        | {"value": 0.2 + 0.03 * number, "uncertainty": 0.005}
        for number in range(5)
    ]
    sheets = {
        "clearances": [*PLANT["clearances"], clearance("U", "a", consequence="leak")],
        "readings": [*PLANT["readings"], *readings],
    }
    told, today = planned(made(tmp_path, **sheets))
    with pytest.raises(UsageProblem, match="the hours planned before are not known"):
        compare_case(told, Case("", (OtherDuty("U", factor=1.1),)), today)
    every = compare_case(told, Case("", (OtherDuty(factor=0.9),)), today)
    assert every.remarks[0] == "running hours not known, so left as they are: U"
    given_hours = compare_case(told, Case("", (OtherDuty("U", hours_per_day=20.0),)), today)
    row = given_hours.table.iloc[0]
    assert row["machine"] == "U"
    assert pd.isna(row["latest_date"])
    assert pd.notna(row["latest_date_case"])
    assert pd.isna(row["moved_days"])


def test_today_is_one_of_the_days_that_the_plan_counts_from(suppose: Supposing) -> None:
    one = suppose(OtherDuty("M", AS_OF, AS_OF + dt.timedelta(days=30), hours_per_day=24.0))
    other = suppose(OtherDuty("M", None, AS_OF + dt.timedelta(days=30), hours_per_day=24.0))
    pd.testing.assert_frame_equal(one.table, other.table)


def test_a_machine_without_a_plan_runs_as_by_its_log_outside_the_change(
    plant: tuple[SiteForecast, SitePlan], suppose: Supposing, tmp_path: Path
) -> None:
    told, _ = plant
    usual = float(told.basis.clocks["N"].duty.per_day[0])
    rows = [
        {"machine": "N", "from": "2020-01-01", "to": "2020-03-31", "hours_per_day": usual},
        {"machine": "N", "from": "2020-04-01", "to": "2021-08-31", "hours_per_day": 20},
        {"machine": "N", "from": "2021-09-01", "hours_per_day": usual},
    ]
    _, real = planned(made(tmp_path, duty_plan=[*PLANT["duty_plan"], *rows]))
    change = OtherDuty("N", Day(2020, 4, 1), Day(2021, 8, 31), hours_per_day=20)
    then = suppose(change).then
    pd.testing.assert_frame_equal(then.overhaul, real.overhaul, rtol=1e-9)
    pd.testing.assert_frame_equal(then.windows, real.windows, rtol=1e-9)


def test_of_two_limits_the_one_meant_must_be_said(tmp_path: Path) -> None:
    both = {"machine": "M", "name": "fast", "consequence": "leak"}
    sheets = {
        "clearances": [
            clearance(**both),
            clearance(**both, moves="closes", limit=0.05),
            *PLANT["clearances"][1:],
        ]
    }
    told, today = planned(made(tmp_path, **sheets))
    with pytest.raises(UsageProblem, match="this clearance has two limits"):
        compare_case(told, Case("", (OtherLimit("M", "fast", 0.42),)), today)
    opens = compare_case(told, Case("", (OtherLimit("M", "fast", 0.42, moves="opens"),)), today)
    closes = compare_case(told, Case("", (OtherLimit("M", "fast", 0.08, moves="closes"),)), today)
    assert opens.table["moved"].tolist() == [True, False]
    limits = closes.told.basis.register.set_index(["clearance", "moves"])["limit_mm"]
    assert limits["fast", "closes"] == 0.08
    assert limits["fast", "opens"] == 0.5
    assert closes.remarks == ()
    past = OtherLimit("M", "fast", 0.45, moves="closes")
    reading, built = compare_case(told, Case("", (past,)), today).remarks
    assert "(0.36 mm on 2014-01-01) is past the supposed limit of 0.45 mm" in reading
    assert "a part as built may be past the supposed limit of 0.45 mm" in built

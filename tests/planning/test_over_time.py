"""How a machine's chance rises with time: the frame behind the chart, and the chart."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
import pytest

import trendwear
from trendwear import outlook, tables
from trendwear.errors import UnknownName
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import Accepted, accepted_for_all
from trendwear.planning.over_time import CURVE, MARKS, over_time
from trendwear.planning.plan import plan_site
from trendwear.report.overhaul.charts import how_to_read, overhaul_chart

AS_OF = dt.date(2020, 1, 1)
LATER = Accepted(by_consequence={"leak": 0.3, "damage": 0.001})


def clearance(name: str, machine: str, **other: object) -> dict[str, object]:
    row: dict[str, object] = {"machine": machine, "clearance": name, "kind": "ring"}
    row |= {"basis": "diametral", "moves": "opens", "unit": "mm", "limit": 0.5, "family": name}
    return row | other


def steady(name: str, machine: str, start: float = 0.2) -> list[dict[str, object]]:
    return [
        {
            "machine": machine,
            "clearance": name,
            "date": f"{2010 + number}-01-01" if machine != "NO DUTY" else None,
            "run_hours": 8000 * number,
            "state": "as-found",
            "value": round(start + 0.03 * number, 4),
            "uncertainty": 0.005,
        }
        for number in range(5)
    ]


PLANT: Mapping[str, Sequence[Mapping[str, object]]] = {
    "clearances": [
        clearance("ring", "M", consequence="leak"),
        clearance("bearing", "M", consequence="damage"),
        clearance("ring", "PAST"),
        clearance("other", "PAST"),
        clearance("ring", "NO DUTY"),
        clearance("ring", "FREE", limit=None),
    ],
    "readings": [
        *steady("ring", "M"),
        *steady("bearing", "M", 0.17),
        *steady("ring", "PAST", 0.42),
        *steady("other", "PAST"),
        *steady("ring", "NO DUTY"),
        *steady("ring", "FREE"),
    ],
    "run_log": [
        {"machine": name, "date": "2019-12-31", "run_hours": 40000} for name in ("M", "PAST")
    ],
    "duty_plan": [
        {"machine": name, "from": "2020-01-01", "hours_per_day": 23, "spread": 0.1}
        for name in ("M", "PAST")
    ],
    "outages": [
        {"outage": "spring 2021", "start": "2021-05-01", "end": "2021-05-20"},
        {
            "outage": "elsewhere",
            "start": "2022-05-01",
            "end": "2022-05-20",
            "machines": 0,
        },
    ],
    "due_dates": [{"machine": "M", "what": "inspection", "due": "2021-11-30"}],
}


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> SiteForecast:
    folder = tmp_path_factory.mktemp("plant")
    for name, rows in PLANT.items():
        pd.DataFrame(rows).to_csv(folder / f"{name}.csv", index=False)
    store = folder / "plant.duckdb"
    trendwear.load([folder], store=store)
    return outlook.look(store, as_of=AS_OF)


def spec(told: SiteForecast, accepted: Sequence[Accepted], machine: str) -> tuple[Any, str]:
    found = over_time(told, [plan_site(told, one) for one in accepted], machine)
    return overhaul_chart(found).to_dict(), how_to_read(found)


def test_the_curve_meets_the_windows_and_the_accepted_risk(told: SiteForecast) -> None:
    plan = plan_site(told, accepted_for_all(0.1))
    found = over_time(told, [plan], "M")
    tables.check(found.curve, CURVE)
    tables.check(found.marks, MARKS)
    assert found.curve["chance"].is_monotonic_increasing
    days = found.curve["date"].astype("datetime64[s]").astype("int64")
    (answer,) = plan.overhaul[plan.overhaul["machine"] == "M"].to_dict("records")
    at = np.interp(answer["latest_date"].timestamp(), days, found.curve["chance"])
    assert at == pytest.approx(0.1, abs=0.01)
    first = plan.windows[plan.windows["machine"] == "M"].iloc[0]
    there = np.interp(first["start"].timestamp(), days, found.curve["chance"])
    assert there == pytest.approx(first["chance_before"], abs=0.01)
    assert found.marks["date"].tolist() == [answer["latest_date"]]
    assert found.curve["date"].iloc[0] == pd.Timestamp(AS_OF)
    assert found.until is not None
    assert found.until > pd.Timestamp("2022-05-20")


def test_each_consequence_has_its_own_curve_and_one_sets_the_date(told: SiteForecast) -> None:
    found = over_time(told, [plan_site(told, LATER)], "M")
    assert set(found.curve["heading"]) == {"leak", "damage"}
    marks = found.marks.set_index("heading")
    assert marks["risk"].to_dict() == {"leak": 0.3, "damage": 0.001}
    assert marks["sets"].to_dict() == {"leak": False, "damage": True}
    assert marks["date"].notna().to_dict() == {"leak": False, "damage": True}


def test_three_risks_to_choose_from_share_one_curve(told: SiteForecast) -> None:
    plans = [plan_site(told, accepted_for_all(risk)) for risk in (0.05, 0.1, 0.2)]
    found = over_time(told, plans, "M")
    assert not found.curve.duplicated(["heading", "date"]).any()
    assert found.marks["risk"].tolist() == [0.05, 0.1, 0.2]
    assert found.marks["date"].is_monotonic_increasing


def test_beside_what_is_past_today_the_diamond_is_that_of_the_others(told: SiteForecast) -> None:
    picture, words = spec(told, [accepted_for_all(0.1)], "PAST")
    assert ", by the others" in json.dumps(picture)
    assert "Diamond: the latest overhaul by the others." in words
    assert "Past today and not in the picture: ring." in words
    picture, words = spec(told, [accepted_for_all(0.1)], "M")
    assert ", by the others" not in json.dumps(picture)
    assert "Past today" not in words


def test_what_is_past_today_stands_apart(told: SiteForecast) -> None:
    found = over_time(told, [plan_site(told, accepted_for_all(0.1))], "PAST")
    assert found.curve["chance"].iloc[0] < 0.05
    assert found.marks["date"].iloc[0] > pd.Timestamp(AS_OF)


def test_with_unknown_duty_hours_are_told(told: SiteForecast) -> None:
    found = over_time(told, [plan_site(told, accepted_for_all(0.1))], "NO DUTY")
    assert found.until is None
    assert found.curve["date"].isna().all()
    hours = np.interp(0.1, found.curve["chance"], found.curve["hours"])
    assert found.marks["hours"].iloc[0] == pytest.approx(hours, rel=0.02)
    chart, words = spec(told, [accepted_for_all(0.1)], "NO DUTY")
    assert "running hours from now" in str(chart)
    assert "outage windows" not in words


def test_a_machine_without_a_limit_has_no_curve(told: SiteForecast) -> None:
    found = over_time(told, [plan_site(told, accepted_for_all(0.1))], "FREE")
    assert found.curve.empty
    assert overhaul_chart(found) is None


def test_an_unknown_machine_is_refused(told: SiteForecast) -> None:
    with pytest.raises(UnknownName, match="machine X"):
        over_time(told, [plan_site(told, accepted_for_all(0.1))], "X")


@pytest.mark.parametrize("risk", [0.0, 0.1, 1.0])
def test_any_risk_is_drawn(told: SiteForecast, risk: float) -> None:
    chart, words = spec(told, [accepted_for_all(risk)], "M")
    drawn = str(chart)
    for text in ("due 2021-11-30: inspection", "elsewhere (not possible)", "as of 2020-01-01"):
        assert text in drawn
    assert f"accepted {100 * risk:g} %" in drawn
    assert "a due date" in words


def test_consequences_differ_by_colour_dashes_and_shape(told: SiteForecast) -> None:
    drawn = spec(told, [LATER], "M")[0]
    scales = {}
    for layer in drawn["layer"]:
        for channel in ("color", "strokeDash", "shape"):
            scale = layer.get("encoding", {}).get(channel, {}).get("scale")
            if scale:
                scales[channel] = scale["range"]
    assert set(scales) == {"color", "strokeDash", "shape"}
    assert all(len({str(value) for value in values}) == 2 for values in scales.values())

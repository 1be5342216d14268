"""Which check is worth its while, in words."""

from __future__ import annotations

import datetime as dt
import io

import pandas as pd
import pytest

from trendwear import tables
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.plan import SitePlan
from trendwear.planning.renewals import Renewals
from trendwear.planning_tables import LOOKS, ORDERS, OVERHAUL, RENEWALS, WINDOWS
from trendwear.report.overhaul.export import plan_bytes
from trendwear.report.overhaul.looks import (
    LOOK_MEANINGS,
    LOOKS_SAY,
    best_looks_table,
    looks_table,
)
from trendwear.report.overhaul.terminal import plan_lines

USUAL = {
    "machine": "P 2", "clearance": "ring 4", "moves": "opens", "access": "casing", "unit": "mm",
    "method": "micrometer", "uncertainty": 0.0087, "latest_date": pd.Timestamp("2027-09-09"),
    "date_p05": pd.Timestamp("2027-05-01"), "date_p95": pd.Timestamp("2027-11-20"),
    "hours_p05": 900.0, "hours_p95": 4000.0, "reading_p05": 0.8365, "reading_p95": 0.9582,
    "outage": "spring", "chance_sooner": 0.02, "later_outage": "autumn", "chance_later": 0.39,
    "reading_later": 0.8875, "decides": True, "place": 1,
}  # fmt: skip


def plan(*looks: dict[str, object]) -> SitePlan:
    machines = [{"machine": name, "outcome": "latest overhaul found"} for name in ("P 2", "T 1")]
    return SitePlan(
        dt.date(2026, 11, 1),
        accepted_for_all(0.1),
        tables.conform(pd.DataFrame(machines), OVERHAUL),
        tables.empty(WINDOWS),
        Renewals(tables.empty(RENEWALS), {}, {}),
        tables.empty(ORDERS),
        looks=tables.conform(pd.DataFrame([USUAL | look for look in looks]), LOOKS),
    )


def words(**look: object) -> dict[str, str]:
    (row,) = looks_table(plan(look), "P 2").to_dict("records")
    return {str(name): text for name, text in row.items()}


def test_a_reading_that_may_give_time() -> None:
    told = words()
    assert told["read once more"] == "ring 4"
    assert told["open"] == "casing"
    assert told["reading expected"] == "0.837 to 0.958 mm"
    assert told["latest overhaul then"] == "2027-05-01 to 2027-11-20"
    assert told["what it may change"] == "39 %: autumn would do, at 0.887 mm or less"
    closing = words(moves="closes")
    assert closing["what it may change"].endswith("0.888 mm or more")


def test_a_reading_that_may_take_time() -> None:
    told = words(chance_sooner=0.2, chance_later=float("nan"), reading_later=float("nan"))
    assert told["what it may change"] == "20 %: spring is too late"


@pytest.mark.parametrize(
    ("later", "says"),
    [("2027-05-20", "hardly moves the date"), ("2027-11-20", "moves the date, hardly the window")],
)
def test_a_reading_that_decides_nothing(later: str, says: str) -> None:
    told = words(chance_later=0.0, decides=False, date_p95=pd.Timestamp(later))
    assert told["what it may change"] == says


def test_dates_are_told_as_finely_as_they_are_known() -> None:
    wide = words(date_p95=pd.Timestamp("2029-02-03"))
    assert wide["latest overhaul then"] == "2027-05 to 2029-02"
    now = words(hours_p05=0.0, date_p05=pd.Timestamp("2026-11-01"))
    assert now["latest overhaul then"] == "already reached to 2027-11"
    far = words(date_p05=pd.Timestamp("2029-11-09"), date_p95=pd.Timestamp("2030-07-12"))
    assert far["latest overhaul then"] == "2029-11 to 2030-07"
    never = words(hours_p95=float("nan"), date_p95=pd.NaT)
    assert never["latest overhaul then"] == "2027 Q2 to beyond reach"
    both = words(hours_p05=0.0, hours_p95=0.0, decides=False, chance_later=0.0)
    assert both["latest overhaul then"] == "already reached"
    assert both["what it may change"] == "hardly moves the date"


def test_what_is_not_stated_is_said_to_be_so() -> None:
    assert words(access=None, method=None)["open"] == "not stated"
    assert words(access="none")["open"] == "nothing"


def test_the_site_shows_two_of_a_machine_and_only_those_that_decide() -> None:
    many = [{"clearance": f"ring {number}", "decides": number != 2} for number in range(1, 6)]
    table = best_looks_table(plan(*many, {"machine": "T 1", "decides": False}))
    assert table["read once more"].tolist() == ["ring 1", "ring 3"]
    assert best_looks_table(plan()).empty


def test_on_screen_in_markdown_and_in_the_workbook() -> None:
    one = [plan({})]
    text = " ".join(plan_lines(one, 200))
    assert "Worth a look before the overhaul" in text
    assert LOOKS_SAY in text
    assert "39 %: autumn would do" in plan_bytes(one, ".md").decode()
    sheets = pd.read_excel(io.BytesIO(plan_bytes(one, ".xlsx")), sheet_name=None, engine="calamine")
    assert sheets["worth a look"]["reading_later"][0] == 0.8875
    assert list(sheets["worth a look"].columns) == list(LOOKS)
    none = [plan({"decides": False})]
    assert "Worth a look" not in "\n".join(plan_lines(none, 200))


def test_every_column_has_its_meaning() -> None:
    assert list(LOOK_MEANINGS) == list(LOOKS)

"""A clearance past its limit and put back by a signed concession stands apart."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd
import pytest

from trendwear import outlook
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.plan import SitePlan, plan_site

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2021, 1, 1)
SIGNED = {"machine": "M", "clearance": "gone", "date": "2020-06-01", "by": "A. Signer"}
SIGNED |= {"why": "parts late"}


def clearance(name: str, **other: object) -> dict[str, object]:
    row = {"machine": "M", "clearance": name, "kind": "ring", "basis": "diametral"}
    return row | {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name} | other


def steady(name: str, per_8000h: float) -> Rows:
    return [
        {"machine": "M", "clearance": name, "state": "as-found", "uncertainty": 0.005}
        | {"date": f"{2010 + 2 * number}-01-01", "run_hours": 8000 * number}
        | {"value": round(0.2 + per_8000h * number, 4)}
        for number in range(5)
    ]


PLANT: Mapping[str, Rows] = {
    "clearances": [clearance("gone", limit=0.33), clearance("near")],
    "readings": [*steady("gone", 0.04), *steady("near", 0.04)],
    "run_log": [{"machine": "M", "date": "2020-12-31", "run_hours": 36000}],
    "duty_plan": [{"machine": "M", "from": "2020-01-01", "hours_per_day": 12, "spread": 0.1}],
    "outages": [
        {"outage": f"spring {year}", "start": f"{year}-05-01", "end": f"{year}-05-20"}
        for year in range(2021, 2032)
    ],
}


def planned(stored: Stored, **sheets: Rows) -> SitePlan:
    store = stored({name: rows for name, rows in {**PLANT, **sheets}.items() if rows})
    plan = plan_site(outlook.look(store, as_of=AS_OF), accepted_for_all(0.1))
    store.unlink()
    return plan


def row_of(plan: SitePlan) -> dict[str, object]:
    (row,) = plan.overhaul.to_dict("records")
    return {str(name): cell for name, cell in row.items()}


def test_it_does_not_set_the_date_by_its_old_limit(stored: Stored) -> None:
    without = row_of(planned(stored))
    row = row_of(planned(stored, concessions=[SIGNED]))
    assert without["outcome"] == "past its limit today"
    assert without["conceded"] is None
    assert row["outcome"] == "latest overhaul found"
    assert row["latest_date"] == without["date_without_past"]
    assert row["date_without_concession"] == pd.Timestamp(AS_OF)
    assert row["conceded"] == "gone (signed by A. Signer 2020-06-01)"
    assert row["past_today"] is None
    assert str(row["governed_by"]).startswith("near")
    assert "run on by concession: gone" in str(row["notes"])
    assert "parts late" in str(row["notes"])
    assert "without it the latest overhaul would be today" in str(row["notes"])


def test_it_is_still_to_be_renewed_at_the_opening(stored: Stored) -> None:
    plan = planned(stored, concessions=[SIGNED])
    table = plan.renewals.table.set_index("clearance")
    assert table.loc["gone", "renew"]
    assert "gone" not in set(plan.looks["clearance"])


def test_an_accepted_limit_counts_in_place_of_the_old(stored: Stored) -> None:
    wide = row_of(planned(stored, concessions=[SIGNED | {"accepted_limit": 5}]))
    close = row_of(planned(stored, concessions=[SIGNED | {"accepted_limit": 0.42}]))
    passed = row_of(planned(stored, concessions=[SIGNED | {"accepted_limit": 0.34}]))
    left_out = row_of(planned(stored, concessions=[SIGNED]))
    assert wide["latest_date"] == left_out["latest_date"]
    assert close["latest_date"] < left_out["latest_date"]
    assert str(close["governed_by"]).startswith("gone")
    assert "accepted limit 0.42 mm" in str(close["conceded"])
    assert "chance to be past the accepted limit before spring 20" in str(close["notes"])
    assert passed["outcome"] == "past its limit today"
    assert passed["past_today"] == "gone"


def test_its_last_day_is_kept_as_a_due_date(stored: Stored) -> None:
    row = row_of(planned(stored, concessions=[SIGNED | {"until": "2021-06-30"}]))
    assert row["due_date"] == pd.Timestamp("2021-06-30")
    assert row["due_what"] == "end of the concession for gone"
    assert row["outage"] == "spring 2021"
    assert "until 2021-06-30" in str(row["conceded"])


def test_one_that_has_ended_counts_no_more_and_is_said(stored: Stored) -> None:
    row = row_of(planned(stored, concessions=[SIGNED | {"until": "2020-12-31"}]))
    assert row["outcome"] == "past its limit today"
    assert row["conceded"] is None
    assert "the concession for gone (signed by A. Signer) ended 2020-12-31" in str(row["notes"])


def test_one_that_is_not_needed_is_noted_and_changes_nothing(stored: Stored) -> None:
    near = SIGNED | {"clearance": "near"}
    rows = [clearance("near")]
    with_it = row_of(
        planned(stored, clearances=rows, concessions=[near], readings=steady("near", 0.04))
    )
    assert "the concession for near is not needed" in str(with_it["notes"])
    without = row_of(planned(stored, clearances=rows, readings=steady("near", 0.04)))
    assert with_it["latest_date"] == without["latest_date"]


@pytest.mark.parametrize("when", ["2021-02-01", "2020-06-01"])
def test_it_holds_from_the_day_it_was_signed(stored: Stored, when: str) -> None:
    row = row_of(planned(stored, concessions=[SIGNED | {"date": when}]))
    assert (row["conceded"] is None) == (when == "2021-02-01")


def test_the_one_signed_last_holds(stored: Stored) -> None:
    again = SIGNED | {"date": "2020-09-01", "by": "B. Other", "until": "2021-12-31"}
    row = row_of(planned(stored, concessions=[again, SIGNED]))
    assert row["conceded"] == "gone (signed by B. Other 2020-09-01 until 2021-12-31)"


def test_it_ends_when_the_part_is_renewed(stored: Stored) -> None:
    work = [{"machine": "M", "clearance": "gone", "date": "2020-08-01", "action": "renewed"}]
    after = {"machine": "M", "clearance": "gone", "state": "as-left", "value": 0.34}
    after |= {"date": "2020-08-02", "uncertainty": 0.005}
    row = row_of(
        planned(stored, work=work, readings=[*PLANT["readings"], after], concessions=[SIGNED])
    )
    assert row["conceded"] is None
    assert row["outcome"] == "past its limit today"


def test_only_the_limit_that_it_names(stored: Stored) -> None:
    both = [clearance("gone", limit=0.33), clearance("gone", moves="closes", limit=0.05)]
    for moves, conceded in (("opens", True), ("closes", False), ("", True)):
        row = row_of(
            planned(
                stored,
                clearances=[*both, clearance("near")],
                concessions=[SIGNED | {"moves": moves}],
            )
        )
        assert (row["conceded"] is not None) == conceded


def test_one_read_past_without_any_forecast(stored: Stored) -> None:
    lone = {"machine": "M", "clearance": "gone", "state": "as-found", "uncertainty": 0.005}
    lone |= {"date": "2018-01-01", "run_hours": 32000, "value": 0.4}
    readings = [lone, *steady("near", 0.04)]
    assert row_of(planned(stored, readings=readings))["past_today"] == "gone"
    row = row_of(planned(stored, readings=readings, concessions=[SIGNED]))
    assert row["past_today"] is None
    assert row["outcome"] == "latest overhaul found"
    assert "gone" in str(row["conceded"])
    assert "without a forecast" not in str(row["notes"])


def test_an_accepted_limit_no_wider_than_the_old_one_is_said(stored: Stored) -> None:
    row = row_of(planned(stored, concessions=[SIGNED | {"accepted_limit": 0.33}]))
    assert "the limit accepted for gone is no wider than the register's" in str(row["notes"])
    assert row["outcome"] == "past its limit today"
    wide = row_of(planned(stored, concessions=[SIGNED | {"accepted_limit": 0.42}]))
    assert "no wider" not in str(wide["notes"])


def test_one_for_a_clearance_without_a_limit_is_said_to_change_nothing(stored: Stored) -> None:
    rows = [*PLANT["clearances"], clearance("free", limit="")]
    for signed in ([SIGNED | {"clearance": "free"}], [SIGNED, SIGNED | {"clearance": "free"}]):
        row = row_of(planned(stored, clearances=rows, concessions=signed))
        assert "the concession for free changes nothing" in str(row["notes"])
        assert (row["conceded"] is not None) == (len(signed) == 2)

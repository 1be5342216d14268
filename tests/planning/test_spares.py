"""What to order: names, numbers, shelf, lead time and how likely it is needed."""

from __future__ import annotations

import pandas as pd
import pytest

from trendwear import tables
from trendwear.planning.spares import OrderRules, needed_on, orders_of, parts_fitted
from trendwear.planning_tables import PARTS
from trendwear.segments.positions import OWN, PARTNER

TODAY = pd.Timestamp("2026-11-01")
RULES = OrderRules(margin_days=10)


def parts(**other: object) -> pd.DataFrame:
    row = {"part_no": "R-1", "part": "carbon ring", "supplier": "supplier A", "in_stock": 0.0}
    row |= {"supplier_part_name": "gland ring", "supplier_part_no": "A-77", "lead_time_days": 60}
    rows = [row | other, {"part_no": "R-2", "lead_time_days": 30.0}]
    return tables.conform(pd.DataFrame(rows), PARTS)


def wanted(*rows: dict[str, object]) -> pd.DataFrame:
    usual = {"machine": "M", "clearance": "ring", "part": None, "part_no": "R-1"}
    usual |= {"register_part_no": "R-1", "fitted_differs": False, "quantity": 1.0, "outage": "W"}
    usual |= {"needed_on": pd.Timestamp("2027-05-01"), "chance_needed": 0.9, "renew": True}
    return pd.DataFrame([usual | row for row in rows or ({},)])


def test_order_by_is_lead_time_and_margin_before_it_is_needed() -> None:
    (row,) = orders_of(wanted(), parts(), TODAY, RULES).to_dict("records")
    assert row["order_by"] == pd.Timestamp("2027-05-01") - pd.Timedelta(days=70)
    assert (row["part"], row["supplier_part_no"]) == ("carbon ring", "A-77")
    assert not row["late"]


def test_a_lead_time_of_a_year_is_late() -> None:
    (row,) = orders_of(wanted(), parts(lead_time_days=365), TODAY, RULES).to_dict("records")
    assert row["late"]
    assert row["note"] == "LATE: ordered today it comes 184 days after it is needed"


def test_one_shelf_serves_all_machines_the_firm_needs_first() -> None:
    rows = wanted(
        {"machine": "A", "renew": False, "chance_needed": 0.1},
        {"machine": "B", "quantity": 2.0},
        {"machine": "C", "needed_on": pd.Timestamp("2028-05-01")},
    )
    told = orders_of(rows, parts(in_stock=3), TODAY, RULES).set_index("machine")
    assert told["from_stock"].to_dict() == {"A": 0.0, "B": 2.0, "C": 1.0}
    assert told["need"].to_dict() == {"A": "contingent", "B": "firm", "C": "firm"}
    assert told.loc["B", "order_by"] is pd.NaT


@pytest.mark.parametrize(
    ("chance", "need"), [(0.85, "firm"), (0.5, "likely"), (0.06, "contingent")]
)
def test_needs_by_their_chance(chance: float, need: str) -> None:
    row = wanted({"renew": False, "chance_needed": chance})
    assert orders_of(row, parts(), TODAY, RULES)["need"].tolist() == [need]


def test_what_is_hardly_needed_is_not_listed() -> None:
    row = wanted({"renew": False, "chance_needed": 0.01})
    assert orders_of(row, parts(), TODAY, RULES).empty


def test_numbers_that_lead_nowhere_are_said() -> None:
    rows = wanted({"part_no": "X-9"}, {"part_no": None}, {"quantity": float("nan")})
    told = orders_of(rows, parts(), TODAY, RULES)
    assert set(told["note"]) == {
        "part X-9 is not in the parts sheet: no lead time",
        "no part number in the register",
        "quantity not in the register: 1 taken",
    }
    assert told["order_by"].isna().sum() == 2


def test_a_superseded_number_is_followed_once_round() -> None:
    (row,) = orders_of(wanted(), parts(superseded_by="r-2"), TODAY, RULES).to_dict("records")
    assert (row["part_no"], row["lead_time_days"]) == ("R-2", 30.0)
    assert row["note"] == "R-1 is superseded by R-2"
    round_about = parts(superseded_by="R-2").assign(superseded_by=["R-2", "R-1"])
    assert len(orders_of(wanted(), round_about, TODAY, RULES)) == 1


def test_the_part_last_fitted_counts() -> None:
    register = pd.DataFrame({"machine": ["M"] * 2, "clearance": ["a", "b"], "part_no": ["1", "2"]})
    done = {"machine": "M", "clearance": "a", "position": 0, "action": "renewed", "fits": True}
    done |= {"order": [2.0, 1.0, 3.0], "fitted_part_no": ["1-US", "1", "sleeve 4"], "rank": 3}
    work = pd.DataFrame(done | {"role": [OWN, OWN, PARTNER]})
    told = parts_fitted(register, work)
    assert told["part_no"].tolist() == ["1-US", "2"]
    assert told["fitted_differs"].tolist() == [True, False]
    row = wanted({"part_no": "1-US", "register_part_no": "1", "fitted_differs": True})
    (note,) = orders_of(row, parts(), TODAY, RULES)["note"]
    assert "last fitted was 1-US, the register says 1" in note


def test_no_part_is_needed_after_its_window_has_begun() -> None:
    """A freeze counts between today and the start of the work; else the start does."""
    start = pd.Timestamp("2027-12-01")
    freezes = [pd.Timestamp(day) for day in ("2027-08-01", "2026-08-01", "2028-08-01")]
    coming = pd.DataFrame({"start": [start] * 4, "freeze": [*freezes, pd.NaT]})
    needed = needed_on(coming, pd.Timestamp("2026-11-01"))
    assert needed.tolist() == [freezes[0], start, start, start]

"""Parts followed from place to place, against what was written down by hand."""

from __future__ import annotations

import pandas as pd
import pytest

from trendwear.segments.fitted import last_fitted, with_parts
from trendwear.segments.positions import OWN, PARTNER

PLACES = {("A", "one"): 0, ("A", "two"): 1, ("B", "one"): 2, ("B", "two"): 3}


def work(*rows: dict[str, object]) -> pd.DataFrame:
    """Rows of spread work; ``at`` is (machine, clearance), ``to`` marks a part that goes."""
    usual = {"role": OWN, "arrives": False, "part_no": None, "serial": None, "supplier": None}
    made = []
    for number, row in enumerate(rows):
        machine, clearance = row["at"]  # type: ignore[misc]
        goes = "somewhere" if row.get("to") else None
        made.append(
            {**usual, "work_row": number, **row, "machine": machine, "clearance": clearance}
            | {"position": PLACES[machine, clearance], "to_clearance": None, "to_machine": goes}
        )
    return pd.DataFrame(made).astype({"order": "float64"})


def sitting(told: pd.DataFrame, role: str = OWN) -> dict[tuple[str, str], str | None]:
    """The serial number of what is in each place at the end."""
    last = last_fitted(told, role).drop_duplicates("position", keep="last")
    return {(row.machine, row.clearance): row.fitted_serial for row in last.itertuples()}


def renewed(place: tuple[str, str], order: float, serial: str) -> dict[str, object]:
    return {"at": place, "order": order, "action": "renewed", "serial": serial}


def test_two_rings_change_places_in_two_lines() -> None:
    one, two = ("A", "one"), ("A", "two")
    told = with_parts(
        work(
            renewed(one, 1, "S-1") | {"supplier": "x"},
            renewed(two, 1, "S-2") | {"supplier": "y"},
            {"at": one, "order": 2, "action": "moved", "to": True, "work_row": 9},
            {"at": two, "order": 2, "action": "moved", "arrives": True, "to": True, "work_row": 9},
            {"at": two, "order": 2, "action": "moved", "to": True, "work_row": 10},
            {"at": one, "order": 2, "action": "moved", "arrives": True, "to": True, "work_row": 10},
        )
    )
    assert sitting(told) == {one: "S-2", two: "S-1"}
    last = last_fitted(told).drop_duplicates("position", keep="last").set_index("clearance")
    assert last["fitted_supplier"].to_dict() == {"one": "y", "two": "x"}
    lives = told.set_index("fitted_serial")["life"].groupby(level=0).nunique()
    assert lives.to_dict() == {"S-1": 1, "S-2": 1}


def test_a_part_that_left_leaves_its_place_empty() -> None:
    one, two = ("A", "one"), ("A", "two")
    told = with_parts(
        work(
            renewed(one, 1, "S-1"),
            {"at": one, "order": 2, "action": "moved", "to": True, "work_row": 9},
            {"at": two, "order": 2, "action": "moved", "arrives": True, "to": True, "work_row": 9},
        )
    )
    assert sitting(told) == {one: None, two: "S-1"}
    assert last_fitted(told)["life"].tolist().count(-1) == 1


@pytest.mark.parametrize("named", [None, "R-9"])
def test_rotors_change_machines_in_one_line(named: str | None) -> None:
    exchange = {"action": "exchanged", "role": PARTNER, "to": True, "serial": named, "work_row": 9}
    rows = [
        renewed(("A", "one"), 1, "R-1") | {"role": PARTNER, "action": "partner renewed"},
        renewed(("B", "two"), 1, "R-2") | {"role": PARTNER, "action": "partner renewed"},
        exchange | {"at": ("A", "one"), "order": 5},
        exchange | {"at": ("B", "one"), "order": 4, "arrives": True},
        exchange | {"at": ("B", "two"), "order": 4, "arrives": True},
    ]
    told = sitting(with_parts(work(*rows)), PARTNER)
    # the row names what came in where it was written; what went is known all the same
    assert told == {("A", "one"): named or "R-2", ("B", "one"): "R-1", ("B", "two"): "R-1"}


def test_each_machine_s_own_line_of_one_exchange() -> None:
    """Both crews write it down; the second names nothing."""
    exchange = {"action": "exchanged", "role": PARTNER, "to": True}
    a, b = ("A", "one"), ("B", "one")
    rows = [
        renewed(a, 1, "R-1") | {"role": PARTNER, "action": "partner renewed"},
        renewed(b, 1, "R-2") | {"role": PARTNER, "action": "partner renewed"},
        exchange | {"at": a, "order": 5, "serial": "R-2", "work_row": 9},
        exchange | {"at": b, "order": 7, "arrives": True, "serial": "R-2", "work_row": 9},
        exchange | {"at": b, "order": 7, "work_row": 10},
        exchange | {"at": a, "order": 5, "arrives": True, "work_row": 10},
    ]
    assert sitting(with_parts(work(*rows)), PARTNER) == {a: "R-2", b: "R-1"}


def test_a_serial_brings_what_is_known_of_it() -> None:
    told = with_parts(
        work(
            renewed(("A", "one"), 1, "s-1") | {"part_no": "P-7", "supplier": "x"},
            renewed(("A", "one"), 2, "S-5"),
            renewed(("B", "one"), 3, "S 1"),
        )
    )
    last = told[told["machine"] == "B"].iloc[0]
    assert (last["fitted_part_no"], last["fitted_supplier"]) == ("P-7", "x")
    assert last["life"] == told["life"].iloc[0]


def test_a_re_babbitted_shell_is_the_same_shell_with_a_new_life() -> None:
    at = ("A", "one")
    told = with_parts(
        work(
            renewed(at, 1, "S-1") | {"part_no": "P-7", "supplier": "x"},
            {"at": at, "order": 2, "action": "re-babbitted"},
        )
    )
    first, second = told.to_dict("records")
    assert (second["fitted_serial"], second["fitted_part_no"]) == ("S-1", "P-7")
    assert second["fitted_supplier"] is None  # who relined it was not said
    assert second["life"] != first["life"]


def test_plain_work_is_taken_as_written() -> None:
    rows = [
        {"at": ("A", "one"), "order": 1, "action": "renewed", "part_no": "P-1"},
        {"at": ("A", "one"), "order": 2, "action": "dressed", "part_no": "P-2"},
    ]
    told = with_parts(work(*rows))
    assert told["fits"].tolist() == [True, False]
    assert last_fitted(told)["fitted_part_no"].tolist() == ["P-1"]

"""What the overhaul page says of a site moved by hand, of late parts and of later windows."""

from __future__ import annotations

import dataclasses
import datetime as dt
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.errors import UnknownName
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.around import TODAY
from trendwear.planning.site import Board, place_machines
from trendwear.planning.site_board import Aim
from trendwear.planning.site_judge import judge
from trendwear.planning.site_plan import Placed
from trendwear.planning_tables import ORDERS, OUTAGES, OVERHAUL, WINDOWS
from trendwear.report.overhaul.moved import LEFT_OUT, moved_words, placed_table, site_matrix
from trendwear.report.overhaul.opened import late_marked, parts_table, slip_table, window_names
from trendwear.report.overhaul.placing import placing_words

NAMES = ["spring", "autumn", "later"]


def windows() -> pd.DataFrame:
    starts = ["2027-04-01", "2027-10-01", "2028-04-01"]
    rows = {"outage": NAMES, "start": starts, "end": starts, "machines": [1.0, 1.0, np.nan]}
    frame = pd.DataFrame(rows).assign(
        start=lambda table: pd.to_datetime(table["start"]),
        end=lambda table: pd.to_datetime(table["end"]),
    )
    return tables.conform(frame, OUTAGES)


def placed() -> Placed:
    board = Board(
        machines=("A", "B"),
        windows=windows(),
        price=np.array([[1.0, 5.0, 9.0], [2.0, 3.0, 4.0]]),
        allowed=np.array([[True, True, True], [True, True, False]]),
        crew_days=np.zeros(2),
    )
    placing = place_machines(board)
    return Placed(Aim.RISK, board, placing, judge(board, placing))


def plan(**hindrance: str) -> Any:
    rows = [
        {
            "machine": machine,
            "outage": name,
            "start": start,
            "end": start,
            "chance_before": chance,
            "holds": chance < 0.1,
            "hindrance": hindrance.get(name),
        }
        for machine in ("A", "B")
        for name, start, chance in zip(
            NAMES, pd.to_datetime(windows()["start"]), (0.02, 0.15, 0.4), strict=True
        )
    ]
    frame = tables.conform(pd.DataFrame(rows), WINDOWS)
    overhaul = tables.conform(pd.DataFrame([{"machine": "A"}, {"machine": "B"}]), OVERHAUL)
    return SimpleNamespace(
        windows=frame,
        overhaul=overhaul,
        as_of=dt.date(2027, 1, 1),
        accepted=accepted_for_all(0.1),
    )


def test_the_plan_is_shown_and_a_move_is_judged_by_its_yardstick() -> None:
    solved = placed_table(placed())
    assert solved["opened in"].tolist() == ["spring", "autumn"]
    choice = {"A": "autumn", "B": "spring"}
    words = moved_words(placed(), choice)
    assert "Moved by hand 7, in the plan 4." in words
    assert "Every machine has a window, and no rule is broken." in words


def test_moves_that_break_rules_say_which() -> None:
    both = moved_words(placed(), {"A": "spring", "B": "spring"})
    assert "Not possible: spring takes 1 machines, not 2." in both
    late = moved_words(placed(), {"A": "spring", "B": "later"})
    assert any("B cannot be opened in later" in word for word in late)
    out = moved_words(placed(), {"A": "spring", "B": LEFT_OUT})
    assert "B is left out." in out
    with pytest.raises(UnknownName):
        moved_words(placed(), {"A": "never"})


def test_the_matrix_says_where_each_is_opened_and_where_it_cannot_be() -> None:
    choice = {"A": "spring", "B": "autumn"}
    matrix = site_matrix(placed(), plan(later="its scope leaves it out"), choice)
    table = matrix.set_index("machine")
    assert table.loc["A"].tolist() == ["OPENED 2 %", "15 %", "not possible"]
    assert site_matrix(placed(), plan(), choice).set_index("machine").at["B", "later"] == (
        "too late 40 %"
    )


def test_for_a_machine_that_no_window_serves_in_time_all_are_too_late() -> None:
    board = dataclasses.replace(placed().board, overdue=(0,))
    late = dataclasses.replace(placed(), board=board)
    told = plan()
    choice = {"A": "spring", "B": "autumn"}
    assert site_matrix(late, told, choice).set_index("machine").loc["A"].tolist() == [
        "OPENED, too late 2 %",
        "too late 15 %",
        "too late 40 %",
    ]
    told.overhaul.loc[told.overhaul["machine"] == "A", "past_today"] = "ring 1"
    cells = site_matrix(late, told, choice).set_index("machine").loc["A"]
    assert cells["spring"] == "OPENED, too late (others 2 %)"


def test_who_is_opened_sooner_because_of_its_train_is_told_why() -> None:
    """B could wait for autumn; A of its train cannot."""
    allowed = np.array([[True, False, False], [True, True, False]])
    board = dataclasses.replace(placed().board, allowed=allowed, trains=((0, 1),))
    board = dataclasses.replace(board, windows=windows().assign(machines=np.nan))
    placing = place_machines(board)
    words = placing_words(Placed(Aim.RISK, board, placing, judge(board, placing)))
    assert (
        "B is opened in spring because its train stops only together (A); alone it could wait "
        "for autumn."
    ) in words
    assert not any(word.startswith("A is opened") for word in words)
    alone = placing_words(placed())
    assert not any("train" in word for word in alone)


def test_who_is_placed_elsewhere_than_its_orders_are_counted_for_is_named() -> None:
    """A is opened in spring; its renewals and orders are for a later window."""
    told = placed()
    board = dataclasses.replace(told.board, meant=("later", "autumn"))
    (word,) = (one for one in placing_words(dataclasses.replace(told, board=board)) if "own" in one)
    assert "another than here for A (later): choose the window under" in word
    assert not any("own window" in one for one in placing_words(told))


def test_who_does_not_fit_is_told_with_its_last_day() -> None:
    board = dataclasses.replace(
        placed().board,
        allowed=np.array([[True, False, False], [True, False, False]]),
        not_after=(dt.date(2027, 7, 1), dt.date(2027, 8, 1)),
    )
    placing = place_machines(board)
    judged = judge(board, placing)
    (out,) = judged.left_out
    day = {"A": "2027-07-01", "B": "2027-08-01"}[out]
    words = placing_words(Placed(Aim.RISK, board, placing, judged))
    assert any(word.startswith(f"{out} does not fit before {day}.") for word in words)


def test_one_window_later_is_the_next_in_which_it_can_be_opened() -> None:
    table = slip_table(plan(autumn="it takes no machine"), "A").set_index("window")
    assert table["one window later"].tolist() == ["40 % (+38), later", "40 % (+25), later", "—"]
    assert table["risk holds"].tolist() == ["yes", "no", "no"]


def test_no_window_holds_for_a_machine_past_its_limit_today() -> None:
    told = plan()
    told.overhaul.loc[told.overhaul["machine"] == "A", "past_today"] = "ring 1"
    assert set(slip_table(told, "A")["risk holds"]) == {"past today"}
    assert set(slip_table(told, "B")["risk holds"]) == {"yes", "no"}


def test_windows_on_offer_say_where_it_cannot_be_opened() -> None:
    names = window_names(plan(autumn="it takes no machine"), "A")
    assert list(names) == [*NAMES, TODAY]
    assert names["autumn"] == "autumn (from 2027-10-01) - cannot be opened in it"


def test_late_parts_are_marked_in_word_and_colour() -> None:
    row = {
        "clearance": "ring",
        "need": "firm",
        "quantity": 1,
        "to_order": 1,
        "from_stock": 0,
        "lead_time_days": 30,
        "supplier": "A",
        "supplier_part_no": "7",
        "late": True,
        "order_by": "2026-12-01",
        "note": "LATE: within the days of margin",
    }
    ready = row | {"late": False, "to_order": 0, "from_stock": 1, "order_by": None, "note": None}
    frame = pd.DataFrame([row, ready]).assign(
        order_by=lambda table: pd.to_datetime(table["order_by"])
    )
    table = parts_table(tables.conform(frame, ORDERS))
    assert table["order by"].tolist() == ["2026-12-01 LATE", "—"]
    assert table["at the supplier"].tolist() == ["A, 7", "A, 7"]
    html = late_marked(table).to_html()
    assert html.count("background-color") == 1
    assert "background-color" not in late_marked(table.iloc[[1]].reset_index(drop=True)).to_html()
    assert late_marked(table.iloc[:0]).empty

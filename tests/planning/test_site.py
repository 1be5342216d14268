"""Machines into windows: the least plan, the rules it keeps, and what stands in the way."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pandas as pd
import pytest

from trendwear.errors import UnknownName
from trendwear.planning.site import Board, Placing, Solved, place_machines
from trendwear.planning.site_judge import by_hand, judge


def windows(*room: float, crew: float = np.nan, days: int = 20, apart: int = 90) -> pd.DataFrame:
    start = pd.Timestamp("2027-01-01") + pd.to_timedelta(np.arange(len(room)) * apart, unit="D")
    return pd.DataFrame(
        {
            "outage": [f"window {number}" for number in range(len(room))],
            "start": start,
            "end": start + pd.Timedelta(days=days),
            "machines": np.array(room, dtype=float),
            "crew_days": crew,
        }
    )


def board(price: list[list[float]], offered: pd.DataFrame, **other: object) -> Board:
    prices = np.array(price, dtype=float).reshape(len(price), len(offered))
    given = {"allowed": np.ones(prices.shape, dtype=bool), "crew_days": np.ones(len(prices))}
    names = tuple("ABCDEFGH"[: len(prices)])
    return Board(machines=names, windows=offered, price=prices, **(given | other))


def test_the_least_plan_of_all() -> None:
    draw = np.random.default_rng(3)
    for _ in range(10):
        some = board(draw.random((5, 3)).tolist(), windows(2, 2, 2), pairs=((0, 1),))
        found = judge(some, place_machines(some))
        every = [
            judge(some, by_hand(some, dict(zip(some.machines, names, strict=True))))
            for names in product(some.windows["outage"], repeat=5)
        ]
        assert found.broken == []
        assert found.price == pytest.approx(min(one.price for one in every if not one.broken))


def test_a_spare_is_never_opened_with_the_machine_it_stands_in_for() -> None:
    cheap_first = [[0.0, 1.0], [0.0, 1.0]]
    placed = place_machines(board(cheap_first, windows(5, 5), pairs=((0, 1),)))
    assert sorted(placed.window) == [0, 1]
    # Windows that overlap count as one.
    close = board(cheap_first, windows(5, 5, apart=10), pairs=((0, 1),))
    assert place_machines(close).solved is Solved.SOME_LEFT_OUT


def test_a_train_stops_together() -> None:
    some = board([[0.0, 1.0], [5.0, 1.0]], windows(5, 5), trains=((0, 1),))
    assert place_machines(some).window.tolist() == [1, 1]


def test_crew_days_bound_a_window() -> None:
    some = board([[0.0, 1.0]] * 2, windows(5, 5, crew=10), crew_days=np.array([6.0, 6.0]))
    assert sorted(place_machines(some).window) == [0, 1]


def test_what_does_not_fit_is_named_with_what_would_make_it_fit() -> None:
    some = board([[0.0], [0.0]], windows(1))
    placed = place_machines(some)
    told = judge(some, placed)
    assert placed.solved is Solved.SOME_LEFT_OUT
    assert len(told.left_out) == 1
    (ways,) = told.left_out.values()
    assert ways == ["window 0 would do but for this: window 0 takes 1 machines, not 2"]
    # With that one thing changed it fits.
    assert place_machines(board([[0.0], [0.0]], windows(2))).solved is Solved.ALL_PLACED


def test_capacity_0_takes_nobody() -> None:
    some = board([[0.0]], windows(0))
    placed = place_machines(some)
    assert placed.window.tolist() == [-1]
    assert "takes 0 machines" in judge(some, placed).left_out["A"][0]


def test_no_window_in_time() -> None:
    some = board([[0.0]], windows(1), allowed=np.zeros((1, 1), dtype=bool))
    told = judge(some, place_machines(some))
    assert told.left_out["A"] == [
        "a window it can be opened in before its latest date, or a higher accepted risk"
    ]
    nothing = board([[]], windows())
    assert place_machines(nothing).window.tolist() == [-1]


def test_an_overdue_machine_that_waits_is_named() -> None:
    some = board([[9.0, 9.0], [0.0, 5.0]], windows(1, 1), overdue=(0,))
    told = judge(some, place_machines(some))
    assert told.waiting == {
        "A": ["window 0 would do but for this: window 0 takes 1 machines, not 2"]
    }


def test_a_plan_made_by_hand_is_judged_by_the_same_yardstick() -> None:
    some = board([[1.0, 3.0], [2.0, 7.0], [4.0, 4.0]], windows(1, 1), pairs=((0, 1),))
    told = judge(some, by_hand(some, {"a": "Window 0", "B": "window-0"}))
    assert told.price == 3.0
    assert told.broken == [
        "window 0 takes 1 machines, not 2",
        "B stands in for A: not both in one window",
    ]
    assert list(told.left_out) == ["C"]
    with pytest.raises(UnknownName, match="On offer: window 0, window 1"):
        by_hand(some, {"A": "Easter"})
    with pytest.raises(UnknownName, match="machine Z"):
        by_hand(some, {"Z": "window 0"})


def test_nothing_to_place() -> None:
    empty = board([], windows(1, 1))
    assert place_machines(empty).solved is Solved.NOTHING_TO_PLACE


def test_the_gap_is_stated() -> None:
    draw = np.random.default_rng(5)
    some = board(draw.random((8, 4)).tolist(), windows(2, 2, 2, 2))
    assert 0.0 <= place_machines(some).gap <= 1e-3


def least_by_trying(some: Board) -> float:
    """The least price of all placings that break no rule and leave nobody out."""
    every = product(range(len(some.windows)), repeat=len(some.machines))
    judged = [judge(some, placing_of(choice)) for choice in every]
    return min(one.price for one in judged if not one.broken)


def placing_of(choice: tuple[int, ...]) -> Placing:
    return Placing(np.array(choice), Solved.ALL_PLACED, 0.0)


@pytest.mark.parametrize("seed", range(6))
def test_a_window_is_paid_for_once(seed: int) -> None:
    draw = np.random.default_rng(seed)
    given = board(draw.uniform(0.0, 5.0, (5, 3)).round(2).tolist(), windows(4, 3, 2))
    some = replace(given, once=tuple(draw.uniform(0.0, 8.0, 3).round(2).tolist()))
    placed = place_machines(some)
    told = judge(some, placed)
    used = set(placed.window.tolist())
    alone = given.price[np.arange(5), placed.window].sum()
    assert told.price == pytest.approx(alone + sum(some.once[place] for place in used))
    assert told.price == pytest.approx(least_by_trying(some), rel=2e-4)
    assert 0.0 <= placed.gap <= 1e-3


def test_of_windows_that_cost_the_same_the_sooner() -> None:
    some = board([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]], windows(2, 2, 2))
    placed = place_machines(some)
    assert placed.window.tolist() == [0, 1]
    assert judge(some, placed).price == 0.0


def test_left_out_is_the_machine_that_bears_it_best() -> None:
    # Room for one of two: the one that would run on at the greater price is opened.
    some = board([[1.0, 9.0], [2.0, 3.0]], windows(1, 0))
    assert place_machines(some).window.tolist() == [0, -1]
    assert place_machines(board([[2.0, 3.0], [1.0, 9.0]], windows(1, 0))).window.tolist() == [-1, 0]

"""Roots by Newton's method inside brackets."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from trendwear.forecasting.root import rising_root

Floats = NDArray[np.float64]


def counted(
    value: Callable[[Floats], Floats], slope: Callable[[Floats], Floats]
) -> tuple[Callable[[Floats, NDArray[np.int64]], tuple[Floats, Floats]], list[int]]:
    asked: list[int] = []

    def of(place: Floats, rows: NDArray[np.int64]) -> tuple[Floats, Floats]:
        asked.append(len(rows))
        return value(place), slope(place)

    return of, asked


def test_roots_of_a_smooth_function_take_few_rounds() -> None:
    of, asked = counted(lambda x: x**3 - 2.0, lambda x: 3 * x**2)
    root = rising_root(of, (np.zeros(2), np.full(2, 9.0)), np.array([1.0, 8.0]), np.zeros(2))
    assert root == pytest.approx(np.full(2, 2 ** (1 / 3)), rel=1e-12)
    assert len(asked) < 15


def test_a_step_is_found_by_halving_alone() -> None:
    of, _ = counted(lambda x: np.where(x < 0.3, -1.0, 1.0), np.zeros_like)
    root = rising_root(of, (np.zeros(1), np.ones(1)), np.array([0.9]), np.zeros(1))
    assert root[0] == pytest.approx(0.3, abs=1e-10)


def test_a_slope_that_misleads_does_not_leave_the_bracket() -> None:
    of, _ = counted(lambda x: np.arctan(20 * (x - 0.2)), lambda x: 20 / (1 + (20 * (x - 0.2)) ** 2))
    root = rising_root(of, (np.full(1, -50.0), np.full(1, 90.0)), np.array([80.0]), np.zeros(1))
    assert root[0] == pytest.approx(0.2, abs=1e-9)


def test_what_is_not_asked_is_not_answered() -> None:
    of, asked = counted(lambda x: x - 0.5, np.ones_like)
    root = rising_root(of, (np.zeros(2), np.ones(2)), np.array([np.nan, 0.4]), np.zeros(2))
    assert np.isnan(root[0])
    assert root[1] == pytest.approx(0.5)
    assert set(asked) == {1}


def test_a_bracket_without_width_is_the_root() -> None:
    of, _ = counted(lambda x: x - 0.5, np.zeros_like)
    at = np.array([0.5])
    assert rising_root(of, (at, at), at, np.zeros(1))[0] == 0.5

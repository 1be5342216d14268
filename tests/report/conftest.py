"""Trends and forecasts for the tests of what people see."""

from __future__ import annotations

import invented_trends
import pytest


@pytest.fixture
def forecast():
    return invented_trends.every_outcome()


@pytest.fixture
def steady():
    return invented_trends.steady_trend()


@pytest.fixture
def bare():
    return invented_trends.bare_trend()

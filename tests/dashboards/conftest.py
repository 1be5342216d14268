"""The dashboard's pages on invented forecasts."""

from __future__ import annotations

import datetime
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
APP = HERE.parents[1] / "dashboards" / "app.py"
sys.path.insert(0, str(HERE.parent / "report"))  # the invented trends
sys.path.insert(0, str(APP.parent))  # as the server does

import invented_parts  # noqa: E402 - only now on the path
import invented_trends  # noqa: E402 - only now on the path
import source  # noqa: E402 - only now on the path


@pytest.fixture
def asked(monkeypatch) -> list[tuple]:
    """Put an invented plant in place of the store; what the pages ask of it."""
    calls: list[tuple] = []

    def limit_forecast(as_of, horizon_hours):
        calls.append((as_of, horizon_hours))
        return invented_trends.every_outcome()

    def clearance_trend(names, as_of, horizon_hours):
        calls.append((names, as_of, horizon_hours))
        bare = names[0] == "PT-103"
        return invented_trends.bare_trend() if bare else invented_trends.steady_trend()

    def family(name, as_of, horizon_hours):
        calls.append((name, as_of, horizon_hours))
        return invented_trends.family_view(invented_trends.FAMILIES[name])

    monkeypatch.setattr(source, "families", lambda *_: list(invented_trends.FAMILIES))
    monkeypatch.setattr(source, "family", family)
    monkeypatch.setattr(source, "lives", lambda *_: invented_parts.lives())
    monkeypatch.setattr(source, "sat_here", lambda *_: invented_parts.stays())
    monkeypatch.setattr(source, "today", lambda: datetime.date(2026, 3, 1))
    monkeypatch.setattr(source, "limit_forecast", limit_forecast)
    monkeypatch.setattr(source, "clearance_trend", clearance_trend)
    return calls


@pytest.fixture
def app():
    """The dashboard, not yet run."""
    from streamlit.testing.v1 import AppTest

    return AppTest.from_file(str(APP), default_timeout=30)

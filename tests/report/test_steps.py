"""The bar that is shown while work goes on."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from rich.console import Console

from trendwear.report import steps


def shown(monkeypatch: pytest.MonkeyPatch, *, terminal: bool, seconds: Callable[[], float]) -> str:
    """Go through two stages twice, and return what was drawn."""
    stream = io.StringIO()
    console = Console(file=stream, force_terminal=terminal, width=100)
    monkeypatch.setattr(steps, "Console", lambda stderr: console)
    monkeypatch.setattr(steps, "monotonic", seconds)
    with steps.steps_shown() as progress:
        progress("cutting histories", 0, 0)
        progress("fitting families", 3, 8)
        progress("cutting histories", 0, 0)
        progress("fitting families", 8, 8)
    return stream.getvalue()


def test_long_work_is_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = iter(range(0, 100, 10))
    drawn = shown(monkeypatch, terminal=True, seconds=lambda: float(next(clock)))
    assert "cutting histories" in drawn
    assert "fitting families" in drawn
    assert "8/8" in drawn


@pytest.mark.parametrize(("terminal", "step"), [(True, 0.0), (False, 10.0)])
def test_short_work_and_files_stay_free_of_it(
    monkeypatch: pytest.MonkeyPatch, *, terminal: bool, step: float
) -> None:
    clock = iter(range(100))
    drawn = shown(monkeypatch, terminal=terminal, seconds=lambda: step * next(clock))
    assert drawn == ""

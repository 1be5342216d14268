"""Verdicts near a limit, held to published examples and the arithmetic of the zones."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtri

from trendwear.trust.decision import chance_within, decide, decisions, zones

Build = Callable[..., Any]


@pytest.mark.parametrize(
    ("value", "u", "limit", "side", "chance"),
    [(-5.47, 0.05, -5.40, 1.0, 0.919), (509.7, 8.6, 490.0, -1.0, 0.989)],
)
def test_examples_of_jcgm_106(
    value: float, u: float, limit: float, side: float, chance: float
) -> None:
    """JCGM 106:2012, 7.3.3; the numbers from memory, their arithmetic checked by hand."""
    told = chance_within(np.array([value]), np.array([u]), np.array([limit]), np.array([side]))
    assert told[0] == pytest.approx(chance, abs=5e-4)


@pytest.mark.parametrize(
    ("chance", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_one_sided_conformance(chance: float, z: float) -> None:
    """Normal quantiles, as a table of JCGM 106:2012, 7.3 has them (its digits not seen)."""
    told = chance_within(np.array([-z]), np.array([1.0]), np.array([0.0]), np.array([1.0]))
    assert told[0] == pytest.approx(chance, abs=2e-3)


def test_zones_of_iso_14253() -> None:
    """Limit 350 nA and guard band 55 nA: within up to 295, past from 405 (arithmetic only)."""
    u = 55.0 / float(ndtri(0.95))
    assert zones(350.0, u, 1.0) == pytest.approx((295.0, 405.0))
    assert zones(-350.0, u, -1.0) == pytest.approx((-295.0, -405.0))
    value = np.array([294.9, 295.1, 404.9, 405.1])
    within = chance_within(value, np.full(4, u), np.full(4, 350.0), np.ones(4))
    assert decide(within) == ["conforms", "undecided", "undecided", "past"]


def test_an_exact_reading_leaves_no_doubt() -> None:
    value, zero = np.array([0.4999, 0.5, 0.5001, np.nan]), np.zeros(4)
    within = chance_within(value, zero, np.full(4, 0.5), np.ones(4))
    assert decide(within) == ["conforms", "conforms", "past", None]


def test_every_register_row_has_its_verdict(site: Build) -> None:
    def row(name: str, hours: float, value: float, **other: object) -> dict[str, object]:
        return {"clearance": name, "run_hours": hours, "value_mm": value} | other

    register = [
        {"clearance": "within", "limit_mm": 0.5},
        {"clearance": "near", "limit_mm": 0.5},
        {"clearance": "past", "limit_mm": 0.5},
        {"clearance": "bound", "limit_mm": 0.5},
        {"clearance": "closes", "limit_mm": 0.5, "moves": "closes", "family": "gaps"},
        {"clearance": "no limit"},
        {"clearance": "renewed", "limit_mm": 0.5},
        {"clearance": "both", "limit_mm": 0.9, "family": "both"},
        {"clearance": "both", "limit_mm": 0.3, "moves": "closes", "family": "both"},
    ]
    readings = [
        row(name, hours, value)
        for name, last in {
            "within": 0.40,
            "near": 0.497,
            "past": 0.56,
            "bound": 0.45,
            "closes": 0.40,
            "no limit": 0.40,
            "renewed": 0.40,
            "both": 0.27,
        }.items()
        for hours, value in ((100.0, last - 0.08), (8100.0, last - 0.04), (16100.0, last))
    ]
    for reading in readings:
        if reading["clearance"] == "bound" and reading["run_hours"] == 16100.0:
            reading["at_least"] = True
    made = site(register, readings, [{"clearance": "renewed", "run_hours": 16100.0}])
    told = decisions(made.register, made.cut, made.families)
    names = [
        f"{c} {m}" for c, m in zip(made.register["clearance"], made.register["moves"], strict=True)
    ]
    assert dict(zip(names, told["verdict"], strict=True)) == {
        "within opens": "conforms",
        "near opens": "undecided",
        "past opens": "past",
        "bound opens": "undecided",  # worn at least so far, perhaps past it
        "closes closes": "past",
        "no limit opens": None,
        "renewed opens": None,
        "both opens": "conforms",
        "both closes": "past",
    }
    assert told["point"].iloc[6] == -1


def test_the_family_s_own_gauge_counts(site: Build, rings: Build) -> None:
    """Readings that scatter more than stated widen what is undecided."""
    register, readings = rings()
    draw = np.random.default_rng(3)
    for reading in readings:
        reading["value_mm"] += 0.02 * draw.standard_normal()
    made = site(register, readings)
    told = decisions(made.register, made.cut, made.families)
    assert (told["u_mm"] > 1.15 * 0.005).all()

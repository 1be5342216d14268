"""Sizes at 20 °C, cold clearances and preload against handbooks and arithmetic by hand."""

from __future__ import annotations

import pandas as pd
import pytest

from trendwear.derived.expansion import (
    at_20c,
    built_in_materials,
    cold_clearance,
    growth_of,
    preload,
)


def growth(material: str) -> float:
    found = growth_of(material, built_in_materials())
    assert found is not None
    return found


def test_a_bronze_bearing_on_a_steel_shaft_warmed_by_18_degrees() -> None:
    # (18.0 - 11.7)e-6 for 1 °C, 4 in, 18 °C: 0.00045 in by hand.
    bore = at_20c(4.0, growth("bronze"), 38.0).value_mm
    journal = at_20c(4.0, growth("steel"), 38.0).value_mm
    assert journal - bore == pytest.approx(0.00045, abs=5e-6)


def test_at_the_reference_temperature_nothing_changes() -> None:
    assert at_20c(101.6, growth("carbon steel"), 20.0).value_mm == 101.6


def test_one_degree_of_doubt_is_a_rectangle() -> None:
    # 4 in of steel grow 46.8 millionths of an inch in 1 °C; a/sqrt(3) is 27.0.
    assert at_20c(4.0, 11.7e-6, 20.0).u_mm == pytest.approx(27.0e-6, rel=1e-3)


def test_ring_clearance_by_the_handbook() -> None:
    # Bloch and Geitner, p. 344: steel less carbon is 4e-6 in/in °F.
    assert cold_clearance(0.0, 2.500, 400.0, 4e-6) == pytest.approx(0.0040, abs=1e-12)
    assert cold_clearance(0.003, 2.500, 400.0, 4e-6) == pytest.approx(0.0070, abs=1e-12)
    # A 12 chrome shaft grows less than carbon steel: the coefficient is the user's to give.
    assert cold_clearance(0.0, 2.500, 400.0, 3.4e-6) == pytest.approx(0.0034, abs=1e-12)


def test_the_coefficients_agree_with_the_handbooks_difference() -> None:
    rows = pd.read_csv("data/thermal_expansion.csv").set_index("material")
    steel, carbon = rows.at["carbon steel", "per_f"], rows.at["carbon-graphite", "per_f"]
    assert steel - carbon == pytest.approx(4e-6, rel=0.05)
    chrome = rows.at["12 chrome steel", "per_f"]
    assert chrome - carbon == pytest.approx(3.4e-6, rel=0.01)
    # Each figure for 1 °F is that for 1 °C, rounded.
    assert (rows["per_f"] * 1.8).tolist() == pytest.approx(rows["per_c"].tolist(), rel=0.01)
    assert rows["source"].str.len().min() > 10


def test_a_printed_example_that_does_not_follow_from_its_own_figures() -> None:
    # Process Engineering Equipment Handbook, carbon section: a 316 stainless shaft grows
    # 0.0043 in, and its carbon ring at 2.6e-6 for 1 °F is printed as growing 0.0010 in.  The
    # same diameter and rise, with 8.9e-6 for 316 stainless (from memory), give 0.0013 in: we
    # hold to the arithmetic, not to the print.
    inches_times_degrees = 0.0043 / 8.9e-6
    carbon = 2.6e-6 * inches_times_degrees
    assert carbon == pytest.approx(0.0013, abs=5e-5)
    assert round(carbon, 4) != 0.0010


def test_preload_by_the_published_example() -> None:
    # Bloch, Improving Machinery Reliability, p. 363, Table 9-1.
    assert preload(3.0040, 3.0070, 2.9990) == pytest.approx(0.375, abs=1e-9)


@pytest.mark.parametrize("name", ["12Cr", "12 Cr", "12 chrome", "12 Chrome steel"])
def test_a_material_by_its_trade_names(name: str) -> None:
    assert growth(name) == pytest.approx(10.8e-6)


def test_an_unknown_material_is_not_guessed() -> None:
    assert growth_of("unobtainium", built_in_materials()) is None
    assert growth_of(None, built_in_materials()) is None
    assert growth_of("", built_in_materials()) is None

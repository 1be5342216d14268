"""Rules of thumb against the figures their sources print."""

from __future__ import annotations

import pytest

from trendwear.rules_of_thumb.rules import AS_BUILT, LIMIT, MINIMUM, Asked, Given, rules_for
from trendwear.rules_of_thumb.tables import MARKS, NAMES, of_kind, rules_table

NAN = float("nan")


def asked(kind: str, diameter: float = NAN, unit: str | None = None, **other: object) -> Asked:
    told = {"basis": "diametral", "as_built": NAN, "unit": "mil"} | other
    return Asked(kind=kind, diameter=diameter, diameter_unit=unit, **told)


def given(kind: str, diameter: float, unit: str = "in", **other: object) -> list[Given]:
    return rules_for(asked(kind, diameter, unit, **other))


def by_source(rules: list[Given], words: str) -> list[Given]:
    return [rule for rule in rules if words in rule.source]


def minimum(diameter: float, edition: str, unit: str = "in") -> list[float]:
    rules = given("wear ring", diameter, unit)
    return [rule.low for rule in rules if rule.role == MINIMUM and edition in rule.rule]


def test_four_rules_that_disagree() -> None:
    # Plant Engineering, June 2016: a 4 in shaft gives 5, 6, 6 and 8 mil.
    four = by_source(given("sleeve bearing", 4.0), "Plant Engineering")
    assert [rule.low for rule in four] == pytest.approx([0.005, 0.006, 0.006, 0.008])
    assert {rule.role for rule in four} == {AS_BUILT}


def test_sleeve_bearings_of_pumps() -> None:
    # MIL-HDBK-1164: 0.005 in for a 3 in journal.
    [rule] = by_source(given("sleeve bearing", 3.0), "6.5.1.6")
    assert rule.low == pytest.approx(0.005)


def test_a_pair_of_usual_and_limit() -> None:
    # Bloch and Geitner, page 30: 0.006 in usual and 0.012 in never to be passed at 4 in.
    usual, limit = by_source(given("sleeve bearing", 4.0), "Bloch and Geitner")
    assert (usual.role, limit.role) == (AS_BUILT, LIMIT)
    assert (usual.low, limit.low) == pytest.approx((0.006, 0.012))


def test_a_running_fit() -> None:
    # ISO 286, 100 mm: H7 is 0 to +35 um, g6 is -12 to -34 um; so 12 to 69 um.
    [rule] = given("sleeve bearing", 100.0, "mm")
    assert (rule.low, rule.high, rule.unit) == (pytest.approx(0.012), pytest.approx(0.069), "mm")
    assert given("sleeve bearing", 70.0, "mm") == []


def test_end_play_of_a_thrust_bearing() -> None:
    # Turbomachinery International, 2011: EP (mil) = 0.9 x collar diameter (in) + 6.
    rules = given("thrust end play", 10.0)
    [rule] = by_source(rules, "Turbomachinery International")
    assert rule.low == pytest.approx(0.9e-3 * 10 + 6e-3)
    assert "outside of the thrust collar" in rule.note
    [cards] = by_source(rules, "NAVEDTRA")
    assert (cards.low, cards.high) == (0.008, 0.014)


@pytest.mark.parametrize(
    ("diameter", "least"),
    [
        *((1.999, 0.010), (2.0, 0.011), (2.4999, 0.011), (2.5, 0.012), (3.250, 0.013)),
        *((3.5, 0.014), (4.0, 0.015), (4.5, 0.016), (5.0, 0.017), (6.0, 0.018), (7.0, 0.019)),
        *((25.0, 0.037), (25.5, 0.037), (26.0, 0.038), (26.5, 0.038), (27.0, 0.039)),
    ],
)
def test_the_minimum_of_wear_rings(diameter: float, least: float) -> None:
    assert minimum(diameter, "11th") == [pytest.approx(least)]


def test_an_older_edition_stands_beside_it() -> None:
    assert minimum(3.250, "older") == [0.014]
    assert minimum(4.0, "older") == [0.016]
    assert minimum(5.0, "older") == []


def test_a_minimum_says_that_it_is_no_wear_limit() -> None:
    rules = [rule for rule in given("wear ring", 3.25) if rule.role == MINIMUM]
    assert all("not a wear limit" in rule.note for rule in rules)


def test_inch_and_millimetre_columns_are_two_tables() -> None:
    # 95 mm is 3.74 in, where the inch column says 0.014 in, which is 0.356 mm.
    assert minimum(95.0, "one reprint", "mm") == [0.35]
    assert minimum(95.0, "another reprint", "mm") == [0.36]
    assert minimum(90.0, "11th", "mm") == []
    assert given("wear ring", 95000.0, "um") == given("wear ring", NAN)


def test_renewal_upon_the_clearance_as_built() -> None:
    rules = rules_for(asked("wear ring", as_built=0.3))
    limits = [(rule.low, rule.high, rule.unit) for rule in rules if rule.role == LIMIT]
    assert limits == [(0.6, 0.6, "mil"), (0.45, 0.45, "mil"), (0.45, 0.6, "mil")]


def test_a_kind_is_known_by_its_name_alone() -> None:
    assert given("Sleeve-Bearing", 4.0)
    assert given("sleeve bearing shell", 4.0) == []
    assert given("carbon ring", 4.0) == []


def test_a_diameter_that_is_not_known_gives_no_rule_that_needs_it() -> None:
    assert rules_for(asked("sleeve bearing")) == []
    assert [rule.low for rule in rules_for(asked("thrust end play"))] == [0.008]


@pytest.mark.parametrize("name", NAMES)
def test_every_line_has_its_source_and_says_how_it_was_seen(name: str) -> None:
    rows = rules_table(name)
    assert rows["source"].str.len().gt(10).all()
    assert set(rows["mark"]) <= set(MARKS)


@pytest.mark.parametrize("name", ["wear_ring_minimum_in"])
def test_the_rows_of_an_edition_follow_one_another(name: str) -> None:
    for _, rows in rules_table(name).groupby("edition"):
        assert (rows["diameter_from"].iloc[1:].to_numpy() == rows["diameter_to"].iloc[:-1]).all()
        assert rows["minimum"].is_monotonic_increasing


def test_an_unknown_table_is_no_table() -> None:
    with pytest.raises(KeyError):
        rules_table("somewhere_else")
    assert of_kind(rules_table("renewal"), "ring").empty

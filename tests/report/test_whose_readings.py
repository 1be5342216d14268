from __future__ import annotations

import dataclasses

import pytest
from invented_trends import shares_of

from trendwear.report.whose_readings import shares_table, whose_words


def words_of(steady, shares: dict[str, float]) -> str:
    return whose_words(dataclasses.replace(steady, shares=shares_of(shares)))


def test_the_rate_is_told_to_be_whose_it_is(steady):
    assert whose_words(steady) == (
        "About two thirds (66 %) of this rate comes from the readings of this sleeve bearing "
        "itself, about one tenth (12 %) from what was read here before its part or running was "
        "changed, about one fifth (22 %) from those of one like it."
    )


@pytest.mark.parametrize(
    ("shares", "said"),
    [
        ({"PT-101 brg 2": 1.0}, "The whole of this rate comes from the readings of this sleeve"),
        (
            {"PT-102 brg 1": 0.5, "PT-102 brg 2": 0.5},
            "The whole of this rate comes from those of 2",
        ),
        ({"PT-101 brg 2": 0.98, "PT-102 brg 1": 0.02}, "Nearly all (98 %)"),
        ({"PT-102 brg 1": 0.97, "PT-101 brg 2": 0.03}, "A little (3 %) of this rate comes from"),
    ],
)
def test_the_ends_of_the_scale(steady, shares, said):
    assert words_of(steady, shares).startswith(said)


def test_without_a_rate_nothing_is_said(bare):
    assert whose_words(bare) == ""
    assert shares_table(bare).empty


def test_each_share_is_listed(steady):
    table = shares_table(steady)
    assert list(table["share of the rate"]) == ["66 %", "12 %", "22 %"]
    assert list(table["readings from"]) == ["now", "before its part or running was changed", "now"]

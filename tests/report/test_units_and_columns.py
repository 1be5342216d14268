from __future__ import annotations

import doctest

import numpy as np
import pytest
from invented_trends import table_of

from trendwear import tables
from trendwear.report import columns, limit_table, rounding, units


@pytest.mark.parametrize("module", [limit_table, rounding, units])
def test_examples_in_docstrings_hold(module):
    assert doctest.testmod(module).failed == 0


def test_the_unit_changes_every_length_and_nothing_else():
    table = table_of({}, {"unit": "mil", "limit": 10.0})
    inches = units.in_unit(table, "in")
    assert list(inches["limit"]) == pytest.approx([0.25 / 25.4, 0.010])
    assert (inches["unit"] == "in").all()
    same = [name for name in table if name not in (*units.LENGTHS, "unit")]
    assert inches[same].equals(table[same])
    back = units.in_unit(inches.iloc[[0]], "mm")
    assert np.allclose(back[list(units.LENGTHS)], table.iloc[[0]][list(units.LENGTHS)])


@pytest.mark.parametrize(
    ("decimals", "unit", "wanted", "there"),
    [(2, "mm", "mil", 1), (3, "mm", "um", 0), (4, "in", "mil", 1), (3, "in", "mm", 2),
     (0, "um", "um", 0)],
)  # fmt: skip
def test_decimals_follow_the_unit(decimals, unit, wanted, there):
    assert units.decimals_in(decimals, unit, wanted) == there


def test_every_column_of_the_table_is_explained_in_its_order():
    assert list(columns.COLUMN_MEANINGS) == list(tables.LIMIT_FORECAST)
    assert list(columns.columns_table()["column"]) == list(tables.LIMIT_FORECAST)


def test_every_outcome_has_its_words():
    assert set(columns.OUTCOME_MEANINGS) == set(limit_table.OUTCOME_WORDS)

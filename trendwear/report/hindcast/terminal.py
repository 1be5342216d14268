"""The record of past forecasts for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.hindcast.tables import coverage_table, misses_table, rules_table
from trendwear.report.hindcast.words import late_words, plan_words, summary_words
from trendwear.report.terminal import text_table

if TYPE_CHECKING:
    from trendwear.hindsight.hindcast import Hindcast

__all__ = ["hindcast_lines"]

_MOST: Final = 40
"""Rows of a table that a terminal is given."""


def hindcast_lines(told: Hindcast, width: int) -> list[str]:
    """Return the record as lines of text: words, counts by family, misses, plans."""
    lines = [f"Past forecasts up to {told.as_of:%Y-%m-%d}", ""]
    lines += [f"  {sentence}" for sentence in summary_words(told)]
    parts = {
        "Readings inside their bands; in brackets: to be expected of an honest band": (
            coverage_table(told.scores)
        ),
        "Against two simpler rules": rules_table(told.scores),
        "Readings outside their 90 % band": misses_table(told.found),
    }
    for heading, table in parts.items():
        if len(table):
            lines += ["", heading, *text_table(table.head(_MOST), width), *_rest(len(table))]
    lines += ["", "Past plans: the latest overhaul at an accepted risk"]
    late = late_words(told.plans)
    lines += [f"  {sentence}" for sentence in [*plan_words(told), *late[:_MOST]]]
    return [*lines, *_rest(len(late)), "", SHORT_CAUTION]


def _rest(count: int) -> list[str]:
    return [f"  and {count - _MOST} more: write them with --out"] if count > _MOST else []

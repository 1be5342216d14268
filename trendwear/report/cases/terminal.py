"""A case beside today's plan, for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

import pandas as pd

from trendwear.report.cases.export import headline, said_of
from trendwear.report.cases.table import UNMOVED, cases_table, without_alike
from trendwear.report.cases.words import NOT_STORED, changes_words
from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.overhaul.table import BESIDE_EVERY_DATE, accepted_words
from trendwear.report.terminal import text_table

if TYPE_CHECKING:
    from trendwear.planning.case_compare import Comparison

__all__ = ["case_lines", "kept_lines"]


class Kept(Protocol):
    """A case that is kept: what is told of it."""

    @property
    def name(self) -> str:
        """Its name."""

    @property
    def by(self) -> str:
        """Who keeps it."""

    @property
    def kept_at(self) -> pd.Timestamp:
        """Since when."""


def case_lines(comparisons: Sequence[Comparison], width: int) -> list[str]:
    """Return a case as lines: what is supposed, what it comes to, and the table."""
    return [
        headline(comparisons),
        "Supposed:",
        *(f"  {sentence}" for sentence in changes_words(comparisons[0])),
        "",
        *said_of(comparisons),
        "",
        *_tables(cases_table(comparisons), width),
        "",
        accepted_words([one.today for one in comparisons]),
        BESIDE_EVERY_DATE,
        NOT_STORED,
        "",
        SHORT_CAUTION,
    ]


def kept_lines(kept: Sequence[Kept], width: int) -> list[str]:
    """Return the cases that are kept, as lines."""
    if not kept:
        return ["No case is kept in this store."]
    rows = [(one.name, one.by, f"{one.kept_at:%Y-%m-%d}") for one in kept]
    return text_table(pd.DataFrame(rows, columns=["case", "kept by", "on"]), width)


def _tables(table: pd.DataFrame, width: int) -> list[str]:
    """The machines for which something changes; the others by name."""
    changed = table[table["moves"] != UNMOVED]
    others = table.loc[table["moves"] == UNMOVED, "machine"].drop_duplicates()
    lines = text_table(without_alike(changed), width) if len(changed) else []
    rest = [name for name in others if name not in set(changed["machine"])]
    return [*lines, *([f"Nothing changes for {', '.join(rest)}."] if rest else [])]

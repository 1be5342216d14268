"""An issued plan held against now, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.issued.tables import has_changed, scope_lines
from trendwear.report.issued.words import (
    HOW_TO_READ,
    came_in_words,
    head_words,
    latest_words,
    moved_days,
    reason_lines,
    where_moved,
)
from trendwear.report.rounding import NONE

if TYPE_CHECKING:
    from trendwear.planning.moved import Moved

__all__ = ["compare_lines"]

_WIDEST: Final = 110
"""Columns of text that are still easy to read."""


def compare_lines(moved: Moved, width: int) -> list[str]:
    """Return what moved, machine by machine, as lines no wider than ``width``."""
    width = min(width, _WIDEST)
    rows = moved.table.to_dict("records")
    lines = []
    for sentence in (*head_words(moved), came_in_words(moved), HOW_TO_READ):
        lines += textwrap.wrap(sentence or "", width)
    for row in rows:
        if has_changed(row):
            lines.append("")
            for depth, text in _machine(moved, row):
                lines += _wrapped(text, depth, width)
    same = [row["machine"] for row in rows if not has_changed(row)]
    if same:
        lines += ["", *_wrapped("As issued: " + ", ".join(same), 0, width)]
    scope = scope_lines(moved)
    if scope:
        lines += ["", "Scope of the windows, as issued and now:"]
        for line in scope:
            lines += _wrapped(line, 1, width)
    return [*lines, "", *textwrap.wrap(SHORT_CAUTION, width)]


def _wrapped(text: str, depth: int, width: int) -> list[str]:
    indent = "  " * depth
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent + "  ")


def _machine(moved: Moved, row: dict[str, Any]) -> Iterator[tuple[int, str]]:
    name = row["machine"]
    was = latest_words(row["latest_date_issued"], row["outcome_issued"])
    now = latest_words(row["latest_date_now"], row["outcome_now"])
    if row["standing"] == "new":
        yield 0, f"{name}  new in the register since; latest overhaul {now}"
        return
    if row["standing"] == "gone":
        yield 0, f"{name}  no longer in the register; latest overhaul as issued {was}"
        return
    if was == now:
        yield 0, f"{name}  latest overhaul {now}, as issued"
    else:
        both_dates = "already" not in was and "already" not in now and pd.notna(row["days"])
        by = f", {moved_days(row['days'])}" if both_dates else ""
        yield 0, f"{name}  latest overhaul {was} -> {now}{by}"
    for line in reason_lines(moved, name):
        yield 1, line
    yield from ((1, text) for text in _beside(moved, row))


def _beside(moved: Moved, row: dict[str, Any]) -> Iterator[str]:
    name = row["machine"]
    for column, word in (("outage", "window"), ("placed", "window of the whole site's plan")):
        was, now = row[f"{column}_issued"], row[f"{column}_now"]
        if (was or NONE) != (now or NONE):
            why = f" ({where_moved(moved, name, column)})" if column == "outage" else ""
            then = f"{was}, which has begun," if was in _begun(moved) else was
            yield f"{word}: {then or 'none in time'} -> {now or 'none in time'}{why}"
    was, now = row["order_by_issued"], row["order_by_now"]
    if pd.notna(was) or pd.notna(now):
        days = row["order_days"]
        if days != 0:
            by = "" if pd.isna(days) else f", {moved_days(days)}"
            why = where_moved(moved, name, "order_by")
            yield f"order by: {_day(was)} -> {_day(now)}{by} ({why})"
    why = where_moved(moved, name, "renew")
    if row["renew_added"]:
        yield f"to renew too: {row['renew_added']} ({why})"
    if row["renew_dropped"]:
        yield f"no longer to renew: {row['renew_dropped']} ({why})"


def _begun(moved: Moved) -> set[str]:
    """Windows of the issued plan that are under way or over by now."""
    windows = moved.issued.plan.windows
    return set(windows.loc[windows["start"] <= pd.Timestamp(moved.as_of), "outage"])


def _day(date: Any) -> str:
    return "nothing to order" if pd.isna(date) else f"{date:%Y-%m-%d}"

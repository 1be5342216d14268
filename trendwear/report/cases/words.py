"""What a case comes to, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.report.cases.table import moved_words

if TYPE_CHECKING:
    from trendwear.planning.case_compare import Comparison

__all__ = ["NOT_STORED", "case_words", "changes_words"]

NOT_STORED: Final = "A case is a question: it changes nothing in the store, and no plan."

_SHOWN: Final = 5


def changes_words(comparison: Comparison) -> list[str]:
    """Say what is supposed, one sentence a change."""
    return [_sentence(str(change)) for change in comparison.case.changes]


def case_words(comparison: Comparison) -> list[str]:
    """Say what moves, what moves most, whose window is another, and what must be known."""
    table = comparison.table
    moved = table[table["moved"]]
    said = [_sentence(remark) for remark in comparison.remarks]
    if moved.empty:
        return ["Nothing moves: no date, window, chance, order or renewal is another.", *said]
    earlier, later = (moved["moved_days"] < 0).sum(), (moved["moved_days"] > 0).sum()
    words = [
        f"For {len(moved)} of {_machines(len(table))} something changes; the latest overhaul is "
        f"earlier for {earlier} and later for {later}."
    ]
    words += _most(moved)
    words += _past(moved)
    words += _windows(moved)
    words += _chances(comparison)
    return [*words, *said]


def _most(moved: pd.DataFrame) -> list[str]:
    dated = moved[moved["moved_days"].fillna(0.0) != 0]
    if dated.empty:
        return []
    row = dated.loc[dated["moved_days"].abs().idxmax()]
    return [
        f"Moves most: {row['machine']}, from {row['latest_date']:%Y-%m-%d} to "
        f"{row['latest_date_case']:%Y-%m-%d} ({moved_words(row['moved_days'])})."
    ]


def _past(moved: pd.DataFrame) -> list[str]:
    """What is past its limit already in the case, and is not today."""
    today, case = moved["past_today"].fillna(""), moved["past_today_case"].fillna("")
    other = moved[(today != case) & (case != "")]
    if other.empty:
        return []
    each = [f"{row.machine} ({row.past_today_case})" for row in other.itertuples()]
    return ["Past its limit already in the case: " + ", ".join(each) + "."]


def _windows(moved: pd.DataFrame) -> list[str]:
    today, case = moved["outage"].fillna(""), moved["outage_case"].fillna("")
    other = moved[today != case]
    if other.empty:
        return []
    each = [
        f"{row.machine} {row.outage_case or 'none in time'} (today {row.outage or 'none in time'})"
        for row in other.head(_SHOWN).itertuples()
    ]
    more = len(other) - _SHOWN
    last = [f"and {more} more"] if more > 0 else []
    return ["Another last window: " + "; ".join([*each, *last]) + "."]


def _chances(comparison: Comparison) -> list[str]:
    """Whose chance by the planned window goes over what is accepted."""
    then = comparison.then.windows
    holds = then.drop_duplicates(["machine", "outage"]).set_index(["machine", "outage"])["holds"]
    was = comparison.today.windows.drop_duplicates(["machine", "outage"])
    was_held = was.set_index(["machine", "outage"])["holds"]
    broken = [
        f"{row.machine} ({row.window})"
        for row in comparison.table.itertuples()
        if was_held.get((row.machine, row.window), False)
        and not holds.get((row.machine, row.window), True)
    ]
    if not broken:
        return []
    listed = "; ".join(broken[:_SHOWN])
    more = f"; and {len(broken) - _SHOWN} more" if len(broken) > _SHOWN else ""
    return [f"The accepted risk no longer holds until the window of today's plan: {listed}{more}."]


def _machines(count: int) -> str:
    return f"{count} machine{'' if count == 1 else 's'}"


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."

"""A whole deferral sheet as text, nothing left out; paper and mail take from it what they hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from trendwear.report.deferral.rows import (
    chance_columns,
    chance_rows,
    clearance_columns,
    clearance_rows,
    part_rows,
    rests_on_rows,
    telling,
)
from trendwear.report.deferral.said import (
    asked_words,
    due_words,
    event_words,
    in_words,
    past_words,
    reach_words,
    record_words,
    unknown_words,
    unsigned_words,
)

if TYPE_CHECKING:
    from trendwear.planning.deferral import Deferral

__all__ = ["Listed", "SheetText", "Tabled", "sheet_text"]

Cell = str | dict[str, Any]


@dataclass(frozen=True)
class Listed:
    """Lines under a heading, and where the rest stands if paper holds but some."""

    heading: str
    lines: list[str]
    see: str


@dataclass(frozen=True)
class Tabled:
    """A table under a heading.

    Attributes
    ----------
    rows : list of list
        A cell is a text, or a dict: ``text``, and what is wanted of ``more`` (a quiet second
        line), ``strong``, ``alarm``.
    """

    heading: str
    columns: list[str]
    rows: list[list[Cell]]
    see: str
    rest: int = 0
    """Rows left out because they tell nothing."""


@dataclass(frozen=True)
class SheetText:
    """Everything that one sheet says of its machine.

    Attributes
    ----------
    title, subtitle : str
    asked : list of (str, str)
    alarms : list of Listed
        What must be read first; empty ones are left out.
    chances, clearances, rests_on, parts : Tabled
    in_words : list of str
    reach, record, events : Listed
    """

    title: str
    subtitle: str
    asked: list[tuple[str, str]]
    alarms: list[Listed]
    chances: Tabled
    in_words: list[str]
    clearances: Tabled
    rests_on: Tabled
    reach: Listed
    record: Listed
    events: Listed
    parts: Tabled


def sheet_text(told: Deferral) -> SheetText:
    """Return what the sheet says."""
    machine = told.question.machine
    forecast = f"trendwear forecast --machine '{machine}'"
    tells = set(telling(told))
    told_of = told.clearances["clearance"].isin(tells)
    rests_told = told.rests_on["clearance"].isin(tells)
    alarms = [
        Listed("PAST ITS LIMIT TODAY", past_words(told), forecast),
        Listed(
            "DUE BEFORE THE DATE ASKED FOR: this sheet moves no due date",
            due_words(told),
            "the due_dates sheet",
        ),
        Listed(
            "EVENTS SINCE THE LAST READINGS that no forecast knows of, and nobody has signed for",
            unsigned_words(told),
            f"trendwear history '{machine}'",
        ),
        Listed("NOT KNOWN", unknown_words(told), forecast),
    ]
    title = f"Deferral sheet: {machine}"
    return SheetText(
        title=title,
        subtitle=(
            f"evidence for and against a later overhaul, as of {told.as_of:%Y-%m-%d}; "
            f"method {told.method_version}"
        ),
        asked=asked_words(told),
        alarms=[alarm for alarm in alarms if alarm.lines],
        chances=Tabled(
            "Chance that a limit is passed", chance_columns(told), chance_rows(told), forecast
        ),
        in_words=in_words(told),
        clearances=Tabled(
            "Which clearances set it",
            clearance_columns(told),
            _those(clearance_rows(told), told_of),
            forecast,
            int((~told_of).sum()),
        ),
        rests_on=Tabled(
            "What that rests on: age and weakness of the readings",
            ["clearance", "last read", "run since", "how measured", "readings", "weak points"],
            _those(rests_on_rows(told), rests_told),
            f"trendwear history '{machine}'",
            int((~rests_told).sum()),
        ),
        reach=Listed("How far beyond anything measured", reach_words(told), forecast),
        record=Listed(
            "What past plans and bands were worth", list(record_words(told)), "trendwear hindcast"
        ),
        events=Listed(
            "Events since the last readings",
            event_words(told) or ["None on file."],
            f"trendwear history '{machine}'",
        ),
        parts=Tabled(
            "Parts for an opening on the date asked",
            ["part", "need", "quantity", "lead time", "when"],
            part_rows(told),
            f"trendwear plan '{machine}'",
        ),
    )


def _those(rows: list[list[Cell]], which: pd.Series) -> list[list[Cell]]:
    return [row for row, keep in zip(rows, which, strict=True) if keep]

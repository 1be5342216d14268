"""Which one stored row a person means: found, or listed with what there is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

import duckdb
import pandas as pd

from trendwear.errors import NotOneRow, UnknownName, UsageProblem
from trendwear.readings.cells import read_hours, read_word
from trendwear.readings.columns import STATES
from trendwear.readings.dates import read_date
from trendwear.readings.faults import Refusal
from trendwear.store.computed import computed_readings
from trendwear.store.entries import Entries
from trendwear.store.positions import read_register, with_keys
from trendwear.store.queries import query
from trendwear.wording import fold, fold_column

__all__ = ["EventKey", "ReadingKey", "find_event", "find_reading"]

_OF_SEVERAL: Final = ("plane", "angle", "repeat", "opening")
_MOST: Final = 20


@dataclass(frozen=True)
class ReadingKey:
    """What tells one stored reading from another, as a person writes it."""

    machine: str
    clearance: str
    date: str
    """``2014-05-01``, ``2014-05`` or ``2014``; ``31000 h`` for a reading without a date."""
    state: str
    plane: str | None = None
    """Of the four that follow: None where it does not matter, "" for a blank cell."""
    angle: str | None = None
    repeat: str | None = None
    opening: str | None = None

    def __str__(self) -> str:
        """Return it as messages name it."""
        return f"{self.machine} / {self.clearance}, {self.date}, {self.state}"


@dataclass(frozen=True)
class EventKey:
    """What tells one stored event from another, as a person writes it."""

    machine: str
    date: str
    what: str
    """What happened, or enough of its words to tell it from the day's other events."""

    def __str__(self) -> str:
        """Return it as messages name it."""
        return f"{self.machine}, {self.date}, {self.what}"


def find_reading(connection: duckdb.DuckDBPyConnection, key: ReadingKey) -> Any:
    """Return the one reading, a row of the view ``reading_now``.

    Raises
    ------
    UnknownName
        There is no such machine, clearance or reading; what there is is listed.
    NotOneRow
        Several readings answer to the key; they are listed.
    UsageProblem
        The date or state cannot be read.
    """
    when = _When.of(key.date)
    state = read_word(key.state, STATES)
    if isinstance(state, Refusal):
        raise UsageProblem("state", repr(key.state), f"{state.instead.capitalize()}.")
    _refuse_computed(connection, key, when, state)
    rows = _position(connection, key)
    same = when.are(rows) & (rows["state"] == state)
    for name in _OF_SEVERAL:
        wanted = getattr(key, name)
        if wanted is not None:
            same &= rows[name].map(fold) == fold(wanted)
    found = rows[same]
    if found.empty:
        raise UnknownName(
            str(key), "the store has no such reading", _listed("It has:", _readings(rows))
        )
    if len(found) > 1:
        tell = 'Tell them apart by --plane, --angle, --repeat or --opening ("" for a blank):'
        raise NotOneRow(
            str(key), f"{len(found)} readings answer to it", _listed(tell, _readings(found))
        )
    return next(found.itertuples())


def find_event(connection: duckdb.DuckDBPyConnection, key: EventKey) -> Any:
    """Return the one event, a row of the view ``event_now``; errors as `find_reading`."""
    when = _When.of(key.date)
    rows = connection.execute(query("events_of"), {"machine_key": fold(key.machine)}).df()
    if rows.empty:
        known = connection.execute(query("machines")).df()["machine"]
        raise UnknownName(
            f"machine {key.machine}",
            "the store has no event of it",
            _listed("Machines it knows:", known),
        )
    words = rows["what"].map(fold)
    that_day = when.are(rows)
    found = rows[that_day & (words == fold(key.what))]
    if found.empty:
        found = rows[that_day & words.str.contains(fold(key.what), regex=False)]
    if found.empty:
        raise UnknownName(
            str(key), "the store has no such event", _listed("It has:", _events(rows))
        )
    if len(found) > 1:
        raise NotOneRow(
            str(key), f"{len(found)} events answer to it", _listed("Name one:", _events(found))
        )
    return next(found.itertuples())


@dataclass(frozen=True)
class _When:
    """A day, month or year, or running hours where no date was written."""

    first: dt.datetime | None = None
    last: dt.datetime | None = None
    hours: float | None = None

    @staticmethod
    def of(text: str) -> _When:
        day = read_date(text.strip())
        if not isinstance(day, Refusal):
            spread = dt.timedelta(days=day.spread_days)
            return _When(day.day - spread, day.day + spread)
        hours = read_hours(text.strip())
        if text.strip().casefold().endswith("h") and not isinstance(hours, Refusal):
            return _When(hours=hours.hours)
        raise UsageProblem(
            "date", repr(text), "Write 2014-05-01, or 31000 h for a reading without a date."
        )

    def are(self, rows: pd.DataFrame) -> pd.Series:
        """Whether each row is of that time."""
        if self.hours is not None:
            return rows["date"].isna() & ((rows["run_hours"] - self.hours).abs() < 0.5)
        return (rows["date"] >= self.first) & (rows["date"] <= self.last)


def _refuse_computed(
    connection: duckdb.DuckDBPyConnection, key: ReadingKey, when: _When, state: str
) -> None:
    """Refuse a key that means computed readings only: their sizes are what can be corrected."""
    made = computed_readings(connection).readings
    if made.empty:
        return
    keys = _keys(connection, key)
    mine = (fold_column(made["machine"]) == keys["machine_key"]) & (
        fold_column(made["clearance"]) == keys["clearance_key"]
    )
    made = made[mine & when.are(made) & (made["state"] == state)]
    written = connection.execute(query("readings_of"), keys).df()
    if made.empty or (when.are(written) & (written["state"] == state)).any():
        return
    sources = dict.fromkeys(f"{row.file} row {row.row}" for row in made.itertuples())
    raise UnknownName(
        str(key),
        "nobody wrote this reading: it is computed of sizes",
        f"Correct the sizes on the sheet dimensions ({', '.join(sources)}) and load it again: a "
        "changed row takes the place of the old one.",
    )


def _keys(connection: duckdb.DuckDBPyConnection, key: ReadingKey) -> dict[str, str]:
    """Return the machine and position that a key means, as they compare."""
    entries = Entries(connection, 0)
    asked = pd.DataFrame({"machine": [key.machine], "clearance": [key.clearance]})
    keys = with_keys(asked, read_register(entries), entries.current("names")).iloc[0]
    return {name: str(keys[name]) for name in ("machine_key", "clearance_key")}


def _position(connection: duckdb.DuckDBPyConnection, key: ReadingKey) -> pd.DataFrame:
    """Return the readings of the position that the key names, however it is spelt."""
    keys = _keys(connection, key)
    rows = connection.execute(query("readings_of"), keys).df()
    if len(rows):
        blank = {name: rows[name].astype("object").fillna("") for name in _OF_SEVERAL}
        return rows.assign(**blank)
    register = read_register(Entries(connection, 0))
    mine = register.clearances[register.clearances["machine_key"] == keys["machine_key"]]
    if mine.empty:
        known = register.clearances["machine"].unique()
        raise UnknownName(
            f"machine {key.machine}",
            "the store has no readings of it",
            _listed("Machines it knows:", known),
        )
    raise UnknownName(
        f"{key.machine} / {key.clearance}",
        "the store has no readings of it",
        _listed("Clearances of the machine:", mine["clearance"].unique()),
    )


def _readings(rows: pd.DataFrame) -> list[str]:
    """Say each reading with all that tells it from the others."""
    said = []
    for row in rows.itertuples():
        when = f"{row.date:%Y-%m-%d}" if pd.notna(row.date) else f"{row.run_hours:g} h"
        told = [f"{name} {getattr(row, name)}" for name in _OF_SEVERAL if getattr(row, name)]
        marks = [f"excluded: {row.excluded_why}"] if row.is_excluded else []
        words = [when, row.state, *told, f"{row.written!r}", f"({row.file} row {row.row})", *marks]
        said.append(" ".join(str(word) for word in words))
    return said


def _events(rows: pd.DataFrame) -> list[str]:
    return [f"{row.date:%Y-%m-%d} {row.what}" for row in rows.itertuples()]


def _listed(heading: str, lines: Iterable[object]) -> str:
    shown = [str(line) for line in lines]
    more = len(shown) - _MOST
    last = [f"and {more} more"] if more > 0 else []
    return "\n  ".join([heading, *shown[:_MOST], *last])

"""Corrections of what was loaded: kept for ever, with who made them, why and when.

A loaded row is never changed.  A correction lies over it, and one that is taken back
stays in the record beside the one who took it back.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import duckdb
import pandas as pd

from trendwear.errors import NotOneRow, UsageProblem
from trendwear.store import failures
from trendwear.store.amended import AMENDED, amended_value
from trendwear.store.database import writer
from trendwear.store.queries import query
from trendwear.store.which_row import EventKey, ReadingKey, find_event, find_reading

__all__ = [
    "Signed",
    "accept_event",
    "amend",
    "exclude",
    "undo_accept_event",
    "undo_amend",
    "undo_exclude",
]

_TEXTS: Final = ("what", "former", "written", "unit", "unit_from", "by", "why")


@dataclass(frozen=True)
class Signed:
    """Who makes a correction, and why."""

    by: str
    why: str

    def __post_init__(self) -> None:
        """Refuse a correction that nobody answers for."""
        for name in ("by", "why"):
            if not getattr(self, name).strip():
                raise UsageProblem(f"--{name}", "it is blank", "A correction needs who and why.")


def exclude(store: Path | str, key: ReadingKey, signed: Signed) -> str:
    """Take a reading out of the fit; it stays in the record and in the chart.

    Parameters
    ----------
    store
        The store file.
    key : ReadingKey
        Which reading.
    signed : Signed
        Who says so, and why.

    Returns
    -------
    str
        What was done, in a sentence.

    Raises
    ------
    UnknownName, NotOneRow, UsageProblem, StoreProblem
    """
    with _correcting(store) as connection:
        reading = find_reading(connection, key)
        if reading.is_excluded:
            raise NotOneRow(
                _named(reading),
                f"it is excluded already: {reading.excluded_why}",
                "Take that back first, with --undo, to say another reason.",
            )
        _write(connection, reading, {"what": "excluded", **_signature(signed)})
    return f"{_named(reading)}: {reading.written!r} is out of the fit, and stays in the record"


def amend(store: Path | str, key: ReadingKey, value: str, signed: Signed) -> str:
    """Give a reading another value; the former one stays readable.

    Parameters
    ----------
    store
        The store file.
    key : ReadingKey
        Which reading.
    value : str
        Any notation that a sheet may hold; a bare number is in the unit of the row or
        the register.
    signed : Signed
        Who says so, and why.

    Returns
    -------
    str
        What was done, in a sentence.

    Raises
    ------
    UnknownName, NotOneRow, UsageProblem, InputProblem, StoreProblem
    """
    with _correcting(store) as connection:
        reading = find_reading(connection, key)
        made = amended_value(connection, reading, value)
        _write(connection, reading, {"what": "amended", **made, **_signature(signed)})
    now = "" if made["worn_through"] else f" ({made['value_mm']:.4g} mm)"
    was = "" if pd.isna(reading.value_mm) else f" ({reading.value_mm:.4g} mm)"
    return f"{_named(reading)}: was {reading.written!r}{was}, is now {value!r}{now}"


def undo_exclude(store: Path | str, key: ReadingKey, signed: Signed) -> str:
    """Put an excluded reading back into the fit; parameters and errors as `exclude`."""
    with _correcting(store) as connection:
        reading = find_reading(connection, key)
        _take_back(connection, reading, "excluded", signed)
    return f"{_named(reading)}: {reading.written!r} is back in the fit"


def undo_amend(store: Path | str, key: ReadingKey, signed: Signed) -> str:
    """Take the last standing amendment of a reading back; parameters and errors as `exclude`."""
    with _correcting(store) as connection:
        reading = find_reading(connection, key)
        former = _take_back(connection, reading, "amended", signed)
    return f"{_named(reading)}: was {reading.written!r}, is again {former!r}"


def accept_event(store: Path | str, key: EventKey, signed: Signed) -> str:
    """Answer for it that forecasts made before an event still hold.

    Returns
    -------
    str
        What was done, in a sentence.

    Raises
    ------
    UnknownName, NotOneRow, UsageProblem, StoreProblem
    """
    with _correcting(store) as connection:
        event = find_event(connection, key)
        if isinstance(event.accepted_by, str):
            raise NotOneRow(
                _event_named(event),
                f"{event.accepted_by} accepted it already: {event.accepted_why}",
                "Take that back first, with --undo, to say another reason.",
            )
        bound = {"event": int(event.entry), "by": signed.by.strip(), "why": signed.why.strip()}
        connection.execute(query("accept_event"), bound)
    return f"{_event_named(event)}: accepted; forecasts made before it stand"


def undo_accept_event(store: Path | str, key: EventKey, signed: Signed) -> str:
    """Take the acceptance of an event back; parameters and errors as `accept_event`."""
    with _correcting(store) as connection:
        event = find_event(connection, key)
        if not isinstance(event.accepted_by, str):
            raise NotOneRow(_event_named(event), "nobody accepted it", "There is nothing to undo.")
        bound = {"event": int(event.entry), "by": signed.by.strip(), "why": signed.why.strip()}
        connection.execute(query("undo_acceptance"), bound)
    return f"{_event_named(event)}: no longer accepted"


@contextmanager
def _correcting(store: Path | str) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a store that is there; a correction makes none."""
    if not Path(store).exists():
        raise failures.missing(Path(store))
    with writer(store) as connection:
        yield connection


def _write(connection: duckdb.DuckDBPyConnection, reading: Any, told: dict[str, object]) -> None:
    blank = dict.fromkeys(AMENDED)
    row = {"reading": int(reading.reading), "former": reading.written or "", **blank, **told}
    frame = pd.DataFrame([row]).astype(dict.fromkeys(_TEXTS, "string"))
    connection.register("incoming", frame)
    connection.execute(query("add_correction"))


def _take_back(
    connection: duckdb.DuckDBPyConnection, reading: Any, what: str, signed: Signed
) -> str:
    """Take the last standing correction of that sort back; return the value before it."""
    bound = {"entry": int(reading.reading), "what": what}
    found = connection.execute(query("standing_correction"), bound).fetchall()
    if not found:
        raise NotOneRow(
            _named(reading), f"it is not {what}", "There is nothing of that sort to undo."
        )
    connection.execute(query("undo_correction"), {"entry": found[0][0], **_signature(signed)})
    return str(found[0][1])


def _signature(signed: Signed) -> dict[str, str]:
    return {"by": signed.by.strip(), "why": signed.why.strip()}


def _named(reading: Any) -> str:
    dated = pd.notna(reading.date)
    when = f"{reading.date:%Y-%m-%d}" if dated else f"{reading.run_hours:g} h"
    return f"{reading.machine} / {reading.clearance}, {when}, {reading.state}"


def _event_named(event: Any) -> str:
    return f"{event.machine}, {event.date:%Y-%m-%d}, {event.what}"

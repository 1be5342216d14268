"""Corrections of what was loaded: kept for ever, with who made them, why and when.

A loaded row is never changed.  A correction lies over it, and one that is taken back
stays in the record beside the one who took it back.

All of them take the store file, a key that names one stored row (`ReadingKey` or
`EventKey`) and who says so and why (`Signed`), return what was done in a sentence, and
raise `UnknownName` or `NotOneRow` where the key names no row, several, or one to which
it cannot be done; `UsageProblem` where it cannot be read; `StoreProblem`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import duckdb
import pandas as pd

from trendwear.errors import NotOneRow
from trendwear.store.amended import AMENDED, amended_value
from trendwear.store.queries import query
from trendwear.store.signed import Signed, correcting
from trendwear.store.which_row import EventKey, ReadingKey, find_event, find_reading

__all__ = [
    "accept_event",
    "amend",
    "exclude",
    "undo_accept_event",
    "undo_amend",
    "undo_exclude",
]

_TEXTS: Final = ("what", "former", "written", "unit", "unit_from", "by", "why")


def exclude(store: Path | str, key: ReadingKey, signed: Signed) -> str:
    """Take a reading out of the fit; it stays in the record and in the chart."""
    with correcting(store) as connection:
        reading = find_reading(connection, key)
        if reading.is_excluded:
            raise NotOneRow(
                _named(reading),
                f"it is excluded already: {reading.excluded_why}",
                "Take that back first, with --undo, to say another reason.",
            )
        _write(connection, reading, {"what": "excluded", **signed.bound})
    return f"{_named(reading)}: {reading.written!r} is out of the fit, and stays in the record"


def amend(store: Path | str, key: ReadingKey, value: str, signed: Signed) -> str:
    """Give a reading another value; the former one stays readable.

    Parameters
    ----------
    value : str
        Any notation that a sheet may hold; a bare number is in the unit of the row or
        the register.

    Raises
    ------
    InputProblem
        The value cannot be read, or not as a reading of this clearance.
    """
    with correcting(store) as connection:
        reading = find_reading(connection, key)
        made = amended_value(connection, reading, value)
        _write(connection, reading, {"what": "amended", **made, **signed.bound})
    now = "" if made["worn_through"] else f" ({made['value_mm']:.4g} mm)"
    was = "" if pd.isna(reading.value_mm) else f" ({reading.value_mm:.4g} mm)"
    return f"{_named(reading)}: was {reading.written!r}{was}, is now {value!r}{now}"


def undo_exclude(store: Path | str, key: ReadingKey, signed: Signed) -> str:
    """Put an excluded reading back into the fit."""
    with correcting(store) as connection:
        reading = find_reading(connection, key)
        _take_back(connection, reading, "excluded", signed)
    return f"{_named(reading)}: {reading.written!r} is back in the fit"


def undo_amend(store: Path | str, key: ReadingKey, signed: Signed) -> str:
    """Take the last standing amendment of a reading back."""
    with correcting(store) as connection:
        reading = find_reading(connection, key)
        former = _take_back(connection, reading, "amended", signed)
    return f"{_named(reading)}: was {reading.written!r}, is again {former!r}"


def accept_event(store: Path | str, key: EventKey, signed: Signed) -> str:
    """Answer for it that forecasts made before an event still hold."""
    with correcting(store) as connection:
        event = find_event(connection, key)
        if isinstance(event.accepted_by, str):
            raise NotOneRow(
                _event_named(event),
                f"{event.accepted_by} accepted it already: {event.accepted_why}",
                "Take that back first, with --undo, to say another reason.",
            )
        bound = {"event": int(event.entry), **signed.bound}
        connection.execute(query("accept_event"), bound)
    return f"{_event_named(event)}: accepted; forecasts made before it stand"


def undo_accept_event(store: Path | str, key: EventKey, signed: Signed) -> str:
    """Take the acceptance of an event back."""
    with correcting(store) as connection:
        event = find_event(connection, key)
        if not isinstance(event.accepted_by, str):
            raise NotOneRow(_event_named(event), "nobody accepted it", "There is nothing to undo.")
        bound = {"event": int(event.entry), **signed.bound}
        connection.execute(query("undo_acceptance"), bound)
    return f"{_event_named(event)}: no longer accepted"


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
    connection.execute(query("undo_correction"), {"entry": found[0][0], **signed.bound})
    return str(found[0][1])


def _named(reading: Any) -> str:
    dated = pd.notna(reading.date)
    when = f"{reading.date:%Y-%m-%d}" if dated else f"{reading.run_hours:g} h"
    return f"{reading.machine} / {reading.clearance}, {when}, {reading.state}"


def _event_named(event: Any) -> str:
    return f"{event.machine}, {event.date:%Y-%m-%d}, {event.what}"

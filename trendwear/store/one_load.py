"""One load within one transaction: register first, then what was seen and done.

::

    rows without a fault of their own, and those that wait -> register -> readings,
    work, events, log -> what waits, what is refused, what deserves a look
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

import duckdb
import pandas as pd

import trendwear
from trendwear.progress import Progress, silent
from trendwear.readings.form import SHEETS
from trendwear.readings.loaded import LoadReport
from trendwear.store import look_again, record
from trendwear.store.cells import kept
from trendwear.store.computed import note_not_computed
from trendwear.store.dimension_rows import dimensions_as_kept, refuse_partners
from trendwear.store.entries import Entries
from trendwear.store.facts import take_facts
from trendwear.store.flat import carries_register, clearances_out_of, machines_out_of
from trendwear.store.ledger import Ledger
from trendwear.store.names_checks import meanings_apart, note_unknown_meanings
from trendwear.store.positions import (
    Register,
    known_only,
    mapped_kinds,
    read_register,
    with_keys,
    with_register_unit,
)
from trendwear.store.queries import query
from trendwear.store.reading_rows import readings_as_kept
from trendwear.store.register import Blanks, ready, take_register
from trendwear.store.retag import retag
from trendwear.store.shelves import FACTS, shelf
from trendwear.store.tags import present_tags, refuse_renamed, refuse_undated
from trendwear.store.waiting import settle, with_waiting

if TYPE_CHECKING:
    from trendwear.readings.sheet import Incoming

__all__ = ["take_in"]

_PLAIN_REGISTERS: Final = ("parts", "methods", "materials", "families", "outages", "risks")
_OF_MACHINES: Final = ("due_dates", "duty_plan")

Sheets = dict[str, pd.DataFrame]


def take_in(
    connection: duckdb.DuckDBPyConnection,
    incoming: Incoming,
    store: Path,
    loaded_at: datetime | None = None,
    progress: Progress = silent,
) -> LoadReport:
    """Take the rows of one load into an open store, within its transaction.

    Parameters
    ----------
    connection
        A writer's or a rehearsal's.
    incoming
        Rows read, without a fault of their own, and the faults of the others.
    store
        Where the store is, for the report.
    loaded_at
        The time of the load; the clock's where none is given.
    progress
        Told what is being done.
    """
    number = record.next_load(connection)
    when = record.time_of_load(connection, loaded_at)
    entries, ledger = Entries(connection, number), Ledger()
    sheets = with_waiting(incoming.sheets, entries)
    progress("taking in the register", 0, 0)
    _take_registers(sheets, entries, ledger)
    progress("taking in readings", 0, 0)
    _take_readings(sheets, entries, ledger)
    _take_facts(sheets, entries, ledger, when.normalize())
    stored = sum(c.added + c.filled + c.replaced for c in ledger.counts.values())
    progress("looking again", 0, 0)
    moved = settle(entries, ledger)
    look_again.after_load(entries, ledger)
    note_not_computed(connection, ledger)
    gone = record.gone_rows(entries, incoming, ledger)
    faults = record.all_faults(incoming, ledger)
    refused = record.write_refused(entries, faults)
    changed = stored + moved + refused > 0
    if changed:
        record.write_load(entries, incoming, when, trendwear.__version__)
    return LoadReport(
        store=store,
        files=tuple(source.name for source in incoming.files),
        counts=tuple(ledger.counts[name] for name in SHEETS if name in ledger.counts),
        waiting=connection.execute(query("waiting_positions")).df(),
        faults=record.as_told(faults),
        notes=(*incoming.notes, *ledger.notes, *gone),
        changed=changed,
    )


def _take_registers(sheets: Sheets, entries: Entries, ledger: Ledger) -> None:
    _take_names(sheets, entries, ledger)
    names = entries.current("names")
    for name in {"machines", "clearances"} & set(sheets):
        sheets[name] = refuse_renamed(sheets[name], names, ledger)
    _take_plain(sheets, "machines", entries, ledger)
    if "clearances" in sheets:
        sheets["clearances"] = mapped_kinds(sheets["clearances"], names)
        _take_plain(sheets, "clearances", entries, ledger)
    retag(entries, ledger)
    if "readings" in sheets and carries_register(sheets["readings"]):
        sheets["readings"] = _take_flat(sheets["readings"], names, entries, ledger)
    for name in _PLAIN_REGISTERS:
        _take_plain(sheets, name, entries, ledger)
    register = read_register(entries)
    for name in _OF_MACHINES:
        if name in sheets:
            keyed = with_keys(sheets[name], register, names)
            sheets[name] = known_only(keyed, name, register, ledger)
            _take_plain(sheets, name, entries, ledger)
    if "concessions" in sheets:
        known = known_only(
            with_keys(sheets["concessions"], register, names), "concessions", register, ledger
        )
        sheets["concessions"] = with_register_unit(known, register, "accepted_limit")
        _take_plain(sheets, "concessions", entries, ledger)
    if "dimensions" in sheets:
        known = _of_known(sheets["dimensions"], "dimensions", register, (entries, ledger))
        sizes = dimensions_as_kept(known, register, ledger)
        take_register(sizes, "dimensions", entries, ledger, Blanks.ERASE)


def _take_names(sheets: Sheets, entries: Entries, ledger: Ledger) -> None:
    """Take in the spellings, those of the register's own positions left out."""
    if "names" not in sheets:
        return
    coming = [sheets["clearances"]] if "clearances" in sheets else []
    known = [entries.current("clearances"), *coming]
    sheets["names"] = meanings_apart(sheets["names"], known, ledger)
    note_unknown_meanings(sheets["names"], known, ledger)
    _take_plain(sheets, "names", entries, ledger)


def _take_plain(sheets: Sheets, name: str, entries: Entries, ledger: Ledger) -> None:
    if name in sheets and len(sheets[name]):
        take_register(ready(sheets[name], name, ledger), name, entries, ledger)


def _take_flat(
    rows: pd.DataFrame, names: pd.DataFrame, entries: Entries, ledger: Ledger
) -> pd.DataFrame:
    """Take the register rows out of readings that carry them; return the readings."""
    rows = refuse_undated(rows, names, ledger)
    rows = mapped_kinds(with_keys(rows, read_register(entries), names), names)
    written, rows = rows["machine"], rows.assign(machine=present_tags(rows, names))
    rows, machines = machines_out_of(rows, entries.current("machines"), ledger)
    take_register(machines, "machines", entries, ledger, Blanks.KEEP)
    rows, clearances = clearances_out_of(rows, entries.current("clearances"), ledger)
    take_register(clearances, "clearances", entries, ledger, Blanks.KEEP)
    return rows.assign(machine=written.loc[rows.index])


def _take_readings(sheets: Sheets, entries: Entries, ledger: Ledger) -> None:
    if "readings" not in sheets:
        return
    register = read_register(entries)
    rows = refuse_partners(sheets.pop("readings"), ledger)
    rows = _of_known(rows, "readings", register, (entries, ledger))
    rows = readings_as_kept(rows, register, ledger)
    look_again.at_readings(rows, register, ledger)
    sheets["readings"] = rows


def _of_known(
    rows: pd.DataFrame, name: str, register: Register, hand: tuple[Entries, Ledger]
) -> pd.DataFrame:
    entries, ledger = hand
    names = entries.current("names")
    keyed = with_keys(refuse_undated(rows, names, ledger), register, names)
    return known_only(keyed, name, register, ledger)


def _take_facts(sheets: Sheets, entries: Entries, ledger: Ledger, today: pd.Timestamp) -> None:
    register = read_register(entries)
    for name in FACTS:
        if name not in sheets:
            continue
        rows = sheets.pop(name)
        if name != "readings":
            rows = _of_known(rows, name, register, (entries, ledger))
            if name == "work":
                rows = with_register_unit(rows, register, "amount")
            rows = kept(rows, shelf(name), ledger)
        if len(rows):
            look_again.future_dates(rows, name, today, ledger)
            take_facts(rows, name, entries, ledger)

"""What is taken in but deserves a second look: it is listed, never changed."""

from __future__ import annotations

from typing import Final

import pandas as pd

from trendwear.store.entries import Entries
from trendwear.store.far_off import far_off
from trendwear.store.ledger import Ledger
from trendwear.store.names_alike import note_names_alike
from trendwear.store.positions import Register
from trendwear.store.queries import query

__all__ = ["after_load", "at_readings", "future_dates"]

_MOST_NOTES: Final = 20  # of one sort
_NEAR_HALF: Final = 0.1  # relative


def at_readings(rows: pd.DataFrame, register: Register, ledger: Ledger) -> None:
    """Note readings far off, in mil of clearances kept in mm, or that look radial.

    Parameters
    ----------
    rows : frame
        Readings as they are kept.
    """
    _each_position(far_off(rows, register), ledger)
    keys = ["machine_key", "clearance_key"]
    wanted = [*keys, "unit", "basis", "design_min_mm", "design_max_mm"]
    beside = rows.merge(register.positions[wanted], on=keys, how="left", suffixes=("", "_register"))
    mil = (beside["unit"] == "mil") & beside["unit_register"].isin(["mm", "um"])
    _each_position(
        beside[mil].assign(
            look="look again: read in mil (0.001 in) where the register keeps millimetres"
        ),
        ledger,
    )
    basis = beside["basis"].where(beside["basis"].notna(), beside["basis_register"])
    low = beside["design_min_mm"].fillna(beside["design_max_mm"])
    high = beside["design_max_mm"].fillna(beside["design_min_mm"])
    twice = 2 * beside["value_mm"]
    near = (twice >= low * (1 - _NEAR_HALF)) & (twice <= high * (1 + _NEAR_HALF))
    radial = (basis == "diametral") & (beside["value_mm"] < low * (1 - _NEAR_HALF)) & near
    _each_position(
        beside[radial].assign(
            look="look again: about half of the clearance as built; "
            "if it is radial, say so in basis"
        ),
        ledger,
    )


def future_dates(rows: pd.DataFrame, sheet: str, today: pd.Timestamp, ledger: Ledger) -> None:
    """Note rows whose date lies after the day of the load."""
    ahead = rows[rows["date"] > today]
    if len(ahead):
        places = [f"{row.file} row {row.row}" for row in ahead.head(6).itertuples()]
        more = len(ahead) - len(places)
        ledger.note(
            f"{sheet}: {_number(len(ahead), 'row is', 'rows are')} dated in the "
            f"future, and kept: {', '.join(places)}{f' and {more} more' if more > 0 else ''}"
        )


def after_load(entries: Entries, ledger: Ledger) -> None:
    """Note hours that fall, readings told twice, units in doubt and names that look alike."""
    machines = pd.DataFrame({"machine_key": pd.Series(sorted(ledger.touched), dtype="string")})
    connection = entries.connection
    connection.register("incoming", machines)
    falling = connection.execute(query("falling_hours")).fetchall()
    _note_first(
        [
            f"{machine}: the hours fall {_number(rows, 'time', 'times')} without a row for a "
            f"replaced meter, or one that rolled over, in run_log, first on {first:%Y-%m-%d}; "
            "those hours count as unknown"
            for machine, rows, first in falling
        ],
        ledger,
    )
    twice = connection.execute(query("perhaps_twice")).fetchall()
    _note_first(
        [
            f"{machine}: look again: {_number(rows, 'reading is', 'readings are')} perhaps "
            "stored twice, once with and once without an opening, plane, angle or repeat, "
            f"first on {first:%Y-%m-%d}"
            for machine, rows, first in twice
        ],
        ledger,
    )
    doubts = connection.execute(query("read_in_another_unit")).fetchall()
    _note_first(
        [
            f"{machine} / {clearance}: look again: "
            f"{_number(rows, 'stored reading', 'stored readings')} named no unit and counted in "
            f"{then}, the register's unit then; it says {now} now"
            for machine, clearance, then, now, rows in doubts
        ],
        ledger,
    )
    note_names_alike(connection.execute(query("spellings")).df(), ledger)


def _each_position(rows: pd.DataFrame, ledger: Ledger) -> None:
    """Note each position with what is to ``look`` at in the first of its rows."""
    firsts = rows.drop_duplicates(["machine_key", "clearance_key"])
    counts = rows.groupby(["machine_key", "clearance_key"], sort=False).size()
    _note_first(
        [
            f"{first.machine} / {first.clearance}: {first.look} ({first.written!r}, "
            f"{first.file} row {first.row}{f' and {count - 1} more' if count > 1 else ''})"
            for first, count in zip(firsts.itertuples(), counts, strict=True)
        ],
        ledger,
    )


def _note_first(notes: list[str], ledger: Ledger) -> None:
    """Note the first of many notes of one sort, and count the rest."""
    for text in notes[:_MOST_NOTES]:
        ledger.note(text)
    if len(notes) > _MOST_NOTES:
        ledger.note(f"and {len(notes) - _MOST_NOTES} more notes like the last one")


def _number(rows: int, one: str, more: str) -> str:
    return f"{rows} {one if rows == 1 else more}"

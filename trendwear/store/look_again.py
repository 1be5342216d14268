"""What is taken in but deserves a second look: it is listed, never changed."""

from __future__ import annotations

import difflib
from typing import Final

import pandas as pd

from trendwear.store.entries import Entries
from trendwear.store.ledger import Ledger, listing
from trendwear.store.positions import Register
from trendwear.store.queries import query
from trendwear.wording import fold

__all__ = ["after_load", "at_readings", "future_dates"]

_ALIKE: Final = 0.85
_MOST_PAIRS: Final = 20
_MOST_NAMES: Final = 400  # names of one machine or kinds compared with one another
_NEAR_HALF: Final = 0.1  # relative


def at_readings(rows: pd.DataFrame, register: Register, ledger: Ledger) -> None:
    """Note readings in mil of clearances kept in mm, and values that look radial.

    Parameters
    ----------
    rows : frame
        Readings as they are kept.
    """
    keys = ["machine_key", "clearance_key"]
    wanted = [*keys, "unit", "basis", "design_min_mm", "design_max_mm"]
    beside = rows.merge(register.positions[wanted], on=keys, how="left", suffixes=("", "_register"))
    mil = (beside["unit"] == "mil") & beside["unit_register"].isin(["mm", "um"])
    _each_position(
        beside[mil],
        "look again: read in mil (0.001 in) where the register keeps millimetres",
        ledger,
    )
    basis = beside["basis"].where(beside["basis"].notna(), beside["basis_register"])
    low = beside["design_min_mm"].fillna(beside["design_max_mm"])
    high = beside["design_max_mm"].fillna(beside["design_min_mm"])
    twice = 2 * beside["value_mm"]
    near = (twice >= low * (1 - _NEAR_HALF)) & (twice <= high * (1 + _NEAR_HALF))
    radial = (basis == "diametral") & (beside["value_mm"] < low * (1 - _NEAR_HALF)) & near
    _each_position(
        beside[radial],
        "look again: about half of the clearance as built; if it is radial, say so in basis",
        ledger,
    )


def future_dates(rows: pd.DataFrame, sheet: str, today: pd.Timestamp, ledger: Ledger) -> None:
    """Note rows whose date lies after the day of the load."""
    ahead = rows[rows["date"] > today]
    if len(ahead):
        places = [f"{row.file} row {row.row}" for row in ahead.head(6).itertuples()]
        more = len(ahead) - len(places)
        ledger.note(
            f"{sheet}: {len(ahead)} {'row is' if len(ahead) == 1 else 'rows are'} dated in the "
            f"future, and kept: {', '.join(places)}{f' and {more} more' if more > 0 else ''}"
        )


def after_load(entries: Entries, ledger: Ledger) -> None:
    """Note hours that fall, names that look alike, and rows gone from a file."""
    machines = pd.DataFrame({"machine_key": pd.Series(sorted(ledger.touched), dtype="string")})
    entries.connection.register("incoming", machines)
    for machine, rows, first in entries.connection.execute(query("falling_hours")).fetchall():
        ledger.note(
            f"{machine}: the hours fall {rows} time{'' if rows == 1 else 's'} without a row for a "
            f"replaced meter in run_log, first on {first:%Y-%m-%d}; those hours count as unknown"
        )
    spelt = entries.connection.execute(query("spellings")).df()
    for (what, machine), names in spelt.groupby(["what", "machine"], dropna=False):
        if what == "kind" or fold(str(machine)) in ledger.touched:
            _note_alike(names, "" if what == "kind" else f"{machine}: ", str(what), ledger)


def _each_position(rows: pd.DataFrame, text: str, ledger: Ledger) -> None:
    """One note for each position, with the first of its rows."""
    for (machine, clearance), found in rows.groupby(["machine", "clearance"], sort=False):
        first = found.iloc[0]
        more = f" and {len(found) - 1} more" if len(found) > 1 else ""
        ledger.note(
            f"{machine} / {clearance}: {text} ({first['written']!r}, {first['file']} row "
            f"{first['row']}{more})"
        )


def _note_alike(names: pd.DataFrame, where: str, what: str, ledger: Ledger) -> None:
    count = dict(zip(names["name"], names["rows"], strict=True))
    spelt = sorted(count)[:_MOST_NAMES]
    pairs = []
    for place, one in enumerate(spelt):
        for other in spelt[place + 1 :]:
            if _alike(one, other):
                pairs.append(f"{one!r} ({count[one]}) and {other!r} ({count[other]})")
            if len(pairs) == _MOST_PAIRS:
                break
    if pairs:
        kind = "kinds" if what == "kind" else "positions"
        ledger.note(
            f"{where}{kind} that look alike: {listing(pairs)}; if they are one, map them in names"
        )


def _alike(one: str, other: str) -> bool:
    """Whether two names differ by a slip of the pen; numbers and letters that count do differ."""
    left, right = fold(one), fold(other)
    if left == right or _numbers(left) != _numbers(right):
        return False
    return difflib.SequenceMatcher(None, left, right).ratio() >= _ALIKE


def _numbers(text: str) -> str:
    return "".join(c for c in text if c.isdigit())

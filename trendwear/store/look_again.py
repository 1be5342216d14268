"""What is taken in but deserves a second look: it is listed, never changed."""

from __future__ import annotations

import difflib
import itertools
from typing import Final

import pandas as pd

from trendwear.store.entries import Entries
from trendwear.store.ledger import Ledger, listing
from trendwear.store.positions import Register
from trendwear.store.queries import query
from trendwear.wording import fold

__all__ = ["after_load", "at_readings", "future_dates"]

_ALIKE: Final = 0.8  # share of letters in common
_LONG_WORD: Final = 5
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
            f"{sheet}: {_number(len(ahead), 'row is', 'rows are')} dated in the "
            f"future, and kept: {', '.join(places)}{f' and {more} more' if more > 0 else ''}"
        )


def after_load(entries: Entries, ledger: Ledger) -> None:
    """Note hours that fall, readings told twice, units in doubt and names that look alike."""
    machines = pd.DataFrame({"machine_key": pd.Series(sorted(ledger.touched), dtype="string")})
    connection = entries.connection
    connection.register("incoming", machines)
    for machine, rows, first in connection.execute(query("falling_hours")).fetchall():
        ledger.note(
            f"{machine}: the hours fall {_number(rows, 'time', 'times')} without a row for a "
            f"replaced meter in run_log, first on {first:%Y-%m-%d}; those hours count as unknown"
        )
    for machine, rows, first in connection.execute(query("perhaps_twice")).fetchall():
        ledger.note(
            f"{machine}: look again: {_number(rows, 'reading is', 'readings are')} perhaps "
            "stored twice, once with and once without an opening, plane, angle or repeat, "
            f"first on {first:%Y-%m-%d}"
        )
    doubts = connection.execute(query("read_in_another_unit")).fetchall()
    for machine, clearance, then, now, rows in doubts:
        ledger.note(
            f"{machine} / {clearance}: look again: {_number(rows, 'stored reading', 'stored readings')} named "
            f"no unit and counted in {then}, the register's unit then; it says {now} now"
        )
    _names_alike(connection.execute(query("spellings")).df(), ledger)


def _each_position(rows: pd.DataFrame, text: str, ledger: Ledger) -> None:
    """One note for each position, with the first of its rows."""
    for (machine, clearance), found in rows.groupby(["machine", "clearance"], sort=False):
        first = found.iloc[0]
        more = f" and {len(found) - 1} more" if len(found) > 1 else ""
        ledger.note(
            f"{machine} / {clearance}: {text} ({first['written']!r}, {first['file']} row "
            f"{first['row']}{more})"
        )


def _number(rows: int, one: str, more: str) -> str:
    return f"{rows} {one if rows == 1 else more}"


def _names_alike(spelt: pd.DataFrame, ledger: Ledger) -> None:
    where = spelt["machine"].map(fold, na_action="ignore").astype("object")
    for (what, machine), names in spelt.groupby(["what", where], dropna=False):
        if machine in ledger.touched or not isinstance(machine, str):
            one_machine = f"{names['machine'].iloc[0]}: " if isinstance(machine, str) else ""
            pairs = _pairs_alike(names.groupby("name", sort=False)["rows"].sum().to_dict())
            if pairs:
                advice = (
                    "use one spelling"
                    if what == "machines"
                    else "if they are one, map them in names"
                )
                ledger.note(f"{one_machine}{what} that look alike: {listing(pairs)}; {advice}")


def _pairs_alike(rows: dict[str, int]) -> list[str]:
    """Return pairs of names that look alike, each with its rows."""
    spelt = sorted(rows)[:_MOST_NAMES]
    pairs = (
        f"{one!r} ({rows[one]}) and {other!r} ({rows[other]})"
        for place, one in enumerate(spelt)
        for other in spelt[place + 1 :]
        if _alike(one, other)
    )
    return list(itertools.islice(pairs, _MOST_PAIRS))


def _alike(one: str, other: str) -> bool:
    """Whether two names are perhaps one.

    They are if only dots and blanks differ, or the order of their words, or if a
    long word has a slip of the pen.  ``DE`` and ``NDE``, ``ring 1`` and ``ring 2`` are not.
    """
    left, right = fold(one), fold(other)
    if left == right:
        return False
    if _bare(left) == _bare(right) or sorted(left.split()) == sorted(right.split()):
        return True
    words = list(zip(left.split(), right.split(), strict=False))
    unlike = [(a, b) for a, b in words if a != b]
    same_length = len(left.split()) == len(right.split())
    return same_length and all(_slip(a, b) for a, b in unlike)


def _slip(one: str, other: str) -> bool:
    if min(len(one), len(other)) < _LONG_WORD or not (one.isalpha() and other.isalpha()):
        return False
    return difflib.SequenceMatcher(None, one, other).ratio() >= _ALIKE


def _bare(name: str) -> str:
    return "".join(c for c in name if c.isalnum())

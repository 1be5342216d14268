"""One proposed row of the register: what the sheets say of a position, and what its name says."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from typing import Final

import pandas as pd

from trendwear.readings.draft_kinds import Kind, kind_named, kind_of, said_basis
from trendwear.readings.draft_matching import Match, Spelling, Sureness
from trendwear.readings.draft_words import worded
from trendwear.readings.form import SHEETS, Holds
from trendwear.wording import fold

__all__ = ["NEEDED", "counted_rows", "months", "proposed_clearance", "usual"]

NEEDED: Final = ("kind", "basis", "moves", "unit")
"""Without these a position cannot be followed."""

_CARRIED: Final = tuple(
    column
    for column in SHEETS["clearances"].columns
    if column.name not in ("machine", "clearance", "method", *NEEDED)
)


def proposed_clearance(
    machine: str, own: pd.DataFrame, told: tuple[Match, list[str]]
) -> dict[str, str]:
    """Return one proposed row of the register.

    Parameters
    ----------
    machine : str
        Its name.
    own : frame
        All readings of the machine that the register lacks; ``named``: the usual
        spelling of the position.
    told : tuple
        The position, and every spelling that means it.
    """
    match, fellows = told
    spelling = match.spelling
    rows = own[own["named"].isin(fellows)]
    words = worded(spelling.name)
    said_kind = _only(rows["kind"])
    kind = kind_named(said_kind) if said_kind else kind_of(words.words)
    basis, moves, unit = _basis(rows, fellows, kind), _only(rows["moves"]), _unit(rows)
    row = {
        "machine": machine,
        "clearance": spelling.name,
        "kind": said_kind or (kind.name if kind else ""),
        "basis": basis,
        "moves": moves,
        "unit": unit,
        "location": _location(spelling.name, words.sides),
        "slot": next((number for what, number in words.numbers if what == "slot"), ""),
    }
    row |= {name: text for name, text in _carried(rows) if text}
    also = [name for name in fellows if name != spelling.name]
    row["(usual)"] = kind.usual if kind else ""
    row["(how sure)"] = _kind_sureness(said_kind, kind)
    row["(seen)"] = f"{counted_rows(len(rows))}{months(rows)}" + (
        f", also as {', '.join(also)}" if also else ""
    )
    apart = [match.why] if match.why else []
    row["(why)"] = "; ".join(apart + _about_units(rows) + _by_words(spelling, said_kind))
    return row


def _location(name: str, sides: frozenset[str]) -> str:
    """Return the sides that a name says; "steam valve" says no steam end."""
    says_end = "end" in fold(name).split()
    ends = ("steam end", "exhaust end", "governor end", "coupling end")
    return " ".join(sorted(side for side in sides if says_end or side not in ends))


def _kind_sureness(said: str, kind: Kind | None) -> str:
    if said:
        return "sure: the sheets say the kind"
    if kind is None:
        return Sureness.OPEN.value
    return f"likely; {kind.doubt}" if kind.doubt else "likely, by its name"


def _by_words(spelling: Spelling, said_kind: str) -> list[str]:
    if said_kind:
        return []
    words = sorted(spelling.wording.words)
    return [f"its name says {' and '.join(words)}"] if words else ["no trade word in its name"]


def _basis(rows: pd.DataFrame, fellows: list[str], kind: Kind | None) -> str:
    """Return the basis that the sheets say, where they say one and the kind does not differ."""
    column = rows["register_basis"].where(rows["register_basis"].notna(), rows["basis"])
    said = set(column.dropna()) | {b for name in fellows if (b := said_basis(worded(name).words))}
    if len(said) != 1:
        return ""
    (basis,) = said
    usual_basis = kind.basis if kind and kind.basis else basis
    contradicts = usual_basis != basis and {usual_basis, basis} & {"axial", "thickness"}
    return "" if contradicts else basis


def _unit(rows: pd.DataFrame) -> str:
    """Return the unit that every reading says; blank where one says none, or they differ."""
    units = _units(rows)
    return str(units.iloc[0]) if units.notna().all() and units.nunique() == 1 else ""


def _units(rows: pd.DataFrame) -> pd.Series:
    return rows["value_unit"].where(rows["value_unit"].notna(), rows["unit"])


def _about_units(rows: pd.DataFrame) -> list[str]:
    units = _units(rows)
    if units.notna().all() and units.nunique() == 1:
        return []
    counts = units.fillna("without a unit").value_counts()
    told = ", ".join(f"{count} {unit}" for unit, count in counts.items())
    ask = "say in which unit it is to be kept"
    if units.isna().any():
        ask += "; readings without a unit will be read in it"
    return [f"readings: {told}: {ask}"]


def _carried(rows: pd.DataFrame) -> Iterator[tuple[str, str]]:
    """Yield what all rows of the position say alike of the register's other columns."""
    for column in _CARRIED:
        written = f"{column.name}_written" if column.holds is Holds.LENGTH else column.name
        if written not in rows:
            continue
        text = _only(rows[written])
        if column.holds is Holds.LENGTH and text and re.fullmatch(r"[\d.,/ ]+", text):
            unit = _only(rows[f"{column.name}_unit"]) or _only(rows["unit"])
            text = f"{text} {unit}" if unit else ""
        yield column.name, text


def _only(column: pd.Series) -> str:
    """Return what all cells that say anything say; blank where they say nothing, or differ."""
    said = column.dropna().map(_text).unique()
    return str(said[0]) if len(said) == 1 else ""


def _text(cell: object) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, pd.Timestamp):
        return f"{cell:%Y-%m-%d}"
    return f"{cell:.10g}" if isinstance(cell, float) else str(cell)


def usual(names: pd.Series) -> str:
    """Return the spelling used most."""
    return str(Counter(names.tolist()).most_common(1)[0][0])


def counted_rows(number: int) -> str:
    """Return so many readings in words."""
    return f"{number} reading{'' if number == 1 else 's'}"


def months(rows: pd.DataFrame) -> str:
    """Return from when to when rows are dated, in words; nothing where none is."""
    dates = rows["date"].dropna()
    if dates.empty:
        return ""
    first, last = f"{dates.min():%Y-%m}", f"{dates.max():%Y-%m}"
    return f" in {first}" if first == last else f" from {first} to {last}"

"""A proposed register: machines, clearances and spellings, with the reason for each.

Nothing is used until a person loads it.  Kind is proposed by the words of the name; basis,
direction and unit stand only where the sheets say them and the kind does not contradict.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import pandas as pd

from trendwear.readings.draft_kinds import Kind, kind_named, kind_of, said_basis
from trendwear.readings.draft_matching import Match, Spelling, Sureness, matches
from trendwear.readings.draft_seen import Seen
from trendwear.readings.draft_words import worded
from trendwear.readings.form import SHEETS, Holds
from trendwear.wording import fold

__all__ = ["ASIDE_MEANINGS", "Draft", "draft"]

ASIDE_MEANINGS: Final = {
    "machines": {
        "(seen)": "what the sheets hold of it",
        "(why)": "what deserves a look",
    },
    "clearances": {
        "(usual)": "what usually goes with the kind: for you to confirm, not read",
        "(how sure)": "of the kind",
        "(seen)": "what the sheets hold of it",
        "(why)": "where it comes from",
    },
    "names": {
        "(perhaps)": "what it may mean, the likeliest first: write the right one into clearance",
        "(how sure)": "that it means that position",
        "(seen)": "what the sheets hold under that spelling",
        "(why)": "what speaks for it",
    },
}
_NEEDED: Final = ("kind", "basis", "moves", "unit")
_CARRIED: Final = tuple(
    column
    for column in SHEETS["clearances"].columns
    if column.name not in ("machine", "clearance", "method", *_NEEDED)
)


@dataclass(frozen=True)
class Draft:
    """Proposed sheets: of each, its rows as text and the cells left for a person."""

    rows: dict[str, list[dict[str, str]]]
    open_cells: dict[str, list[frozenset[str]]]
    notes: tuple[str, ...]

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to propose."""
        return not any(self.rows.values())


def draft(seen: Seen) -> Draft:
    """Return what may be proposed for the positions seen."""
    rows: dict[str, list[dict[str, str]]] = {"machines": [], "clearances": [], "names": []}
    notes: list[str] = []
    order = seen.readings["machine_key"].drop_duplicates()
    for machine in order:
        own = seen.readings[seen.readings["machine_key"] == machine]
        name = _usual(own["machine"])
        found = matches(list(_spellings(seen, str(machine))))
        heads = [one for one in found if one.position is one.spelling and not one.spelling.known]
        if str(machine) not in seen.machines:
            rows["machines"].append(_machine(name, own, (len(heads), _like(name, seen))))
        for head in heads:
            fellows = [one.spelling.name for one in found if one.position is head.spelling]
            if head.spelling.rows:
                rows["clearances"].append(_clearance(name, own, (head.spelling, fellows)))
        rows["names"] += [_name(name, one) for one in found if one.position is not one.spelling]
        lost = [h.spelling.name for h in heads if not h.spelling.rows]
        if lost:
            notes.append(f"{name}: work names what no reading is of: {', '.join(lost)}")
    rows["names"].sort(key=_to_decide_first)
    open_cells = {name: [_open(name, row) for row in rows[name]] for name in rows}
    return Draft(rows, open_cells, tuple(notes))


def _spellings(seen: Seen, machine: str) -> Iterator[Spelling]:
    """Yield the spellings of one machine, those of the register first."""
    past = seen.past[seen.past["machine_key"] == machine]
    for row in seen.register[seen.register["machine_key"] == machine].itertuples():
        rows = past[past["clearance_key"] == row.clearance_key]
        yield _spelling(row.clearance, rows, row.kind if isinstance(row.kind, str) else None)
    own = seen.readings[seen.readings["machine_key"] == machine]
    site = seen.readings["clearance_key"].value_counts()
    for key, rows in own.groupby("clearance_key", sort=False):
        yield replace(_spelling(_usual(rows["clearance"]), rows), site_rows=int(site[key]))
    read = set(own["clearance_key"])
    work = seen.work[seen.work["machine_key"] == machine]
    for key, rows in work.groupby("clearance_key", sort=False):
        if key not in read:
            yield Spelling(_usual(rows["clearance"]), 0, frozenset())


def _spelling(name: str, rows: pd.DataFrame, register_kind: str | None = None) -> Spelling:
    dated = rows.dropna(subset=["date"])
    ends = [(row.date.toordinal(), f"{_value(row)} ({row.date:%Y-%m-%d})")
            for row in (dated.iloc[[0, -1]] if len(dated) else dated).itertuples()]  # fmt: skip
    return Spelling(
        name,
        len(rows),
        frozenset(rows["spell"]),
        tuple(ends),
        register_kind is not None,
    )


def _value(row: object) -> str:
    written, unit = getattr(row, "value_written", None), getattr(row, "unit", None)
    text = written if isinstance(written, str) else f"{getattr(row, 'value', ''):.4g}"
    bare = not re.search(r"[a-zµ\"]", text)
    return f"{text} {unit}" if bare and isinstance(unit, str) else text


def _machine(name: str, rows: pd.DataFrame, told: tuple[int, list[str]]) -> dict[str, str]:
    positions, like = told
    alike = f"looks like {', '.join(like)}: if they are one, spell it one way in the sheets"
    return {
        "machine": name,
        "(seen)": f"{_rows(len(rows))}{_span(rows)}, {positions} positions",
        "(why)": alike
        if like
        else "give machines that wear alike one class: thin histories "
        "then borrow from their sisters",
    }


def _like(name: str, seen: Seen) -> list[str]:
    """Return machines whose names differ from this one only in blanks and marks."""
    every = pd.concat([seen.readings["machine"], seen.register["machine"]]).dropna()
    own = "".join(c for c in name.casefold() if c.isalnum())
    bare = {one: "".join(c for c in one.casefold() if c.isalnum()) for one in every.unique()}
    keys = {seen_key for seen_key in seen.readings.loc[seen.readings["machine"] == name,
            "machine_key"]}  # fmt: skip
    same = set(seen.readings.loc[seen.readings["machine_key"].isin(keys), "machine"])
    return [one for one, letters in bare.items() if letters == own and one not in same]


def _clearance(machine: str, own: pd.DataFrame, told: tuple[Spelling, list[str]]) -> dict[str, str]:
    """Return one proposed row of the register."""
    spelling, fellows = told
    named = own.groupby("clearance_key")["clearance"].transform(_usual)
    rows = own[named.isin(fellows)]
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
        "location": " ".join(sorted(words.sides)),
        "slot": next((number for what, number in words.numbers if what == "slot"), ""),
    }
    row |= {name: text for name, text in _carried(rows) if text}
    also = [name for name in fellows if name != spelling.name]
    row["(usual)"] = kind.usual if kind else ""
    row["(how sure)"] = _kind_sureness(said_kind, kind)
    row["(seen)"] = f"{_rows(len(rows))}{_span(rows)}" + (
        f", also as {', '.join(also)}" if also else ""
    )
    row["(why)"] = "; ".join(_about_units(rows) + _by_words(spelling, said_kind))
    return row


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
    fixed = ("axial", "thickness")
    contradicts = kind is not None and kind.basis is not None and kind.basis != basis
    return "" if contradicts and (basis in fixed or kind.basis in fixed) else basis


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


def _name(machine: str, match: Match) -> dict[str, str]:
    """Return one proposed row of the spellings."""
    spelling = match.spelling
    seen = _rows(spelling.rows) if spelling.rows else "in work only"
    return {
        "machine": machine,
        "as_written": spelling.name,
        "clearance": match.position.name if match.position else "",
        "(perhaps)": " or ".join(one.name for one in match.candidates[:3]),
        "(how sure)": match.sureness.value,
        "(seen)": seen,
        "(why)": match.why,
    }


def _to_decide_first(row: dict[str, str]) -> tuple[object, ...]:
    """Order spellings: what a person must decide first, one spelling of all machines together."""
    place = list(Sureness).index(Sureness(row["(how sure)"]))
    return -place, *((fold(row["as_written"]), row["machine"]) if place else (row["machine"],))


def _open(sheet: str, row: dict[str, str]) -> frozenset[str]:
    needed = {"clearances": _NEEDED, "names": ("clearance",)}.get(sheet, ())
    return frozenset(column for column in needed if not row.get(column))


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


def _usual(names: pd.Series) -> str:
    return str(names.value_counts().index[0])


def _rows(number: int) -> str:
    return f"{number} reading{'' if number == 1 else 's'}"


def _span(rows: pd.DataFrame) -> str:
    dates = rows["date"].dropna()
    return f" from {dates.min():%Y-%m} to {dates.max():%Y-%m}" if len(dates) else ""

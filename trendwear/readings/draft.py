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

from trendwear.readings.draft_clearance import (
    NEEDED,
    counted_rows,
    months,
    proposed_clearance,
    usual,
)
from trendwear.readings.draft_matching import Match, Spelling, Sureness, matches
from trendwear.readings.draft_seen import Seen
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


_OF_ENDS: Final = ["date", "value", "value_written", "unit"]


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
        own = _named(seen.readings[seen.readings["machine_key"] == machine])
        name = usual(own["machine"])
        found = matches(list(_spellings(seen, str(machine))))
        heads = [one for one in found if one.position is one.spelling and not one.spelling.known]
        if str(machine) not in seen.machines:
            rows["machines"].append(_machine(name, own, (len(heads), _like(name, seen))))
        for head in heads:
            fellows = [one.spelling.name for one in found if one.position is head.spelling]
            if head.spelling.rows:
                rows["clearances"].append(proposed_clearance(name, own, (head, fellows)))
        rows["names"] += [_name(name, one) for one in found if one.position is not one.spelling]
        lost = [h.spelling.name for h in heads if not h.spelling.rows]
        if lost:
            notes.append(f"{name}: work names what no reading is of: {', '.join(lost)}")
    rows["names"].sort(key=_to_decide_first)
    open_cells = {name: [_open(name, row) for row in rows[name]] for name in rows}
    return Draft(rows, open_cells, tuple(notes))


def _named(rows: pd.DataFrame) -> pd.DataFrame:
    """Return rows of one machine with ``named``, the usual spelling of each position."""
    spelt = {key: usual(names) for key, names in rows.groupby("clearance_key")["clearance"]}
    return rows.assign(named=rows["clearance_key"].map(spelt))


def _spellings(seen: Seen, machine: str) -> Iterator[Spelling]:
    """Yield the spellings of one machine, those of the register first."""
    past = seen.past[seen.past["machine_key"] == machine]
    for row in seen.register[seen.register["machine_key"] == machine].itertuples():
        rows = past[past["clearance_key"] == row.clearance_key]
        yield _spelling(row.clearance, rows, row.kind if isinstance(row.kind, str) else None)
    own = seen.readings[seen.readings["machine_key"] == machine]
    site = seen.readings["clearance_key"].value_counts()
    for key, rows in own.groupby("clearance_key", sort=False):
        yield replace(_spelling(usual(rows["clearance"]), rows), site_rows=int(site[key]))
    read = set(own["clearance_key"])
    work = seen.work[seen.work["machine_key"] == machine]
    for key, rows in work.groupby("clearance_key", sort=False):
        if key not in read:
            yield Spelling(usual(rows["clearance"]), 0, frozenset())


def _spelling(name: str, rows: pd.DataFrame, register_kind: str | None = None) -> Spelling:
    dated = rows.loc[rows["date"].notna(), _OF_ENDS]
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
        "(seen)": f"{counted_rows(len(rows))}{months(rows)}, positions: {positions}",
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


def _name(machine: str, match: Match) -> dict[str, str]:
    """Return one proposed row of the spellings."""
    spelling = match.spelling
    seen = counted_rows(spelling.rows) if spelling.rows else "in work only"
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
    needed = {"clearances": NEEDED, "names": ("clearance",)}.get(sheet, ())
    return frozenset(column for column in needed if not row.get(column))

"""Readings of positions that the register lacks, beside what is known of the others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import pandas as pd

from trendwear.wording import fold_column

__all__ = ["Known", "Seen", "seen"]

_KEYS: Final = ["machine_key", "clearance_key"]
_TEXTS: Final = ("machine", "clearance", "opening", "state", "value_unit", "value_written", "unit")
_MORE: Final = ("basis", "kind", "moves", "limit_unit", "register_basis", "plane", "angle")
_TOLD_ONCE: Final = [
    *_KEYS, "date", "run_hours", "opening", "state", "plane", "angle", "repeat", "value_written"
]  # fmt: skip
_OPENING_DAYS: Final = 45
_OPENING_HOURS: Final = 24.0


@dataclass(frozen=True)
class Known:
    """What a store holds: of each frame the columns named."""

    register: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=["machine", "clearance", "kind"])
    )
    names: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=["machine", "as_written", "clearance"])
    )
    machines: tuple[str, ...] = ()
    past: pd.DataFrame = field(default_factory=pd.DataFrame)
    """Readings of the register's positions, as a sheet of readings has them."""


@dataclass(frozen=True)
class Seen:
    """Rows with ``machine_key``, ``clearance_key`` and, of readings, ``spell``: the opening."""

    readings: pd.DataFrame
    """Of positions that the register lacks; all columns of the sheet that any file has."""
    past: pd.DataFrame
    """Of positions that it has, under its names."""
    work: pd.DataFrame
    """Work on positions that the register lacks."""
    register: pd.DataFrame
    """One row a position: machine, clearance, kind."""
    machines: frozenset[str]
    """Machines with a row of their own, as they compare."""


def seen(sheets: Sequence[Mapping[str, pd.DataFrame]], known: Known) -> Seen:
    """Return what is seen in sheets of one or several sources, beside what a store knows.

    A spelling that the ``names`` say is read as the position that they name.
    """
    readings = _gathered(sheets, "readings", (*_TEXTS, *_MORE, "repeat"))
    register = _register(sheets, known, readings)
    names = _with_keys(_gathered(sheets, "names", ("machine", "as_written", "clearance", "kind")))
    names = pd.concat([_with_keys(known.names), names], ignore_index=True)
    rows = _told_once(_renamed(readings, register, names))
    past = known.past
    past = past if past.empty else _with_keys(past).reindex(columns=rows.columns)
    together = _in_openings(pd.concat([part for part in (past, rows) if len(part)] or [rows]))
    on_it = _is_in(together, register)
    work = _renamed(_gathered(sheets, "work", ("machine", "clearance")), register, names)
    work = work[(work["clearance_key"] != "*") & ~_is_in(work, register)]
    machines = _gathered(sheets, "machines", ("machine",))["machine"]
    have = pd.concat([machines, pd.Series(known.machines, dtype="object")])
    return Seen(
        together[~on_it].reset_index(drop=True),
        together[on_it].reset_index(drop=True),
        work.reset_index(drop=True),
        register,
        frozenset(fold_column(have).dropna()),
    )


def _gathered(
    sheets: Sequence[Mapping[str, pd.DataFrame]], name: str, columns: Sequence[str]
) -> pd.DataFrame:
    """Return the rows of one sheet of all sources, with these columns among others."""
    found = [source[name] for source in sheets if name in source and len(source[name])]
    rows = pd.concat(found, ignore_index=True) if found else pd.DataFrame()
    for column in columns:
        if column not in rows:
            rows[column] = pd.Series(None, rows.index, dtype="object")
    for column, dtype in {"date": "datetime64[us]", "run_hours": "float64"}.items():
        if column not in rows:
            rows[column] = pd.Series(None, rows.index, dtype=dtype)
    return rows


def _with_keys(rows: pd.DataFrame) -> pd.DataFrame:
    keys = {"machine": "machine_key", "clearance": "clearance_key", "as_written": "written_key"}
    made = {key: fold_column(rows[name]).astype("object") for name, key in keys.items()
            if name in rows}  # fmt: skip
    return rows.assign(**made)


def _register(
    sheets: Sequence[Mapping[str, pd.DataFrame]], known: Known, readings: pd.DataFrame
) -> pd.DataFrame:
    """Return every position that is on a register, or that its own readings say all of."""
    columns = ["machine", "clearance", "kind"]
    basis = readings["register_basis"].where(readings["register_basis"].notna(), readings["basis"])
    unit = readings["limit_unit"].where(readings["limit_unit"].notna(), readings["unit"])
    told = _with_keys(readings.assign(basis=basis, unit=unit))
    needed = ["kind", "basis", "moves", "unit"]
    said = told.groupby(_KEYS)[needed].nunique().eq(1).all(axis="columns")
    flat = told[told.set_index(_KEYS).index.isin(said[said].index)].dropna(subset=["kind"])
    parts = [known.register, _gathered(sheets, "clearances", columns)[columns], flat[columns]]
    filled = [part[columns] for part in parts if len(part)] or [known.register]
    return _with_keys(pd.concat(filled, ignore_index=True)).drop_duplicates(_KEYS)


def _renamed(rows: pd.DataFrame, register: pd.DataFrame, names: pd.DataFrame) -> pd.DataFrame:
    """Return rows with keys, under the names that the ``names`` sheet gives them."""
    keyed = _with_keys(rows)
    rules = names.dropna(subset=["clearance"])
    everywhere = rules[rules["machine_key"].isna()]
    own = rules[rules["machine_key"].notna()]
    for_all = dict(zip(everywhere["written_key"], everywhere["clearance"], strict=True))
    for_one = dict(
        zip(zip(own["machine_key"], own["written_key"], strict=True), own["clearance"], strict=True)
    )
    pairs = list(zip(keyed["machine_key"], keyed["clearance_key"], strict=True))
    meant = [for_one.get(pair) or for_all.get(pair[1]) for pair in pairs]
    mapped = pd.Series(meant, keyed.index, dtype="object")
    use = mapped.notna() & ~_is_in(keyed, register)
    return _with_keys(keyed.assign(clearance=keyed["clearance"].where(~use, mapped)))


def _is_in(rows: pd.DataFrame, register: pd.DataFrame) -> pd.Series:
    have = set(zip(register["machine_key"], register["clearance_key"], strict=True))
    pairs = zip(rows["machine_key"], rows["clearance_key"], strict=True)
    return pd.Series([pair in have for pair in pairs], rows.index, dtype="bool")


def _told_once(rows: pd.DataFrame) -> pd.DataFrame:
    """Return rows without those told twice, by a file and by what waits in the store."""
    return rows.drop_duplicates(_TOLD_ONCE).reset_index(drop=True)


def _in_openings(rows: pd.DataFrame) -> pd.DataFrame:
    """Return rows in order of time with ``spell``, the opening in which each was taken.

    A stated opening is one; else the dates within 45 days of the first, or the hours
    within 24 h where there is no date.  A check belongs to no opening: it stands for its day.
    """
    order = {"as-found": 0, "check": 1, "not stated": 1, "as-left": 2}
    ranked = rows.assign(rank=rows["state"].map(order).fillna(1))
    ranked = ranked.sort_values(["machine_key", "date", "run_hours", "rank"], kind="stable")
    spells: list[str] = []
    machine, first_day = "", pd.NaT
    starts: list[tuple[float, str]] = []  # hours at which each opening of the machine began
    for row in ranked.itertuples(index=False):
        if row.machine_key != machine:
            machine, first_day, starts = row.machine_key, pd.NaT, []
        dated = pd.notna(row.date)
        if row.state == "check":
            spells.append(f"check {row.date if dated else row.run_hours}")
            continue
        if dated:  # those without a date stand last
            again = pd.notna(first_day) and (row.date - first_day).days <= _OPENING_DAYS
            near = starts[-1][1] if again else None
        else:
            apart = (at for at in starts if abs(row.run_hours - at[0]) <= _OPENING_HOURS)
            near = next(apart, (0.0, None))[1]
        if near is None:
            near, first_day = str(len(spells)), row.date
            starts.append((row.run_hours, near))
        elif pd.isna(starts[-1][0]) and dated:
            starts[-1] = (row.run_hours, near)
        spells.append(near)
    spell = pd.Series(spells, ranked.index, dtype="object")
    stated = fold_column(ranked["opening"]).astype("object")
    group = [ranked["machine_key"], spell]
    only = stated.groupby(group).transform("nunique") == 1
    filled = stated.where(stated.notna() | ~only, stated.groupby(group).transform("first"))
    named = filled.notna()
    spell = spell.where(~named, "opening " + filled.fillna("").astype("object"))
    return ranked.assign(spell=spell).drop(columns="rank")

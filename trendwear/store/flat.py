"""Register rows out of a sheet of readings that carries the register's columns.

Rows of one position that agree make its register row; a blank says nothing.  Rows
that differ from each other or from the register are refused.  ``unit``, ``basis``
and ``method`` belong to the reading: the register takes them where all rows of the
position agree, else ``limit_unit`` and ``register_basis`` must say them.  A unit
written within a cell belongs to that reading alone where the column says its own.
"""

from __future__ import annotations

from typing import Final

import pandas as pd

from trendwear.readings.form import SHEETS
from trendwear.store.agreement import Told, agree, first_said, group_of, looked_up
from trendwear.store.cells import complete, kept, no_unit
from trendwear.store.keys import differing, key_of
from trendwear.store.ledger import Fault, Ledger
from trendwear.store.register_checks import limit_faults, row_faults
from trendwear.store.shelves import How, shelf

__all__ = ["carries_register", "clearances_out_of", "machines_out_of"]

_POSITION: Final = ("machine_key", "clearance_key")
_MOVING: Final = (*_POSITION, "moves")
_LIMIT: Final = (*_MOVING, "limit_from")
_NEEDED: Final = ("kind", "moves", "basis", "unit")
_WORDS: Final = {
    "unit": "unit (the same in all rows, or limit_unit)",
    "basis": "basis (the same in all rows, or register_basis)",
}


def carries_register(rows: pd.DataFrame) -> bool:
    """Whether any row says anything that belongs to the register."""
    return any(bool(rows[column.name].notna().any()) for column in SHEETS["readings"].also)


def machines_out_of(
    rows: pd.DataFrame, stored: pd.DataFrame, ledger: Ledger
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the rows that agree on their machine, and its register rows, ready to take in."""
    books = shelf("machines")
    told = kept(rows, books, ledger)
    hand = Told(rows, told, stored, ledger)
    spoken = [c for c in books.columns if c != "machine" and told[c].notna().any()]
    for column in spoken:
        hand = agree(hand, column, ("machine_key",))
    told = first_said(hand, ("machine_key",), list(books.columns))
    for bad, fault in row_faults("machines", told):
        hand = hand.without(bad, fault)
    told = told.loc[hand.rows.index]
    made = told[told[spoken].notna().any(axis="columns")] if spoken else told.iloc[:0]
    made = made.assign(key=key_of(made, books.sheet))
    return hand.rows, made.drop_duplicates("key")


def clearances_out_of(
    rows: pd.DataFrame, stored: pd.DataFrame, ledger: Ledger
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the rows that agree on their position, and its register rows, ready to take in.

    The column ``lacks`` of the rows says what their position still lacks for a
    register row of its own.
    """
    books = shelf("clearances")
    rows, told = _told(rows, stored, ledger)
    hand = Told(rows, told, stored, ledger)
    hand = _on_basis(hand)
    hand = agree(hand, "kind", _POSITION)
    for column in (c for c in books.columns if c not in ("machine", "clearance", *_NEEDED)):
        if column != "limit_from" and hand.told[column].notna().any():
            hand = agree(hand, column, _LIMIT)
    told = first_said(hand, _POSITION, ["kind"])
    told = first_said(Told(hand.rows, told, stored, ledger), _LIMIT, list(books.columns))
    for bad, fault in limit_faults(told):
        hand = hand.without(bad, fault)
    return _split(hand, told.loc[hand.rows.index])


def _told(
    rows: pd.DataFrame, stored: pd.DataFrame, ledger: Ledger
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the rows, and what each says of its register row, in the register's columns."""
    position = group_of(rows, _POSITION)
    unit = _shared_unit(rows, position)
    unit = unit.where(unit.notna(), _shared(rows["limit_unit"], position))
    basis = _shared(rows["register_basis"], position)
    basis = basis.where(basis.notna(), _shared(rows["basis"], position))
    every = rows["method"].notna().groupby(position).transform("all")
    method = _shared(rows["method"], position).where(every)
    before = stored.sort_values("entry").drop_duplicates(list(_POSITION), keep="last")
    before = before.set_index(group_of(before, _POSITION))
    known = position.isin(before.index)
    unit = unit.where(unit.notna(), looked_up(position, before["unit"]))
    as_register = rows.assign(unit=unit, basis=basis, method=method)
    keyed = complete(as_register, SHEETS["clearances"]).join(rows[list(_POSITION)])
    told = kept(keyed, shelf("clearances"), ledger)
    rows = rows.loc[told.index]
    # Of a position that is stored already the register says how it is kept.
    for column in ("unit", "basis", "method"):
        said_before = looked_up(position, before[column]).loc[told.index]
        told[column] = told[column].where(~known.loc[told.index], said_before)
    return rows, _sequenced(told, stored)


def _shared(column: pd.Series, position: pd.Series) -> pd.Series:
    """Return what all rows of a position that say anything agree on, else nothing."""
    groups = column.groupby(position)
    return groups.transform("first").where(groups.transform("nunique") == 1)


def _shared_unit(rows: pd.DataFrame, position: pd.Series) -> pd.Series:
    """Return the unit that the rows of a position agree on, if they do.

    A unit within a cell belongs to that reading alone, as long as its row fills the
    column ``unit``; else it speaks for the row.
    """
    column = _shared(rows["unit"], position)
    spoken = rows["unit"].notna() | rows["value_unit"].isna()
    column = column.where(spoken.groupby(position).transform("all"))
    return column.where(column.notna(), _shared(own_unit(rows), position))


def _sequenced(told: pd.DataFrame, stored: pd.DataFrame) -> pd.DataFrame:
    """Give rows that leave them out the direction and the limit's date of their position."""
    position = group_of(told, _POSITION)
    ways = pd.concat([told[[*_POSITION, "moves"]], stored[[*_POSITION, "moves"]]])
    only = ways["moves"].groupby(group_of(ways, _POSITION)).agg(["nunique", "first"])
    only_way = only["first"].where(only["nunique"] == 1)
    told = told.assign(
        moves=told["moves"].where(told["moves"].notna(), looked_up(position, only_way))
    )
    moving = group_of(told, _MOVING)
    begun = stored.sort_values("entry").drop_duplicates(list(_MOVING), keep="last")
    begun = begun.set_index(group_of(begun, _MOVING))["limit_from"]
    silent = told["limit_mm"].isna() & told["limit_from"].isna()
    known = moving.isin(begun.index)
    first = told["limit_from"].groupby(moving).transform("first")
    since = looked_up(moving, begun).where(known, first).astype(told["limit_from"].dtype)
    return told.assign(limit_from=told["limit_from"].where(~silent, since))


def _on_basis(hand: Told) -> Told:
    """Refuse rows whose ``register_basis`` is not that of their position."""
    stated = hand.rows["register_basis"]
    bad = differing(stated, hand.told["basis"], How.NAME)
    return hand.without(
        bad,
        Fault(
            "register_basis",
            "it differs from the register or from other rows of this position: "
            + hand.told["basis"].astype("object").fillna("").map(str),
            "Write the one basis in which the register counts this clearance",
        ),
    )


def _split(hand: Told, told: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Part the readings from the register rows that can be made of what they told."""
    rows, ledger = hand.rows, hand.ledger
    missing = told[list(_NEEDED)].isna()
    unit_only = missing["unit"] & (missing.sum(axis="columns") == 1)
    whole = ~missing.any(axis="columns")
    made = group_of(pd.concat([told[whole], hand.stored])[list(_POSITION)], _POSITION)
    covered = group_of(told, _POSITION).isin(made)
    unclear = covered & missing["moves"] & told["limit_mm"].notna()
    rows = ledger.keep_good(
        rows,
        unclear,
        Fault(
            "moves",
            "this position is limited both ways, and the row does not say which limit it gives",
            "Write opens or closes in the column moves",
        ),
    )
    has_unit = own_unit(rows).notna()
    bare = unit_only & ~covered & ~has_unit.reindex(told.index, fill_value=True)
    rows = ledger.keep_good(rows, bare.reindex(rows.index), no_unit("value"))
    rows = rows.assign(lacks=_in_words(missing.loc[rows.index]))
    made = told.loc[rows.index][whole.loc[rows.index]]
    made = made.assign(key=key_of(made, SHEETS["clearances"]))
    return rows, made.drop_duplicates("key")


def own_unit(rows: pd.DataFrame) -> pd.Series:
    """Return the unit each reading brings along, in its cell or its row."""
    return rows["value_unit"].where(rows["value_unit"].notna(), rows["unit"])


def _in_words(missing: pd.DataFrame) -> pd.Series:
    """Say which columns are missing: ``kind, moves``."""
    words = pd.Series("", index=missing.index)
    for column in _NEEDED:
        words = words.where(~missing[column], words + ", " + _WORDS.get(column, column))
    return words.str.removeprefix(", ").where(missing.any(axis="columns"), None)

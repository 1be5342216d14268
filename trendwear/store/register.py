"""Register rows coming in: new ones are added, changed ones replace the old from now on."""

from __future__ import annotations

from enum import Enum
from typing import Final

import pandas as pd

from trendwear.readings.form import Holds
from trendwear.store.cells import kept
from trendwear.store.entries import Entries
from trendwear.store.keys import alone, comparable, key_of, said
from trendwear.store.ledger import Ledger
from trendwear.store.limit_status import status_faults, with_status
from trendwear.store.register_checks import group_faults, row_faults
from trendwear.store.shelves import How, Shelf, shelf
from trendwear.wording import fold_column

__all__ = ["Blanks", "ready", "take_register"]

_KEYED: Final = {
    "machine": "machine_key",
    "clearance": "clearance_key",
    "as_written": "as_written_key",
}
_NAMED_CHANGES: Final = 20


class Blanks(Enum):
    """What a blank cell says about a row that is stored already."""

    ERASE = "nothing stands there (any more)"
    KEEP = "nothing is said: what is stored stays"


def ready(rows: pd.DataFrame, sheet: str, ledger: Ledger) -> pd.DataFrame:
    """Return rows of a register as they are kept, with key; faulty ones are refused."""
    books = shelf(sheet)
    keyed = rows
    for column, key in _KEYED.items():
        if column in books.sheet.key and key not in keyed:
            keyed = keyed.assign(**{key: fold_column(rows[column]).astype("object")})
    good = kept(keyed, books, ledger)
    good = good.assign(key=key_of(good, books.sheet))
    faults = [*row_faults(sheet, good), *(status_faults(good) if sheet == "clearances" else ())]
    for bad, fault in faults:
        good = ledger.keep_good(good, bad.reindex(good.index), fault)
    return good


def take_register(
    rows: pd.DataFrame, sheet: str, entries: Entries, ledger: Ledger, blanks: Blanks = Blanks.ERASE
) -> None:
    """Take rows of a register (as from `ready`) into the store.

    A column that is blank in all rows is taken as absent: what is stored stays.
    """
    if rows.empty:
        return
    books = shelf(sheet)
    rows = with_status(rows) if sheet == "clearances" else rows
    ledger.see(sheet, rows["key"])
    good = alone(rows, books, ledger)
    stored = entries.current(sheet)
    _note_silent(good, stored, (books, ledger), blanks)
    good = _carried_over(good, stored, books, blanks)
    for bad, fault in group_faults(sheet, good, stored):
        good = ledger.keep_good(good, bad.reindex(good.index), fault)
    old = stored.set_index("key").reindex(good["key"])
    known = pd.Series(old["entry"].notna().to_numpy(), good.index)
    changed = _changed(good[known], old[known.to_numpy()], books)
    replaced = changed.any(axis="columns")
    _note_changes(
        good[known][replaced], old[known.to_numpy()][replaced.to_numpy()], changed, (books, ledger)
    )
    newer = good.assign(place=old["place"].to_numpy())[
        ~known | replaced.reindex(good.index, fill_value=False)
    ]
    entries.retire(
        sheet, old.loc[known.to_numpy(), "entry"][replaced.to_numpy()].astype(int).tolist()
    )
    entries.add(sheet, newer)
    ledger.touched |= set(newer["machine_key"].dropna()) if "machine_key" in newer else set()
    ledger.count(sheet, "added", int((~known).sum()))
    ledger.count(sheet, "replaced", int(replaced.sum()))
    ledger.count(sheet, "unchanged", int((~replaced).sum()))


def _carried_over(
    rows: pd.DataFrame, stored: pd.DataFrame, books: Shelf, blanks: Blanks
) -> pd.DataFrame:
    old = stored.set_index("key")
    cells = {}
    for column in books.columns:
        before = old[column].reindex(rows["key"]).set_axis(rows.index).astype("object")
        if blanks is Blanks.KEEP:
            cells[column] = before.where(before.notna(), rows[column]).astype(rows[column].dtype)
        elif rows[column].isna().all():
            cells[column] = before.astype(rows[column].dtype)
    return rows.assign(**cells)


def _note_silent(
    rows: pd.DataFrame, stored: pd.DataFrame, told: tuple[Shelf, Ledger], blanks: Blanks
) -> None:
    """Say which columns are blank throughout although the store holds something there."""
    books, ledger = told
    old = stored[stored["key"].isin(rows["key"])]
    silent = [c for c in books.columns if rows[c].isna().all() and old[c].notna().any()]
    if silent and blanks is Blanks.ERASE:
        names = ", ".join(said(column) for column in silent)
        ledger.note(f"{books.sheet.name}: this load says nothing of {names}; what is stored stays")


def _changed(rows: pd.DataFrame, old: pd.DataFrame, books: Shelf) -> pd.DataFrame:
    """Whether each cell of known rows says something else than the stored one, blanks counted."""
    cells = {}
    for column, how in books.columns.items():
        # A name's spelling is what is shown: another spelling is a change of the register.
        looks = How.TEXT if how is How.NAME else how
        new = comparable(rows[column], looks)
        before = comparable(old[column].set_axis(rows.index), looks)
        same = (new == before) | (new.isna() & before.isna())
        if how is How.NUMBER:
            same |= (new - before).abs() <= 1e-9 * before.abs()
        cells[column] = ~same
    return pd.DataFrame(cells, index=rows.index)


def _note_changes(
    rows: pd.DataFrame, old: pd.DataFrame, changed: pd.DataFrame, told: tuple[Shelf, Ledger]
) -> None:
    books, ledger = told
    names = [c for c in books.sheet.key if books.sheet.column(c).holds is not Holds.DATE]
    texts = []
    for place, (index, row) in enumerate(rows.head(_NAMED_CHANGES).iterrows()):
        cells = [c for c in changed if changed.at[index, c]]
        told_cells = ", ".join(
            f"{said(c)} was {_shown(old.iloc[place][c], c)}, is {_shown(row[c], c)}" for c in cells
        )
        texts.append(f"{' / '.join(str(row[n]) for n in names if pd.notna(row[n]))} ({told_cells})")
    if texts:
        more = len(rows) - len(texts)
        text = "; ".join(texts) + (f" and {more} more" if more else "")
        ledger.note(f"{books.sheet.name}: changed rows replace the old ones from now on: {text}")


def _shown(cell: object, column: str) -> str:
    if cell is None or cell is pd.NaT or cell is pd.NA or cell != cell:
        return "blank"
    if isinstance(cell, pd.Timestamp):
        return f"{cell:%Y-%m-%d}"
    if isinstance(cell, float):
        return f"{cell:.6g} mm" if column.endswith("_mm") else f"{cell:.10g}"
    return str(cell)

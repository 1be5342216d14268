"""The values that stand in place of those loaded, and a new one read as at load."""

from __future__ import annotations

from typing import Any, Final

import duckdb
import numpy as np
import pandas as pd

from trendwear.errors import InputProblem
from trendwear.readings.form import SHEETS
from trendwear.readings.typed_cells import Customs, trimmed, typed_column
from trendwear.store.cells import complete
from trendwear.store.entries import Entries
from trendwear.store.keys import differing
from trendwear.store.ledger import Ledger
from trendwear.store.positions import read_register
from trendwear.store.queries import query
from trendwear.store.reading_rows import readings_as_kept
from trendwear.store.shelves import PROVENANCE, shelf

__all__ = ["AMENDED", "amended_value", "as_amended"]

AMENDED: Final = (
    "value_mm", "lower_mm", "upper_mm", "at_least", "half_width_mm", "step_mm",
    "unit", "unit_from", "worn_through", "written",
)  # fmt: skip
"""What an amendment says anew of a reading."""
_COMPARED: Final = ("value_mm", "lower_mm", "upper_mm", "at_least", "half_width_mm", "worn_through")


def amended_value(
    connection: duckdb.DuckDBPyConnection, reading: Any, text: str
) -> dict[str, object]:
    """Return a new value of a stored reading, in the columns of `AMENDED`.

    The unit is the one in the text, else the row's, else the register's, as at load.

    Parameters
    ----------
    reading
        A row of the view ``reading_now``.
    text : str
        Any notation that a sheet may hold.

    Raises
    ------
    InputProblem
        It cannot be read, or not as a reading of this clearance.
    """
    column = SHEETS["readings"].column("value")
    read = typed_column(np.array([text], dtype=object), column, Customs())
    where = f"the value {text!r}"
    if read.refused or not trimmed(text):
        why = read.refused.get(0)
        found = why.reason if why else "there is no value"
        raise InputProblem(where, found, f"Please {why.instead if why else 'write the reading'}.")
    bound = {"entry": int(reading.reading)}
    as_loaded = connection.execute(query("stored_reading"), bound).df()
    register = read_register(Entries(connection, 0))
    rows = complete(_as_sheet(as_loaded, read.columns), SHEETS["readings"])
    keys = as_loaded[["machine_key", "clearance_key"]].astype("object")
    ledger = Ledger()
    kept = readings_as_kept(rows.join(keys), register, ledger)
    faults = ledger.faults()
    if len(faults):
        fault = faults.iloc[0]
        raise InputProblem(where, fault["reason"], f"{fault['instead']}.")
    [made] = kept[list(AMENDED)].to_dict("records")
    said = {str(name): cell for name, cell in made.items()}
    _refuse_bare(read.columns, said, reading, where)
    _refuse_basis(read.columns, where)
    return said


def _as_sheet(stored: pd.DataFrame, value: dict[str, pd.Series]) -> pd.DataFrame:
    """Return the reading as a row of a sheet with the new value in it."""
    plain = ("machine", "clearance", "date", "run_hours", "state", "basis", *PROVENANCE)
    own_row = stored["unit_from"] == "row"
    cells = {name: stored[name] for name in plain}
    return pd.DataFrame({**cells, **value, "unit": stored["unit"].where(own_row, None)})


def _refuse_bare(
    value: dict[str, pd.Series], made: dict[str, object], reading: Any, where: str
) -> None:
    """Refuse a bare number that would count in another unit than the value it replaces."""
    bare = value["value_unit"].isna() & value["value"].notna()
    if bare.all() and made["unit"] != reading.unit:
        raise InputProblem(
            where,
            f"it names no unit, and the value it takes the place of, {reading.written!r}, is "
            f"in {reading.unit}",
            "Write the unit beside the number.",
        )


def _refuse_basis(value: dict[str, pd.Series], where: str) -> None:
    """Refuse a value that names a basis: a correction keeps that of the reading."""
    [named] = value["value_basis"]
    if named is not None:
        raise InputProblem(
            where,
            f"it says {named}, and a correction keeps the basis of the reading",
            "Write the value on that basis, without the word.",
        )


def as_amended(old: pd.DataFrame, rows: pd.DataFrame, entries: Entries) -> pd.DataFrame:
    """Return stored readings with their amended value where a loaded row says the same.

    A sheet that was corrected as the store was is no conflict; one that was not, and
    still says what was loaded before, changes nothing.

    Parameters
    ----------
    old : frame
        Stored readings, as they were loaded.
    rows : frame
        Rows of the same keys coming in, with the same index.
    """
    asked = pd.DataFrame({"entry": old["entry"].astype("int64")})
    entries.connection.register("incoming", asked)
    amended = entries.connection.execute(query("amendments_of")).df()
    if amended.empty:
        return old
    now = amended.set_index("entry").reindex(old["entry"]).set_axis(old.index)
    how = shelf("readings").columns
    same = now["what"].notna()
    for column in _COMPARED:
        same &= ~differing(now[column], rows[column], how[column])
    names = list(AMENDED)
    return old.assign(**{name: old[name].where(~same, now[name]) for name in names})

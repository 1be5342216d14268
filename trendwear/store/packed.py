"""A frame as a few bytes, and back to the last bit: how issued plans keep their tables.

The form is zlib-compressed JSON, one list a column; text and dates stand once each, with the
place of every row's among them.  It needs no library but Python's own to be read in years.
"""

from __future__ import annotations

import json
import zlib
from typing import Any, Final

import numpy as np
import pandas as pd

from trendwear import tables

__all__ = ["pack", "unpack"]

_FORM: Final = 1
_SHARED: Final = ("text", "date")


def pack(frame: pd.DataFrame, columns: tables.Columns) -> bytes:
    """Return the columns of a frame as bytes; an empty cell stays empty.

    Parameters
    ----------
    frame : DataFrame
        With at least these columns.
    columns : dict
        Column names and what they hold, in the manner of `trendwear.tables`.
    """
    told = tables.conform(frame[[name for name in columns if name in frame]], columns)
    content = {name: _written(told[name], what) for name, what in columns.items()}
    text = json.dumps({"form": _FORM, "rows": len(told), "columns": content})
    return zlib.compress(text.encode("utf-8"))


def unpack(content: bytes, columns: tables.Columns) -> pd.DataFrame:
    """Return the frame that was packed; a column it did not have yet is empty.

    Raises
    ------
    ValueError
        It is of a form that this version does not know.
    """
    told = json.loads(zlib.decompress(content))
    if told["form"] != _FORM:
        raise ValueError(f"packed in form {told['form']}; this version knows {_FORM}")
    known = {name: cells for name, cells in told["columns"].items() if name in columns}
    frame = pd.DataFrame(
        {name: _read(cells, columns[name]) for name, cells in known.items()},
        index=pd.RangeIndex(told["rows"]),
    )
    return tables.conform(frame, columns)


def _written(column: pd.Series, what: str) -> Any:
    if what not in _SHARED:
        return column.tolist()
    place, words = pd.factorize(column)  # an empty cell has the place -1
    if what == "date":
        words = [pd.Timestamp(day).isoformat() for day in words]
    return {"words": [str(word) for word in words], "place": place.tolist()}


def _read(cells: Any, what: str) -> pd.Series:
    if what not in _SHARED:
        return pd.Series(cells)
    dates = what == "date"
    words = (
        np.array([np.datetime64(day, "us") for day in [*cells["words"], "NaT"]])
        if dates
        else np.array([*cells["words"], None], dtype=object)
    )
    return pd.Series(words[np.array(cells["place"], dtype=np.int64)])

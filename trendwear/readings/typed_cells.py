"""One column of text to typed columns: every spelling is read once, however often it occurs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from trendwear.readings import cells
from trendwear.readings.columns import Column, Holds, Takes
from trendwear.readings.dates import DateOrder, read_date
from trendwear.readings.decimals import Decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.notation import read_length
from trendwear.readings.temperature import read_temperature

__all__ = ["Customs", "TypedColumn", "blank_columns", "trimmed", "typed_column"]


@dataclass(frozen=True)
class Customs:
    """How dates and numbers are written in one file."""

    order: DateOrder = DateOrder.ISO
    decimal: Decimal = Decimal.POINT


@dataclass(frozen=True)
class TypedColumn:
    """The cells of one column, read."""

    columns: dict[str, pd.Series]
    """The column itself and those that go with it, such as its spread."""
    refused: dict[int, Refusal]
    """Why a cell was not read, by its place in the column."""
    blank: np.ndarray
    """Whether each cell is blank."""


_Take = Callable[[object], object]
_Part = tuple[str, str, object, _Take]
"""Suffix, dtype, what a blank cell holds, and how it is taken from what was read."""


def _parts(column: Column) -> list[_Part]:
    parts = _PARTS.get(column.holds, [("", "object", None, lambda read: read)])
    return [*parts, *_OF_READINGS] if column.takes is Takes.READING else parts


def _of(name: str) -> Callable[[object], object]:
    return lambda read: getattr(read, name)


_PARTS: Final[dict[Holds, list[_Part]]] = {
    Holds.NUMBER: [("", "float64", np.nan, lambda read: read)],
    Holds.COUNT: [("", "float64", np.nan, lambda read: read)],
    Holds.DATE: [
        ("", "datetime64[us]", None, _of("day")),
        ("_spread_days", "float64", 0.0, _of("spread_days")),
    ],
    Holds.HOURS: [
        ("", "float64", np.nan, _of("hours")),
        ("_spread", "float64", 0.0, _of("spread")),
    ],
    Holds.TEMPERATURE: [
        ("", "float64", np.nan, _of("value")),
        ("_unit", "object", None, _of("unit")),
    ],
    Holds.LENGTH: [
        ("", "float64", np.nan, _of("value")),
        ("_unit", "object", None, _of("unit")),
        ("_lower", "float64", np.nan, _of("lower")),
        ("_upper", "float64", np.nan, _of("upper")),
        ("_half_width", "float64", np.nan, _of("half_width")),
        ("_step", "float64", np.nan, _of("step")),
        ("_side", "object", None, _of("side")),
        ("_plus_minus", "bool", False, _of("plus_minus")),
    ],
}
_OF_READINGS: Final[list[_Part]] = [("_basis", "object", None, _of("basis"))]


def typed_column(texts: np.ndarray, column: Column, customs: Customs) -> TypedColumn:
    """Read the cells of one column.

    Parameters
    ----------
    texts : array of str
        The cells; blank where empty.
    column : Column
        What they hold.
    customs : Customs
        How the file writes dates and numbers.
    """
    codes, spellings = pd.factorize(texts)
    plain = [trimmed(text) for text in spellings]
    read = [_read(text, column, customs) if text else None for text in plain]
    refusals = {code: found for code, found in enumerate(read) if isinstance(found, Refusal)}
    for code in refusals:
        read[code] = None
    columns = {
        column.name + suffix: _spread_out(read, codes, dtype, (blank, take))
        for suffix, dtype, blank, take in _parts(column)
    }
    if column.holds is Holds.LENGTH:
        written = [
            None if found is None else text for found, text in zip(read, spellings, strict=True)
        ]
        columns[f"{column.name}_written"] = _series(written, "object").take(codes)
    unread = np.isin(codes, list(refusals)) if refusals else np.zeros(len(codes), bool)
    return TypedColumn(
        {name: values.reset_index(drop=True) for name, values in columns.items()},
        {int(place): refusals[codes[place]] for place in np.flatnonzero(unread)},
        np.array([not text for text in plain], dtype=bool)[codes],
    )


def blank_columns(column: Column, rows: int) -> dict[str, pd.Series]:
    """Return the typed columns of a column that a file does not have."""
    return typed_column(np.full(rows, "", dtype=object), column, Customs()).columns


def trimmed(text: str) -> str:
    """Return the text without blanks, breaks and invisible marks at its ends."""
    return text.strip().strip("\ufeff\u200b").strip()


def _spread_out(
    read: list[object], codes: np.ndarray, dtype: str, rule: tuple[object, _Take]
) -> pd.Series:
    blank, take = rule
    return _series([blank if found is None else take(found) for found in read], dtype).take(codes)


def _series(values: list[object], dtype: str) -> pd.Series:
    return pd.Series(values, dtype=dtype)


def _read(text: str, column: Column, customs: Customs) -> object:
    """Read one cell that is not blank; a `Refusal` where it cannot be."""
    holds = column.holds
    if holds is Holds.LENGTH:
        return read_length(text, column.takes, customs.decimal)
    if holds is Holds.DATE:
        return read_date(text, customs.order)
    if holds is Holds.WORD:
        return cells.read_word(text, column.words)
    if holds in _NUMERIC:
        return _NUMERIC[holds](text, customs.decimal)
    if holds in _PLAIN:
        return _PLAIN[holds](text)
    return text


_NUMERIC: Final[dict[Holds, Callable[[str, Decimal], object]]] = {
    Holds.NUMBER: cells.read_number,
    Holds.COUNT: cells.read_count,
    Holds.HOURS: cells.read_hours,
    Holds.TEMPERATURE: read_temperature,
}
_PLAIN: Final[dict[Holds, Callable[[str], object]]] = {
    Holds.YES_NO: cells.read_yes_no,
    Holds.UNIT: cells.read_unit,
}

"""Names of cells as a spreadsheet shows them: ``F12``, ``B``."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["CellPlace", "cell_name", "column_number", "column_of", "place_named"]

CellPlace = tuple[int, int]
"""A cell's 1-based row and 0-based column."""

_CELL: Final = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9][0-9]{0,6})")


def column_of(number: int) -> str:
    """Return the letters of a column, counted from 0.

    >>> column_of(0), column_of(25), column_of(26), column_of(16383)
    ('A', 'Z', 'AA', 'XFD')
    """
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """Return the number of a column, counted from 0.

    >>> column_number("A"), column_number("xfd")
    (0, 16383)
    """
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number - 1


def cell_name(row: int, column: int) -> str:
    """Return the name of the cell in that row and column.

    >>> cell_name(12, 5)
    'F12'
    """
    return f"{column_of(column)}{row}"


def place_named(name: str) -> CellPlace | None:
    """Return the row and column of a cell's name, None where it is no such name.

    >>> place_named("F12"), place_named("$B$2"), place_named("row 3")
    ((12, 5), (2, 1), None)
    """
    found = _CELL.fullmatch(name.strip())
    return (int(found[2]), column_number(found[1])) if found else None

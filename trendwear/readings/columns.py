"""What a sheet of the form is made of: columns, what their cells hold, and the set words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

__all__ = [
    "ACTIONS",
    "ASIDES",
    "BASES",
    "BY",
    "CONSEQUENCE",
    "MACHINE",
    "NOTE",
    "STATES",
    "Column",
    "Holds",
    "Sheet",
    "Takes",
]

STATES: Final = ("as-found", "as-left", "check", "not stated")
ACTIONS: Final = (
    "renewed",
    "adjusted",
    "shimmed",
    "dressed",
    "re-babbitted",
    "reground",
    "partner renewed",
    "moved",
    "exchanged",
)
BASES: Final = ("diametral", "radial", "axial", "thickness")
ASIDES: Final = ("(how to)", "(why)", "(how sure)", "(perhaps)", "(usual)", "(seen)")
"""Tabs and headings of our own blank and proposed sheets that speak to the person who fills
them in: what stands there is not read, and no note is made of it."""


class Holds(Enum):
    """What a column's cells hold."""

    TEXT = "text"
    NAME = "a name, compared by `trendwear.wording.fold`"
    WORD = "one of a set of words"
    NUMBER = "a plain number"
    COUNT = "a whole number, not negative"
    YES_NO = "yes or no"
    DATE = "a date; a month or a year where only that is known"
    HOURS = "an hour-meter reading, perhaps with its own spread"
    LENGTH = "a length in any accepted notation, perhaps with its unit"
    UNIT = "a unit of length"
    TEMPERATURE = "a temperature, perhaps with its scale"


class Takes(Enum):
    """Which notations of a length a `Holds.LENGTH` column takes."""

    READING = "a number, a range, a go/no-go pair, <, > or a value with its ±"
    SIZE = "one number, not negative"
    SHIFT = "one number with its sign"
    SPREAD = "one standard uncertainty, or ± a half-width"


@dataclass(frozen=True)
class Column:
    """One column of a sheet."""

    name: str
    holds: Holds
    meaning: str
    words: tuple[str, ...] = ()
    """The words a `Holds.WORD` column accepts."""
    takes: Takes = Takes.SIZE
    """The notations a `Holds.LENGTH` column accepts."""


MACHINE: Final = Column("machine", Holds.NAME, "the machine's tag or name")
BY: Final = Column("by", Holds.TEXT, "who")
NOTE: Final = Column("note", Holds.TEXT, "anything worth keeping")
CONSEQUENCE: Final = Column(
    "consequence",
    Holds.WORD,
    "what passing the limit puts at stake",
    ("efficiency", "leak", "damage", "people"),
)


@dataclass(frozen=True)
class Sheet:
    """One sheet of the form."""

    name: str
    meaning: str
    columns: tuple[Column, ...]
    needs: tuple[str, ...]
    """Columns without which a row means nothing."""
    key: tuple[str, ...]
    """Columns that tell one row from another."""
    also: tuple[Column, ...] = ()
    """Columns of the registers that its rows may carry, where no register is at hand yet."""

    def column(self, name: str) -> Column:
        """Return the column of that name; `KeyError` where the sheet has none."""
        for column in self.all_columns:
            if column.name == name:
                return column
        raise KeyError(f"sheet {self.name} has no column {name}")

    @property
    def all_columns(self) -> tuple[Column, ...]:
        """Its own columns and those of the registers that it may carry."""
        return self.columns + self.also

    @property
    def names(self) -> tuple[str, ...]:
        """Names of its own columns, in order."""
        return tuple(column.name for column in self.columns)

    @property
    def main_length(self) -> str | None:
        """The first of its lengths: a unit in that heading holds for the row."""
        lengths = (column.name for column in self.columns if column.holds is Holds.LENGTH)
        return next(lengths, None)

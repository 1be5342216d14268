"""What a user must mend, as one small tree of exceptions.

::

    TrendwearError              one message: where, what was found, what to do
    |-- UsageProblem            the command was asked for something it cannot mean (exit 2)
    |-- UnknownName             a machine or clearance that the register does not have
    |-- NotOneRow               not one stored row that this can be done to
    |-- InputProblem            a file or folder that cannot be read at all
    |-- HeadingsProblem         a headings file that cannot be used
    |-- OutputProblem           a result that cannot be written where it was asked for
    `-- StoreProblem            something about the store file
        |-- StoreMissing        there is no store there yet
        |-- StoreBusy           another process holds it
        |-- StoreTooNew         written by a newer version of trendwear
        |-- NotAStore           a file that is not a trendwear store
        |-- StoreNotWritable    a folder or file one may not write to
        `-- StoreFull           no room left on the disk

Rows of a sheet that are refused are not exceptions: they are listed, all of
them, in the load report (`trendwear.readings.faults`).  Anything that is not a
`TrendwearError` is a fault of the program.
"""

from __future__ import annotations

__all__ = [
    "HeadingsProblem",
    "InputProblem",
    "NotAStore",
    "NotOneRow",
    "OutputProblem",
    "StoreBusy",
    "StoreFull",
    "StoreMissing",
    "StoreNotWritable",
    "StoreProblem",
    "StoreTooNew",
    "TrendwearError",
    "UnknownName",
    "UsageProblem",
]


class TrendwearError(Exception):
    """Something the user can mend.

    Parameters
    ----------
    where : str
        The file, sheet, cell or argument it is about.
    found : str
        What was found there.
    do : str
        What to do about it.
    """

    def __init__(self, where: str, found: str, do: str) -> None:
        self.where = where
        self.found = found
        self.do = do
        super().__init__(f"{where}: {found}. {do}")


class UsageProblem(TrendwearError):
    """The command or function was asked for something it cannot mean."""


class UnknownName(TrendwearError):
    """A machine or clearance that the register does not have."""


class NotOneRow(TrendwearError):
    """Several stored rows answer to what was asked for, or it cannot be done to this one."""


class InputProblem(TrendwearError):
    """A file or folder that cannot be read at all."""


class HeadingsProblem(TrendwearError):
    """A headings file that cannot be used."""


class OutputProblem(TrendwearError):
    """A result that cannot be written where it was asked for."""


class StoreProblem(TrendwearError):
    """Something about the store file."""


class StoreMissing(StoreProblem):
    """There is no store at that place yet."""


class StoreBusy(StoreProblem):
    """Another process holds the store."""


class StoreTooNew(StoreProblem):
    """The store was written by a newer version of trendwear."""


class NotAStore(StoreProblem):
    """The file is not a trendwear store."""


class StoreNotWritable(StoreProblem):
    """The store's file or folder may not be written to."""


class StoreFull(StoreProblem):
    """There is no room left on the disk that holds the store."""

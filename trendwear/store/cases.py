"""Cases that planners keep by name: what is replaced or deleted stays in the record."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import duckdb
import pandas as pd

from trendwear.errors import UnknownName, UsageProblem
from trendwear.store import failures
from trendwear.store.database import reader, writer
from trendwear.store.queries import query
from trendwear.wording import fold

__all__ = ["KeptCase", "delete_case", "former_cases", "keep_case", "kept_case", "kept_cases"]

Connection = duckdb.DuckDBPyConnection

_LONGEST: Final = 80


@dataclass(frozen=True)
class KeptCase:
    """A case as it is kept.

    Attributes
    ----------
    name : str
    changes : str
        JSON.
    by : str
        Who keeps it.
    kept_at : Timestamp
    """

    name: str
    changes: str
    by: str
    kept_at: pd.Timestamp


def kept_cases(store: Path | str) -> list[KeptCase]:
    """Return every case that is kept, by name.

    Raises
    ------
    StoreProblem
    """
    with reader(store) as connection:
        return _all(connection)


def kept_case(store: Path | str, name: str) -> KeptCase:
    """Return the case kept under a name, however it is spelt.

    Raises
    ------
    UnknownName, StoreProblem
    """
    with reader(store) as connection:
        return _one(connection, name)


def former_cases(store: Path | str, name: str) -> pd.DataFrame:
    """Return what was kept under a name before, the newest first.

    Returns
    -------
    DataFrame
        ``name``, ``changes``, ``by``, ``kept_at``, ``ended`` (replaced or deleted),
        ``ended_by``, ``ended_at``.

    Raises
    ------
    StoreProblem
    """
    with reader(store) as connection:
        return connection.execute(query("former_cases"), {"name_key": fold(name)}).df()


def keep_case(store: Path | str, name: str, changes: str, by: str) -> str:
    """Keep a case; one of the same name is replaced and stays in the record.

    Parameters
    ----------
    store
        The store file.
    name : str
    changes : str
        JSON.
    by : str
        Who keeps it.

    Returns
    -------
    str
        What was done, in a sentence.

    Raises
    ------
    UsageProblem, StoreProblem
    """
    said, who = _said("name of the case", name), _said("by", by)
    with _writing(store) as connection:
        key = {"name_key": fold(said)}
        there = connection.execute(query("kept_case"), key).fetchall()
        if there:
            connection.execute(query("end_case"), {**key, "ended": "replaced", "by": who})
        bound = {**key, "name": said, "changes": changes, "by": who}
        connection.execute(query("keep_case"), bound)
    former = [f"; it replaces the one kept by {row[2]}, which stays in the record" for row in there]
    return f"Case {said} is kept" + "".join(former)


def delete_case(store: Path | str, name: str, written_again: str, by: str) -> str:
    """Delete a kept case; it stays in the record.

    Parameters
    ----------
    store
        The store file.
    name : str
    written_again : str
        The name once more, so that no case goes by a slip.
    by : str
        Who deletes it.

    Returns
    -------
    str
        What was done, in a sentence.

    Raises
    ------
    UnknownName, UsageProblem, StoreProblem
    """
    who = _said("by", by)
    if fold(name) != fold(written_again):
        raise UsageProblem(
            f"deleting case {name}", f"{written_again!r} is not its name", "Write its name again."
        )
    with _writing(store) as connection:
        there = _one(connection, name)
        bound = {"name_key": fold(name), "ended": "deleted", "by": who}
        connection.execute(query("end_case"), bound)
    return f"Case {there.name} is deleted; it stays in the record"


def _all(connection: Connection) -> list[KeptCase]:
    rows = connection.execute(query("kept_cases")).fetchall()
    return [KeptCase(name, changes, by, pd.Timestamp(at)) for name, changes, by, at in rows]


def _one(connection: Connection, name: str) -> KeptCase:
    found = connection.execute(query("kept_case"), {"name_key": fold(name)}).fetchall()
    if not found:
        known = ", ".join(case.name for case in _all(connection))
        raise UnknownName(
            f"case {name}",
            "no case of that name is kept",
            f"Kept are: {known}" if known else "None is kept yet.",
        )
    [(said, changes, by, kept_at)] = found
    return KeptCase(said, changes, by, pd.Timestamp(kept_at))


def _said(what: str, text: str) -> str:
    said = " ".join(text.split())
    if not said:
        raise UsageProblem(what, "it is blank", "A case is kept by a name and by somebody.")
    if len(said) > _LONGEST:
        raise UsageProblem(what, f"{len(said)} letters", f"Take at most {_LONGEST}.")
    return said


@contextmanager
def _writing(store: Path | str) -> Iterator[Connection]:
    """Open a store that is there; a kept case makes none."""
    if not Path(store).exists():
        raise failures.missing(Path(store))
    with writer(store) as connection:
        yield connection

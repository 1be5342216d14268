"""Steps that bring a store's tables to the form this version works with.

Each step is a file ``sql/migrations/0001_….sql``; it runs once, forward only, in
one transaction together with the record that it ran.  Views hold no data and are
made again whenever they differ from those of this version.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import duckdb

from trendwear.errors import StoreTooNew
from trendwear.store.failures import not_a_store
from trendwear.store.queries import SQL_FOLDER, query, script

__all__ = ["Step", "bring_up_to_date", "is_up_to_date", "steps"]

VIEWS: Final = "views.sql"


@dataclass(frozen=True)
class Step:
    """One migration: its number, its name and what it runs."""

    number: int
    name: str
    sql: str


def steps(folder: Path = SQL_FOLDER / "migrations") -> tuple[Step, ...]:
    """Return the steps of a folder in order; their numbers run 1, 2, 3 …"""
    found = []
    for place, path in enumerate(sorted(folder.glob("*.sql")), start=1):
        number, _, name = path.stem.partition("_")
        if int(number) != place:
            raise KeyError(f"migration {path.name} should have the number {place:04d}")
        found.append(Step(place, name, path.read_text(encoding="utf-8")))
    return tuple(found)


def is_up_to_date(connection: duckdb.DuckDBPyConnection, path: Path) -> bool:
    """Whether the tables and views are those of this version.

    Raises
    ------
    NotAStore
        The file holds tables, but not those of a store.
    StoreTooNew
        A newer version of trendwear wrote it.
    """
    done = _steps_done(connection, path)
    if done < len(steps()):
        return False
    # All rows are fetched: a result left open keeps the connection from other work.
    marks = connection.execute(query("views_made")).fetchall()
    return marks == [(_views_mark(),)]


def bring_up_to_date(connection: duckdb.DuckDBPyConnection, path: Path) -> None:
    """Run the steps that have not run yet, each in one transaction, and renew the views."""
    done = _steps_done(connection, path)
    if done == 0:
        _in_one(connection, query("make_schema_record"))
    for step in steps()[done:]:
        _in_one(connection, step.sql, ("record_step", {"number": step.number, "name": step.name}))
    if not is_up_to_date(connection, path):
        _in_one(connection, script(VIEWS), ("record_views", {"mark": _views_mark()}))


def _in_one(
    connection: duckdb.DuckDBPyConnection,
    sql: str,
    record: tuple[str, dict[str, object]] | None = None,
) -> None:
    connection.begin()
    try:
        connection.execute(sql)
        if record is not None:
            connection.execute(query(record[0]), record[1])
        connection.commit()
    except BaseException:
        connection.rollback()
        raise


def _steps_done(connection: duckdb.DuckDBPyConnection, path: Path) -> int:
    tables = {name for (name,) in connection.execute(query("table_names")).fetchall()}
    if not tables:
        return 0
    if "schema_step" not in tables:
        raise not_a_store(path, "this database holds tables, but not those of a trendwear store")
    [(found,)] = connection.execute(query("steps_done")).fetchall()
    done = int(found)
    if done > len(steps()):
        raise StoreTooNew(
            str(path),
            f"it was written by a newer version of trendwear (its tables are at step {done}, "
            f"this version knows {len(steps())})",
            "Install the newer version of trendwear",
        )
    return done


def _views_mark() -> str:
    return hashlib.sha256(script(VIEWS).encode()).hexdigest()

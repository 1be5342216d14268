"""What the engine says, in words for the user."""

from __future__ import annotations

from pathlib import Path

import duckdb
import pytest

from trendwear import errors
from trendwear.store.failures import busy, of_file_system, store_problem

STORE = Path("plant.duckdb")


@pytest.mark.parametrize(
    ("said", "problem"),
    [
        (
            'Could not set lock on file "x": Conflicting lock is held in a (PID 71)',
            errors.StoreBusy,
        ),
        ("Failed to commit: Could not write file: No space left on device", errors.StoreFull),
        ("Could not write file: File too large", errors.StoreFull),
        ("Could not write file: Disk quota exceeded", errors.StoreFull),
        ('Cannot open file "x": Permission denied', errors.StoreNotWritable),
        ('Cannot open file "x": Read-only file system', errors.StoreNotWritable),
        ("a database file with version number 99, but we can only read", errors.StoreTooNew),
        ("exists, but it is not a valid DuckDB database file!", errors.NotAStore),
        ("Corrupt database file: computed checksum 1 does not match", errors.NotAStore),
        ("Could not read enough bytes from file: attempted to read 4096", errors.NotAStore),
        ("Failure while replaying WAL file", errors.NotAStore),
        ("Loading external extensions is disabled through configuration", errors.NotAStore),
    ],
)
def test_problems_of_the_user(said: str, problem: type[errors.StoreProblem]) -> None:
    found = store_problem(duckdb.IOException(said), STORE)
    assert isinstance(found, problem)
    assert found.where == "plant.duckdb"
    assert found.do


def test_a_fault_of_the_program_stays_one() -> None:
    assert store_problem(duckdb.ParserException("syntax error"), STORE) is None


def test_the_holder_is_named_where_it_is_known() -> None:
    assert busy(STORE, duckdb.IOException("… (PID 71)")).found == "process 71 is using this store"
    assert busy(STORE, None).found == "another process is using this store"


@pytest.mark.parametrize(
    ("number", "problem"), [(28, errors.StoreFull), (13, errors.StoreNotWritable)]
)
def test_the_file_system(number: int, problem: type[errors.StoreProblem]) -> None:
    assert isinstance(of_file_system(OSError(number, "x"), STORE), problem)


def test_other_troubles_of_the_file_system_stay_what_they_are() -> None:
    assert of_file_system(OSError(5, "input/output error"), STORE) is None

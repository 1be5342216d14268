"""The store file: opened for one short piece of work, and closed again.

One DuckDB file.  Readers share it, a writer has it alone.  A lock file beside it
(``….gate``) lets a waiting writer in before new readers: a writer holds the gate,
a reader only passes through.  A writer's work is one transaction: it is stored
as a whole when the ``with`` block ends well, and not at all otherwise.
"""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from contextlib import contextmanager
from enum import Enum
from pathlib import Path
from typing import Final

import duckdb
from filelock import FileLock, Timeout

from trendwear.store import failures
from trendwear.store.migrations import bring_up_to_date, is_up_to_date

__all__ = ["PATIENCE_S", "reader", "rehearsal", "writer"]

PATIENCE_S: Final = 15.0
"""Seconds to wait for a store that is in use."""

_CONFIG: Final[dict[str, str | bool | int | float | list[str]]] = {
    "enable_external_access": "false",
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "lock_configuration": "true",
    "storage_compatibility_version": "v1.4.0",  # a store moves between engine versions
}

Connection = duckdb.DuckDBPyConnection


class _Access(Enum):
    READ = "read"
    WRITE = "write"


@contextmanager
def reader(store: Path | str, *, patience_s: float = PATIENCE_S) -> Iterator[Connection]:
    """Open a store for reading.

    Raises
    ------
    StoreMissing, StoreBusy, StoreTooNew, NotAStore, StoreNotWritable
        The last where an older store must first be brought up to date and may not be.
    """
    path = Path(store)
    if not path.exists():
        raise failures.missing(path)
    _refuse_empty(path)
    end = time.monotonic() + patience_s
    _pass_gate(path, patience_s)
    with _in_our_words(path):
        connection = _connect(path, end, _Access.READ)
    try:
        with _in_our_words(path):
            current = is_up_to_date(connection, path)
        if not current:
            connection.close()
            with writer(path, patience_s=patience_s):
                pass
            with _in_our_words(path):
                connection = _connect(path, end + patience_s, _Access.READ)
        with _in_our_words(path):
            yield connection
    finally:
        connection.close()


@contextmanager
def writer(store: Path | str, *, patience_s: float = PATIENCE_S) -> Iterator[Connection]:
    """Open a store for writing, made first where there is none; one transaction.

    Raises
    ------
    StoreBusy, StoreTooNew, NotAStore, StoreNotWritable, StoreFull
    """
    path = Path(store)
    with _open_writing(path, patience_s) as connection, _in_our_words(path):
        connection.begin()
        try:
            yield connection
            connection.commit()
        except BaseException:
            _roll_back(connection)
            raise


@contextmanager
def rehearsal(store: Path | str, *, patience_s: float = PATIENCE_S) -> Iterator[Connection]:
    """Open a store as `writer` does, and take everything back at the end.

    Where there is no store yet, none is made.
    """
    path = Path(store)
    place = path if path.exists() else Path(":memory:")
    with _open_writing(place, patience_s) as connection, _in_our_words(path):
        connection.begin()
        try:
            yield connection
        finally:
            connection.rollback()


@contextmanager
def _open_writing(path: Path, patience_s: float) -> Iterator[Connection]:
    if str(path) == ":memory:":
        connection = duckdb.connect(":memory:", config=_CONFIG)
        try:
            bring_up_to_date(connection, path)
            yield connection
        finally:
            connection.close()
        return
    if not path.parent.is_dir():
        raise failures.missing_folder(path)
    if path.exists():
        _refuse_empty(path)
    end = time.monotonic() + patience_s
    gate = _gate(path, patience_s)
    try:
        gate.acquire()
    except Timeout:
        raise failures.busy(path, _holder(path)) from None
    except OSError as error:
        raise failures.of_file_system(error, path) or error from error
    try:
        with _in_our_words(path):
            connection = _connect(path, end, _Access.WRITE)
        try:
            with _in_our_words(path):
                bring_up_to_date(connection, path)
            yield connection
        finally:
            connection.close()
    finally:
        gate.release()


def _gate(path: Path, patience_s: float) -> FileLock:
    return FileLock(f"{path}.gate", timeout=patience_s, mode=0o666)


def _pass_gate(path: Path, patience_s: float) -> None:
    """Let a waiting writer go first; where no lock file may be made, nobody writes here."""
    gate = _gate(path, patience_s)
    try:
        gate.acquire()
        gate.release()
    except Timeout:
        raise failures.busy(path, _holder(path)) from None
    except OSError as error:
        if failures.of_file_system(error, path) is None:
            raise


def _connect(path: Path, end: float, access: _Access) -> Connection:
    pause_s = 0.005
    while True:
        try:
            return duckdb.connect(str(path), read_only=access is _Access.READ, config=_CONFIG)
        except duckdb.Error as error:
            if not failures.in_use(error) or time.monotonic() > end:
                raise
        time.sleep(pause_s * random.uniform(0.5, 1.5))
        pause_s = min(pause_s * 1.6, 0.2)


def _holder(path: Path) -> duckdb.Error | None:
    """Return what the engine says about who holds the file: it names the process."""
    try:
        duckdb.connect(str(path), read_only=True, config=_CONFIG).close()
    except duckdb.Error as error:
        return error
    return None


def _roll_back(connection: Connection) -> None:
    # An engine that broke down mid-transaction has nothing left to take back and
    # says so; what went wrong before is the message that counts.
    try:
        connection.rollback()
    except duckdb.Error:
        connection.close()


def _refuse_empty(path: Path) -> None:
    if path.is_file() and path.stat().st_size == 0:
        raise failures.not_a_store(path, "this file is empty")


@contextmanager
def _in_our_words(path: Path) -> Iterator[None]:
    try:
        yield
    except duckdb.Error as error:
        problem = failures.store_problem(error, path)
        if problem is None:
            raise
        raise problem from error

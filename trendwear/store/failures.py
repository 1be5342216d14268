"""What the database engine or the file system says, in the words of `trendwear.errors`."""

from __future__ import annotations

import errno
import re
from pathlib import Path
from typing import Final

from trendwear.errors import (
    NotAStore,
    StoreBusy,
    StoreFull,
    StoreMissing,
    StoreNotWritable,
    StoreProblem,
    StoreTooNew,
)

__all__ = [
    "busy",
    "in_use",
    "missing",
    "missing_folder",
    "not_a_store",
    "of_file_system",
    "store_problem",
]

_IN_USE: Final = (
    "lock on file",
    "different configuration",
    "unique file handle",
    "already attached",
)
_FULL: Final = ("No space left", "File too large", "quota exceeded")
_FORBIDDEN: Final = ("Permission denied", "Read-only file system", "Operation not permitted")
_FOREIGN: Final = (
    "not a valid DuckDB",
    "Is a directory",
    "orrupt",
    "checksum",
    "Could not read enough bytes",  # the file ends too early
    "replaying WAL",
    "Loading external extensions",  # the format of another database engine
)
_PID: Final = re.compile(r"PID (\d+)")


def in_use(error: BaseException) -> bool:
    """Whether waiting may help: somebody else holds the file."""
    return any(words in str(error) for words in _IN_USE)


def busy(path: Path, error: BaseException | None) -> StoreBusy:
    """Return the message for a store that stayed in use, with the holder where it is known."""
    pid = _PID.search(str(error)) if error is not None else None
    holder = f"process {pid[1]}" if pid else "another process"
    return StoreBusy(
        str(path),
        f"{holder} is using this store",
        "Wait until it is done, or end it, and try again",
    )


def missing(path: Path) -> StoreMissing:
    """Return the message for reading a store that is not there."""
    return StoreMissing(
        str(path),
        "there is no store here yet",
        "Load readings first (trendwear load), or name the right file with --store",
    )


def missing_folder(path: Path) -> StoreNotWritable:
    """Return the message for a store in a folder that is not there."""
    return StoreNotWritable(
        str(path), f"there is no folder {path.parent}", "Make the folder first, or name another"
    )


def of_file_system(error: OSError, path: Path) -> StoreProblem | None:
    """Return the problem that an error of the file system means, or None."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return _full(path)
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return _forbidden(path)
    return None


def store_problem(error: Exception, path: Path) -> StoreProblem | None:
    """Return the problem that an error of the database engine means to its user, or None.

    None: a fault of the program, to be raised as it is.
    """
    said = str(error)
    if in_use(error):
        return busy(path, error)
    if any(words in said for words in _FULL):
        return _full(path)
    if any(words in said for words in _FORBIDDEN):
        return _forbidden(path)
    if "version number" in said or "newer version of DuckDB" in said:
        return StoreTooNew(
            str(path),
            "it was written by a newer version of the database engine than the one installed",
            "Install the current trendwear with its dependencies",
        )
    if any(words in said for words in _FOREIGN):
        return not_a_store(path, "this file is damaged, or not a trendwear store")
    return None


def not_a_store(path: Path, found: str) -> NotAStore:
    """Return the message for a file that holds something else."""
    return NotAStore(
        str(path),
        found,
        "Restore a copy of the store, or name another file with --store; this one is left as it is",
    )


def _full(path: Path) -> StoreFull:
    return StoreFull(
        str(path),
        "there is no room left on the disk; nothing of this run was stored",
        "Make room and run it again",
    )


def _forbidden(path: Path) -> StoreNotWritable:
    return StoreNotWritable(
        str(path),
        "this file or its folder may not be read or written by you",
        "Ask for the right to it, or name a store elsewhere with --store",
    )

"""Large files that come again just as they were: known by their fingerprints, not read again.

Reading a file twice changes nothing; where it is large, that is known without reading it,
as long as nothing else came in between that could give its rows another meaning.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import duckdb

import trendwear
from trendwear.errors import InputProblem
from trendwear.readings.faults import gathered
from trendwear.readings.files import SourceFile, fingerprint, found_files
from trendwear.readings.loaded import LoadReport
from trendwear.store.queries import query

__all__ = ["large_files", "same_again"]

LARGE_BYTES: Final = 1_000_000
"""Smaller files are read again in a moment, and what is odd in them is told again."""


def large_files(paths: Sequence[Path]) -> tuple[SourceFile, ...]:
    """Return the fingerprints of the files of a load; none where they are small or unreadable."""
    found = found_files(paths)
    if found.problems:
        return ()
    try:
        if sum(path.stat().st_size for path, _ in found.files) < LARGE_BYTES:
            return ()
        return tuple(fingerprint(path) for path, _ in found.files)
    except (OSError, InputProblem):
        return ()  # it is told where the file is read


def same_again(
    connection: duckdb.DuckDBPyConnection, files: Sequence[SourceFile], store: Path
) -> LoadReport | None:
    """Return the report of files that the last load took in whole; None where there is more to do.

    They must be all of that load's files, of the same names and fingerprints, read by this
    version; nothing of them refused, nothing waiting, and no load taken back since.
    """
    last = connection.execute(query("files_of_last_load")).df()
    before = set(zip(last["name"], last["sha256"], strict=True))
    if not files or before != {(file.name, file.sha256) for file in files}:
        return None
    [load], [when], [version] = (last[name].unique() for name in ("load", "loaded_at", "version"))
    asked = {"load": int(load), "loaded_at": when}
    [(left_open,)] = connection.execute(query("left_open"), asked).fetchall()
    if version != trendwear.__version__ or left_open:
        return None
    names = tuple(file.name for file in files)
    it = "it" if len(names) == 1 else "them"
    note = (
        f"{', '.join(names)}: just as load {load} took {it} in, and no load since: "
        "not read again, and what that load noted is not told again"
    )
    return LoadReport(
        store=store,
        files=names,
        counts=(),
        waiting=connection.execute(query("waiting_positions")).df(),
        faults=gathered([]),
        notes=(note,),
        changed=False,
    )

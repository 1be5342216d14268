"""Rows of a Parquet file as text."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import duckdb

from trendwear.errors import InputProblem
from trendwear.readings.cell_text import as_text
from trendwear.readings.header_row import Row
from trendwear.readings.tabs import Layout, Tab

__all__ = ["parquet_tab"]

_CONFIG: Final[dict[str, str | bool | int | float | list[str]]] = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
}
_QUERY: Final = "SELECT * FROM read_parquet(?, hive_partitioning = false)"
_AT_ONCE: Final = 10_000


def parquet_tab(path: Path) -> Tab:
    """Return the one sheet of a Parquet file; row 0 stands for its column names."""
    return Tab(path.stem, (Layout(_Parquet(path).rows),))


@dataclass(frozen=True)
class _Parquet:
    path: Path

    def rows(self) -> Iterator[Row]:
        """Yield the column names, then each row.

        The file is read through a link with a plain name: a ``*`` or ``[`` in its own
        would be taken for a pattern of several files.
        """
        with tempfile.TemporaryDirectory() as folder, duckdb.connect(config=_CONFIG) as engine:
            link = Path(folder) / "sheet.parquet"
            link.symlink_to(self.path.resolve())
            try:
                found = engine.execute(_QUERY, [str(link)])
                yield 0, [str(column[0]) for column in found.description or ()]
                number = 0
                while rows := found.fetchmany(_AT_ONCE):
                    for row in rows:
                        number += 1
                        yield number, [as_text(value) for value in row]
            except duckdb.Error as problem:
                reason = "it is no Parquet file, or damaged"
                raise InputProblem(self.path.name, reason, "Write it again") from problem

"""Files into the store: all good rows of one load together, or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from trendwear.readings.headings import Headings
from trendwear.readings.loaded import LoadReport
from trendwear.readings.sheet import read_paths
from trendwear.store.database import rehearsal, writer
from trendwear.store.left_out import TakenBackFiles, without_taken_back
from trendwear.store.one_load import take_in

__all__ = ["TakenBackFiles", "load", "preview"]


def load(
    paths: Sequence[Path | str] | Path | str,
    *,
    store: Path | str,
    headings: Headings | None = None,
    loaded_at: datetime | None = None,
    taken_back: TakenBackFiles = TakenBackFiles.STAY_OUT,
) -> LoadReport:
    """Read files, workbooks or folders and take their rows into the store.

    Parameters
    ----------
    paths
        One path or several.
    store
        The store file; made where there is none.
    headings
        A site's own headings.
    loaded_at
        The time written beside the rows; the clock's where none is given.
    taken_back
        What becomes of files of a load that was taken back.

    Returns
    -------
    LoadReport
        Rows that were refused are listed there; the good ones are in.

    Raises
    ------
    InputProblem
        A path that cannot be read at all.
    StoreProblem
        The store cannot be written.
    """
    incoming = read_paths(_as_paths(paths), headings)
    with writer(store) as connection:
        incoming = without_taken_back(connection, incoming, taken_back)
        return take_in(connection, incoming, Path(store), loaded_at)


def preview(
    paths: Sequence[Path | str] | Path | str,
    *,
    store: Path | str,
    headings: Headings | None = None,
    loaded_at: datetime | None = None,
    taken_back: TakenBackFiles = TakenBackFiles.STAY_OUT,
) -> LoadReport:
    """Return what `load` would report, and store nothing."""
    incoming = read_paths(_as_paths(paths), headings)
    with rehearsal(store) as connection:
        incoming = without_taken_back(connection, incoming, taken_back)
        report = take_in(connection, incoming, Path(store), loaded_at)
    return replace(report, rehearsed=True)


def _as_paths(paths: Sequence[Path | str] | Path | str) -> list[Path]:
    return [Path(paths)] if isinstance(paths, Path | str) else [Path(path) for path in paths]

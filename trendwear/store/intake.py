"""Files into the store: all good rows of one load together, or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

from trendwear.progress import Progress, silent
from trendwear.readings.headings import Headings
from trendwear.readings.loaded import LoadReport
from trendwear.readings.sheet import read_paths
from trendwear.store.database import rehearsal, writer
from trendwear.store.left_out import TakenBackFiles, without_taken_back
from trendwear.store.one_load import take_in
from trendwear.store.same_again import large_files, same_again

__all__ = ["Loading", "TakenBackFiles", "load", "preview"]


@dataclass(frozen=True)
class Loading:
    """How a load goes about it."""

    taken_back: TakenBackFiles = TakenBackFiles.STAY_OUT
    """What becomes of the very files of a load that was taken back."""
    progress: Progress = silent
    """Told how far it is."""


USUAL: Final = Loading()


def load(
    paths: Sequence[Path | str] | Path | str,
    *,
    store: Path | str,
    headings: Headings | None = None,
    loaded_at: datetime | None = None,
    how: Loading = USUAL,
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
    how
        What becomes of files of a load that was taken back, and who is told how far it is.

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
    given = _as_paths(paths)
    if headings is None and (report := _known(given, store)):
        return report
    incoming = read_paths(given, headings, how.progress)
    with writer(store) as connection:
        incoming = without_taken_back(connection, incoming, how.taken_back)
        return take_in(connection, incoming, Path(store), loaded_at, how.progress)


def preview(
    paths: Sequence[Path | str] | Path | str,
    *,
    store: Path | str,
    headings: Headings | None = None,
    loaded_at: datetime | None = None,
    how: Loading = USUAL,
) -> LoadReport:
    """Return what `load` would report, and store nothing."""
    given = _as_paths(paths)
    if headings is None and (report := _known(given, store)):
        return replace(report, rehearsed=True)
    incoming = read_paths(given, headings, how.progress)
    with rehearsal(store) as connection:
        incoming = without_taken_back(connection, incoming, how.taken_back)
        report = take_in(connection, incoming, Path(store), loaded_at, how.progress)
    return replace(report, rehearsed=True)


def _known(paths: list[Path], store: Path | str) -> LoadReport | None:
    """Return the report of large files that are just as the last load took them in."""
    files = large_files(paths) if Path(store).exists() else ()
    if not files:
        return None
    with writer(store) as connection:
        return same_again(connection, files, Path(store))


def _as_paths(paths: Sequence[Path | str] | Path | str) -> list[Path]:
    return [Path(paths)] if isinstance(paths, Path | str) else [Path(path) for path in paths]

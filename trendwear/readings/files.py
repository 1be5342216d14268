"""Which files a load reads, their fingerprints, and the sheets in each."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from trendwear.errors import InputProblem
from trendwear.readings.csv_text import csv_tab
from trendwear.readings.parquet_tab import parquet_tab
from trendwear.readings.tabs import Tab
from trendwear.readings.workbooks import workbook_tabs

__all__ = ["Found", "SourceFile", "fingerprint", "found_files", "is_workbook", "tabs_of"]

_BLOCK: Final = 1 << 20
_READERS: Final[dict[str, Callable[[Path], list[Tab]]]] = {
    ".csv": lambda path: [csv_tab(path)],
    ".parquet": lambda path: [parquet_tab(path)],
    ".xlsx": workbook_tabs,
    ".ods": workbook_tabs,
}
_WANTED: Final = "Give a folder, or an .xlsx, .ods, .csv or .parquet file"


@dataclass(frozen=True)
class SourceFile:
    """A file that was read."""

    path: Path
    name: str
    """Its name without folders, as faults and rows carry it."""
    sha256: str


@dataclass(frozen=True)
class Found:
    """What stands under the paths of a load."""

    files: tuple[tuple[Path, bool], ...]
    """Each file, and whether it was named itself rather than found in a folder."""
    problems: tuple[InputProblem, ...]
    notes: tuple[str, ...]


def found_files(paths: Sequence[Path]) -> Found:
    """Return every file to read, each once, in the order of the paths and of names in a folder."""
    files: dict[Path, tuple[Path, bool]] = {}
    problems: list[InputProblem] = []
    notes: list[str] = []
    for path in paths:
        try:
            if stat.S_ISDIR(path.stat().st_mode):
                inside, left = _in_folder(path)
                notes.extend(left)
            else:
                inside = [(path, True)]
            for file, named in inside:
                files.setdefault(file.resolve(), (file, named))
        except (OSError, ValueError, RuntimeError) as problem:
            problems.append(_unreadable(path, problem))
        except InputProblem as problem:
            problems.append(problem)
    return Found(tuple(files.values()), tuple(problems), tuple(notes))


def fingerprint(path: Path) -> SourceFile:
    """Return the file's name and SHA-256, read in blocks.

    Raises
    ------
    InputProblem
        It is no ordinary file, or may not be read.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise InputProblem(shown_name(path), "it is no ordinary file", _WANTED)
        digest = hashlib.sha256()
        with path.open("rb") as file:
            while block := file.read(_BLOCK):
                digest.update(block)
    except OSError as problem:
        raise _unreadable(path, problem) from problem
    return SourceFile(path, shown_name(path), digest.hexdigest())


def tabs_of(path: Path) -> list[Tab]:
    """Return the sheets of a file.

    Raises
    ------
    InputProblem
        It cannot be read.
    """
    reader = _READERS.get(path.suffix.casefold())
    if reader is None:
        kind = f"files ending in {path.suffix}" if path.suffix else "files without an ending"
        raise InputProblem(shown_name(path), f"{kind} are not read", _WANTED)
    try:
        return reader(path)
    except OSError as problem:
        raise _unreadable(path, problem) from problem


def is_workbook(path: Path) -> bool:
    """Return whether the file holds several sheets."""
    return _READERS.get(path.suffix.casefold()) is workbook_tabs


def shown_name(path: Path) -> str:
    """Return the file's name, with bytes that are no text replaced."""
    return os.fsencode(path.name or str(path)).decode("utf-8", "replace")


def _in_folder(folder: Path) -> tuple[list[tuple[Path, bool]], list[str]]:
    """Return the files of a folder that are read, and a note on those that are not."""
    inside, left = [], []
    for path in sorted(folder.iterdir()):
        if path.name.startswith((".", "~$")):
            continue
        if path.suffix.casefold() in _READERS and not path.is_dir():
            inside.append((path, False))
        else:
            left.append(shown_name(path))
    if not inside:
        found = "no .csv, .parquet, .xlsx or .ods file is in this folder"
        raise InputProblem(shown_name(folder), found, "Put the sheets into it")
    return inside, [f"{shown_name(folder)}: not read: {', '.join(left)}"] if left else []


def _unreadable(path: Path, problem: Exception) -> InputProblem:
    name = shown_name(path)
    if isinstance(problem, FileNotFoundError):
        return InputProblem(name, "there is no such file or folder", "Check the path")
    if isinstance(problem, PermissionError):
        return InputProblem(name, "it may not be read", "Ask for the right to read it")
    reason = getattr(problem, "strerror", None) or str(problem)
    return InputProblem(name, f"it cannot be read: {reason}", "Check the path")

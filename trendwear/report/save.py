"""A result put where it was asked for: whole, or not at all, by the ending of the file's name."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from trendwear.errors import OutputProblem, UsageProblem

__all__ = ["known_ending", "save"]


def known_ending(suffix: str, endings: Iterable[str], what: str) -> str:
    """Return the ending of a file's name in lower case.

    >>> known_ending(".CSV", [".csv", ".xlsx"], "the plan")
    '.csv'

    Raises
    ------
    UsageProblem
        ``what`` is written with none such: ``endings`` are those it has.
    """
    plain = suffix.lower()
    known = list(endings)
    if plain not in known:
        raise UsageProblem(
            f"file ending {suffix or '(none)'}",
            f"{what} cannot be written so",
            f"Let the file's name end in {', '.join(known[:-1])} or {known[-1]}",
        )
    return plain


def save(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path``; a file already there is replaced in one step.

    It is written beside its place first, so that whoever reads the file meanwhile
    sees the old one or the new one, never half of it.

    Raises
    ------
    OutputProblem
        The folder is not there, may not be written to, or the disk is full.
    """
    place = path.resolve()
    beside = place.with_name(f".{place.name}.{os.getpid()}")
    try:
        if place.is_dir():
            raise OutputProblem(str(path), "this is a folder", "Name a file in it")
        if not place.parent.is_dir():
            raise OutputProblem(
                str(path),
                f"there is no folder {place.parent}",
                "Make it first, or name another place",
            )
        try:
            beside.write_bytes(content)
            beside.replace(place)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as problem:
        raise OutputProblem(
            str(path),
            f"it cannot be written ({problem.strerror or problem})",
            "Free some room, close the program that holds the file, or name another place",
        ) from problem

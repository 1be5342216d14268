"""A case in a small TOML file, in the form of `trendwear.planning.case_form`."""

from __future__ import annotations

import tomllib
from pathlib import Path

from trendwear.errors import InputProblem, UsageProblem
from trendwear.planning.case_form import case_from
from trendwear.planning.cases import Case

__all__ = ["read_case"]


def read_case(path: Path) -> Case:
    """Read a case; without a name in it, it is called as the file.

    Raises
    ------
    InputProblem
        The file is not there, cannot be read, or is not written as TOML is.
    UsageProblem
        What stands in it is not understood or means nothing.
    """
    try:
        written = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as problem:
        found = f"it cannot be read ({problem.strerror or problem})"
        raise InputProblem(str(path), found, "Name a case file that is there.") from problem
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise InputProblem(
            str(path),
            f"it is not a case file ({problem})",
            "trendwear case --help shows how one is written.",
        ) from problem
    try:
        return case_from(written, path.stem)
    except UsageProblem as problem:
        raise UsageProblem(f"{path}: {problem.where}", problem.found, problem.do) from None

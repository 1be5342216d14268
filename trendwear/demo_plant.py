"""The demo plant's sheets, from the generator that is bundled with the package."""

from __future__ import annotations

import importlib
import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from typing import Final

from trendwear.bundled import bundled_folder
from trendwear.errors import OutputProblem

__all__ = ["load_plant", "write_demo"]

_NAME: Final = "trendwear_demo_mill"


def load_plant() -> ModuleType:
    """Return the generator's module ``plant``, loaded from where it is bundled."""
    if _NAME not in sys.modules:
        folder = bundled_folder("demo")
        spec = importlib.util.spec_from_file_location(
            _NAME, folder / "__init__.py", submodule_search_locations=[str(folder)]
        )
        if spec is None or spec.loader is None:
            raise ImportError(f"the demo plant is not in {folder}")
        package = importlib.util.module_from_spec(spec)
        sys.modules[_NAME] = package
        spec.loader.exec_module(package)
    return importlib.import_module(f"{_NAME}.plant")


def write_demo(folder: Path) -> list[Path]:
    """Write the demo plant's sheets under ``folder``.

    Returns
    -------
    list of Path
        What to hand to `trendwear load`: a folder of CSV files and a workbook.

    Raises
    ------
    OutputProblem
        The folder cannot be made or written to.
    """
    try:
        written: list[Path] = load_plant().write_sheets(folder)
    except OSError as problem:
        raise OutputProblem(
            str(folder),
            f"the sheets cannot be written there ({problem.strerror})",
            "Name a folder that you may write to.",
        ) from problem
    return written

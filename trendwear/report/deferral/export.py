"""The deferral sheet as a file: PDF or Markdown, by the file's ending."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from trendwear.report.deferral.markdown import deferral_markdown
from trendwear.report.pdf.paper import Paper
from trendwear.report.save import known_ending, save

if TYPE_CHECKING:
    from trendwear.planning.deferral import Deferral

__all__ = ["check_deferral_suffix", "deferral_bytes", "write_deferral"]

_ENDINGS: Final = (".pdf", ".md")


def write_deferral(told: Deferral, path: Path, paper: Paper = Paper.A4) -> None:
    """Write the sheet to ``path``; its ending says how.

    Raises
    ------
    UsageProblem
        The ending is none that is understood.
    OutputProblem
        The file cannot be written there.
    """
    save(path, deferral_bytes(told, path.suffix, paper))


def deferral_bytes(told: Deferral, suffix: str, paper: Paper = Paper.A4) -> bytes:
    """Return the sheet as the content of a file that ends in ``suffix``."""
    check_deferral_suffix(suffix)
    if suffix.lower() == ".md":
        return deferral_markdown(told)
    from trendwear.report.deferral.sheet import deferral_pdf  # charts are slow to import

    return deferral_pdf(told, paper)


def check_deferral_suffix(suffix: str) -> None:
    """Raise `UsageProblem` where the sheet cannot be written with that ending."""
    known_ending(suffix, _ENDINGS, "the deferral sheet")

"""A case beside today's plan as a file: CSV, XLSX or Markdown, by the file's ending."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.planning.case_compare import COMPARED
from trendwear.report.cases.table import CASE_HEADINGS, cases_table, compared
from trendwear.report.cases.words import NOT_STORED, case_words, changes_words
from trendwear.report.cautions import CAUTIONS, SHORT_CAUTION
from trendwear.report.export import csv_bytes, markdown_lines
from trendwear.report.overhaul.sheets import workbook_of
from trendwear.report.overhaul.table import BESIDE_EVERY_DATE, accepted_words
from trendwear.report.save import known_ending, save

if TYPE_CHECKING:
    from trendwear.planning.case_compare import Comparison

__all__ = ["case_bytes", "check_case_suffix", "headline", "said_of", "write_case"]

Comparisons = Sequence["Comparison"]


def write_case(comparisons: Comparisons, path: Path) -> None:
    """Write a case to ``path``; its ending says how.

    Parameters
    ----------
    comparisons : sequence of Comparison
        One, or one for each risk shown where none was chosen.
    path : Path

    Raises
    ------
    UsageProblem
        The ending is none that is understood.
    OutputProblem
        The file cannot be written there.
    """
    save(path, case_bytes(comparisons, path.suffix))


def case_bytes(comparisons: Comparisons, suffix: str) -> bytes:
    """Return a case as the content of a file that ends in ``suffix``.

    ``.csv`` holds `COMPARED`; ``.xlsx`` that and what people read; ``.md`` what people read.
    """
    return _writer(suffix)(comparisons)


def check_case_suffix(path: Path) -> None:
    """Raise `UsageProblem` where a case cannot be written with that ending."""
    _writer(path.suffix)


def headline(comparisons: Comparisons) -> str:
    """Return the heading of a case."""
    first = comparisons[0]
    name = first.case.name or "Another case"
    return f"{name}: beside the plan as of {first.today.as_of:%Y-%m-%d}"


def said_of(comparisons: Comparisons) -> list[str]:
    """Say what a case comes to, for each accepted risk where several are shown."""
    if len(comparisons) == 1:
        return case_words(comparisons[0])
    return [
        f"At {100 * (one.today.accepted.for_all or 0.0):.3g} % accepted: {sentence}"
        for one in comparisons
        for sentence in case_words(one)
    ]


def _writer(suffix: str) -> Callable[[Comparisons], bytes]:
    return _WRITERS[known_ending(suffix, _WRITERS, "a case")]


def _csv(comparisons: Comparisons) -> bytes:
    return csv_bytes(compared(comparisons), COMPARED)


def _xlsx(comparisons: Comparisons) -> bytes:
    about = [
        headline(comparisons),
        *(f"Supposed: {sentence}" for sentence in changes_words(comparisons[0])),
        *said_of(comparisons),
        accepted_words([one.today for one in comparisons]),
        NOT_STORED,
        BESIDE_EVERY_DATE,
        *CAUTIONS,
    ]
    columns = pd.DataFrame(CASE_HEADINGS.items(), columns=["column", "what it says"])
    return workbook_of(
        {
            "side by side": cases_table(comparisons),
            "numbers": compared(comparisons)[list(COMPARED)],
            "columns": columns,
            "about": pd.DataFrame({"about this workbook": about}),
        }
    )


def _markdown(comparisons: Comparisons) -> bytes:
    lines = [
        f"# {headline(comparisons)}",
        "",
        "Supposed:",
        "",
        *(f"- {sentence}" for sentence in changes_words(comparisons[0])),
        "",
        *(f"- {sentence}" for sentence in said_of(comparisons)),
        "",
        *markdown_lines(cases_table(comparisons)),
        "",
        accepted_words([one.today for one in comparisons]),
        "",
        NOT_STORED,
        "",
        BESIDE_EVERY_DATE,
        "",
        SHORT_CAUTION,
        "",
    ]
    return "\n".join(lines).encode("utf-8")


_WRITERS: Final[dict[str, Callable[[Comparisons], bytes]]] = {
    ".csv": _csv,
    ".xlsx": _xlsx,
    ".md": _markdown,
}

"""An issued plan beside the plan now as a file: CSV, XLSX, Markdown or PDF."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.issued_tables import PLAN_TABLES, tables_of
from trendwear.planning.moved import MOVES, SCOPE_CHANGES
from trendwear.report.cautions import CAUTIONS, SHORT_CAUTION
from trendwear.report.export import csv_bytes, markdown_lines
from trendwear.report.issued.tables import (
    CAME_IN,
    COMPARED_FILE,
    came_in_table,
    compared_file,
    compared_table,
    scope_lines,
    steps_table,
)
from trendwear.report.issued.words import HOW_TO_READ, head_words
from trendwear.report.overhaul.table import BESIDE_EVERY_DATE
from trendwear.report.pdf.paper import Paper
from trendwear.report.save import known_ending, save

if TYPE_CHECKING:
    from trendwear.planning.moved import Moved

__all__ = ["check_compare_suffix", "comparison_bytes", "write_comparison"]

Writer = Callable[["Moved", Paper], bytes]

_TEMPLATE: Final = Path(__file__).with_name("compare.typ")

_WIDTHS_MM: Final = {
    "machine": 19,
    "latest overhaul, issued": 24,
    "now": 24,
    "moved": 20,
    "what moved it": 66,
    "window, issued": 22,
    "window now": 22,
    "order by, issued": 19,
    "order by now": 19,
    "more to renew": 26,
    "no longer to renew": 26,
}

COMPARED_MEANINGS: Final[dict[str, str]] = {
    "standing": "in both plans, new in the register since, or no longer in it",
    "latest_date": "the last day on which no accepted risk is exceeded",
    "outage": "the last window in time, of the machine by itself",
    "order_by": "the earliest order-by date of its firm parts",
    "renew": "clearances to renew at its window",
    "outcome": "what the question for a latest overhaul came to",
    "placed": "its window in the plan of the whole site",
    "..._issued, ..._now": "as issued, and now; in the sheet of moves: before and after the step",
    "days": "the latest overhaul moved by, later is positive",
    "order_days": "the order-by date moved by, later is positive",
    "renew_added, renew_dropped": "what is to be renewed now and was not, and the other way",
    "moved_by": "what moved the latest overhaul, and by how many days",
}
"""What the columns of the comparison say."""


def write_comparison(moved: Moved, path: Path, paper: Paper = Paper.A4) -> None:
    """Write a comparison to ``path``; its ending says how.

    Raises
    ------
    UsageProblem
        The ending is none that is understood.
    OutputProblem
        The file cannot be written there.
    """
    save(path, comparison_bytes(moved, path.suffix, paper))


def comparison_bytes(moved: Moved, suffix: str, paper: Paper = Paper.A4) -> bytes:
    """Return a comparison as the content of a file that ends in ``suffix``.

    ``.csv`` holds one row a machine (`COMPARED_FILE`); ``.xlsx`` that, every step, all that
    came in, and the plan as it was issued, table by table; ``.md`` and ``.pdf`` what people
    read.
    """
    return _writer(suffix)(moved, paper)


def check_compare_suffix(path: Path) -> None:
    """Raise `UsageProblem` where a comparison cannot be written with that ending."""
    _writer(path.suffix)


def _writer(suffix: str) -> Writer:
    return _WRITERS[known_ending(suffix, _WRITERS, "the comparison")]


def _csv(moved: Moved, _: Paper) -> bytes:
    return csv_bytes(compared_file(moved), COMPARED_FILE)


def _xlsx(moved: Moved, _: Paper) -> bytes:
    from trendwear.report.overhaul.sheets import workbook_of

    told = tables_of(moved.issued.frozen)
    names = {name: f"issued {name.removeprefix('plan ')}" for name in PLAN_TABLES}
    said = [*head_words(moved), HOW_TO_READ, BESIDE_EVERY_DATE, *CAUTIONS]
    meanings = pd.DataFrame(COMPARED_MEANINGS.items(), columns=["column", "what it says"])
    return workbook_of(
        {
            "overview": compared_table(moved),
            "days by step": steps_table(moved),
            "came in": came_in_table(moved)[list(CAME_IN)],
            "scope changes": moved.scope[list(SCOPE_CHANGES)],
            "compared": compared_file(moved),
            "moves": moved.moves[list(MOVES)],
            **{names[name]: told[name][list(columns)] for name, columns in PLAN_TABLES.items()},
            "columns": meanings,
            "about": pd.DataFrame({"about this workbook": said}),
        }
    )


def _markdown(moved: Moved, _: Paper) -> bytes:
    issue = moved.issued.issue
    came_in = came_in_table(moved)[["group", "machine", "what"]].fillna("")
    scope = [f"- {line}" for line in scope_lines(moved)]
    lines = [
        f"# Plan {issue.name}, issue {issue.number}, and what moved since",
        "",
        *(line for sentence in head_words(moved) for line in (sentence, "")),
        HOW_TO_READ,
        "",
        BESIDE_EVERY_DATE,
        "",
        *markdown_lines(compared_table(moved)),
        *(["", "## What came in", "", *markdown_lines(came_in)] if len(came_in) else []),
        *(["", "## Scope of the windows, as issued and now", "", *scope] if scope else []),
    ]
    return "\n".join([*lines, "", SHORT_CAUTION, ""]).encode("utf-8")


def _pdf(moved: Moved, paper: Paper) -> bytes:
    from trendwear.report.pdf.document import document

    issue = moved.issued.issue
    came_in = came_in_table(moved)[["group", "machine", "what"]].fillna("the whole site")
    data: dict[str, Any] = {
        "title": f"{issue.name}: what moved since issue {issue.number}",
        "subtitle": head_words(moved)[0],
        "words": head_words(moved)[1:],
        "how": HOW_TO_READ,
        "compared": _part(compared_table(moved)),
        "came_in": _part(came_in),
        "scope": scope_lines(moved),
        "cautions": [*CAUTIONS, f"Method {moved.method_now}."],
    }
    return document(_TEMPLATE, data, as_of=moved.as_of, paper=paper)


def _part(table: pd.DataFrame) -> dict[str, Any]:
    """A table as the template takes it; columns that say nothing throughout are left out."""
    shown = [name for name in table if not table[name].eq("—").all()]
    usual = {"group": 40, "what": 140}
    return {
        "columns": [[name, {**usual, **_WIDTHS_MM}[str(name)]] for name in shown],
        "rows": table[shown].astype(str).to_numpy().tolist(),
    }


_WRITERS: Final[dict[str, Writer]] = {
    ".csv": _csv,
    ".xlsx": _xlsx,
    ".md": _markdown,
    ".pdf": _pdf,
}

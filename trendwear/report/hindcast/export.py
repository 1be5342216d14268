"""The record of past forecasts as a file: CSV, XLSX or Markdown, by the file's ending."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.hindsight.followed import PLANS
from trendwear.hindsight.plans import RISKS
from trendwear.hindsight.score import SCORES
from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.export import without_formulas
from trendwear.report.hindcast.tables import (
    FORECAST_RECORD,
    coverage_table,
    forecast_record,
    misses_table,
    plans_table,
    rules_table,
)
from trendwear.report.hindcast.words import HOW, late_words, plan_words, summary_words
from trendwear.report.save import known_ending, save

if TYPE_CHECKING:
    from trendwear.hindsight.hindcast import Hindcast

__all__ = ["check_record_suffix", "record_bytes", "write_record"]

_WIDEST: Final = 60


def write_record(told: Hindcast, path: Path) -> None:
    """Write the record of past forecasts to ``path``; its ending says how.

    Raises
    ------
    UsageProblem
        The ending is none that is understood.
    OutputProblem
        The file cannot be written there.
    """
    save(path, record_bytes(told, path.suffix))


def record_bytes(told: Hindcast, suffix: str) -> bytes:
    """Return the record as the content of a file that ends in ``suffix``.

    ``.csv`` holds one row an as-found reading with every number; ``.xlsx`` that, the
    counts and the plans; ``.md`` what people read.
    """
    return _writer(suffix)(told)


def check_record_suffix(path: Path) -> None:
    """Raise `UsageProblem` where the record cannot be written with that ending."""
    _writer(path.suffix)


def _writer(suffix: str) -> Callable[[Hindcast], bytes]:
    return _WRITERS[known_ending(suffix, _WRITERS, "the record of past forecasts")]


def _csv(told: Hindcast) -> bytes:
    table = without_formulas(forecast_record(told.found), FORECAST_RECORD)
    text: str = table.to_csv(index=False, date_format="%Y-%m-%d", lineterminator="\n")
    return text.encode("utf-8")


def _markdown(told: Hindcast) -> bytes:
    misses = misses_table(told.found)
    lines = [
        f"# Past forecasts up to {told.as_of:%Y-%m-%d}",
        *_bullets(summary_words(told)),
        *_table("Readings inside their bands", coverage_table(told.scores)),
        *_table("Against two simpler rules", rules_table(told.scores)),
        *_table("Readings outside their 90 % band", misses),
        "",
        "## Past plans",
        *_bullets(plan_words(told) + late_words(told.plans)),
        "",
        "## How this was reckoned",
        *_bullets(HOW),
        "",
        SHORT_CAUTION,
        "",
    ]
    return "\n".join(lines).encode("utf-8")


def _bullets(words: Iterable[str]) -> list[str]:
    return ["", *(f"- {sentence}" for sentence in words)]


def _table(heading: str, table: pd.DataFrame) -> list[str]:
    if table.empty:
        return []
    return [
        "",
        f"## {heading}",
        "",
        _line(table.columns),
        _line(["---"] * len(table.columns)),
        *(_line(row) for row in table.itertuples(index=False)),
    ]


def _line(cells: Iterable[object]) -> str:
    plain = (" ".join(str(cell).split()).replace("|", "\\|") for cell in cells)
    return f"| {' | '.join(plain)} |"


def _workbook(told: Hindcast) -> bytes:
    import xlsxwriter

    content = io.BytesIO()
    words = [*summary_words(told), *plan_words(told), *late_words(told.plans), *HOW, SHORT_CAUTION]
    sheets = {
        "in words": pd.DataFrame({f"Past forecasts up to {told.as_of:%Y-%m-%d}": words}),
        "inside bands": coverage_table(told.scores),
        "against rules": rules_table(told.scores),
        "outside 90 % band": misses_table(told.found),
        **{f"plans at {100 * risk:.0f} %": plans_table(told.plans, risk) for risk in RISKS},
        "every forecast": forecast_record(told.found),
        "every plan": told.plans[list(PLANS)],
        "every score": told.scores[list(SCORES)],
    }
    options = {"in_memory": True, "strings_to_numbers": False, "strings_to_formulas": False}
    with xlsxwriter.Workbook(content, options) as book:
        looks = {
            "heading": book.add_format({"bold": True, "text_wrap": True, "valign": "top"}),
            "text": book.add_format({"text_wrap": True, "valign": "top"}),
            "date": book.add_format({"num_format": "yyyy-mm-dd", "valign": "top"}),
            "number": book.add_format({"valign": "top"}),
        }
        for name, table in sheets.items():
            _sheet(book.add_worksheet(name), looks, table)
    return content.getvalue()


def _sheet(sheet: Any, looks: dict[str, Any], table: pd.DataFrame) -> None:
    for column, name in enumerate(table.columns):
        cells = table[name].dropna().astype(str)
        longest = max([len(str(name)), *cells.str.len().head(500)])
        sheet.set_column(column, column, min(longest + 2, _WIDEST if table.shape[1] > 1 else 120))
        sheet.write_string(0, column, str(name), looks["heading"])
        for line, value in enumerate(table[name], start=1):
            _cell(sheet, (line, column), value, looks)
    sheet.freeze_panes(1, 0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def _cell(sheet: Any, place: tuple[int, int], value: Any, looks: dict[str, Any]) -> None:
    if value is None or pd.isna(value):
        return
    if isinstance(value, str):
        sheet.write_string(*place, value, looks["text"])
    elif isinstance(value, pd.Timestamp):
        sheet.write_datetime(*place, value.to_pydatetime(), looks["date"])
    elif isinstance(value, bool):
        sheet.write_string(*place, "yes" if value else "no", looks["text"])
    else:
        sheet.write_number(*place, float(value), looks["number"])


_WRITERS: Final[dict[str, Callable[[Hindcast], bytes]]] = {
    ".csv": _csv,
    ".xlsx": _workbook,
    ".md": _markdown,
}

"""The limit-forecast table as a file: CSV, XLSX, Parquet, Markdown or PDF, by the file's ending."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.harmless import harmless
from trendwear.report.limit_table import limit_table
from trendwear.report.pdf.paper import Paper
from trendwear.report.save import known_ending, save
from trendwear.report.workbook import workbook_bytes
from trendwear.tables import LIMIT_FORECAST, Columns, check

if TYPE_CHECKING:
    from trendwear.forecasting.limit_forecast import LimitForecast

__all__ = [
    "SUFFIXES",
    "check_suffix",
    "csv_bytes",
    "markdown_lines",
    "parquet_bytes",
    "table_bytes",
    "without_formulas",
    "write_table",
]

_PARQUET_TYPES: Final = {
    "text": "VARCHAR",
    "number": "DOUBLE",
    "date": "DATE",
    "flag": "BOOLEAN",
    "count": "BIGINT",
}


def write_table(forecast: LimitForecast, path: Path, paper: Paper = Paper.A4) -> None:
    """Write the limit-forecast table to ``path``; its ending says how.

    ``paper`` is what a PDF is made for.

    Raises
    ------
    UsageProblem
        The ending is none of `SUFFIXES`.
    OutputProblem
        The file cannot be written there.
    """
    save(path, table_bytes(forecast, path.suffix, paper))


def table_bytes(forecast: LimitForecast, suffix: str, paper: Paper = Paper.A4) -> bytes:
    """Return the limit-forecast table as the content of a file that ends in ``suffix``.

    Raises
    ------
    UsageProblem
        ``suffix`` is none of `SUFFIXES`.
    """
    write = _writer(suffix)
    check(forecast.table, LIMIT_FORECAST)
    return write(forecast, paper)


def check_suffix(path: Path) -> None:
    """Raise `UsageProblem` where the ending of ``path`` is none of `SUFFIXES`."""
    _writer(path.suffix)


def _writer(suffix: str) -> Callable[[LimitForecast, Paper], bytes]:
    return _WRITERS[known_ending(suffix, _WRITERS, "the table")]


def without_formulas(frame: pd.DataFrame, columns: Columns) -> pd.DataFrame:
    """Return ``frame`` with an apostrophe before text that a spreadsheet would calculate.

    Text columns only: a negative number stays a number.
    """
    texts = [name for name, what in columns.items() if what == "text"]
    return frame.assign(**{name: _quoted(frame[name]) for name in texts})


def _quoted(column: pd.Series) -> pd.Series:
    text = column.astype("object")
    # Not by `map`: it would turn a missing cell's None into NaN.
    quoted = [harmless(cell) if isinstance(cell, str) else cell for cell in text]
    return pd.Series(quoted, index=text.index, dtype="object")


def _csv(forecast: LimitForecast, _: Paper) -> bytes:
    return csv_bytes(forecast.table, LIMIT_FORECAST)


def csv_bytes(table: pd.DataFrame, columns: Columns) -> bytes:
    """Return a frame of those columns as the content of a CSV file: UTF-8, ISO dates."""
    table = without_formulas(table[list(columns)], columns)
    text: str = table.to_csv(index=False, date_format="%Y-%m-%d", lineterminator="\n")
    return text.encode("utf-8")


def _parquet(forecast: LimitForecast, _: Paper) -> bytes:
    return parquet_bytes(forecast.table, LIMIT_FORECAST)


def parquet_bytes(table: pd.DataFrame, columns: Columns) -> bytes:
    """Return a frame of those columns as the content of a Parquet file."""
    import duckdb  # only to write this format: nothing else here needs it

    table = table[list(columns)]
    with tempfile.TemporaryDirectory() as folder, duckdb.connect(":memory:") as connection:
        place = Path(folder) / "table.parquet"
        connection.from_df(table).select(
            *(
                duckdb.ColumnExpression(name).cast(_PARQUET_TYPES[what]).alias(name)
                for name, what in columns.items()
            )
        ).write_parquet(str(place))
        return place.read_bytes()


def _markdown(forecast: LimitForecast, _: Paper) -> bytes:
    table = limit_table(forecast)
    lines = [
        f"# Limit forecast as of {forecast.as_of:%Y-%m-%d}",
        "",
        *markdown_lines(table),
        "",
        SHORT_CAUTION,
        "",
        f"Method {forecast.method_version}.",
        "",
    ]
    return "\n".join(lines).encode("utf-8")


def _workbook(forecast: LimitForecast, _: Paper) -> bytes:
    return workbook_bytes(forecast)


def _pdf(forecast: LimitForecast, paper: Paper) -> bytes:
    from trendwear.report.pdf.forecast import forecast_pdf  # charts are slow to import

    return forecast_pdf(forecast, paper)


def markdown_lines(table: pd.DataFrame) -> list[str]:
    """Return a frame as the lines of a Markdown table."""
    rows = [table.columns, ["---"] * len(table.columns), *table.itertuples(index=False)]
    return [_line(row) for row in rows]


def _line(cells: Iterable[object]) -> str:
    plain = (" ".join(str(cell).split()).replace("|", "\\|") for cell in cells)
    return f"| {' | '.join(plain)} |"


_WRITERS: Final[dict[str, Callable[[LimitForecast, Paper], bytes]]] = {
    ".csv": _csv,
    ".xlsx": _workbook,
    ".parquet": _parquet,
    ".md": _markdown,
    ".pdf": _pdf,
}

SUFFIXES: Final = tuple(_WRITERS)
"""The file endings that are understood."""

"""The limit forecast as a document: what comes first, then every clearance, machine by machine."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.report.cautions import CAUTIONS
from trendwear.report.charts import fleet_chart, past_not_drawn
from trendwear.report.columns import OUTCOME_MEANINGS
from trendwear.report.limit_table import (
    OUTCOME_WORDS,
    PAST,
    governing,
    headings_of,
    limit_table,
)
from trendwear.report.pdf.document import document
from trendwear.report.pdf.paper import Paper
from trendwear.report.pdf.picture import picture
from trendwear.report.selection import summary, without_date

if TYPE_CHECKING:
    from trendwear.forecasting.limit_forecast import LimitForecast

__all__ = ["forecast_pdf"]

_TEMPLATE: Final = Path(__file__).with_name("forecast.typ")

_WIDTHS_MM: Final[dict[str, float]] = {
    "machine": 24,
    "position": 34,
    "last reading": 23,
    "limit": 19,
    "allowance used": 18,
    "rate per 1000 h": 27,
    "1 in 20 by": 20,
    "even chance by": 20,
    "chance at interval end": 22,
    "chance at next outage": 28,
    "order by": 19,
    "evidence": 21,
    "note": 60,
}
_FIRST: Final = ("machine", "position", "1 in 20 by", "even chance by", "allowance used", "note")
_TWO_LINES: Final = {
    "last reading": ", ",
    "rate per 1000 h": " (",
    "chance at interval end": " at ",
    "chance at next outage": " at ",
    "evidence": ", ",
}
"""Columns that say two things, and where the second begins."""
_CHART_MM: Final = 240


def forecast_pdf(forecast: LimitForecast, paper: Paper = Paper.A4) -> bytes:
    """Return the limit forecast as a PDF, the most pressing machine first.

    Parameters
    ----------
    forecast : LimitForecast
    paper : Paper, optional
    """
    table = forecast.table
    rows, headings = _rows(forecast), headings_of(forecast)
    by_machine = tuple(name for name in headings if name != "machine")
    drawn = fleet_chart(table)
    data = {
        "title": "Limit forecast",
        "subtitle": f"as of {forecast.as_of:%Y-%m-%d}",
        "summary": summary(forecast) if len(table) else "The store holds no clearances yet.",
        "silent": without_date(forecast),
        "first": _part(rows.loc[governing(forecast).index], _FIRST),
        "machines": [
            {"machine": machine, **_part(some, by_machine)}
            for machine, some in rows.groupby(table["machine"].loc[rows.index], sort=False)
        ],
        "left_out": past_not_drawn(table) if drawn is not None else 0,
        "charts": [] if drawn is None else ["fleet"],
        "columns": list(headings.items()),
        "answers": [[OUTCOME_WORDS[name], says] for name, says in OUTCOME_MEANINGS.items()],
        "cautions": [*CAUTIONS, f"Method {forecast.method_version}."],
    }
    charts = {} if drawn is None else {"fleet": picture(drawn, _CHART_MM)}
    return document(_TEMPLATE, data, as_of=forecast.as_of, charts=charts, paper=paper)


def _rows(forecast: LimitForecast) -> pd.DataFrame:
    """The twelve columns as cells; what is past its limit stands out."""
    table = limit_table(forecast)
    outcomes = forecast.table["outcome"].loc[table.index]
    return table.assign(
        **{
            name: _two_lines(table[name], apart)
            for name, apart in _TWO_LINES.items()
            if name in table
        },
        position=[{"text": name, "strong": True} for name in table["position"]],
        note=[_note(note, outcome) for note, outcome in zip(table["note"], outcomes, strict=True)],
    )


def _two_lines(texts: pd.Series, apart: str) -> list[dict[str, str]]:
    parts = [text.partition(apart) for text in texts]
    return [
        {"text": first, "more": f"{apart}{more}".lstrip(", ")} if more else {"text": first}
        for first, _, more in parts
    ]


def _note(note: str, outcome: str) -> dict[str, Any]:
    answer = OUTCOME_WORDS[outcome]
    more = note.removeprefix(answer).removeprefix("; ")
    return {"text": answer, "more": more, "alarm": outcome in PAST}


def _part(rows: pd.DataFrame, columns: Sequence[str]) -> dict[str, Any]:
    return {
        "columns": [[name, _WIDTHS_MM[name]] for name in columns],
        "rows": rows[list(columns)].to_numpy(dtype="object").tolist(),
    }

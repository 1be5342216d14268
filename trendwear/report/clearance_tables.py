"""What was read of one clearance and done to it, as tables of plain text with their sources."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from trendwear.derived.clearances import HOW
from trendwear.lengths import MM_PER_UNIT
from trendwear.report.rounding import length_text
from trendwear.report.units import decimals_in, unit_label

if TYPE_CHECKING:
    from trendwear.forecasting.trend import ClearanceTrend

__all__ = [
    "doubtful_readings",
    "events_table",
    "readings_table",
    "segments_table",
    "source_text",
    "work_table",
]


def readings_table(trend: ClearanceTrend, unit: str) -> pd.DataFrame:
    """Return every stored reading of the clearance, the latest first, in ``unit``.

    Returns
    -------
    DataFrame
        Text columns: date, hour meter, state, reading, as written, source, use (what
        the trend made of it), where, method, by, note; of the last four those that
        anything stands in.
    """
    decimals = decimals_in(trend.decimals, trend.unit, unit)
    use = _uses(trend.points)
    shown = trend.readings.sort_values("date", ascending=False, kind="stable")
    rows = [
        {
            "date": _date(row),
            "hour meter": _hours(row.run_hours, row.hours_spread),
            "state": row.state,
            "reading": _reading(row, unit, decimals),
            "as written": _text(row.written),
            "source": source_text(row),
            "use": use.get((row.file, row.sheet, row.row, row.cell), _unused(row, trend)),
            "where": " ".join(filter(None, (_text(row.plane), _text(row.angle)))),
            "method": _text(row.method),
            "by": _text(row.by),
            "note": _text(row.note),
        }
        for row in shown.itertuples()
    ]
    table = pd.DataFrame(rows, columns=_READINGS_COLUMNS)
    unused = [name for name in _MAYBE_EMPTY if (table[name] == "").all() and rows]
    return table.drop(columns=unused)


_READINGS_COLUMNS = [
    "date", "hour meter", "state", "reading", "as written", "source", "use", "where", "method",
    "by", "note",
]  # fmt: skip
_MAYBE_EMPTY = ("where", "method", "by", "note")


def doubtful_readings(trend: ClearanceTrend, unit: str) -> list[str]:
    """Return the readings that are hard to believe, the latest first, and why, in ``unit``."""
    decimals = decimals_in(trend.decimals, trend.unit, unit)
    doubted = trend.points[trend.points["doubt"].notna()]
    return [
        f"{_day(row.date)}, {row.state}, {_reading(row, unit, decimals)}"
        f"{_as_written(row)}: {row.doubt.rstrip('.')}."
        for row in doubted.sort_values("date", ascending=False, kind="stable").itertuples()
    ]


def segments_table(trend: ClearanceTrend) -> pd.DataFrame:
    """Return the runs between resets: what began each, from when to when, how many readings."""
    rows = [
        {
            "run": str(row.segment),
            "began with": row.cause,
            "from": _day(row.start_date),
            "from hours": _hours(row.start_hours, 0.0),
            "last reading": _day(row.end_date),
            "at hours": _hours(row.end_hours, 0.0),
            "readings fitted": str(row.readings),
        }
        for row in trend.segments.itertuples()
    ]
    names = ["run", "began with", "from", "from hours", "last reading", "at hours"]
    return pd.DataFrame(rows, columns=[*names, "readings fitted"])


def work_table(trend: ClearanceTrend) -> pd.DataFrame:
    """Return the work done to the clearance, the latest first."""
    rows = [
        {
            "date": _day(row.date),
            "running hours": _hours(row.hours, 0.0),
            "action": row.action,
            "part no": _text(row.part_no),
            "supplier": _text(row.supplier),
            "note": _text(row.note),
        }
        for row in trend.work.sort_values("date", ascending=False, kind="stable").itertuples()
    ]
    names = ["date", "running hours", "action", "part no", "supplier", "note"]
    return pd.DataFrame(rows, columns=names)


def events_table(trend: ClearanceTrend) -> pd.DataFrame:
    """Return what happened to the machine until the day of the forecast, the latest first."""
    events = trend.events[~(trend.events["date"] > pd.Timestamp(trend.as_of))]
    rows = [
        {
            "date": _date(row),
            "what": row.what,
            "severity": _text(row.severity),
            "clearances": _text(row.clearances),
            "by": _text(row.by),
            "note": _text(row.note),
            "source": source_text(row),
        }
        for row in events.sort_values("date", ascending=False, kind="stable").itertuples()
    ]
    names = ["date", "what", "severity", "clearances", "by", "note", "source"]
    return pd.DataFrame(rows, columns=names)


def source_text(row: Any) -> str:
    """Return where a stored row came from: file, sheet and cell, else the row."""
    sheet = f", sheet {row.sheet}" if _text(row.sheet) else ""
    cell = _text(row.cell)
    return f"{row.file}{sheet}, {f'cell {cell}' if cell else f'row {row.row}'}"


def _uses(points: pd.DataFrame) -> dict[tuple[Any, Any, Any, Any], str]:
    return {
        (row.file, row.sheet, row.row, row.cell): "; ".join(
            filter(
                None,
                (
                    "fitted" if row.fitted else "not fitted",
                    _text(row.remark),
                    f"look again: {row.doubt}" if _text(row.doubt) else "",
                ),
            )
        )
        for row in points.itertuples()
    }


def _unused(row: Any, trend: ClearanceTrend) -> str:
    """Why a stored reading is no point of the trend."""
    if row.date > pd.Timestamp(trend.as_of):
        return f"dated after {trend.as_of:%Y-%m-%d}: not used"
    if row.excluded:
        return f"excluded: {_text(row.excluded_why) or 'no reason given'}"
    return "kept; another reading was taken"


def _as_written(row: Any) -> str:
    written = _text(row.written)
    if written.startswith(HOW):
        return f" ({written})"
    return f" (written {written})" if written else ""


def _reading(row: Any, unit: str, decimals: int) -> str:
    value = length_text(row.value_mm / MM_PER_UNIT[unit], decimals)
    return f"{'at least ' if row.at_least else ''}{value} {unit_label(unit)}"


def _date(row: Any) -> str:
    spread = row.date_spread_days
    return _day(row.date) + (f" ± {spread:.0f} days" if spread > 0 else "")


def _day(date: pd.Timestamp) -> str:
    return "not known" if pd.isna(date) else f"{date:%Y-%m-%d}"


def _hours(hours: float, spread: float) -> str:
    if pd.isna(hours):
        return "not known"
    return f"{hours:,.0f} h" + (f" ± {spread:,.0f} h" if spread > 0 else "")


def _text(cell: Any) -> str:
    return "" if cell is None or pd.isna(cell) else str(cell)

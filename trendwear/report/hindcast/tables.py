"""The record of past forecasts as tables: for people, and every number for a file."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.forecasting.crossing import FARTHEST_HOURS
from trendwear.hindsight.circumstances import direction
from trendwear.hindsight.followed import LATE
from trendwear.hindsight.found import BANDS, quantile_columns
from trendwear.hindsight.rules import RULES
from trendwear.hindsight.score import ALL, FIRST_RUNS, LATER_RUNS, is_inside
from trendwear.lengths import MM_PER_UNIT
from trendwear.report.hindcast.words import compared, error_text, verdict
from trendwear.report.rounding import NONE, hours_text
from trendwear.report.units import unit_label
from trendwear.tables import Columns

__all__ = [
    "FORECAST_RECORD",
    "coverage_table",
    "forecast_record",
    "in_numbers",
    "misses_table",
    "plans_table",
    "rules_table",
]

_GROUPS: Final = {ALL: "all readings", FIRST_RUNS: FIRST_RUNS, LATER_RUNS: LATER_RUNS}

FORECAST_RECORD: Final[Columns] = {
    **dict.fromkeys(("machine", "clearance", "family", "unit"), "text"),
    "date": "date",
    "hours": "number",
    "run_hours": "number",
    "found": "number",
    **{name.removesuffix("_mm"): "number" for rule in RULES for name in quantile_columns(rule)},
    **dict.fromkeys([f"inside_{band}" for band in BANDS], "text"),
    "readings": "count",
    "first_run": "flag",
    "start_assumed": "flag",
    "at_least": "flag",
    "reach": "number",
    "no_forecast": "text",
    "note": "text",
}
"""One row an as-found reading, lengths in each row's own ``unit``."""


def forecast_record(found: pd.DataFrame) -> pd.DataFrame:
    """Return `FORECAST_RECORD` of `trendwear.hindsight.found.FOUND`.

    ``inside_*`` is "yes" or "no", missing where there is no forecast or the reading says
    only *at least*.
    """
    per_unit = found["unit"].map(MM_PER_UNIT).astype("float64")
    rows = found.assign(
        found=found["found_mm"] / per_unit,
        start_assumed=found["assumed"],
        no_forecast=found["silent"],
        **{
            name.removesuffix("_mm"): found[name] / per_unit
            for rule in RULES
            for name in quantile_columns(rule)
        },
        **{f"inside_{band}": _yes_or_no(found, band) for band in BANDS},
    )
    return tables.conform(rows, FORECAST_RECORD)


def _yes_or_no(found: pd.DataFrame, band: int) -> pd.Series:
    told = found["forecast_p50_mm"].notna() & ~found["at_least"]
    inside = is_inside(found, "forecast", band).map({True: "yes", False: "no"}).astype("object")
    return inside.where(told, None)


def coverage_table(scores: pd.DataFrame) -> pd.DataFrame:
    """Return how many readings of each group lay inside each band, as text.

    In brackets how many an honest band would hold, nine times in ten.
    """
    told = scores[(scores["rule"] == "forecast") & (scores["readings"] > 0)]
    columns = ["group", "readings", *(f"in {band} % band" for band in BANDS)]
    columns += ["off by", "found", "90 % band"]
    rows = [
        (
            _GROUPS.get(row["group"], row["group"]),
            row["readings"],
            *(_inside(row, band) for band in BANDS),
            error_text(row["mean_abs_error_mm"], row["unit"]),
            _leaning(row),
            verdict(row, 90),
        )
        for _, row in told.iterrows()
    ]
    return pd.DataFrame(rows, columns=columns)


def _inside(row: pd.Series, band: int) -> str:
    low, high = row[f"due_low_{band}"], row[f"due_high_{band}"]
    return f"{row[f'inside_{band}']} = {100 * row[f'share_{band}']:.0f} % ({low:.0f}–{high:.0f})"


def _leaning(row: pd.Series) -> str:
    error = row["mean_error_mm"]
    return f"{error_text(abs(error), row['unit'])} {'more' if error > 0 else 'less'} worn"


def rules_table(scores: pd.DataFrame) -> pd.DataFrame:
    """Return forecast and simpler rules side by side, on the readings both speak of."""
    told = scores[(scores["rule"] != "forecast") & (scores["both"] > 0)]
    columns = ["group", "against", "readings", "forecast off by", "rule off by"]
    columns += ["forecast errs", "in the rule's own 90 % band"]
    rows = [
        (
            _GROUPS.get(row["group"], row["group"]),
            row["rule"],
            row["both"],
            error_text(row["forecast_abs_error_mm"], row["unit"]),
            error_text(row["rule_abs_error_mm"], row["unit"]),
            compared(row["forecast_abs_error_mm"], row["rule_abs_error_mm"]),
            _inside(row, 90),
        )
        for _, row in told.iterrows()
    ]
    return pd.DataFrame(rows, columns=columns)


def misses_table(found: pd.DataFrame) -> pd.DataFrame:
    """Return the readings outside their 90 % band, the latest first, and what was different."""
    told = found[found["forecast_p50_mm"].notna() & ~found["at_least"]]
    missed = told[~is_inside(told, "forecast", 90)]
    missed = missed.sort_values(["date", "hours"], ascending=False, kind="stable")
    columns = ["machine", "position", "opened", "hours run", "found", "90 % band", "side"]
    columns += ["readings by then", "what was different"]
    rows = [_miss(row) for _, row in missed.iterrows()]
    return pd.DataFrame(rows, columns=columns, index=missed.index)


def _miss(row: pd.Series) -> tuple[object, ...]:
    found, band = _numbers(row)
    return (
        row["machine"],
        row["clearance"],
        _when(row),
        hours_text(row["run_hours"]),
        found,
        band,
        direction(row),
        int(row["readings"]),
        _text(row["note"], "nothing in the record"),
    )


def in_numbers(found: pd.DataFrame) -> pd.DataFrame:
    """Return what was found and its 90 % band as text, in each row's own unit."""
    rows = [_numbers(row) for _, row in found.iterrows()]
    return pd.DataFrame(rows, columns=["found", "90 % band"], index=found.index)


def _numbers(row: pd.Series) -> tuple[str, str]:
    unit = str(row["unit"])
    places = _places(row, unit)
    found, low, high = (
        f"{row[name] / MM_PER_UNIT[unit]:.{places}f}"
        for name in ("found_mm", "forecast_p05_mm", "forecast_p95_mm")
    )
    return f"{found} {unit_label(unit)}", f"{low} to {high}"


def _places(row: pd.Series, unit: str) -> int:
    """Decimals that show on which side of the band a reading lies."""
    width = (row["forecast_p95_mm"] - row["forecast_p05_mm"]) / MM_PER_UNIT[unit]
    return int(np.clip(2 - np.floor(np.log10(width)), 0, 5)) if width > 0 else 4


def _when(row: Any) -> str:
    return f"at {hours_text(row['hours'])}" if pd.isna(row["date"]) else f"{row['date']:%Y-%m-%d}"


def plans_table(plans: pd.DataFrame, risk: float) -> pd.DataFrame:
    """Return every plan at one risk, the late ones first, then the latest first."""
    mine = plans[np.isclose(plans["risk"], risk)]
    order = mine.assign(kept=mine["outcome"] != LATE, day=mine["date"], at=mine["hours"])
    order = order.sort_values(["kept", "day", "at"], ascending=[True, False, False], kind="stable")
    columns = ["machine", "opening", "outcome", "planned for, at the latest", "governed by"]
    columns += ["followed for", "past its limit first", "passed at about", "found past after"]
    columns += ["clearances", "without forecast", "past already"]
    rows = [_plan(row) for _, row in order.iterrows()]
    return pd.DataFrame(rows, columns=columns, index=order.index)


def _plan(row: pd.Series) -> tuple[object, ...]:
    return (
        row["machine"],
        _when(row),
        row["outcome"],
        _latest(row["latest_hours"]),
        _text(row["governed_by"], NONE),
        hours_text(row["followed_hours"]),
        _text(row["first_past"], NONE),
        hours_text(row["crossed_hours"]),
        hours_text(row["found_past_hours"]),
        int(row["clearances"]),
        int(row["silent"]),
        int(row["apart"]),
    )


def _latest(hours: float) -> str:
    return "beyond 200,000 h" if hours >= FARTHEST_HOURS else hours_text(hours)


def _text(value: Any, otherwise: str) -> str:
    return value if isinstance(value, str) and value else otherwise

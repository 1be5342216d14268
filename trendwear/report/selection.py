"""The part of a limit forecast that a reader asked for, and what it holds in one sentence."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection
from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.report.columns import OUTCOME_MEANINGS
from trendwear.report.limit_table import governing, headings_of, in_order, limit_table, natural_key

if TYPE_CHECKING:
    from trendwear.forecasting.limit_forecast import LimitForecast

__all__ = ["narrowed", "positions", "present", "screen_table", "summary", "without_date"]

_SCREEN_ORDER: Final = (
    "machine",
    "position",
    "1 in 20 by",
    "even chance by",
    "allowance used",
    "last reading",
    "limit",
    "rate per 1000 h",
)
"""What comes first on a screen; the other columns follow in their own order."""


def narrowed(
    forecast: LimitForecast,
    machines: Collection[str],
    kinds: Collection[str],
    outcomes: Collection[str],
) -> LimitForecast:
    """Return the rows of those machines, kinds and outcomes; an empty choice leaves all."""
    table = forecast.table
    keep = table["machine"].notna()
    for column, wanted in (("machine", machines), ("kind", kinds), ("outcome", outcomes)):
        if wanted:
            keep &= table[column].isin(list(wanted))
    return dataclasses.replace(forecast, table=table[keep], decimals=forecast.decimals[keep])


def present(forecast: LimitForecast, column: str) -> list[str]:
    """Return what stands in a text column, each once, sorted as people count."""
    return sorted(forecast.table[column].dropna().unique(), key=natural_key)


def positions(forecast: LimitForecast, machine: str | None) -> list[str]:
    """Return the clearances of a machine, sorted as people count; none for no machine."""
    table = forecast.table
    return sorted(table["clearance"][table["machine"] == machine].unique(), key=natural_key)


def without_date(forecast: LimitForecast) -> list[str]:
    """Return the machines none of whose clearances is forecast to reach its limit."""
    dated = set(governing(forecast)["machine"])
    return [machine for machine in present(forecast, "machine") if machine not in dated]


def screen_table(forecast: LimitForecast) -> pd.DataFrame:
    """Return the twelve columns for a screen, what matters most to the left.

    A narrow screen shows the first of them only.  *allowance used* stays a number,
    so that a click on its heading sorts by it.
    """
    table = limit_table(forecast)
    used = in_order(forecast.table)["allowance_used"].round(0)
    rest = [name for name in headings_of(forecast) if name not in _SCREEN_ORDER]
    return table.assign(**{"allowance used": used})[[*_SCREEN_ORDER, *rest]]


def summary(forecast: LimitForecast) -> str:
    """Return how many machines and clearances there are, and how they stand, in one sentence."""
    table = forecast.table
    counts = table["outcome"].value_counts()
    stand = [f"{word} {counts[word]}" for word in OUTCOME_MEANINGS if word in counts]
    machines, rows = (
        table["machine"].nunique(),
        len(table.drop_duplicates(["machine", "clearance"])),
    )
    return (
        f"{machines} machine{'' if machines == 1 else 's'}, "
        f"{rows} clearance{'' if rows == 1 else 's'}. {'; '.join(stand).capitalize()}."
    )

"""The limit-forecast table for people: twelve columns of plain text, the most pressing first."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.report.assumed import without_assumed
from trendwear.report.rounding import (
    NONE,
    chance_text,
    date_text,
    grain_of,
    hours_text,
    length_text,
    limit_decimals,
    percent_text,
    rate_decimals,
)
from trendwear.report.units import unit_label

if TYPE_CHECKING:
    from trendwear.forecasting.limit_forecast import LimitForecast

__all__ = [
    "HEADINGS",
    "OUTCOME_WORDS",
    "PAST",
    "governing",
    "headings_of",
    "in_order",
    "limit_table",
    "natural_key",
    "reached_by",
    "reached_in_words",
]

HEADINGS: Final[dict[str, str]] = {
    "machine": "the machine",
    "position": "the clearance",
    "last reading": "what was read last since the last reset, and when",
    "limit": "the largest allowed, or the smallest where the gap closes (marked min)",
    "allowance used": "how much of the way from design to limit is gone",
    "rate per 1000 h": (
        "wear in 1000 running hours, in the unit of the reading; in brackets, 9 chances in 10 that "
        "it lies between"
    ),
    "1 in 20 by": "by then there is 1 chance in 20 that it is past its limit",
    "even chance by": "by then it is as likely past its limit as not",
    "chance at interval end": (
        "chance that it is past its limit when the overhaul interval, counted from the last "
        "reading, ends; not the chance at a particular outage"
    ),
    "order by": "when to order the part; empty until outages and lead times are planned",
    "evidence": "how many readings it rests on, and how much of the rate is the clearance's own",
    "note": "the answer in words, and what else must be known",
}
"""The twelve columns where no outage is planned, and what each says."""

_INTERVAL_END: Final = "chance at interval end"
_NEXT_OUTAGE: Final = "chance at next outage"
_WITH_OUTAGES: Final = {
    _NEXT_OUTAGE: (
        "chance that it is past its limit before the next outage at which it can be reached starts"
    ),
    "order by": (
        "when to order its part for that outage, where there is 1 chance in 20 or more that it "
        "passes its limit before the one after; the lead time and the days of margin are counted"
    ),
}

PAST: Final = ("measured past limit", "past limit")
"""Outcomes that say: past the limit."""

OUTCOME_WORDS: Final[dict[str, str]] = {
    "no limit": "No limit in the register",
    "too few readings": "Too few readings for a rate",
    "measured past limit": "PAST LIMIT when last read",
    "past limit": "PAST LIMIT by now, more likely than not",
    "reaches limit": "Wears towards its limit",
    "no measurable wear": "No wear that can be measured",
    "beyond horizon": "Wears so slowly that the limit is far off",
}
"""Each outcome as it is put to people."""


def headings_of(forecast: LimitForecast) -> dict[str, str]:
    """Return the twelve columns of a forecast, and what each says.

    Where outages are planned the chance is that at the next outage, else that at the end of
    the overhaul interval.
    """
    if forecast.next_openings.empty:
        return HEADINGS
    names = {_INTERVAL_END: _NEXT_OUTAGE}
    with_outages = {names.get(name, name): says for name, says in HEADINGS.items()}
    return with_outages | _WITH_OUTAGES


_FAR: Final = "after 200,000 h"


def natural_key(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a sort key in which *brg 2* comes before *brg 10*.

    >>> sorted(["brg 10", "brg 2"], key=natural_key)
    ['brg 2', 'brg 10']
    """
    pieces = re.findall(r"\d+|\D+", text.casefold())
    return tuple((0, int(p), "") if p.isdecimal() else (1, 0, p) for p in pieces)


def _ranks(names: pd.Series) -> pd.Series:
    order = {name: rank for rank, name in enumerate(sorted(names.unique(), key=natural_key))}
    return names.map(order)


def in_order(table: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of a limit-forecast table, the most pressing first.

    Those measured past their limit, those past it by now, then by the hours to 1 chance
    in 20, to an even chance, by the allowance used, and by name.
    """
    keys = pd.DataFrame(
        {
            "past": table["outcome"].map({name: rank for rank, name in enumerate(PAST)}),
            "p05": table["hours_to_limit_p05"],
            "p50": table["hours_to_limit_p50"],
            "used": -table["allowance_used"],
            "machine": _ranks(table["machine"]),
            "clearance": _ranks(table["clearance"]),
        },
        index=table.index,
    )
    return table.loc[keys.sort_values(list(keys.columns), kind="stable").index]


def governing(forecast: LimitForecast) -> pd.DataFrame:
    """Return the row of each machine that is first to pass its limit, the most pressing first.

    Only rows that may set the overhaul count; a machine none of whose clearances
    reaches its limit has no row.
    """
    table = forecast.table
    table = table[forecast.limiting.loc[table.index]]
    reaching = table[table["outcome"].isin(PAST) | table["hours_to_limit_p05"].notna()]
    return in_order(reaching).drop_duplicates("machine")


def reached_by(row: Any, share: str) -> str:
    """Return when the chance ``share`` (``p05``, ``p50`` or ``p95``) of being past is reached.

    Parameters
    ----------
    row : a row of the limit-forecast table, as a named tuple or a series
    share : str
        Which of the three.

    Returns
    -------
    str
        *already*, a day, month or quarter, hours where there are no dates, or a dash.
    """
    hours, date = getattr(row, f"hours_to_limit_{share}"), getattr(row, f"date_{share}")
    if hours == 0:
        return "already"
    if pd.notna(date):
        return date_text(date, grain_of(row.date_p05, row.date_p95))
    if pd.notna(hours):
        return f"in {hours_text(hours)}"
    return _FAR if pd.notna(row.rate_per_1000h) and pd.notna(row.limit) else NONE


def reached_in_words(row: Any, share: str) -> str:
    """Return the same as part of a sentence: *by 2027-05*, *in 12,300 h*, *already*."""
    when = reached_by(row, share)
    return when if when.startswith(("already", "in ", "after ")) else f"by {when}"


def limit_table(forecast: LimitForecast) -> pd.DataFrame:
    """Return the twelve columns as text, one row a register row, the most pressing first.

    Returns
    -------
    DataFrame
        Columns `headings_of`; the index is that of ``forecast.table``, reordered.
    """
    table = in_order(forecast.table)
    decimals = forecast.decimals.loc[table.index]
    planned = _planned(forecast, table)
    rows = [
        _row(row, int(places), ahead)
        for row, places, ahead in zip(table.itertuples(), decimals, planned, strict=True)
    ]
    return pd.DataFrame(rows, columns=list(headings_of(forecast)), index=table.index)


def _planned(forecast: LimitForecast, table: pd.DataFrame) -> list[tuple[str, str]]:
    """The chance and the order-by date of each row, as text."""
    if forecast.next_openings.empty:
        return [(_chance_at_interval_end(row), NONE) for row in table.itertuples()]
    keys = ["machine", "clearance", "moves"]
    ahead = table[keys].merge(forecast.next_openings, how="left", on=keys, validate="m:1")
    return [(_chance_at_next_outage(row), _order_by(row)) for row in ahead.to_dict("records")]


def _row(row: Any, decimals: int, planned: tuple[str, str]) -> tuple[str, ...]:
    return (
        row.machine,
        row.clearance,
        _last_reading(row, decimals),
        _limit(row, decimals),
        percent_text(row.allowance_used),
        _rate(row, decimals),
        reached_by(row, "p05"),
        reached_by(row, "p50"),
        *planned,
        _evidence(row),
        _note(row),
    )


def _last_reading(row: Any, decimals: int) -> str:
    if pd.isna(row.last_reading):
        return NONE
    value = f"{length_text(row.last_reading, decimals)} {unit_label(row.unit)}"
    return value if pd.isna(row.last_reading_date) else f"{value}, {row.last_reading_date:%Y-%m-%d}"


def _limit(row: Any, decimals: int) -> str:
    if pd.isna(row.limit):
        return NONE
    value = length_text(row.limit, limit_decimals(row.limit, decimals))
    return f"{value} {unit_label(row.unit)}" + (" min" if row.moves == "closes" else "")


def _rate(row: Any, decimals: int) -> str:
    if pd.isna(row.rate_per_1000h):
        return NONE
    places = rate_decimals(row.rate_low, row.rate_high, decimals)
    low, mid, high = (
        length_text(value, places) for value in (row.rate_low, row.rate_per_1000h, row.rate_high)
    )
    return f"{mid} ({low} to {high})"


def _chance_at_interval_end(row: Any) -> str:
    if pd.isna(row.chance_past_horizon):
        return NONE
    return f"{chance_text(row.chance_past_horizon)} at {hours_text(row.horizon_hours)}"


def _chance_at_next_outage(row: dict[Any, Any]) -> str:
    if pd.isna(row["chance"]):
        return NONE
    return f"{chance_text(row['chance'])} at {row['outage']}"


def _order_by(row: dict[Any, Any]) -> str:
    if row["on_shelf"] is True:
        return "on the shelf"
    if pd.isna(row["order_by"]):
        return NONE
    return f"{row['order_by']:%Y-%m-%d}" + (" LATE" if row["late"] is True else "")


def _evidence(row: Any) -> str:
    count = f"{row.readings} reading" + ("" if row.readings == 1 else "s")
    return count if pd.isna(row.own_share) else f"{count}, {100 * row.own_share:.0f} % own"


def _note(row: Any) -> str:
    words = OUTCOME_WORDS[row.outcome]
    notes = without_assumed(row.notes) if row.notes and pd.notna(row.notes) else ""
    return f"{words}; {notes}" if notes else words

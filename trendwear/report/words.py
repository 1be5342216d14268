"""The numbers of one clearance in sentences that a mechanic can read out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import pandas as pd

from trendwear.report.limit_table import OUTCOME_WORDS, PAST, reached_in_words
from trendwear.report.rounding import (
    chance_text,
    hours_text,
    length_text,
    limit_decimals,
    percent_text,
    rate_decimals,
)
from trendwear.report.units import unit_label

__all__ = ["clearance_words", "events_since", "headline", "what_to_know"]

_SINCE: Final = "made before this event"
_DOUBT: Final = "look again"
_AWAY: Final = "Moves away from this limit"


def headline(row: pd.Series) -> str:
    """Return the answer for one row of the limit-forecast table in one line."""
    if row["outcome"] == "reaches limit":
        return (
            f"Past its limit: 1 chance in 20 {reached_in_words(row, 'p05')}, "
            f"even chance {reached_in_words(row, 'p50')}"
        )
    return _AWAY if row["rate_high"] < 0 else OUTCOME_WORDS[row["outcome"]]


def clearance_words(row: pd.Series, decimals: int) -> list[str]:
    """Return one row of the limit-forecast table as plain sentences.

    Parameters
    ----------
    row : Series
        One row of `trendwear.tables.LIMIT_FORECAST`, in the unit to be shown.
    decimals : int
        Decimals that the gauge carries in that unit.

    Returns
    -------
    list of str
        Where the clearance stands, how fast it wears, when it reaches its limit,
        what it rests on, and what to do where nothing can be said.
    """
    return [
        *_stands(row, decimals),
        *_wears(row, decimals),
        *_reaches(row),
        *_interval(row, decimals),
        *_rests_on(row),
        *_to_do(row),
    ]


def _length(value: float, row: pd.Series, decimals: int) -> str:
    return f"{length_text(value, decimals)} {unit_label(row['unit'])}"


def _stands(row: pd.Series, decimals: int) -> Iterator[str]:
    if pd.notna(row["last_reading"]):
        when = row["last_reading_date"]
        on = "" if pd.isna(when) else f" on {when:%Y-%m-%d}"
        yield f"Last reading: {_length(row['last_reading'], row, decimals)}{on}."
    else:
        yield "There is no reading since the last reset."
    if pd.notna(row["clearance_now"]):
        at = "" if pd.isna(row["run_hours"]) else f" (machine at {hours_text(row['run_hours'])})"
        yield (
            f"To be expected on {row['as_of']:%Y-%m-%d}{at}: "
            f"{_length(row['clearance_now'], row, decimals)}."
        )
    if pd.isna(row["limit"]):
        yield "The register gives no limit for it: nothing to count down to."
        return
    source = f" ({row['limit_source']})" if row["limit_source"] else ""
    bound = "smallest" if row["moves"] == "closes" else "largest"
    limit = _length(row["limit"], row, limit_decimals(row["limit"], decimals))
    yield f"Limit: {limit}, the {bound} allowed{source}.{_used(row['allowance_used'])}"


def _used(percent: float) -> str:
    if pd.isna(percent):
        return ""
    share = percent_text(percent) if percent >= 1 else "None"
    return f" {share} of the allowance is used."


def _wears(row: pd.Series, decimals: int) -> Iterator[str]:
    if pd.isna(row["rate_per_1000h"]):
        return
    places = rate_decimals(row["rate_low"], row["rate_high"], decimals)
    rate, low, high = (
        length_text(value, places)
        for value in (abs(row["rate_per_1000h"]), row["rate_low"], row["rate_high"])
    )
    wears = row["rate_per_1000h"] >= 0
    minus = "" if row["rate_low"] >= 0 else " (minus: away from the limit)"
    yield (
        f"It {'wears' if wears else 'moves'} {rate} {unit_label(row['unit'])} "
        f"{'towards' if wears else 'away from'} its limit in 1000 running hours; "
        f"9 chances in 10 that the true rate lies between {low} and {high}{minus}."
    )
    if row["outcome"] == "no measurable wear" and row["rate_high"] >= 0:
        yield (
            "The readings scatter as much as they move: so far this wear cannot be told from "
            "the error of measuring."
        )


def _reaches(row: pd.Series) -> Iterator[str]:
    if row["outcome"] == "measured past limit":
        yield "The last reading was past the limit already."
    elif row["outcome"] == "past limit":
        yield (
            f"By now it is past its limit with a chance of {chance_text(row['chance_past_now'])}, "
            "counting the hours run since the last reading."
        )
    elif pd.notna(row["chance_past_now"]) and pd.notna(row["limit"]):
        yield f"Chance that it is past its limit already: {chance_text(row['chance_past_now'])}."
    if row["outcome"] in PAST or pd.isna(row["rate_per_1000h"]) or pd.isna(row["limit"]):
        return
    if pd.isna(row["hours_to_limit_p05"]):
        yield "Even 1 chance in 20 that it is past its limit comes only after 200,000 h."
        return
    yield (
        f"1 chance in 20 that it is past its limit {reached_in_words(row, 'p05')}; "
        f"an even chance {reached_in_words(row, 'p50')}; 19 in 20 {reached_in_words(row, 'p95')}."
    )


def _interval(row: pd.Series, decimals: int) -> Iterator[str]:
    if pd.isna(row["horizon_hours"]) or pd.isna(row["found_p50"]):
        return
    low, high = (_length(row[name], row, decimals) for name in ("found_p05", "found_p95"))
    past = (
        ""
        if pd.isna(row["chance_past_horizon"])
        else f", and the chance that it is past its limit is "
        f"{chance_text(row['chance_past_horizon'])}"
    )
    yield (
        f"At the end of the overhaul interval ({hours_text(row['horizon_hours'])} after the last "
        f"reading) one would read between {low} and {high}{past}."
    )


def _rests_on(row: pd.Series) -> Iterator[str]:
    if pd.isna(row["rate_per_1000h"]):
        return
    readings = f"{row['readings']} reading" + ("" if row["readings"] == 1 else "s")
    runs = f"{row['segments']} run" + ("" if row["segments"] == 1 else "s")
    yield f"This rests on {readings} in {runs} between resets."


def _to_do(row: pd.Series) -> Iterator[str]:
    if row["outcome"] == "too few readings":
        yield (
            "What to do: load an as-left reading from the last closing and an as-found reading "
            "from the next opening, both with running hours; two readings in one run give a rate. "
            "Or give the machine a class, or the clearance a family, in the register: then like "
            "clearances lend theirs."
        )
    if row["outcome"] == "no limit":
        yield "What to do: write the limit and its source into the clearances sheet and load it."
    if pd.notna(row["limit"]) and pd.notna(row["hours_to_limit_p50"]) and pd.isna(row["date_p50"]):
        yield (
            "Hours stand where dates should: the duty is not known. Load a run_log or a duty_plan "
            "sheet to see dates."
        )


def what_to_know(forecast: pd.DataFrame) -> list[str]:
    """Return what else must be known of a clearance, each a sentence, each once.

    Events since the last reading and readings to look at again are told elsewhere.

    Parameters
    ----------
    forecast : DataFrame
        Its rows of `trendwear.tables.LIMIT_FORECAST`.
    """
    return [_sentence(note) for note in _notes(forecast) if not note.startswith((_SINCE, _DOUBT))]


def events_since(forecast: pd.DataFrame) -> list[str]:
    """Return what happened after the last reading, of which the forecast knows nothing."""
    return [_sentence(note) for note in _notes(forecast) if note.startswith(_SINCE)]


def _notes(forecast: pd.DataFrame) -> list[str]:
    told = (note for notes in forecast["notes"].dropna() for note in str(notes).split("; "))
    return list(dict.fromkeys(filter(None, map(str.strip, told))))


def _sentence(note: str) -> str:
    return f"{note[0].upper()}{note[1:]}{'' if note.endswith(('.', '!', '?')) else '.'}"

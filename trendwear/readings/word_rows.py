"""Readings whose value is a word become rows of the `work` and `events` sheets."""

from __future__ import annotations

import pandas as pd

from trendwear.readings.value_words import work_named

__all__ = ["split_words"]

_CARRIED = ("machine", "date", "date_spread_days", "by", "note", "row", "cell")
_ALSO_WORK = ("clearance", "run_hours", "run_hours_spread", "opening")
_WHERE = ("state", "plane", "angle", "repeat", "opening")


def split_words(readings: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """Part typed readings into `readings`, `work` and `events`.

    ::

        word       machine  clearance        sheet   row
        None       K-101    brg DE      ->   readings  as it is
        scraped    K-101    brg DE      ->   work      action = dressed
        not taken  K-101    brg DE      ->   events    what = "brg DE, as-found: not taken"
    """
    words = readings["word"]
    spelt = readings[words.notna()]
    actions = spelt["word"].map({word: work_named(word) for word in spelt["word"].unique()})
    worked, other = spelt[actions.notna()], spelt[actions.isna()]
    work = worked[[name for name in (*_CARRIED, *_ALSO_WORK) if name in worked]]
    events = other[[name for name in _CARRIED if name in other]]
    return {
        "readings": readings[words.isna()].drop(columns="word"),
        "work": work.assign(action=actions[actions.notna()]),
        "events": events.assign(what=_told(other), clearances=other["clearance"]),
    }


def _told(rows: pd.DataFrame) -> pd.Series:
    """Return where and when no number was taken, and the word that says why."""
    told = rows["clearance"].astype("object")
    for name in _WHERE:
        if name in rows:
            label = "" if name == "state" else f"{name} "
            said = rows[name].map(lambda cell, label=label: f", {label}{cell}", na_action="ignore")
            told = told + said.fillna("").astype("object")
    return told + ": " + rows["word"]

"""Log rows that say the hour meter rolled over: the row, and an event that tells it."""

from __future__ import annotations

from typing import Final

import pandas as pd

__all__ = ["EVENT", "ROLLED_OVER", "split_meters"]

ROLLED_OVER: Final = "rolled over"
"""In ``meter``: the first reading after the meter passed its highest figure."""
EVENT: Final = "hour meter rolled over"
"""What happened that day; the same word in the `events` sheet says the same."""
_CARRIED = ("machine", "date", "date_spread_days", "row", "cell")


def split_meters(log: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """Part typed log rows into `run_log` and `events`.

    The meter is the same one before and after, so the row stays as it is; that it rolled
    over is something that happened to it.
    """
    if "meter" not in log:
        return {"run_log": log, "events": log.iloc[:0]}
    rolled = log["meter"] == ROLLED_OVER
    events = log.loc[rolled, [name for name in _CARRIED if name in log]]
    return {
        "run_log": log.assign(meter=log["meter"].mask(rolled, None)),
        "events": events.assign(what=EVENT),
    }

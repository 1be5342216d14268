"""What each column of the limit-forecast table says, in plain words, and its unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import pandas as pd

__all__ = ["COLUMN_MEANINGS", "OUTCOME_MEANINGS", "ColumnMeaning", "columns_table"]

_OWN: Final = "the row's unit"
_RATE: Final = "the row's unit per 1000 h"


@dataclass(frozen=True)
class ColumnMeaning:
    """What one column says."""

    says: str
    unit: str = ""


_M = ColumnMeaning

COLUMN_MEANINGS: Final[dict[str, ColumnMeaning]] = {
    "machine": _M("the machine, as the register spells it"),
    "clearance": _M("the position: one clearance of that machine"),
    "kind": _M("what is measured"),
    "part": _M("the part, as the shop calls it"),
    "part_no": _M("the part's number"),
    "location": _M("where in the machine"),
    "slot": _M("slot number"),
    "basis": _M("how the clearance is counted: diametral, radial, axial or thickness"),
    "moves": _M("which way wear moves it: it opens towards a largest, or closes to a smallest"),
    "unit": _M("the unit of every length in this row"),
    "as_of": _M("the day the row speaks of; nothing dated later was used", "date"),
    "run_hours": _M("running hours of the machine on that day, over all its hour meters", "h"),
    "last_reading_date": _M("when the clearance was last read, since the last reset", "date"),
    "last_reading": _M("what was read then", _OWN),
    "clearance_now": _M("the clearance to be expected on that day, wear since then counted", _OWN),
    "limit": _M("the largest allowed where it opens, the smallest where it closes", _OWN),
    "limit_source": _M("where the limit comes from"),
    "allowance_used": _M(
        "how much of the way from the design clearance to the limit is gone; "
        "above 100 it is past the limit",
        "%",
    ),
    "rate_per_1000h": _M(
        "wear in 1000 running hours over the coming interval, positive towards the limit", _RATE
    ),
    "rate_low": _M("1 chance in 20 that it wears slower than this", _RATE),
    "rate_high": _M("1 chance in 20 that it wears faster than this", _RATE),
    "own_share": _M(
        "how much of the rate comes from this clearance's own readings since its part or "
        "running was last changed; the rest comes from before that and from like clearances",
        "0 to 1",
    ),
    "hours_to_limit_p05": _M(
        "running hours from that day until there is 1 chance in 20 that it is past its limit; "
        "0: already; empty: not within 200,000 h",
        "h",
    ),
    "hours_to_limit_p50": _M("the same for an even chance", "h"),
    "hours_to_limit_p95": _M("the same for 19 chances in 20", "h"),
    "date_p05": _M("the day those hours are run at the planned duty: 1 chance in 20", "date"),
    "date_p50": _M("the same for an even chance", "date"),
    "date_p95": _M("the same for 19 chances in 20", "date"),
    "chance_past_now": _M("chance that it is past its limit on that day already", "0 to 1"),
    "horizon_hours": _M(
        "the overhaul interval, counted from the last reading: the one asked for, "
        "else the usual one of the machine or of its class",
        "h",
    ),
    "chance_past_horizon": _M("chance that it is past its limit when that interval ends", "0 to 1"),
    "found_p05": _M("1 chance in 20 that one would then read less than this", _OWN),
    "found_p50": _M("what one would then most likely read", _OWN),
    "found_p95": _M("1 chance in 20 that one would then read more than this", _OWN),
    "readings": _M("readings that the fit uses"),
    "segments": _M("runs from one reset to the next"),
    "family": _M("the like clearances that help each other to a rate"),
    "reach": _M("how far the forecast looks, against the longest run ever seen in the family"),
    "outcome": _M("the answer in a word; see below"),
    "notes": _M("what else must be known"),
}
"""Every column of `trendwear.tables.LIMIT_FORECAST`, in its order."""

OUTCOME_MEANINGS: Final[dict[str, str]] = {
    "measured past limit": "the last reading was past the limit",
    "past limit": "by now it is more likely past its limit than not",
    "reaches limit": "it wears towards its limit; the dates say when",
    "beyond horizon": "it wears, but an even chance comes only after 200,000 h",
    "no measurable wear": "what wear there is cannot be told from the error of measuring",
    "too few readings": "no rate can be given yet",
    "no limit": "the register gives no limit",
}
"""Every outcome in the order in which a reader needs it, and what it means."""


def columns_table() -> pd.DataFrame:
    """Return the meanings as a frame: column, what it says, unit."""
    return pd.DataFrame(
        [
            {"column": name, "what it says": meaning.says, "unit": meaning.unit}
            for name, meaning in COLUMN_MEANINGS.items()
        ]
    )

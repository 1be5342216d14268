"""The frames that rooms hand to one another: columns, dtypes, units, and their check.

Lengths are millimetres, hours are running hours, dates are ``datetime64[us]``
without a time zone.  The unit stands in the column's name.  A missing text is
None/NaN, a missing number NaN, a missing date NaT; never an empty string.
"""

from __future__ import annotations

from typing import Final

import pandas as pd

__all__ = [
    "CLEARANCES",
    "DUTY_PLAN",
    "EVENTS",
    "FAMILIES",
    "FAMILY_MEMBERS",
    "LIMIT_FORECAST",
    "MACHINES",
    "METHODS",
    "READINGS",
    "RUN_LOG",
    "TREND_LINES",
    "TREND_POINTS",
    "TREND_SEGMENTS",
    "TREND_SHARES",
    "TREND_WORK",
    "WORK",
    "Columns",
    "check",
    "conform",
    "empty",
]

Columns = dict[str, str]
"""Column names and what they hold: text, number, date, flag or count."""

_DTYPES: Final = {
    "text": "object",
    "number": "float64",
    "date": "datetime64[us]",
    "flag": "bool",
    "count": "int64",
}

_PROVENANCE: Final[Columns] = {"file": "text", "sheet": "text", "row": "count", "cell": "text"}

MACHINES: Final[Columns] = {
    **dict.fromkeys(("machine", "description", "class", "site", "train", "spare_of"), "text"),
    **dict.fromkeys(("open_days", "crew_days", "crew_day_cost", "cost_if_past"), "number"),
}

CLEARANCES: Final[Columns] = {
    "machine": "text",
    "clearance": "text",
    "kind": "text",
    "basis": "text",
    "moves": "text",
    "unit": "text",
    "limit_mm": "number",
    "limit_from": "date",
    "limit_source": "text",
    "limit_meaning": "text",
    "design_min_mm": "number",
    "design_max_mm": "number",
    "consequence": "text",
    "limiting": "flag",  # default: where there is a limit
    "part": "text",
    "part_no": "text",
    "quantity": "number",
    **dict.fromkeys(("location", "slot", "set", "partner", "access", "family"), "text"),
    **dict.fromkeys(("reduce", "method"), "text"),
}

READINGS: Final[Columns] = {
    "reading": "count",  # its number in the store
    "machine": "text",  # as the register spells it
    "clearance": "text",  # as the register spells it
    "date": "date",
    "date_spread_days": "number",  # half-width where only month or year is known, else 0
    "run_hours": "number",  # as on the hour meter then fitted
    "hours_spread": "number",  # half-width stated with the hours, else 0
    "starts": "number",
    "state": "text",
    "value_mm": "number",  # midpoint of what was read, in the reading's own basis
    "lower_mm": "number",  # what was read: not less than this (-inf: open)
    "upper_mm": "number",  # what was read: not more than this (+inf: open)
    "at_least": "flag",  # one-sided: worn at least to value_mm, perhaps further
    "half_width_mm": "number",  # of a go/no-go pair, a range or a ± beside the value, else 0
    "stated_mm": "number",  # standard uncertainty of this reading alone, NaN where none
    "u_from": "text",  # of a computed reading: what stated_mm rests on; missing: stated with it
    "step_mm": "number",  # finest step in which the value was written
    "unit": "text",  # unit the value was written in
    "basis": "text",  # the reading's own basis
    **dict.fromkeys(("opening", "repeat", "plane", "angle", "method"), "text"),
    **dict.fromkeys(("surface", "instrument", "by", "note"), "text"),
    "written": "text",  # the value cell as written
    "excluded": "flag",  # kept and drawn, but not fitted
    "excluded_why": "text",  # why, and who says so; missing where it is not
    **_PROVENANCE,
}

WORK: Final[Columns] = {
    "machine": "text",
    "clearance": "text",  # a clearance, the name of a set, or *
    "date": "date",
    "date_spread_days": "number",
    "action": "text",
    "run_hours": "number",
    "hours_spread": "number",
    "opening": "text",
    "amount_mm": "number",
    **dict.fromkeys(("part_no", "serial", "supplier"), "text"),
    **dict.fromkeys(("to_clearance", "to_machine", "by", "note"), "text"),
    **_PROVENANCE,
}

EVENTS: Final[Columns] = {
    "machine": "text",
    "date": "date",
    "date_spread_days": "number",
    "what": "text",
    "severity": "text",
    "clearances": "text",
    "by": "text",
    "note": "text",
    "accepted_by": "text",  # who answers for forecasts made before it; missing: nobody
    "accepted_why": "text",
    **_PROVENANCE,
}

RUN_LOG: Final[Columns] = {
    "machine": "text",
    "date": "date",
    "run_hours": "number",
    **dict.fromkeys(("date_spread_days", "hours_spread", "starts"), "number"),
    "meter": "text",  # "replaced", "rolled over" or missing
    **_PROVENANCE,
}

DUTY_PLAN: Final[Columns] = {
    "machine": "text",
    "from": "date",
    "to": "date",
    "hours_per_day": "number",
    "starts_per_month": "number",
    "spread": "number",
}

METHODS: Final[Columns] = {
    "method": "text",
    "uncertainty_mm": "number",  # one standard uncertainty
    **dict.fromkeys(("resolution_mm", "bias_mm"), "number"),
    "source": "text",  # of a starting value; missing where it is the site's own
}

FAMILIES: Final[Columns] = {
    "family": "text",
    "hours_per_start": "number",  # hours of wear that one start is worth, where it is given
    "power": "number",  # of the bend in time, where it is given
    **dict.fromkeys(("by", "note"), "text"),
}

LIMIT_FORECAST: Final[Columns] = {
    **dict.fromkeys(("machine", "clearance", "kind", "part", "part_no", "location"), "text"),
    **dict.fromkeys(("slot", "basis", "moves", "unit"), "text"),
    "as_of": "date",
    "run_hours": "number",
    "last_reading_date": "date",
    "last_reading": "number",
    "clearance_now": "number",
    "limit": "number",
    "limit_source": "text",
    "allowance_used": "number",
    **dict.fromkeys(("rate_per_1000h", "rate_low", "rate_high", "own_share"), "number"),
    **dict.fromkeys([f"hours_to_limit_{q}" for q in ("p05", "p50", "p95")], "number"),
    **dict.fromkeys(("date_p05", "date_p50", "date_p95"), "date"),
    "chance_past_now": "number",
    "horizon_hours": "number",
    "chance_past_horizon": "number",
    "found_p05": "number",
    "found_p50": "number",
    "found_p95": "number",
    "readings": "count",
    "segments": "count",
    "family": "text",
    "reach": "number",
    "outcome": "text",
    "notes": "text",
}
"""The limit-forecast table.  Lengths here are in each row's own ``unit``."""

TREND_POINTS: Final[Columns] = {
    "date": "date",
    "hours": "number",  # running hours on the machine's hour line, bridged over meters
    "hours_from": "text",  # "stated", "opening", or as `segments.bridging.placed_by` says
    "value_mm": "number",  # in the register's basis
    "u_mm": "number",  # one standard uncertainty
    "u_from": "text",  # "stated", "method", "starting value" or "written resolution"
    "at_least": "flag",
    "state": "text",
    "segment": "count",  # 1, 2, …; 0: in none
    "fitted": "flag",
    "remark": "text",  # why it is not fitted, or what was done to it
    "doubt": "text",  # why it is hard to believe; missing where it is not
    "method": "text",
    "written": "text",
    **_PROVENANCE,
}
"""The readings that the trend of one clearance takes, one a row."""

TREND_SEGMENTS: Final[Columns] = {
    "segment": "count",
    "cause": "text",  # what began it: "first reading", an action, "unexplained step"
    "start_date": "date",
    "start_hours": "number",
    "end_date": "date",  # of its last reading; NaT where it has none
    "end_hours": "number",
    "readings": "count",  # fitted readings in it
}

TREND_WORK: Final[Columns] = {
    "date": "date",
    "hours": "number",
    "action": "text",
    "part_no": "text",
    "supplier": "text",
    "note": "text",
}

TREND_LINES: Final[Columns] = {
    "segment": "count",
    "stretch": "text",  # "fitted" own-data line, "own line" ahead of it, "forecast"
    "hours": "number",
    "date": "date",  # NaT where the duty is unknown
    "fit_mm": "number",
    "low_mm": "number",  # 5 % of the true clearance lies below (forecast only, else NaN)
    "high_mm": "number",  # 5 % lies above
}

TREND_SHARES: Final[Columns] = {
    "machine": "text",
    "clearance": "text",
    "former_part": "flag",  # wear of a part that is no longer fitted there
    "share": "number",  # what it adds to the rate, 0-1; they sum to 1
}
"""Whose readings the rate of one clearance rests on."""

FAMILY_MEMBERS: Final[Columns] = {
    **dict.fromkeys(("machine", "clearance", "unit"), "text"),
    "readings": "count",
    **dict.fromkeys(("rate_mm_per_1000h", "rate_low", "rate_high", "own_share"), "number"),
}


def empty(columns: Columns) -> pd.DataFrame:
    """Return a frame of those columns without rows."""
    return pd.DataFrame({name: pd.Series(dtype=_DTYPES[what]) for name, what in columns.items()})


def conform(frame: pd.DataFrame, columns: Columns) -> pd.DataFrame:
    """Return ``frame`` with exactly these columns, in order, cast to their dtypes.

    A column that is missing becomes empty; flags and counts have no empty value
    and must be there.
    """
    cast = {}
    for name, what in columns.items():
        if name in frame:
            column = frame[name]
        elif what in ("flag", "count") and len(frame):
            raise KeyError(f"a frame needs the column {name}")
        else:
            column = pd.Series([None] * len(frame), index=frame.index, dtype="object")
        if what == "text":
            column = column.astype("object").where(column.notna(), None)
        cast[name] = column.astype(_DTYPES[what])
    return pd.DataFrame(cast, index=frame.index)


def check(frame: pd.DataFrame, columns: Columns) -> pd.DataFrame:
    """Return ``frame`` unchanged after checking that it has these columns and dtypes.

    Raises
    ------
    KeyError
        A column is missing or its dtype is not the agreed one: a fault of the
        program, not of its user.
    """
    for name, what in columns.items():
        if name not in frame:
            raise KeyError(f"a frame lacks the column {name}")
        dtype = str(frame[name].dtype)
        if dtype != _DTYPES[what] and not (what == "text" and dtype == "str"):
            raise KeyError(f"column {name} is {dtype}, not {_DTYPES[what]}")
    return frame

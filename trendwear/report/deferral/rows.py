"""The tables of a deferral sheet as text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.report.deferral.said import percent
from trendwear.report.rounding import (
    NONE,
    chance_text,
    hours_text,
    length_text,
    limit_decimals,
    share_text,
)
from trendwear.report.units import unit_label

if TYPE_CHECKING:
    from trendwear.planning.deferral import Deferral

__all__ = [
    "chance_columns",
    "chance_rows",
    "clearance_columns",
    "clearance_rows",
    "part_rows",
    "rests_on_rows",
    "telling",
]

Cell = str | dict[str, Any]

_SHARE_TOLD: Final = 0.005
_BOUND: Final = {"opens": "largest", "closes": "smallest"}
_TIMES_TOLD: Final = 1000.0
_TOLD_ELSEWHERE: Final = (
    "made before this event",
    "event of ",
    "start assumed",
    "extrapolated:",
)


def chance_columns(told: Deferral) -> list[str]:
    """Headings of `chance_rows`."""
    return ["limits passed", "accepted, and by whom", *_days(told), "on the date asked"]


def _days(told: Deferral) -> list[str]:
    asked = told.question
    both = pd.notna(asked.planned) and asked.planned > told.as_of
    planned = [f"planned {asked.planned:%Y-%m-%d}"] if both else []
    return [f"today {told.as_of:%Y-%m-%d}", *planned, f"asked {asked.to:%Y-%m-%d}"]


def _at_days(told: Deferral, row: dict[Any, Any], stem: str = "") -> list[str]:
    both = len(_days(told)) == 3
    names = ["now", "planned", "to"] if both else ["now", "to"]
    return [chance_text(row[f"{stem}{name}"]) for name in names]


def chance_rows(told: Deferral) -> list[list[Cell]]:
    """Chances by consequence beside what is accepted."""
    rows: list[list[Cell]] = []
    for row in told.chances.to_dict("records"):
        count = f"{row['clearances']} limit{'' if row['clearances'] == 1 else 's'}"
        above = pd.notna(row["accepted"]) and row["to"] > row["accepted"]
        rows.append(
            [
                {"text": row["heading"], "more": count, "strong": True},
                _accepted(told, row),
                *_at_days(told, row),
                _beside(row, above=above),
            ]
        )
    if told.without_past:
        heading = {"text": "without those past today", "more": "all other limits", "strong": True}
        rows.append([heading, NONE, *_at_days(told, told.without_past), NONE])
    return rows


def _accepted(told: Deferral, row: dict[str, Any]) -> Cell:
    if pd.isna(row["accepted"]):
        return NONE
    if told.question.accepted.for_all is not None:
        return {"text": percent(row["accepted"]), "more": "given for this sheet, signed by nobody"}
    if row["strictest"]:
        return {"text": percent(row["accepted"]), "more": "nobody's: the strictest is taken"}
    by = row["by"] if isinstance(row["by"], str) else "no name given"
    on = f", {row['accepted_on']:%Y-%m-%d}" if pd.notna(row["accepted_on"]) else ""
    return {"text": percent(row["accepted"]), "more": f"{by}{on}"}


def _beside(row: dict[str, Any], *, above: bool) -> Cell:
    if pd.isna(row["accepted"]):
        return NONE
    if pd.isna(row["to"]):
        return "not known"
    if not above:
        return "not above what is accepted"
    times = row["to"] / row["accepted"] if row["accepted"] > 0 else float("inf")
    more = [f"{times:.1f} times it"] if times < _TIMES_TOLD else []
    more += ["above it today already"] if row["now"] > row["accepted"] else []
    return {"text": "ABOVE what is accepted", "more": ", ".join(more), "alarm": True}


def telling(told: Deferral) -> list[str]:
    """Names of the clearances that make up the chance, past today first; then the silent ones."""
    rows = told.clearances
    tells = rows["past"] | (rows["share"] >= _SHARE_TOLD)
    return list(dict.fromkeys([*rows.loc[tells, "clearance"], *told.silent]))


def clearance_columns(told: Deferral) -> list[str]:
    """Headings of `clearance_rows`."""
    days = [day for day in _days(told) if not day.startswith("today")]
    return [
        "clearance",
        "share",
        "limit",
        "last read",
        *[f"reading {day}" for day in days],
        *[f"chance {day}" for day in _days(told)],
    ]


def clearance_rows(told: Deferral) -> list[list[Cell]]:
    """What sets the chance, the greatest share first; what is past today before it."""
    rests = told.rests_on.drop_duplicates("clearance").set_index("clearance")
    rows: list[list[Cell]] = []
    both = len(_days(told)) == 3
    for row in told.clearances.to_dict("records"):
        rest = rests.loc[row["clearance"]]
        places, unit = int(rest["decimals"]), unit_label(row["unit"])
        limit = length_text(row["limit"], limit_decimals(row["limit"], places))
        read = length_text(rest["last_reading"], places)
        share: Cell = share_text(row["share"])
        if row["past"]:
            share = {"text": "past today", "alarm": True}
        dates = ["planned", "to"] if both else ["to"]
        rows.append(
            [
                {"text": row["clearance"], "more": row["consequence"] or "", "strong": True},
                share,
                {"text": f"{limit} {unit}", "more": _BOUND[row["moves"]]},
                {"text": read, "more": _day(rest["last_date"])},
                *[_expected(row, name, places) for name in dates],
                *_at_days(told, row, "chance_"),
            ]
        )
    return rows


def _expected(row: dict[str, Any], name: str, places: int) -> Cell:
    low, middle, high = (length_text(row[f"{name}_{q}"], places) for q in ("p05", "p50", "p95"))
    return {"text": middle, "more": f"{low} to {high}"} if middle != NONE else NONE


def rests_on_rows(told: Deferral) -> list[list[Cell]]:
    """Age and weakness of the readings behind every limiting clearance."""
    return [_rests_on(row) for row in told.rests_on.to_dict("records")]


def _rests_on(row: dict[str, Any]) -> list[Cell]:
    days = "" if pd.isna(row["days_since"]) else f"{row['days_since']:.0f} days"
    state = row["state"] if isinstance(row["state"], str) else ""
    read = length_text(row["last_reading"], int(row["decimals"]))
    last: Cell = "not read since the last work"
    if read != NONE:
        least = "at least " if row["at_least"] else ""
        value = f"{state}, {least}{read} {unit_label(row['unit'])}"
        last = {"text": _day(row["last_date"]), "more": value}
    return [
        {"text": row["clearance"], "strong": True},
        last,
        {"text": hours_text(row["hours_since"]), "more": days},
        _measured(row),
        {"text": f"{row['in_run']} since the last work", "more": f"{row['readings']} in all"},
        "; ".join(_weak(row)) or "nothing noted",
    ]


def _measured(row: dict[str, Any]) -> Cell:
    method = row["method"] if isinstance(row["method"], str) else "method not stated"
    if pd.isna(row["u"]):
        return method
    whence = {
        "stated": "stated with it",
        "method": "usual for the method",
        "starting value": "ASSUMED: a starting value for the method",
        "written resolution": "ASSUMED from how finely it was written",
    }.get(str(row["u_from"]), "source not known")
    u = f"{row['u']:.2g} {unit_label(row['unit'])}"
    return {"text": method, "more": f"uncertainty {u}, {whence}"}


def _weak(row: dict[str, Any]) -> list[str]:
    """The weak points of the readings behind one clearance, the weightiest first."""
    said = []
    if row["assumed"]:
        said.append("START ASSUMED: not measured since renewal")
    elif row["in_run"] == 1:
        said.append("one reading only since the last work: its rate is its family's")
    elif row["in_run"] == 0:
        said.append("no reading since the last work")
    if row["at_least"]:
        said.append("the last reading says only at least")
    notes = [note for note in str(row["notes"] or "").split("; ") if note]
    said += [note for note in notes if not note.startswith(_TOLD_ELSEWHERE)]
    return list(dict.fromkeys(said))


def part_rows(told: Deferral) -> list[list[Cell]]:
    """Parts that an opening on the date asked would need, one row a part and need."""
    keys = ["part_no", "part", "need", "lead_time_days"]
    rows: list[list[Cell]] = []
    for _, some in told.orders.groupby(keys, dropna=False, sort=False):
        first = some.iloc[0]
        order, shelf = some["to_order"].sum(), some["from_stock"].sum()
        lead, by = first["lead_time_days"], some["order_by"].min()
        when: Cell = "on the shelf" if order == 0 else f"order by {_day(by)}"
        if some["late"].any():
            when = {"text": f"order by {_day(by)}: LATE", "alarm": True}
        elif order > 0 and pd.isna(by):
            when = "lead time not known"
        named = [str(first[name]) for name in ("part", "part_no") if isinstance(first[name], str)]
        what = ", ".join(named) or "no part number in the register"
        clearances = ", ".join(some["clearance"])
        rows.append(
            [
                {"text": what, "more": f"for {clearances}"},
                first["need"],
                {"text": f"{order:g} to order", "more": f"{shelf:g} on the shelf"},
                NONE if pd.isna(lead) else f"{lead:.0f} d",
                when,
            ]
        )
    return rows


def _day(date: Any) -> str:
    return NONE if pd.isna(date) else f"{date:%Y-%m-%d}"

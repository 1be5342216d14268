"""What came into a store between two states of it, in a planner's words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Final

import pandas as pd

from trendwear import planning_tables, tables
from trendwear.lengths import MM_PER_UNIT
from trendwear.planning.differences import CHANGED, GONE, NEW, Difference, differences
from trendwear.tables import Columns

__all__ = ["NEWS", "correction_news", "news_of", "reading_news"]

NEWS: Final[Columns] = {
    "machine": "text",  # missing: of the whole site
    "clearance": "text",
    "what": "text",
}
"""One row for each thing that came in."""

Frames = Mapping[str, pd.DataFrame]


def news_of(name: str, was: Frames, now: Frames) -> pd.DataFrame:
    """Return what is new in one of the site's frames (`NEWS`).

    Parameters
    ----------
    name : str
        A frame of `trendwear.planning.issued_tables.INPUTS`, readings left out.
    was, now : mapping of str to DataFrame
    """
    key, columns, say = _SAID[name]
    return _news(say(differences(was[name], now[name], key, columns)))


def reading_news(rows: pd.DataFrame, more: str = "") -> pd.DataFrame:
    """Return readings in words (`NEWS`), each with what more is to be said of it."""
    told = [
        (
            row["machine"],
            row["clearance"],
            f"{row['clearance']} read {_value(row)}, {_when(row)}{more}",
        )
        for row in rows.to_dict("records")
    ]
    return _news(told)


def correction_news(was: pd.DataFrame, now: pd.DataFrame) -> pd.DataFrame:
    """Return what was corrected in readings that stand in the same order (`NEWS`)."""
    return _news(
        (after["machine"], after["clearance"], _corrected(before, after))
        for before, after in zip(was.to_dict("records"), now.to_dict("records"), strict=True)
    )


def _news(told: Iterable[tuple[Any, Any, str]]) -> pd.DataFrame:
    return tables.conform(pd.DataFrame(list(told), columns=list(NEWS)), NEWS)


def _corrected(before: dict[str, Any], after: dict[str, Any]) -> str:
    place = f"{after['clearance']}, {_when(after)}"
    if after["excluded"] and not before["excluded"]:
        return f"{place}: {_value(after)} left out ({after['excluded_why']})"
    if before["excluded"] and not after["excluded"]:
        return f"{place}: {_value(after)} counted again"
    if before["written"] != after["written"] or before["value_mm"] != after["value_mm"]:
        return f"{place}: {_value(before)} is now {_value(after)}"
    names = [
        name
        for name in tables.READINGS
        if before[name] != after[name] and not (pd.isna(before[name]) and pd.isna(after[name]))
    ]
    return f"{place}: {', '.join(_cell_name(name) for name in names)} filled in or changed"


def _value(row: dict[str, Any]) -> str:
    """The value as it was written, with its unit where that was not written."""
    written = str(row["written"]) if isinstance(row["written"], str) else ""
    if not written:
        return f"{row['value_mm'] / MM_PER_UNIT[row['unit']]:.4g} {row['unit']}"
    return written if any(letter.isalpha() for letter in written) else f"{written} {row['unit']}"


def _when(row: dict[str, Any]) -> str:
    when = f"{row['run_hours']:,.0f} h" if pd.isna(row["date"]) else f"{row['date']:%Y-%m-%d}"
    return f"{row['state']} {when}" if row.get("state") else when


def _limit(row: dict[str, Any]) -> str:
    return _length(row["limit_mm"], row["unit"])


def _length(length_mm: float, unit: str) -> str:
    return "none" if pd.isna(length_mm) else f"{length_mm / MM_PER_UNIT[unit]:.6g} {unit}"


def _register(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
    for one in found:
        row = one.row
        since = "" if pd.isna(row["limit_from"]) else f" from {row['limit_from']:%Y-%m-%d}"
        source = f" ({row['limit_source']})" if isinstance(row["limit_source"], str) else ""
        what = {
            NEW: f"{row['clearance']}: new in the register, limit {_limit(row)}{since}{source}",
            GONE: f"{row['clearance']}: no longer in the register",
            CHANGED: f"{row['clearance']}: {_cells(one, row['unit'])}",
        }[one.kind]
        yield row["machine"], row["clearance"], what


def _cells(one: Difference, unit: str | None = None) -> str:
    told = []
    for name, (before, after) in one.cells.items():
        if name.endswith("_mm") and unit is not None:
            said = f"{_length(before, unit)} -> {_length(after, unit)}"
        else:
            said = f"{_cell(before)} -> {_cell(after)}"
        told.append(f"{_cell_name(name)} {said}")
    return ", ".join(told)


def _cell_name(name: str) -> str:
    return name.removesuffix("_mm").replace("_", " ")


def _cell(value: Any) -> str:
    if value is None or pd.isna(value):
        return "none"
    if isinstance(value, pd.Timestamp):
        return f"{value:%Y-%m-%d}"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _by_name(kind: str, name: str) -> Callable[[list[Difference]], Iterator[tuple[Any, Any, str]]]:
    """Rows that are known by the name in one column."""

    def say(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
        for one in found:
            change = f": {_cells(one)}" if one.kind == CHANGED else f" is {one.kind}"
            yield one.row.get("machine"), None, f"{kind} {one.row[name]}{change}"

    return say


def _work(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
    for one in found:
        row = one.row
        change = {NEW: "", GONE: ": no longer recorded", CHANGED: f": {_cells(one)}"}[one.kind]
        where = "all clearances" if row["clearance"] == "*" else row["clearance"]
        what = f"{where} {row['action']} {row['date']:%Y-%m-%d}{change}"
        yield row["machine"], row["clearance"], what


def _events(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
    for one in found:
        row = one.row
        change = "" if one.kind == NEW else f": {_cells(one)}"
        if "accepted_by" in one.cells:
            by = row["accepted_by"]
            change = f": accepted by {by}" if isinstance(by, str) else ": no longer accepted"
        yield row["machine"], None, f"{row['what']} {row['date']:%Y-%m-%d}{change}"


def _run_log(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
    by_machine: dict[str, list[Difference]] = {}
    for one in found:
        by_machine.setdefault(one.row["machine"], []).append(one)
    for machine, some in by_machine.items():
        last = max(some, key=lambda one: (one.row["date"], one.row["run_hours"])).row
        rows = "1 row" if len(some) == 1 else f"{len(some)} rows"
        until = f"{last['date']:%Y-%m-%d} at {last['run_hours']:,.0f} h"
        yield machine, None, f"run log: {rows} until {until}"


def _duty(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
    for one in found:
        row = one.row
        what = {
            NEW: f"{row['hours_per_day']:g} hours a day",
            GONE: "no longer there",
            CHANGED: _cells(one),
        }[one.kind]
        yield row["machine"], None, f"duty plan from {row['from']:%Y-%m-%d}: {what}"


def _risks(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
    for one in found:
        row = one.row
        by = f" (by {row['by']})" if isinstance(row["by"], str) else ""
        before, after = one.cells.get("accepted", (None, row["accepted"]))
        was = "" if before is None else f"{100 * before:.3g} % -> "
        what = "no longer accepted" if one.kind == GONE else f"{was}{100 * after:.3g} %"
        yield None, None, f"for {row['consequence']} {what}{by}"


def _due(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
    for one in found:
        row = one.row
        what = {NEW: f"due {_cell(row['due'])}", GONE: "no longer due", CHANGED: _cells(one)}
        yield row["machine"], None, f"{row['what']}: {what[one.kind]}"


def _concessions(found: list[Difference]) -> Iterator[tuple[Any, Any, str]]:
    for one in found:
        row = one.row
        limit = row["accepted_limit_mm"]
        to = "" if pd.isna(limit) else f" to {_length(limit, row['unit'] or 'mm')}"
        until = "" if pd.isna(row["until"]) else f" until {row['until']:%Y-%m-%d}"
        change = {NEW: "", GONE: ": no longer there", CHANGED: f": {_cells(one, row['unit'])}"}
        what = f"{row['clearance']} may run on{to}{until} (by {row['by']}){change[one.kind]}"
        yield row["machine"], row["clearance"], what


Say = Callable[[list[Difference]], Iterator[tuple[Any, Any, str]]]

_SAID: Final[dict[str, tuple[tuple[str, ...], Columns, Say]]] = {
    "machines": (("machine",), tables.MACHINES, _by_name("machine", "machine")),
    "register": (("machine", "clearance", "moves", "limit_from"), tables.CLEARANCES, _register),
    "methods": (("method",), tables.METHODS, _by_name("method", "method")),
    "families": (("family",), tables.FAMILIES, _by_name("family", "family")),
    "work": (
        ("machine", "clearance", "date", "action", "opening", "to_clearance"),
        tables.WORK,
        _work,
    ),
    "events": (("machine", "date", "what"), tables.EVENTS, _events),
    "run_log": (("machine", "date", "meter"), tables.RUN_LOG, _run_log),
    "duty_plan": (("machine", "from"), tables.DUTY_PLAN, _duty),
    "outages": (("outage",), planning_tables.OUTAGES, _by_name("window", "outage")),
    "due_dates": (("machine", "what"), planning_tables.DUE_DATES, _due),
    "parts": (("part_no",), planning_tables.PARTS, _by_name("part", "part_no")),
    "concessions": (
        ("machine", "clearance", "moves", "date"),
        planning_tables.CONCESSIONS,
        _concessions,
    ),
    "risks": (("consequence",), planning_tables.RISKS, _risks),
}
"""What makes a row the same row, and how its changes are told."""

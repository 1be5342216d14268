"""A case as it is written: in a TOML file by its user, in JSON by the store.

::

    name = "A longer season"

    [[duty]]
    machine = "T-101"           # left out: every machine
    from = 2027-11-21           # left out: from today
    to = 2027-12-15             # left out: for good
    hours_per_day = 22          # or: factor = 1.1

    [[limit]]
    machine = "T-104"
    clearance = "Rotor float"
    limit = 0.018
    unit = "in"                 # mm, um, mil or in

    [[window]]
    move = "Off-season 2028"    # or: cancel = "…"; or: add = "…" with start and end
    start = 2027-12-16

    [[renewal]]
    machine = "T-104"
    clearance = "Rotor float"
    window = "Off-season 2028"  # or: on = 2028-01-10

    [[risk]]
    accepted = 0.2
    consequence = "leak"        # left out: one risk for all limits of a machine
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any, Final

from trendwear.errors import UsageProblem
from trendwear.lengths import from_mm, to_mm, unit_named
from trendwear.planning.case_changes import (
    CancelledWindow,
    Change,
    NewWindow,
    OtherDuty,
    OtherLimit,
    OtherMove,
    OtherRenewal,
    OtherRisk,
)
from trendwear.planning.cases import Case

__all__ = ["case_from", "case_written"]

Written = dict[str, Any]


class _Cells:
    """The cells of one change, taken out one by one so that none is left unread."""

    def __init__(self, where: str, cells: object) -> None:
        if not isinstance(cells, Mapping):
            raise UsageProblem(where, f"{cells!r}", f"Write [[{where.split()[0]}]] and its lines.")
        self.where = where
        self.cells = dict(cells)

    def text(self, name: str) -> str | None:
        """Return a text, None where it is not there."""
        found = self.cells.pop(name, None)
        if found is None or isinstance(found, str):
            return found
        raise self.wrong(name, found, "a text in quotes")

    def needed(self, name: str) -> str:
        """Return a text that must be there."""
        return str(self.there(name, self.text(name)))

    def number(self, name: str) -> float | None:
        """Return a number, None where it is not there."""
        found = self.cells.pop(name, None)
        if found is None:
            return None
        if isinstance(found, bool) or not isinstance(found, int | float):
            raise self.wrong(name, found, "a number without quotes")
        return float(found)

    def day(self, name: str) -> dt.date | None:
        """Return a day, None where it is not there."""
        found = self.cells.pop(name, None)
        if found is None:
            return None
        if isinstance(found, dt.date) and not isinstance(found, dt.datetime):
            return found
        try:
            return dt.date.fromisoformat(found)
        except (TypeError, ValueError):
            raise self.wrong(name, found, "a day as 2027-11-21") from None

    def there(self, name: str, found: Any) -> Any:
        """Return what was found, or say that it is missing."""
        if found is None:
            raise UsageProblem(self.where, f"{name} is missing", f"Add a line: {name} = …")
        return found

    def wrong(self, name: str, found: object, wanted: str) -> UsageProblem:
        """Say that a cell holds something else than it should."""
        return UsageProblem(f"{self.where}: {name}", f"{found!r}", f"Write {wanted}.")

    def done(self, change: Change) -> Change:
        """Return the change, or say that something was written that it does not take."""
        if self.cells:
            left = ", ".join(map(str, self.cells))
            raise UsageProblem(self.where, f"not understood: {left}", "Take these lines out.")
        return change


def _duty(cells: _Cells) -> Change:
    return OtherDuty(
        machine=cells.text("machine"),
        start=cells.day("from"),
        end=cells.day("to"),
        hours_per_day=cells.number("hours_per_day"),
        factor=cells.number("factor"),
    )


def _limit(cells: _Cells) -> Change:
    written = cells.needed("unit")
    unit = unit_named(written)
    if unit is None:
        raise cells.wrong("unit", written, "mm, um, mil or in")
    return OtherLimit(
        machine=cells.needed("machine"),
        clearance=cells.needed("clearance"),
        limit_mm=to_mm(cells.there("limit", cells.number("limit")), unit),
        unit=unit,
        moves=cells.text("moves"),
    )


def _window(cells: _Cells) -> Change:
    said = [name for name in ("move", "cancel", "add") if name in cells.cells]
    if len(said) != 1:
        raise UsageProblem(
            cells.where,
            "it says " + (" and ".join(said) or "none of move, cancel and add"),
            'Write one: move = "…", cancel = "…" or add = "…".',
        )
    name = cells.needed(said[0])
    if said == ["cancel"]:
        return CancelledWindow(name)
    start = cells.there("start", cells.day("start"))
    end = cells.day("end")
    if said == ["move"]:
        return OtherMove(name, start, end)
    until = cells.there("end", end)
    return NewWindow(name, start, until, cells.text("site"), cells.text("scope"))


def _renewal(cells: _Cells) -> Change:
    return OtherRenewal(
        machine=cells.needed("machine"),
        clearance=cells.needed("clearance"),
        on=cells.day("on"),
        window=cells.text("window"),
    )


def _risk(cells: _Cells) -> Change:
    accepted = cells.there("accepted", cells.number("accepted"))
    return OtherRisk(accepted, cells.text("consequence"))


_READERS: Final[dict[str, Callable[[_Cells], Change]]] = {
    "duty": _duty,
    "limit": _limit,
    "window": _window,
    "renewal": _renewal,
    "risk": _risk,
}


def case_from(written: Mapping[str, Any], name: str = "") -> Case:
    """Read a case from what a TOML or JSON parser made of it.

    Parameters
    ----------
    written : mapping
        ``name``, and lists of changes under ``duty``, ``limit``, ``window``, ``renewal`` and
        ``risk``.
    name : str, optional
        The case's name where none is written.

    Raises
    ------
    UsageProblem
        Something is missing, not understood, or means nothing.
    """
    unknown = [key for key in written if key != "name" and key not in _READERS]
    if unknown:
        raise UsageProblem(
            "case",
            "not understood: " + ", ".join(map(str, unknown)),
            "A case has a name and " + ", ".join(f"[[{sort}]]" for sort in _READERS) + ".",
        )
    said = written.get("name", name)
    if not isinstance(said, str):
        raise UsageProblem("case: name", f"{said!r}", "Write a text in quotes.")
    changes = []
    for sort, read in _READERS.items():
        rows = written.get(sort, [])
        if not isinstance(rows, list):
            raise UsageProblem(f"case: {sort}", "it is no list", f"Write [[{sort}]], in pairs.")
        for number, row in enumerate(rows, start=1):
            changes.append(_read(_Cells(f"{sort} {number}", row), read))
    return Case(said.strip(), tuple(changes))


def _read(cells: _Cells, read: Callable[[_Cells], Change]) -> Change:
    try:
        return cells.done(read(cells))
    except UsageProblem as problem:
        if problem.where.startswith(cells.where):
            raise
        raise UsageProblem(f"{cells.where}: {problem.where}", problem.found, problem.do) from None


def case_written(case: Case) -> Written:
    """Return a case as it is written down: what `case_from` reads back, days as texts."""
    told: Written = {"name": case.name}
    for change in case.changes:
        sort, cells = _cells(change)
        kept = {name: cell for name, cell in cells.items() if cell is not None}
        told.setdefault(sort, []).append(kept)
    return told


def _cells(change: Change) -> tuple[str, Written]:
    match change:
        case OtherDuty():
            days = {"from": _text(change.start), "to": _text(change.end)}
            run = {"hours_per_day": change.hours_per_day, "factor": change.factor}
            return "duty", {"machine": change.machine, **days, **run}
        case OtherLimit():
            value = {"limit": from_mm(change.limit_mm, change.unit), "unit": change.unit}
            return "limit", {**_place(change), **value, "moves": change.moves}
        case OtherMove():
            days = {"start": _text(change.start), "end": _text(change.end)}
            return "window", {"move": change.window, **days}
        case CancelledWindow():
            return "window", {"cancel": change.window}
        case NewWindow():
            days = {"start": _text(change.start), "end": _text(change.end)}
            return "window", {
                "add": change.window, **days, "site": change.site, "scope": change.scope
            }  # fmt: skip
        case OtherRenewal():
            when = {"on": _text(change.on), "window": change.window}
            return "renewal", {**_place(change), **when}
        case OtherRisk():
            return "risk", {"accepted": change.accepted, "consequence": change.consequence}


def _place(change: OtherLimit | OtherRenewal) -> Written:
    return {"machine": change.machine, "clearance": change.clearance}


def _text(day: dt.date | None) -> str | None:
    return None if day is None else day.isoformat()

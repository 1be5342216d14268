"""What stands printed on the bench sheet, position by position, as texts."""

from __future__ import annotations

import math
from typing import Any, Final

import pandas as pd

from trendwear.bench.boxes import Place
from trendwear.bench.inspection import Inspection
from trendwear.bench.position import Bound, LastReading, Part, Position
from trendwear.bench.teardown import NOT_STATED
from trendwear.report.inspection.lengths import both_units, limit_text, range_text
from trendwear.report.units import unit_label
from trendwear.wording import fold

__all__ = ["ORDER", "card", "groups", "where_text"]

ORDER: Final = (
    "Positions stand in the order in which they are met at teardown: what is reached with nothing "
    "opened, under the bearing caps, in the packing housings, in the casing; in each by location "
    "and slot."
)

_OPENED: Final = {
    "none": "With nothing opened",
    "bearing cap": "Bearing caps off",
    "packing housing": "Packing housings open",
    "casing": "Casing open",
    NOT_STATED: "Access not stated in the register",
}
_LARGEST: Final = {"opens": "largest allowed", "closes": "smallest allowed"}

_READING: Final[dict[tuple[str, ...], str]] = {
    ("bore", "journal"): "clearance",
    ("toward", "away"): "float",
}
_TO_FILL_IN: Final = "____________  on  ____________"
_DIAL: Final = "rotor pushed; "


def groups(sheet: Inspection) -> list[dict[str, Any]]:
    """Return the cards of a sheet, in the order of teardown, under what must be opened."""
    found: list[dict[str, Any]] = []
    for position in sheet.positions:
        heading = _OPENED[position.access]
        if not found or found[-1]["heading"] != heading:
            found.append({"heading": heading, "cards": []})
        found[-1]["cards"].append(card(position, recorded=bool(sheet.expected)))
    return found


def card(position: Position, *, recorded: bool) -> dict[str, Any]:
    """Return one position as the template draws it.

    Parameters
    ----------
    position : Position
    recorded : bool
        Whether the record is told; else the place of the last reading is left to be filled in.
    """
    reading = _READING.get(position.sizes, "reading")
    dial = _DIAL if reading == "float" else ""
    facts: list[list[Any]] = [
        ["part", _part_text(position)],
        ["supplier's name", _supplier_text(position.part)],
        ["where", where_text(position) or "not stated"],
        ["measured", _measured(position)],
        ["design", range_text(*position.design_mm, position)],
        *[["limit", _limit(bound, position)] for bound in position.bounds],
        ["last left", _last(position.last, position) if recorded else _TO_FILL_IN],
    ]
    return {
        "number": str(position.number),
        "name": position.name,
        "facts": facts,
        "reading": reading,
        "written_in": f"{dial}{reading} in {_unit(position)}",
        "places": [_place(place) for place in position.places],
        "sizes": list(position.sizes),
        "conditions": list(position.conditions),
    }


def where_text(position: Position) -> str:
    """Return location and slot as one text; empty where the register says neither."""
    slot = position.slot
    if slot is not None and slot.isdigit():
        slot = f"slot {slot}"
    return ", ".join(one for one in (position.location, slot) if one)


def _part_text(position: Position) -> str:
    part = position.part
    count = f", {part.quantity} of them" if part.quantity > 1 else ""
    against = f"; runs against: {position.partner}" if position.partner else ""
    named = ", ".join(one for one in (part.name, part.number) if one) or "not stated"
    return f"{named}{count}{against}"


def _supplier_text(part: Part) -> str:
    named = ", ".join(one for one in (part.supplier_name, part.supplier_number) if one)
    listed = f"{named} ({part.supplier})" if named and part.supplier else named
    said = listed or "not in the parts sheet"
    if part.fitted_from and fold(part.fitted_from) != fold(part.supplier or ""):
        return f"{said}; last fitted from {part.fitted_from}"
    return said


def _measured(position: Position) -> str:
    how = position.method or "method not stated"
    return f"{position.basis}, in {_unit(position)}; {how}"


def _unit(position: Position) -> str:
    return "inch" if position.unit == "in" else unit_label(position.unit)


def _limit(bound: Bound, position: Position) -> list[str]:
    """The limit, and what else is to be said of it."""
    if math.isnan(bound.limit_mm):
        return ["none in the register", ""]
    limit = f"{limit_text(bound.limit_mm, bound.moves, position)} {_LARGEST[bound.moves]}"
    more = [one for one in (bound.meaning, bound.source or "source not stated") if one]
    return [limit, f"; {'; '.join(more)}"]


def _last(last: LastReading | None, position: Position) -> str:
    if last is None:
        return "nothing read yet"
    day = "date unknown" if pd.isna(last.date) else f"{last.date:%Y-%m-%d}"
    if math.isnan(last.value_mm):
        return f"not read after the work: {last.state} {day}"
    how = "" if last.state == "as-left" else f", {last.state}, left so"
    return f"{both_units(last.value_mm, position)}, {day}{how}"


def _place(place: Place) -> str:
    return ", ".join(one for one in (place.plane, place.angle) if one)

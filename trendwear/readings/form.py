"""The form in which readings are brought in: every sheet, every column, what it may hold.

This is the input contract as data.  Reading files, checking cells, writing the
blank workbook and explaining a fault all take it from here.
"""

from __future__ import annotations

from typing import Final

from trendwear.readings.columns import (
    ACTIONS,
    BASES,
    BY,
    CONSEQUENCE,
    MACHINE,
    NOTE,
    STATES,
    Column,
    Holds,
    Sheet,
    Takes,
)
from trendwear.readings.dimension_sheets import DIMENSION_SHEETS
from trendwear.readings.planning_sheets import PLANNING_SHEETS

__all__ = ["ACTIONS", "SHEETS", "STATES", "Column", "Holds", "Sheet", "Takes"]

_T, _N, _W, _F = Holds.TEXT, Holds.NAME, Holds.WORD, Holds.NUMBER
_C, _Y, _D, _H = Holds.COUNT, Holds.YES_NO, Holds.DATE, Holds.HOURS
_L, _U = Holds.LENGTH, Holds.UNIT

_CLEARANCE = Column("clearance", _N, "the position: one clearance of that machine")
_UNIT = Column("unit", _U, "mm, um, mil (thou) or in")
_BASIS = Column("basis", _W, "how the clearance is counted", BASES)
_UNCERTAINTY = Column(
    "uncertainty", _L, "standard uncertainty, or ± a half-width", takes=Takes.SPREAD
)
_MACHINES = Sheet(
    "machines",
    "one row for each machine",
    (
        MACHINE,
        Column("description", _T, "what it is and drives"),
        Column("class", _N, "machines that wear alike share a class"),
        Column("site", _T, "where it stands"),
        Column("train", _N, "machines that can only stop together"),
        Column("spare_of", _N, "the machine this one stands in for"),
        Column("open_days", _F, "days an opening takes"),
        Column("crew_days", _F, "crew days an opening takes"),
        Column("crew_day_cost", _F, "what one crew day costs"),
        Column("cost_if_past", _F, "what passing a limit costs, on top of the overhaul"),
    ),
    needs=("machine",),
    key=("machine",),
)
_CLEARANCES = Sheet(
    "clearances",
    "the register: one row for each clearance and limit",
    (
        MACHINE,
        _CLEARANCE,
        Column("kind", _N, "what is measured: sleeve bearing, carbon ring …"),
        _BASIS,
        Column("moves", _W, "which way it wears", ("opens", "closes")),
        _UNIT,
        Column("limit", _L, "the largest (opens) or smallest (closes) allowed"),
        Column("limit_from", _D, "the date from which this limit holds"),
        Column("limit_source", _T, "manual, edition, page"),
        Column(
            "limit_meaning",
            _W,
            "what the limit asks for",
            ("renew at overhaul", "do not run beyond"),
        ),
        Column(
            "limit_status",
            _W,
            "proposed: it counts as none until a person accepts it",
            ("accepted", "proposed"),
        ),
        Column("diameter", _F, "of shaft, ring or collar, for rules of thumb"),
        Column("diameter_unit", _U, "unit of the diameter: in or mm"),
        Column("design_min", _L, "smallest clearance as built"),
        Column("design_max", _L, "largest clearance as built"),
        CONSEQUENCE,
        Column("limiting", _Y, "whether it may set the overhaul"),
        Column("part", _T, "the part as the shop calls it"),
        Column("part_no", _N, "the part's number"),
        Column("quantity", _F, "how many are needed"),
        Column("location", _T, "where in the machine"),
        Column("slot", _N, "slot number"),
        Column("set", _N, "clearances renewed together"),
        Column("partner", _N, "the part it runs against; one name for one part of the machine"),
        Column(
            "access",
            _W,
            "what must be opened to reach it",
            ("none", "bearing cap", "packing housing", "casing"),
        ),
        Column("family", _N, "clearances that wear alike"),
        Column("reduce", _W, "which of several readings the trend takes", ("worst", "mean")),
        Column("method", _N, "the usual way it is measured"),
    ),
    needs=("machine", "clearance", "kind", "basis", "moves", "unit"),
    key=("machine", "clearance", "moves", "limit_from"),
)
_READINGS_OWN = ("machine", "clearance", "unit", "basis", "method")
_CARRIED = (
    *(c for c in _MACHINES.columns + _CLEARANCES.columns if c.name not in _READINGS_OWN),
    Column("limit_unit", _U, "unit of the limit, where readings come in several"),
    Column("register_basis", _W, "the clearance's basis, where readings come in several", BASES),
)

SHEETS: Final[dict[str, Sheet]] = {
    sheet.name: sheet
    for sheet in (
        _MACHINES,
        _CLEARANCES,
        Sheet(
            "readings",
            "one row for each reading taken",
            (
                MACHINE,
                _CLEARANCE,
                Column("date", _D, "the day it was taken"),
                Column("run_hours", _H, "hour meter"),
                Column("state", _W, "when in the opening it was taken", STATES),
                Column("value", _L, "the reading as written", takes=Takes.READING),
                _UNIT,
                _BASIS,
                Column("starts", _C, "start counter"),
                Column("opening", _N, "name of the opening it belongs to"),
                Column("repeat", _N, "number of the repeated reading"),
                Column("plane", _N, "plane in which it was taken"),
                Column("angle", _N, "angle or clock position"),
                Column("method", _N, "how it was measured"),
                _UNCERTAINTY,
                Column("instrument", _T, "which instrument"),
                Column("surface", _W, "dry or oily", ("dry", "oily")),
                Column("temperature", _T, "temperature of the parts"),
                BY,
                NOTE,
            ),
            needs=("machine", "clearance", "state", "value"),
            key=(
                "machine",
                "clearance",
                "date",
                "opening",
                "state",
                "plane",
                "angle",
                "repeat",
            ),
            also=_CARRIED,
        ),
        Sheet(
            "work",
            "one row for each thing done to a clearance",
            (
                MACHINE,
                Column("clearance", _N, "one clearance, a set, a partner by name, or * for all"),
                Column("date", _D, "the day it was done"),
                Column("action", _W, "what was done", ACTIONS),
                Column("run_hours", _H, "hour meter"),
                Column("opening", _N, "name of the opening it belongs to"),
                Column(
                    "amount", _L, "by how much a shim shifted the gap (signed)", takes=Takes.SHIFT
                ),
                _UNIT,
                Column("part_no", _N, "number of the part fitted, or of the part that was moved"),
                Column("serial", _T, "its serial number; by it a part is followed"),
                Column("supplier", _T, "who supplied it"),
                Column("to_clearance", _N, "where it went, or changed places with"),
                Column("to_machine", _N, "to which machine it went, or changed with"),
                BY,
                NOTE,
            ),
            needs=("machine", "clearance", "date", "action"),
            key=("machine", "clearance", "date", "action", "opening", "to_clearance"),
        ),
        Sheet(
            "events",
            "one row for each thing that happened to a machine",
            (
                MACHINE,
                Column("date", _D, "the day it happened"),
                Column("what", _T, "wet steam, oil loss, trip, speed or oil change …"),
                Column("severity", _T, "how bad it was"),
                Column("clearances", _T, "which clearances it touched"),
                BY,
                NOTE,
            ),
            needs=("machine", "date", "what"),
            key=("machine", "date", "what"),
        ),
        Sheet(
            "run_log",
            "hour-meter readings between openings",
            (
                MACHINE,
                Column("date", _D, "the day it was read"),
                Column("run_hours", _H, "hour meter"),
                Column("starts", _C, "start counter"),
                Column(
                    "meter",
                    _W,
                    "first reading of a new meter, or after it passed its highest figure",
                    ("replaced", "rolled over"),
                ),
            ),
            needs=("machine", "date", "run_hours"),
            key=("machine", "date", "meter"),
        ),
        *DIMENSION_SHEETS,
        *PLANNING_SHEETS,
        Sheet(
            "methods",
            "how well each way of measuring measures",
            (
                Column("method", _N, "name of the method"),
                _UNCERTAINTY,
                _UNIT,
                Column("resolution", _L, "finest step"),
                Column("bias", _L, "what it reads too much", takes=Takes.SHIFT),
            ),
            needs=("method",),
            key=("method",),
        ),
        Sheet(
            "families",
            "what is known of how a family wears, where the readings are not to say",
            (
                Column("family", _N, "the family, as the forecast names it"),
                Column("hours_per_start", _F, "hours of wear that one start is worth"),
                Column("power", _F, "below 1: running in; 1: straight; above 1: ever faster"),
                BY,
                NOTE,
            ),
            needs=("family",),
            key=("family",),
        ),
        Sheet(
            "names",
            "spellings met in old sheets",
            (
                MACHINE,
                Column("as_written", _N, "the spelling met"),
                Column("clearance", _N, "the position it means"),
                Column("kind", _N, "the kind it means"),
                Column("former_tag", _Y, "yes: a tag that the machine bore before"),
                Column("until", _D, "the last day on which that tag meant this machine"),
            ),
            needs=("as_written",),
            key=("machine", "as_written"),
        ),
    )
}
"""Every sheet of the form by its name."""

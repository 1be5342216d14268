"""The sheets of the form that clearances are computed from: partners' dimensions, materials."""

from __future__ import annotations

from typing import Final

from trendwear.readings.columns import BY, MACHINE, NOTE, STATES, Column, Holds, Sheet, Takes

__all__ = ["DIMENSION_SHEETS", "PARTNERS"]

_T, _N, _W, _L = Holds.TEXT, Holds.NAME, Holds.WORD, Holds.LENGTH

PARTNERS: Final = ("bore", "journal", "pad bore", "toward", "away")
"""What a row of `dimensions` measures: a diameter, or where the dial stood when the rotor was
pushed one way and the other."""

DIMENSION_SHEETS: Final = (
    Sheet(
        "dimensions",
        "sizes of the two partners, of which the clearance is computed",
        (
            MACHINE,
            Column("clearance", _N, "the position whose clearance they make"),
            Column("date", Holds.DATE, "the day it was measured"),
            Column("run_hours", Holds.HOURS, "hour meter"),
            Column("state", _W, "when in the opening it was measured", STATES),
            Column("opening", _N, "its name; blank: partners of one day belong together"),
            Column("part", _W, "what was measured", PARTNERS),
            Column("plane", _N, "plane in which it was measured"),
            Column("angle", _N, "angle or clock position"),
            Column("repeat", _N, "number of the repeated measurement"),
            Column("value", _L, "the size, or where the dial stood", takes=Takes.SHIFT),
            Column("unit", Holds.UNIT, "mm, um, mil (thou) or in"),
            Column("method", _N, "how it was measured"),
            Column(
                "uncertainty", _L, "standard uncertainty, or ± a half-width", takes=Takes.SPREAD
            ),
            Column("temperature", Holds.TEMPERATURE, "of the part, as 20 °C or 68 °F"),
            Column("material", _N, "what grows with the temperature: carbon steel, bronze …"),
            Column("instrument", _T, "which instrument"),
            BY,
            NOTE,
        ),
        needs=("machine", "clearance", "state", "part", "value"),
        key=(
            "machine",
            "clearance",
            "date",
            "opening",
            "state",
            "part",
            "plane",
            "angle",
            "repeat",
        ),
    ),
    Sheet(
        "materials",
        "how much materials grow with the temperature, in place of the values built in",
        (
            Column("material", _N, "as the sheet dimensions names it"),
            Column("expansion", Holds.NUMBER, "relative growth for one degree, such as 11.7e-6"),
            Column("degree", _W, "for one degree of which scale", ("C", "F")),
            Column("source", _T, "where the figure is from"),
        ),
        needs=("material", "expansion", "degree"),
        key=("material",),
    ),
)

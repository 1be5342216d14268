"""What texts on a sheet look like: headings of states, labels, dates, hours, units.

The words are workshop usage; common practice, no source.
"""

from __future__ import annotations

import re
from typing import Final

from trendwear.lengths import UNIT_SPELLINGS, unit_named
from trendwear.readings.cells import Hours, read_hours, read_word
from trendwear.readings.columns import STATES
from trendwear.readings.dates import DateOrder, Day, read_date
from trendwear.readings.faults import Refusal
from trendwear.readings.layouts.block_table import without_unit
from trendwear.readings.layouts.grid import plain_label

__all__ = [
    "TOTALS",
    "is_angle",
    "is_date",
    "is_hours",
    "is_number",
    "label_of",
    "machine_in",
    "maybe_state",
    "state_named",
    "unit_in_title",
]

_LABELS: Final[dict[str, tuple[str, ...]]] = {
    "machine": (
        "machine", "machine no", "machine no.", "machine number", "unit", "unit no", "unit no.",
        "unit tag", "equipment", "equipment no", "equipment no.", "tag", "tag no", "tag no.",
        "asset", "turbine", "pump", "compressor",
    ),
    "date": (
        "date", "date opened", "opened", "opened on", "opening date", "overhaul date",
        "date of overhaul",
        "inspection date", "date of inspection", "measured on", "day",
    ),
    "run_hours": (
        "hours", "run hours", "running hours", "hour meter", "hours run", "hrs", "meter",
        "meter reading", "operating hours", "service hours",
    ),
    "starts": ("starts", "start counter", "number of starts"),
    "clearance": (
        "position", "clearance", "location", "item", "point", "component", "measured at", "pos",
        "pos.", "measuring point", "bearing", "part", "description",
    ),
    "state": ("state", "condition", "as found/as left", "found/left", "when"),
    "unit": ("units", "unit of measure", "uom", "measured in"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments"),
    "method": ("method", "how measured", "measured with"),
    "instrument": ("instrument", "gauge", "gage", "tool"),
    "by": ("by", "measured by", "fitter", "inspector", "mechanic", "taken by", "technician"),
    "plane": ("plane", "end"),
    "angle": ("angle", "clock", "direction", "quadrant"),
    "opening": ("opening", "overhaul", "outage", "work order", "job", "job no", "job no."),
}  # fmt: skip
_MEANS: Final = {plain_label(word): name for name, words in _LABELS.items() for word in words}
_MAYBE: Final = {
    "before": "as-found",
    "after": "as-left",
    "in": "as-found",
    "out": "as-left",
    "old": "as-found",
    "new": "as-left",
    "initial": "as-found",
    "final": "as-left",
    "before overhaul": "as-found",
    "after overhaul": "as-left",
    "pre": "as-found",
    "post": "as-left",
}
"""Headings that may mean a state, and which: only a person can say."""
TOTALS: Final = re.compile(
    r"(?:mean|average|avg\.?|total|totals|sum|max\.?|maximum|min\.?|minimum|limit|limits|design|"
    r"std\.? ?dev\.?|range)\b.*",
    re.IGNORECASE,
)
"""Labels of rows that are no positions."""
_ANGLES: Final = re.compile(
    r"[TBLRHVNESW]|top|bottom|left|right|horiz(?:ontal)?\.?|vert(?:ical)?\.?|0|90|180|270|"
    r"[0-9]{1,2} o'?clock|[0-9]{1,3} ?°|ne|nw|se|sw",
    re.IGNORECASE,
)
_UNITS: Final = "|".join(
    re.escape(unit) for unit in sorted(UNIT_SPELLINGS, key=len, reverse=True) if len(unit) > 1
)
_IN_UNIT: Final = re.compile(
    rf"(?:\b(?:all|readings?|clearances?|dimensions?|values?|measurements?|measured|units?)\b"
    rf"[^.;]*?(?:\bin\b|:|=|\bare\b)\s*)({_UNITS})(?![a-z])",
    re.IGNORECASE,
)
_MACHINE: Final = re.compile(r"\b[A-Z]{1,4}[- ]?[0-9]{1,5}[A-Z]?\b")
_HOURS_UNIT: Final = re.compile(r"(?:h|hrs?\.?|hours)", re.IGNORECASE)


def state_named(text: str) -> str | None:
    """Return the state that a heading names, without its unit.

    >>> state_named("As Found (mils)"), state_named("Remarks")
    ('as-found', None)
    """
    read = read_word(without_unit(text)[0], STATES)
    return None if isinstance(read, Refusal) else read


def maybe_state(text: str) -> str | None:
    """Return the state that a heading such as *before* may mean."""
    return _MAYBE.get(plain_label(without_unit(text)[0]))


def label_of(text: str) -> str | None:
    """Return our column that a label names.

    >>> label_of("Running hours:"), label_of("Brg DE")
    ('run_hours', None)
    """
    return _MEANS.get(plain_label(without_unit(text)[0]))


def is_date(text: str) -> bool:
    """Whether a text is a date, whichever of day and month comes first."""
    return any(isinstance(read_date(text.strip(), order), Day) for order in DateOrder)


def is_hours(text: str) -> bool:
    """Whether a text is a number of running hours."""
    return isinstance(read_hours(text.strip()), Hours)


def is_number(text: str) -> bool:
    """Whether a text begins as a reading does."""
    return re.match(r"\s*[<>~≈±+]?\s*[.,]?[0-9]", text) is not None


def is_angle(text: str) -> bool:
    """Whether a text names an angle."""
    return _ANGLES.fullmatch(text.strip()) is not None


def machine_in(text: str) -> str | None:
    """Return what looks like a machine's tag in a text.

    >>> machine_in("Overhaul of T-101, May"), machine_in("Bearing log")
    ('T-101', None)
    """
    found = _MACHINE.search(text)
    return found[0] if found else None


def unit_in_title(text: str) -> str | None:
    """Return the unit that a title states for a sheet, as it spells it.

    >>> unit_in_title("Clearances (all in mils)"), unit_in_title("Fit in mm-wise order")
    ('mils', None)
    """
    found = _IN_UNIT.search(text)
    return found[1] if found and unit_named(found[1]) else None

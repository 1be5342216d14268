"""Frames of what clearances are computed from: partners' dimensions, materials, what was made.

Beside `trendwear.tables`, and by its rules: the unit in the name, missing texts None.
"""

from __future__ import annotations

from typing import Final

from trendwear.tables import Columns

__all__ = ["DIMENSIONS", "MATERIALS", "NOT_COMPUTED"]

DIMENSIONS: Final[Columns] = {
    "dimension": "count",  # its number in the store
    "machine": "text",  # as the register spells it
    "clearance": "text",
    "register_basis": "text",  # of the clearance that is computed
    "date": "date",
    "date_spread_days": "number",
    "run_hours": "number",
    "hours_spread": "number",
    "state": "text",
    "opening": "text",
    "part": "text",  # "bore", "journal", "pad bore", "toward" or "away"
    **dict.fromkeys(("plane", "angle", "repeat"), "text"),
    "value_mm": "number",  # the diameter, or where the dial stood (signed)
    "step_mm": "number",  # finest step in which it was written
    "stated_mm": "number",  # standard uncertainty stated for it, NaN where none
    "unit": "text",
    **dict.fromkeys(("method", "material", "instrument", "by", "note"), "text"),
    "temperature_c": "number",  # of the part when it was measured
    "written": "text",  # the value cell as written
    **dict.fromkeys(("file", "sheet"), "text"),
    "row": "count",
    "cell": "text",
}
"""One row for each measured size of a partner, or stand of a dial."""

MATERIALS: Final[Columns] = {
    "material": "text",
    "per_c": "number",  # relative growth for 1 °C
    "source": "text",
}

NOT_COMPUTED: Final[Columns] = {
    **dict.fromkeys(("machine", "clearance"), "text"),
    "date": "date",
    "state": "text",
    "why": "text",
    "file": "text",
    "row": "count",  # of the first row concerned
}
"""Measured sizes of which no reading could be made, and why."""

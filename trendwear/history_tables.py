"""The frame of a machine's history: one line for all that was stored or changed.

In the style of `trendwear.tables`; `conform` and `check` there serve for it too.
"""

from __future__ import annotations

from typing import Final

from trendwear.tables import Columns

__all__ = ["CHANGED", "HISTORY", "KINDS", "LOADED"]

LOADED: Final = "loaded"
"""What happened to a row first; every other line of an item is a change of it."""

CHANGED: Final = (
    "filled",
    "amended",
    "excluded",
    "accepted",
    "undone",
    "taken back",
    "put in again",
)

KINDS: Final = (
    "machine",
    "register",
    "reading",
    "dimension",
    "work",
    "event",
    "run log",
    "duty plan",
    "due date",
    "concession",
    "computed",
)
"""What is stored, in the order in which a history shows it."""

HISTORY: Final[Columns] = {
    "item": "count",  # lines of one stored row share it
    "kind": "text",  # of `KINDS`
    "machine": "text",
    "clearance": "text",  # missing where it is about the machine
    "date": "date",  # of what was seen or done; from when a limit or duty holds
    "what": "text",  # as-found, plane B … ; renewed … ; what the register says
    "happened": "text",  # `LOADED`, or one of `CHANGED`
    "at": "date",  # when it was loaded or changed
    "load": "number",  # the load it came with
    "written": "text",  # as the cell said
    "read": "text",  # the value it was read as: unit, basis and bounds
    "former": "text",  # what a change took the place of
    "by": "text",  # who read it, did it, or made the change
    "why": "text",
    "counts": "text",  # of a loaded row: yes, or why not
    **dict.fromkeys(("file", "sheet"), "text"),
    "row": "number",
    "cell": "text",
}

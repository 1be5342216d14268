"""What every deferral sheet says, whatever the machine."""

from __future__ import annotations

from typing import Final

__all__ = [
    "CANNOT_TELL",
    "COMMON_PRACTICE",
    "COULD_BE_ASKED_FOR",
    "DECISION",
    "FOOT",
    "MEANWHILE",
    "NO_ADVICE",
    "SIGNED_BY",
    "SIGNING",
]

FOOT: Final = (
    "A forecast is not permission to run. The maker's manual, site rules, local codes and "
    "qualified or licensed people govern; whichever is stricter holds."
)

NO_ADVICE: Final = (
    "This sheet gathers evidence. It does not say whether the overhaul may be put off; the people "
    "who sign decide that. Chances are by clearances alone, of steady wear: an upset is not in "
    "them."
)

CANNOT_TELL: Final = (
    "cracks",
    "corrosion and erosion",
    "blades and their fixings",
    "fouling and deposits",
    "vibration and balance",
    "alignment and coupling",
    "oil, its quality and supply",
    "governor, trip valves and overspeed trip",
    "other trips and instruments",
    "casing joint and bolts",
    "foundation and piping strain",
    "whatever is not in the register",
)
"""Of these a clearance says nothing (common practice, no source)."""

COULD_BE_ASKED_FOR: Final = (
    "lift check of the bearings",
    "bump test of the end play",
    "oil analysis",
    "vibration and shaft position",
    "bearing metal temperatures",
    "trip and governor valve exercise",
    "steam rate or pressures against new",
    "gland leakage",
)
COMMON_PRACTICE: Final = "common practice, no source; the choice is the engineer's"

MEANWHILE: Final = ("check", "by when, how often", "stop or open if", "who")
"""Headings of the lines that the engineer fills in."""

DECISION: Final = ("not put off", "put off until", "no longer valid after", "or after this event")
SIGNING: Final = ("", "name", "signature", "date")
SIGNED_BY: Final = (
    "asked by",
    "engineer",
    "accepted by",
    "insurer or inspector, where needed",
)

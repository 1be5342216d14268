"""What must be said beside every forecast, once."""

from __future__ import annotations

from typing import Final

__all__ = ["CAUTIONS", "SHORT_CAUTION"]

SHORT_CAUTION: Final = (
    "A forecast is not permission to run. The maker's manual, the site's rules and qualified or "
    "licensed people decide; whichever is stricter holds."
)
"""The one sentence that stands where there is room for one."""

CAUTIONS: Final[tuple[str, ...]] = (
    SHORT_CAUTION,
    "These figures are calculated from the readings in the store. They do not authorise any work, "
    "nor the running of any machine.",
    "A band speaks of steady wear only. An upset (wet steam, loss of oil, a rub, a hard trip) is "
    "not in it.",
    "Putting a part back, or moving an overhaul to a later date, is decided and signed by the "
    "people who are authorised to.",
    "Before opening: isolate and lock every source of energy, release what is stored, prove that "
    "it is gone, and prove it again where it can come back (29 CFR 1910.147(d)).",
    "Expect hot metal, hot oil, steam and condensate. Use rated lifting gear; rotors and bearing "
    "caps are heavy. Never bar a rotor while the thrust shoes are out.",
    "Overspeed trips are tested by authorised people under the site's procedure (common practice, "
    "no source).",
    "Old gaskets and lagging may hold asbestos: leave them to people trained for it, work wet "
    "(29 CFR 1926.1101). Keep carbon dust out of the air (common practice, no source).",
)
"""All of them, in the order in which they are shown."""

"""How far off a reading may be, and when undoing a slip explains it."""

from __future__ import annotations

from typing import Final

from trendwear.wear.histories import Flags, Floats

__all__ = ["BELIEVED", "FAR", "explains"]

FAR: Final = 3.5
"""Standard deviations beyond which a reading is flagged (Iglewicz & Hoaglin, How to
Detect and Handle Outliers, ASQC 1993, propose 3.5 for their modified z-score: from memory)."""
BELIEVED: Final = 2.5
"""Standard deviations within which a reading is believed once a slip is undone."""
_FAR_BETTER: Final = 8.0
"""Or within `FAR`, where undoing it brings the reading so many times nearer."""


def explains(after: Floats, before: Floats) -> Flags:
    """Whether a slip explains readings so many standard deviations off after and before undoing.

    >>> import numpy as np
    >>> explains(np.array([0.4, 2.4, 3.0, 3.0]), np.array([5.0, 4.0, 9.0, 90.0]))
    array([ True, False, False,  True])
    """
    near = (after < BELIEVED) & (2 * after < before)
    nearer = (after < FAR) & (_FAR_BETTER * after < before)
    believed: Flags = near | nearer
    return believed

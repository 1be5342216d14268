"""Parts of an invented plant, as the pages and tables get them."""

from __future__ import annotations

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.parts.lives import PART_LIVES
from trendwear.segments.positions import OWN, PARTNER
from trendwear.segments.stays import FIRST_SEEN, STILL_IN


def lives() -> pd.DataFrame:
    """Two suppliers that can be told apart, one of whom there is too little."""
    usual = {"family": "pump turbine sleeve bearing", "part": "shell", "unit": "mm"}
    usual |= {"elsewhere": 0, "hours_unknown": 0}
    rows = [
        {"part_no": "S-1", "supplier": "A", "fitted": 9, "renewed": 6, "still_in": 3,
         "hours": 210_000.0, "half_renewed_hours": 24_000.0, "half_low": 20_000.0,
         "half_high": np.inf, "places": 5, "rate_mm_per_1000h": 0.004, "rate_low": 0.003,
         "rate_high": 0.005},
        {"part_no": "S-1", "supplier": "B", "fitted": 4, "renewed": 1, "still_in": 3,
         "hours": 60_000.0, "places": 3, "rate_mm_per_1000h": 0.008, "rate_low": 0.006,
         "rate_high": 0.010},
        {"part_no": None, "supplier": "C", "fitted": 1, "renewed": 0, "still_in": 1,
         "hours": 4_000.0, "places": 1},
    ]  # fmt: skip
    return tables.conform(pd.DataFrame([usual | row for row in rows]), PART_LIVES)


def stays() -> pd.DataFrame:
    """The parts of one clearance: two shells of its own, a rotor against them."""
    usual = {"machine": "PT-101", "clearance": "brg 2", "unit": "mm", "life": 1.0}
    first = {"role": OWN, "began": FIRST_SEEN, "ended": "renewed", "from_day": 14_000.0}
    first |= {"until_day": 16_000.0, "hours": 30_000.0, "readings": 3, "worn_mm": 0.06}
    own = {"role": OWN, "part_no": "S-1", "serial": "77", "supplier": "A", "began": "renewed"}
    own |= {"ended": STILL_IN, "from_day": 16_000.0, "hours": 21_000.0, "readings": 2}
    rotor = {"role": PARTNER, "serial": "R-2", "began": "exchanged", "ended": STILL_IN}
    rotor |= {"from_day": 17_000.0, "hours": np.nan, "readings": 1}
    rows = pd.DataFrame([usual | first | {"worn_hours": 24_000.0}, usual | own, usual | rotor])
    texts = ["part_no", "serial", "supplier"]
    return rows.assign(from_order=rows["from_day"]).astype(dict.fromkeys(texts, "object"))

"""Does each reading fit what all others say, and if not, which slip would explain it?"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.fit.family_fit import FamilyFit
from trendwear.segments.histories import Histories
from trendwear.trust.belief import FAR
from trendwear.trust.design import misfits
from trendwear.trust.search import Doubts, find_doubts
from trendwear.trust.seen import seen_readings
from trendwear.trust.slips import guess, label
from trendwear.trust.steps import can_go_on

__all__ = ["check_readings", "readings_beside", "tell_readings"]

_COLUMNS: Final = [
    "point",
    "position",
    "residual",
    "expected_mm",
    "spread_mm",
    "flag",
    "factor",
    "partner",
    "makes_step",
    "words",
]


def check_readings(register: pd.DataFrame, cut: Histories, families: FamilyFit) -> pd.DataFrame:
    """Check every reading; nothing is dropped by it.

    Parameters
    ----------
    register : DataFrame
        `tables.CLEARANCES` rows in force.
    cut : Histories
    families : FamilyFit
        Fitted to ``cut``.

    Returns
    -------
    DataFrame
        One row a row of ``cut.points``: ``point`` (its row), ``position``, ``residual`` (standard
        deviations from what all others expect, worn positive; NaN where they say
        nothing), ``expected_mm`` and ``spread_mm`` (of such a reading, in the
        register's basis), ``flag``, ``factor`` (the reading is so many times what it
        should be, NaN none), ``partner`` (row of the reading it was swapped with, -1),
        ``makes_step`` (it alone makes an unexplained step), ``words`` (missing where
        there is nothing to say).
    """
    seen, doubts = readings_beside(cut, families)
    return tell_readings(register, cut, (seen, doubts))


def readings_beside(cut: Histories, families: FamilyFit) -> tuple[pd.DataFrame, Doubts]:
    """Return the fitted readings, and which of them are doubted."""
    seen = seen_readings(cut, families)
    able = can_go_on(cut, families.fit.layout.histories, seen)
    return seen, find_doubts(families.fit, seen, able)


def tell_readings(
    register: pd.DataFrame, cut: Histories, found: tuple[pd.DataFrame, Doubts]
) -> pd.DataFrame:
    """Lay out what `readings_beside` found as `check_readings` returns it."""
    seen, doubts = found
    judged = doubts.judged
    told = pd.DataFrame({"point": cut.points.index, "position": cut.points["position"]})
    told = told.set_index("point", drop=False).rename_axis(None)
    told = told.assign(residual=np.nan, expected_mm=np.nan, spread_mm=np.nan, factor=np.nan)
    told = told.assign(flag=False, partner=-1, makes_step=False)
    at = seen["point"].to_numpy()
    firm = ~seen["at_least"].to_numpy(dtype=bool)
    u = judged.phi * seen["u_mm"].to_numpy()
    told.loc[at, "residual"] = np.where(firm, judged.residual, np.nan)
    told.loc[at, "expected_mm"] = (seen["sign"] * (judged.mean - seen["shift_mm"])).to_numpy()
    told.loc[at, "spread_mm"] = np.sqrt(judged.true_variance + u**2)
    told.loc[at, "factor"] = doubts.slips["factor"].to_numpy()
    partner = doubts.slips["partner"].to_numpy()
    told.loc[at, "partner"] = np.where(partner >= 0, at[partner], -1)
    told.loc[at, "makes_step"] = doubts.makes_step
    told["flag"] = (told["residual"].abs() > FAR) | (told["partner"] >= 0)
    by_design = misfits(register, cut, told)
    told["flag"] |= by_design.notna()
    told["words"] = _words(cut, told, by_design)
    told["factor"] = told["factor"].fillna(by_design)
    return told[_COLUMNS]


def _words(cut: Histories, told: pd.DataFrame, by_design: pd.Series) -> pd.Series:
    words = pd.Series(None, index=told.index, dtype="object")
    flagged = told[told["flag"]]
    points = cut.points.loc[flagged.index]
    basis = cut.positions["register_basis"].reindex(points["position"]).tolist()
    names = cut.points["clearance"]
    for row, unit, kind in zip(flagged.itertuples(), points["unit"], basis, strict=True):
        if row.partner >= 0:
            said = f"swapped with {names[row.partner]}? Each fits the other's place"
        elif np.isfinite(row.factor):
            said = f"{label(row.factor)} the expected{guess(row.factor, unit, kind)}"
        elif np.isfinite(by_design[row.Index]):
            factor = by_design[row.Index]
            said = f"{label(factor)} what design and limit allow{guess(factor, unit, kind)}"
        else:
            more = "more" if row.residual > 0 else "less"
            said = f"{more} worn than all other readings expect"
        if row.makes_step:
            end = "" if said.endswith("?") else "."
            said += f"{end} Without it there is no unexplained step here"
        words[row.Index] = said
    return words

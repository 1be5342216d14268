"""Sizes brought to 20 °C, and what a growing shaft takes of a ring's clearance.

20 °C (68 °F) is the reference temperature of lengths (ISO 1).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import pandas as pd

from trendwear import tables
from trendwear.bundled import bundled_folder
from trendwear.dimension_tables import MATERIALS
from trendwear.wording import fold, fold_column

__all__ = [
    "TEMPERATURE_HALF_WIDTH_C",
    "Sized",
    "at_20c",
    "built_in_materials",
    "cold_clearance",
    "growth_of",
    "preload",
]

REFERENCE_C: Final = 20.0
TEMPERATURE_HALF_WIDTH_C: Final = 1.0
"""A part's temperature is known to ± this (common practice, no source)."""

_OTHER_NAMES: Final = {
    "steel": "carbon steel",
    "mild steel": "carbon steel",
    "cs": "carbon steel",
    "steel shell": "carbon steel",
    "12cr": "12 chrome steel",
    "12 cr": "12 chrome steel",
    "12 chrome": "12 chrome steel",
    "12% chrome": "12 chrome steel",
    "bronze": "bearing bronze",
    "tin babbitt": "tin",
    "carbon": "carbon-graphite",
    "carbon graphite": "carbon-graphite",
}
"""What sheets call the materials built in (common practice, no source)."""


@dataclass(frozen=True)
class Sized:
    """A size at 20 °C."""

    value_mm: float
    u_mm: float
    """What ± 1 °C of its temperature may change of it: one standard uncertainty."""


def at_20c(value_mm: float, per_c: float, temperature_c: float) -> Sized:
    """Return a size at 20 °C: L/(1 + a (T - 20)).

    Parameters
    ----------
    value_mm : float
        The size as measured.
    per_c : float
        The material's relative growth for 1 °C.
    temperature_c : float
        The part's temperature when it was measured.
    """
    u = abs(value_mm) * per_c * TEMPERATURE_HALF_WIDTH_C / math.sqrt(3.0)
    return Sized(value_mm / (1.0 + per_c * (temperature_c - REFERENCE_C)), u)


def cold_clearance(hot: float, diameter: float, rise: float, difference: float) -> float:
    """Return the clearance to build a ring with cold, so that it runs with ``hot``.

    cold = hot + difference * diameter * rise (Bloch and Geitner, *Major Process Equipment
    Maintenance and Repair*, p. 344, where carbon rings on a steel shaft have a difference
    of 4e-6 for 1 °F; on a 12 chrome shaft it is about 3.4e-6).

    Parameters
    ----------
    hot : float
        The clearance wanted hot, in the unit of the diameter.
    diameter : float
        The shaft's.
    rise : float
        Degrees from cold to hot.
    difference : float
        Growth of the shaft less that of the ring for one degree of the same scale.

    Examples
    --------
    >>> round(cold_clearance(0.0, 2.500, 400.0, 4e-6), 4)
    0.004
    """
    return hot + difference * diameter * rise


def preload(bore: float, pad_bore: float, journal: float) -> float:
    """Return the preload of tilting pads: 1 - (bore - journal)/(pad bore - journal).

    >>> round(preload(3.0040, 3.0070, 2.9990), 3)
    0.375
    """
    return 1.0 - (bore - journal) / (pad_bore - journal)


def built_in_materials() -> pd.DataFrame:
    """Return the materials of ``data/thermal_expansion.csv`` (`MATERIALS`)."""
    rows = pd.read_csv(bundled_folder("data") / "thermal_expansion.csv")
    return tables.conform(rows, MATERIALS)


def growth_of(material: object, materials: pd.DataFrame) -> float | None:
    """Return how much a material grows for 1 °C, None where it is not known.

    Parameters
    ----------
    material : str or missing
    materials : DataFrame
        `MATERIALS`; of two rows of one name the first counts.
    """
    if not isinstance(material, str):
        return None
    named = fold_column(materials["material"])
    for name in (fold(material), fold(_OTHER_NAMES.get(fold(material), ""))):
        found = materials.loc[named == name, "per_c"]
        if len(found):
            return float(found.iloc[0])
    return None

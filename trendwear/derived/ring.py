"""The clearance to build a ring with cold, computed from the one wanted hot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import pandas as pd

from trendwear.derived.expansion import cold_clearance, growth_of
from trendwear.errors import UsageProblem
from trendwear.lengths import MM_PER_UNIT
from trendwear.readings.columns import Takes
from trendwear.readings.faults import Refusal
from trendwear.readings.notation import Length, read_length
from trendwear.readings.temperature import FAHRENHEIT, Temperature, read_temperature

__all__ = ["ColdClearance", "Ring", "cold_of"]

_LARGEST: Final = 1e-4
_PER_C_IN_F: Final = 1.8


@dataclass(frozen=True)
class Ring:
    """What is asked, as written."""

    shaft: str
    """The shaft's diameter with its unit."""
    rise: str
    """From cold to hot, with its scale."""
    hot: str
    """The clearance wanted hot, with its unit."""
    difference: str | None = None
    """Growth of the shaft less that of the ring for one degree of the scale of ``rise``."""
    of: str | None = None
    """``SHAFT/RING``: the materials, in place of the difference."""


@dataclass(frozen=True)
class ColdClearance:
    """What was computed, and of what; all lengths in ``unit``."""

    unit: str
    cold: float
    hot: float
    growth: float
    shaft: float
    rise: float
    scale: str
    difference: float
    whence: str
    """Where the difference comes from."""


def cold_of(ring: Ring, materials: pd.DataFrame) -> ColdClearance:
    """Return the cold clearance of a ring.

    Parameters
    ----------
    ring : Ring
    materials : DataFrame
        `trendwear.dimension_tables.MATERIALS`.

    Raises
    ------
    UsageProblem
        A text cannot be read, has no unit, or the difference is missing or given twice.
    """
    shaft, hot = _length("SHAFT", ring.shaft), _length("--hot", ring.hot)
    rise = read_temperature(ring.rise)
    if isinstance(rise, Refusal):
        raise UsageProblem("RISE", f"{ring.rise!r}: {rise.reason}", "Write it as 400F or 220C.")
    if rise.unit is None:
        raise UsageProblem("RISE", f"{ring.rise!r} names no scale", "Write it as 400F or 220C.")
    if rise.value < 0 or shaft.value <= 0:
        raise UsageProblem("trendwear cold-clearance", "a shaft is above 0 and its rise not below",
                           "Write the shaft's diameter, and how much warmer it runs.")  # fmt: skip
    difference, whence = _difference(ring, rise, materials)
    per_unit = MM_PER_UNIT[str(shaft.unit)]
    wanted = hot.value * MM_PER_UNIT[str(hot.unit)] / per_unit
    cold = cold_clearance(wanted, shaft.value, rise.value, difference)
    if cold < 0:
        raise UsageProblem(
            "--hot",
            "the ring opens by more than the clearance wanted hot: no cold clearance gives it",
            "Check the materials, or the difference.",
        )
    grown = cold - wanted
    return ColdClearance(
        str(shaft.unit), cold, wanted, grown, shaft.value, rise.value, str(rise.unit),
        difference, whence,
    )  # fmt: skip


def _length(name: str, text: str) -> Length:
    read = read_length(text, Takes.SIZE)
    if isinstance(read, Refusal):
        raise UsageProblem(name, f"{text!r}: {read.reason}", f"{read.instead}.")
    if read.unit is None:
        raise UsageProblem(name, f"{text!r} has no unit", "Write the unit: 2.500in, 63.5mm, 6mil.")
    return read


def _difference(ring: Ring, rise: Temperature, materials: pd.DataFrame) -> tuple[float, str]:
    if (ring.difference is None) == (ring.of is None):
        found = "neither is given" if ring.of is None else "both are given"
        raise UsageProblem(
            "--difference, --materials",
            found,
            "Give --difference 4e-6 (steel less carbon, for 1 °F), or --materials steel/carbon.",
        )
    if ring.difference is not None:
        return _stated(ring.difference), "as given"
    parts = [part.strip() for part in str(ring.of).split("/")]
    if len(parts) != 2:
        raise UsageProblem("--materials", repr(ring.of), "Write SHAFT/RING, as steel/carbon.")
    growths = []
    for material in parts:
        growth = growth_of(material, materials)
        if growth is None:
            raise UsageProblem(
                "--materials",
                f"how {material} grows is not known",
                f"Known are {', '.join(materials['material'])}; the sheet materials adds others.",
            )
        growths.append(growth / (_PER_C_IN_F if rise.unit == FAHRENHEIT else 1.0))
    return growths[0] - growths[1], f"{parts[0]} less {parts[1]}, of the table of materials"


def _stated(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if not abs(number) < _LARGEST:
        raise UsageProblem(
            "--difference",
            f"{text!r} is no growth for one degree",
            "Write it as 4e-6: four millionths of the diameter for one degree.",
        )
    return number

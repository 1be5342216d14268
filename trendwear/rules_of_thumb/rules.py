"""What each rule of thumb gives for one clearance.

A rule in inches asks for a diameter in inches, one in millimetres for millimetres: the two
columns of a standard are two tables, and a table is never converted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import pandas as pd

from trendwear.rules_of_thumb.tables import of_kind, rules_table

__all__ = ["AS_BUILT", "LIMIT", "MINIMUM", "Asked", "Given", "minimum_of", "rules_for"]

AS_BUILT: Final = "as built"
MINIMUM: Final = "minimum as built"
LIMIT: Final = "limit"
_WEAR_RINGS: Final = ("wear ring", "impeller wear ring", "casing wear ring")
_DECIMALS: Final = 6
_LAST_INCH: Final = 25.999
"""The largest diameter in the inch column of the 11th edition."""


@dataclass(frozen=True)
class Asked:
    """One clearance, and what a rule needs to know of it."""

    kind: str
    basis: str
    diameter: float
    """NaN where it is not known."""
    diameter_unit: str | None
    """``in`` or ``mm``; a diameter in another unit answers no table."""
    as_built: float
    """The clearance as designed, in ``unit``; NaN where it is not known."""
    unit: str


@dataclass(frozen=True)
class Given:
    """What one rule gives."""

    rule: str
    role: str
    """`AS_BUILT`, `MINIMUM` or `LIMIT`."""
    low: float
    high: float
    """The same as ``low`` where the rule gives no range."""
    unit: str
    source: str
    """With its edition."""
    mark: str
    note: str


def rules_for(asked: Asked) -> list[Given]:
    """Return what every rule about this kind gives, in the order of the tables."""
    return [*_by_diameter(asked), *_fits(asked), *_minimum(asked), *_renewal(asked)]


def minimum_of(rows: pd.DataFrame, diameter: float) -> float:
    """Return the minimum of one edition's table at a diameter; NaN where it has none.

    Above its last row the 11th edition in inches adds 0.001 in for each further inch or
    part of one.
    """
    inside = rows[(rows["diameter_from"] <= diameter) & (diameter < rows["diameter_to"])]
    exact = rows[(rows["diameter_from"] == diameter) & (rows["diameter_to"] == diameter)]
    found = pd.concat([inside, exact])
    if len(found):
        return float(found["minimum"].iloc[0])
    last = rows.iloc[-1]
    if diameter >= last["diameter_to"] > _LAST_INCH:
        further = math.ceil(diameter - _LAST_INCH)
        return round(float(last["minimum"]) + 0.001 * further, _DECIMALS)
    return float("nan")


def _by_diameter(asked: Asked) -> Iterator[Given]:
    for row in of_kind(rules_table("by_diameter_in"), asked.kind).to_dict("records"):
        low = _at(row["base"], row["per_inch"], asked)
        ranged = not pd.isna(row["base_to"])
        high = _at(row["base_to"], row["per_inch_to"], asked) if ranged else low
        if not math.isnan(low):
            source = _source(row)
            yield Given(
                row["rule"], row["role"], low, high, "in", source, row["mark"], row["note"] or ""
            )


def _at(base: float, per_inch: float, asked: Asked) -> float:
    if per_inch == 0:
        return float(base)
    if asked.diameter_unit != "in":
        return float("nan")
    return float(round(base + per_inch * asked.diameter, _DECIMALS))


def _fits(asked: Asked) -> Iterator[Given]:
    if asked.diameter_unit != "mm":
        return
    for row in of_kind(rules_table("fits_mm"), asked.kind).to_dict("records"):
        if row["diameter_from"] < asked.diameter <= row["diameter_to"]:
            low = round(row["hole_from"] - row["shaft_to"], _DECIMALS)
            high = round(row["hole_to"] - row["shaft_from"], _DECIMALS)
            name = f"fit {row['fit']}"
            yield Given(name, AS_BUILT, low, high, "mm", row["source"], row["mark"], row["note"])


def _minimum(asked: Asked) -> Iterator[Given]:
    if asked.kind.strip().casefold() not in _WEAR_RINGS or asked.diameter_unit not in ("in", "mm"):
        return
    table = rules_table(f"wear_ring_minimum_{asked.diameter_unit}")
    for edition, rows in table.groupby("edition", sort=False):
        least = minimum_of(rows, asked.diameter)
        if not math.isnan(least):
            first = rows.iloc[0]
            yield Given(
                str(edition),
                MINIMUM,
                least,
                least,
                str(asked.diameter_unit),
                first["source"],
                first["mark"],
                "a minimum to build to, not a wear limit; hot or galling rings need more",
            )


def _renewal(asked: Asked) -> Iterator[Given]:
    rows = of_kind(rules_table("renewal"), asked.kind)
    for row in rows.to_dict("records") if not math.isnan(asked.as_built) else []:
        low = round(row["times"] * asked.as_built, _DECIMALS)
        ranged = not pd.isna(row["times_to"])
        high = round(row["times_to"] * asked.as_built, _DECIMALS) if ranged else low
        source = _source(row)
        note = row["note"] or ""
        yield Given(row["rule"], LIMIT, low, high, asked.unit, source, row["mark"], note)


def _source(row: dict[str, object]) -> str:
    edition = row["edition"]
    return f"{row['source']}, {edition}" if isinstance(edition, str) else str(row["source"])

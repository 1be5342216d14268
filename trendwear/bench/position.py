"""One position as it stands on the inspection sheet."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from trendwear.bench.boxes import Place

__all__ = ["Bound", "LastReading", "Part", "Position"]


@dataclass(frozen=True)
class Part:
    """The part of a position.  Any name may be missing.

    Attributes
    ----------
    name : str or None
        As the shop calls it.
    number : str or None
        Of the part last fitted, else the register's.
    fitted_from : str or None
        The supplier of the part last fitted, as the ``work`` sheet says.
    supplier, supplier_name, supplier_number : str or None
        What the supplier calls it, as the ``parts`` sheet says.
    quantity : int
        How many sit in the position; 1 where the register does not say.
    segmented : bool
        Whether it comes apart into segments that must not change places.
    """

    name: str | None
    number: str | None
    fitted_from: str | None
    supplier: str | None
    supplier_name: str | None
    supplier_number: str | None
    quantity: int
    segmented: bool


@dataclass(frozen=True)
class Bound:
    """One limit of a position; one way of moving may have none."""

    moves: str
    limit_mm: float
    source: str | None
    meaning: str | None


@dataclass(frozen=True)
class LastReading:
    """What was read when the machine was last closed.

    Attributes
    ----------
    value_mm : float
        NaN where nothing was read after the last work.
    state : str
        *as-left*, else how it was read; or the work after which nothing was read.
    date : Timestamp or NaT
    """

    value_mm: float
    state: str
    date: pd.Timestamp


@dataclass(frozen=True)
class Position:
    """One position, as it stands on the sheet.

    Attributes
    ----------
    number : int
        From 1, in the order of teardown.
    name, kind, basis, unit, access : str
    location, slot, partner, method : str or None
    part : Part
    design_mm : tuple of float
        Smallest and largest; NaN where not given.
    bounds : tuple of Bound
    decimals : int
        That the gauge carries in ``unit``.
    last : LastReading or None
    places : tuple of Place
        Where it is measured.
    sizes : tuple of str
        What is measured at each to find the clearance; empty: the clearance itself.
    conditions : tuple of str
        What to look for.
    """

    number: int
    name: str
    kind: str
    basis: str
    unit: str
    access: str
    location: str | None
    slot: str | None
    partner: str | None
    method: str | None
    part: Part
    design_mm: tuple[float, float]
    bounds: tuple[Bound, ...]
    decimals: int
    last: LastReading | None
    places: tuple[Place, ...]
    sizes: tuple[str, ...]
    conditions: tuple[str, ...]

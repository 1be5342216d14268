"""The two partners of one clearance at one opening, and which of their sizes belong together.

Sizes of one plane and angle do.  A partner measured without an angle stands for every
angle of its plane, one without a plane for every plane; repeats are averaged, and their
uncertainty stays that of one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from trendwear.derived.expansion import at_20c, growth_of
from trendwear.derived.quadrature import in_quadrature, weakest
from trendwear.wording import fold

__all__ = ["Place", "Size", "Unmatched", "matched", "sizes_of", "why_not_at_20c"]

Row = dict[str, Any]


@dataclass(frozen=True)
class Place:
    """Where a size was taken, as written; None where that was not said."""

    plane: str | None
    angle: str | None

    @property
    def key(self) -> tuple[str, str]:
        """The place as it compares."""
        return fold(self.plane or ""), fold(self.angle or "").replace("°", "").strip()

    def __str__(self) -> str:
        """Return the place in words: ``plane A, 0°``."""
        said = [f"plane {self.plane}"] if self.plane else []
        if self.angle:
            said.append(f"{self.angle}°" if self.angle.isdigit() else self.angle)
        return ", ".join(said)


@dataclass(frozen=True)
class Size:
    """One partner's size at one place: of one row, or the mean of its repeats."""

    part: str
    place: Place
    value_mm: float
    u_mm: float
    u_from: str
    rows: tuple[Row, ...]

    @property
    def row(self) -> Row:
        """The row that was measured last."""
        return self.rows[-1]


@dataclass(frozen=True)
class Unmatched:
    """A size that has no partner, and why."""

    size: Size
    why: str


def sizes_of(rows: list[Row], materials: pd.DataFrame | None) -> list[Size]:
    """Return the sizes of one partner, one a place, at 20 °C where ``materials`` is given.

    Parameters
    ----------
    rows : list of dict
        Rows of `trendwear.derived.quadrature.with_uncertainty`, of one part and visit.
    materials : DataFrame or None
        `trendwear.dimension_tables.MATERIALS`; None: the sizes stay as measured.
    """
    at: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        place = Place(_text(row["plane"]), _text(row["angle"]))
        at.setdefault(place.key, []).append(row)
    return [_size(same, materials) for same in at.values()]


def why_not_at_20c(rows: list[Row], materials: pd.DataFrame) -> str | None:
    """Return why sizes cannot be brought to 20 °C; empty where nobody asks; None where they can."""
    told = [
        (row["part"], not pd.isna(row["temperature_c"]), isinstance(row["material"], str))
        for row in rows
    ]
    if not any(temperature for _, temperature, _ in told):
        return ""
    for part, temperature, material in told:
        if not temperature:
            return f"not brought to 20 °C: a temperature of the {part} is missing"
        if not material:
            return f"not brought to 20 °C: the material of the {part} is not given"
    for row in rows:
        if growth_of(row["material"], materials) is None:
            return (
                f"not brought to 20 °C: how {row['material']} grows is not known, add it to the "
                "sheet materials"
            )
    return None


def matched(outer: list[Size], inner: list[Size]) -> Iterator[tuple[Size, Size] | Unmatched]:
    """Yield the sizes of two partners that belong together, and those left without one."""
    used: set[int] = set()
    for size in outer:
        others = _partners_of(size, inner)
        if not others:
            yield _alone(size, inner)
        for other in others:
            used.add(id(other))
            yield size, other
    for size in inner:
        if id(size) not in used:
            yield _alone(size, outer)


def _partners_of(size: Size, others: list[Size]) -> list[Size]:
    """The sizes that one size may be taken with: of its place, else the nearest that says less."""
    plane, angle = size.place.key
    exact = [other for other in others if other.place.key == (plane, angle)]
    if exact:
        return exact
    for wider in ((plane, ""), ("", angle), ("", "")):
        found = [other for other in others if other.place.key == wider]
        if found:
            return found
    # This one says less: it stands for every place of the other that is within it.
    return [
        other
        for other in others
        if plane in ("", other.place.key[0]) and angle in ("", other.place.key[1])
    ]


def _alone(size: Size, others: list[Size]) -> Unmatched:
    other = others[0].part
    seen = ", ".join(sorted({str(one.place) or "no place named" for one in others}))
    where = str(size.place) or "no place named"
    why = f"the {size.part} was measured at {where}, the {other} at {seen}: they do not match"
    return Unmatched(size, why)


def _size(rows: list[Row], materials: pd.DataFrame | None) -> Size:
    sizes = [_one(row, materials) for row in rows]
    value = sum(size.value_mm for size in sizes) / len(sizes)
    return replace(
        sizes[-1],
        value_mm=value,
        u_mm=max(size.u_mm for size in sizes),
        u_from=weakest(*(size.u_from for size in sizes)),
        rows=tuple(rows),
    )


def _one(row: Row, materials: pd.DataFrame | None) -> Size:
    place = Place(_text(row["plane"]), _text(row["angle"]))
    value, u = float(row["value_mm"]), float(row["u_mm"])
    growth = growth_of(row["material"], materials) if materials is not None else None
    if growth is not None:
        cold = at_20c(value, growth, float(row["temperature_c"]))
        value, u = cold.value_mm, in_quadrature(u, cold.u_mm)
    return Size(str(row["part"]), place, value, u, str(row["u_from"]), (row,))


def _text(cell: object) -> str | None:
    return cell if isinstance(cell, str) and cell.strip() else None

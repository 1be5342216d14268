"""Clearances computed of measured sizes: a bore less a journal, a float from two pushes.

One reading is made for each place where both partners were measured.  The trend takes
of them what it takes of several readings: the worst, or the mean where the register
says so.  Nothing is made of sizes that do not fit together; why is said.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Any, Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.derived.expansion import preload
from trendwear.derived.partners import Row, Size, Unmatched, matched, sizes_of, why_not_at_20c
from trendwear.derived.quadrature import in_quadrature, weakest, with_uncertainty
from trendwear.derived.shape import shape_words
from trendwear.derived.told import Figures
from trendwear.dimension_tables import NOT_COMPUTED
from trendwear.readings.method_names import of_both_partners
from trendwear.wording import fold, fold_column

__all__ = ["BY_DIAMETERS", "BY_PUSHES", "HOW", "Computed", "computed"]

BY_DIAMETERS: Final = "bore minus journal"
BY_PUSHES: Final = "float between two pushes"
HOW: Final = "computed: "
"""How ``written`` begins where a reading was computed and never written."""
_PAIRS: Final = (("bore", "journal"), ("toward", "away"))
_NUMBERS: Final = 1 << 24
"""More rows than a store numbers; two such numbers in one are still exact."""


@dataclass(frozen=True)
class Computed:
    """What was made of measured sizes."""

    readings: pd.DataFrame
    """`tables.READINGS`; ``reading`` is negative, ``written`` says how it was made, after `HOW`."""
    not_computed: pd.DataFrame
    """`trendwear.dimension_tables.NOT_COMPUTED`."""


def computed(sizes: pd.DataFrame, methods: pd.DataFrame, materials: pd.DataFrame) -> Computed:
    """Return the clearances that measured sizes make.

    Parameters
    ----------
    sizes : DataFrame
        `trendwear.dimension_tables.DIMENSIONS`.
    methods : DataFrame
        `tables.METHODS`.
    materials : DataFrame
        `trendwear.dimension_tables.MATERIALS`.
    """
    made: list[Row] = []
    left: list[Row] = []
    if len(sizes):
        rows = with_uncertainty(sizes, methods)
        for _, visit in rows.groupby(_visits(rows), sort=False):
            records: list[Row] = visit.to_dict("records")
            for told in _of_visit(records, materials):
                (left if "why" in told else made).append(told)
    return Computed(_frame(made, tables.READINGS), _frame(left, NOT_COMPUTED))


def _visits(rows: pd.DataFrame) -> pd.Series:
    """A number for what was measured together: of one opening, else of one day."""
    when = fold_column(rows["opening"]).astype("object")
    day = rows["date"].dt.strftime("%Y-%m-%d").astype("object")
    hours = rows["run_hours"].map("{:.3f} h".format).astype("object")
    when = ("opening " + when).where(when.notna(), day.where(day.notna(), hours))
    keys = [rows["machine"].map(fold), rows["clearance"].map(fold), rows["state"], when]
    return rows.groupby(keys, sort=False).ngroup()


def _of_visit(rows: list[Row], materials: pd.DataFrame) -> Iterator[Row]:
    for outer, inner in _PAIRS:
        pair = [row for row in rows if row["part"] in (outer, inner)]
        if not pair:
            continue
        missing = {outer, inner} - {row["part"] for row in pair}
        units = list(dict.fromkeys(row["unit"] for row in pair))
        if missing:
            push = "push " if outer == "toward" else ""
            yield _left(pair[0], f"the {push}{missing.pop()} is missing")
        elif len(units) > 1:
            both = " and ".join(units)
            yield _left(pair[0], f"sizes are in {both}: write both partners in one unit")
        else:
            pads = [row for row in rows if row["part"] == "pad bore"]
            yield from _Visit(pair, pads, materials).told(outer, inner)
    if rows and all(row["part"] == "pad bore" for row in rows):
        yield _left(rows[0], "the bore and the journal are missing")


@dataclass(frozen=True)
class _Visit:
    """The sizes of both partners, measured at one opening."""

    rows: list[Row]
    pads: list[Row]
    materials: pd.DataFrame

    def told(self, outer: str, inner: str) -> Iterator[Row]:
        why_not = why_not_at_20c(self.rows, self.materials)
        if outer == "toward":
            why_not = ""
        materials = self.materials if why_not is None else None
        sides = [
            sizes_of([row for row in self.rows if row["part"] == part], materials)
            for part in (outer, inner)
        ]
        figures = Figures.of(self.rows)
        shapes = [shape_words(side, figures.length) for side in sides] if outer == "bore" else []
        notes = [*shapes, self._preload(sides, materials), why_not or ""]
        if materials is not None:
            notes.append("temperatures counted as ± 1 °C")
        for match in matched(*sides):
            if isinstance(match, Unmatched):
                yield _left(match.size.row, match.why)
            elif outer == "toward":
                yield _float(match, figures)
            else:
                yield _clearance(match, figures, notes, "at 20 °C" if why_not is None else "")
                notes = []  # of all of them together: said once

    def _preload(self, sides: list[list[Size]], materials: pd.DataFrame | None) -> str:
        units = {row["unit"] for row in (*self.pads, *self.rows)}
        if not self.pads or len(units) > 1:
            return "pad bore left aside: its unit is another one" if self.pads else ""
        why_not = why_not_at_20c(self.pads, self.materials)
        if materials is not None and why_not is not None:
            return "pad bore left aside: its temperature or material is not known"
        pads = sizes_of(self.pads, materials)
        pad, bore, journal = (
            sum(size.value_mm for size in side) / len(side) for side in (pads, *sides)
        )
        if not pad > bore > journal:
            return "pad bore left aside: it is not wider than the bore"
        return f"preload {preload(bore, pad, journal):.3f} by the pad bore"


def _clearance(match: tuple[Size, Size], figures: Figures, notes: list[str], cold: str) -> Row:
    bore, journal = match
    gap = bore.value_mm - journal.value_mm
    if gap < 0:
        sizes = f"{figures.size(journal)} against {figures.size(bore)} {figures.unit}"
        return _left(journal.row, f"the journal is bigger than the bore: {sizes}")
    at = ", ".join(filter(None, (_where(match), cold)))
    how = f"bore {figures.size(bore)} − journal {figures.size(journal)} {figures.unit}"
    return _reading(match, gap, (f"{how}, {at}" if at else how, BY_DIAMETERS), notes)


def _float(match: tuple[Size, Size], figures: Figures) -> Row:
    toward, away = match
    gap = abs(toward.value_mm - away.value_mm)
    if gap == 0:
        return _left(toward.row, "the dial stood the same both ways: no float was measured")
    at = _where(match)
    how = f"dial {figures.size(toward)} toward, {figures.size(away)} away, {figures.unit}"
    return _reading(match, gap, (f"{how}, {at}" if at else how, BY_PUSHES), [])


def _reading(match: tuple[Size, Size], gap: float, how: tuple[str, str], notes: list[str]) -> Row:
    """Return one row of `tables.READINGS`: where, when and how its sizes were measured."""
    outer, inner = match
    first = inner if str(inner.place) and not str(outer.place) else outer
    other = outer if first is inner else inner
    last = max((outer.row, inner.row), key=lambda row: (_stamp(row["date"]), row["dimension"]))
    hours = [row for row in (last, outer.row, inner.row) if not pd.isna(row["run_hours"])]
    source = _source(first.row, other)
    own = [row["note"] for size in match for row in size.rows if isinstance(row["note"], str)]
    said = dict.fromkeys(filter(None, chain(notes, own, [source])))
    planes = [size.place.plane for size in match if size.place.plane]
    angles = [size.place.angle for size in match if size.place.angle]
    return {
        **first.row,
        "reading": -(_NUMBERS * int(outer.rows[0]["dimension"]) + int(inner.rows[0]["dimension"])),
        "date": last["date"],
        "date_spread_days": last["date_spread_days"],
        "run_hours": hours[0]["run_hours"] if hours else np.nan,
        "hours_spread": hours[0]["hours_spread"] if hours else 0.0,
        "starts": np.nan,
        "value_mm": round(gap, 12),
        "lower_mm": round(gap, 12),
        "upper_mm": round(gap, 12),
        "at_least": False,
        "half_width_mm": 0.0,
        "stated_mm": _combined(match),
        "u_from": weakest(outer.u_from, inner.u_from),
        "step_mm": max(row["step_mm"] for size in match for row in size.rows),
        "basis": "diametral" if how[1] == BY_DIAMETERS else "axial",
        "plane": planes[0] if planes else None,
        "angle": angles[0] if angles else None,
        "repeat": None,
        "method": how[1],
        "by": ", ".join(dict.fromkeys(_texts("by", match))) or None,
        "instrument": ", ".join(dict.fromkeys(_texts("instrument", match))) or None,
        "surface": None,
        "note": "; ".join(said) or None,
        "written": f"{HOW}{how[0]}",
        "excluded": False,
        "excluded_why": None,
    }


def _combined(match: tuple[Size, Size]) -> float:
    """The uncertainty of a difference; a method that measures both partners counts once."""
    methods = [row["method"] for size in match for row in size.rows]
    stated = any(not pd.isna(row["stated_mm"]) for size in match for row in size.rows)
    once = all(isinstance(method, str) and of_both_partners(method) for method in methods)
    if once and not stated and "written resolution" not in {size.u_from for size in match}:
        return max(size.u_mm for size in match)
    return in_quadrature(*(size.u_mm for size in match))


def _left(row: Row, why: str) -> Row:
    return {**{name: row[name] for name in NOT_COMPUTED if name in row}, "why": why}


def _where(match: tuple[Size, Size]) -> str:
    named = [str(size.place) for size in match if str(size.place)]
    return max(named, key=len) if named else ""


def _source(row: Row, other: Size) -> str:
    """Where the partner stands that the reading's own source does not name."""
    at = other.row
    place = f"cell {at['cell']}" if isinstance(at["cell"], str) else f"row {at['row']}"
    file = "" if at["file"] == row["file"] else f"{at['file']}, "
    return f"{other.part} from {file}{place}"


def _texts(column: str, match: tuple[Size, Size]) -> Iterator[str]:
    cells: Iterator[Any] = (row[column] for size in match for row in size.rows)
    return (cell for cell in cells if isinstance(cell, str))


def _stamp(date: Any) -> float:
    return -np.inf if pd.isna(date) else date.value


def _frame(rows: list[Row], columns: tables.Columns) -> pd.DataFrame:
    if not rows:
        return tables.empty(columns)
    return tables.conform(pd.DataFrame(rows), columns)

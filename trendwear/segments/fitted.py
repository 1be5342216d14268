"""Which part each piece of work put in, followed from place to place.

A part is known by its serial number, or by having come from a place where it was known.
``moved`` takes the part (and what is known of it) along and leaves its place empty;
``exchanged`` with a second place lets the two change parts, unless the row names the
part that came in.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any, Final

import pandas as pd

from trendwear.segments.positions import OWN, PARTNER
from trendwear.wording import fold

__all__ = ["FITS", "NEW_LIFE", "last_fitted", "with_parts"]

FITS: Final = frozenset({"renewed", "re-babbitted", "partner renewed", "moved", "exchanged"})
"""Work that puts a part in; other work leaves the one that is in."""
NEW_LIFE: Final = frozenset({"re-babbitted"})
"""Work that keeps the part and renews what wears of it."""

_NAMED: Final = ["part_no", "serial", "supplier"]
_EMPTY, _UNKNOWN, _CAME, _WRITTEN = 0, 1, 2, 3


@dataclass(frozen=True)
class _Part:
    """A part as far as it is known; ``life`` tells two parts apart."""

    life: int
    part_no: str | None = None
    serial: str | None = None
    supplier: str | None = None

    @property
    def known(self) -> bool:
        return any(name is not None for name in (self.part_no, self.serial, self.supplier))

    def filled_from(self, other: _Part) -> _Part:
        """Blanks filled with what is known of ``other``, the same part."""
        return replace(
            self,
            part_no=self.part_no or other.part_no,
            serial=self.serial or other.serial,
            supplier=self.supplier or other.supplier,
        )


@dataclass
class _Place:
    """What was put into one place, in order of time."""

    orders: list[float] = field(default_factory=list)
    ranks: list[int] = field(default_factory=list)
    parts: list[_Part | None] = field(default_factory=list)

    def before(self, order: float) -> _Part | None:
        """The part that was in before an opening; None where none is known."""
        at = bisect_left(self.orders, order)
        return self.parts[at - 1] if at else None

    def put(self, order: float, rank: int, part: _Part | None) -> None:
        """Put a part in; of one opening what is known best counts."""
        at = bisect_left(self.orders, order)
        if at < len(self.orders) and self.orders[at] == order:
            if rank >= self.ranks[at]:
                self.ranks[at], self.parts[at] = rank, part
            return
        self.orders.insert(at, order)
        self.ranks.insert(at, rank)
        self.parts.insert(at, part)


def with_parts(work: pd.DataFrame) -> pd.DataFrame:
    """Return spread work with the part that each row put in.

    Parameters
    ----------
    work : DataFrame
        As `trendwear.segments.positions.work_by_clearance` gives it, with ``position``.

    Returns
    -------
    DataFrame
        Also ``fits`` (whether the row put a part in or took one away), ``life`` (a number
        of the part's own; -1 where the place was left empty), ``rank`` (of several rows
        of one opening the one with the highest counts) and ``fitted_part_no``,
        ``fitted_serial``, ``fitted_supplier``: as written, else as known from the place
        the part came from or from its serial number.
    """
    named = work[_NAMED].notna().any(axis="columns")
    fits = work["action"].isin(FITS) | ((work["action"] == "reground") & named)
    fits &= work["order"].notna()
    work = work.assign(fits=fits)
    goes = work["to_clearance"].notna() | work["to_machine"].notna()
    if not (goes.any() or work["serial"].notna().any() or work["action"].isin(NEW_LIFE).any()):
        put = {f"fitted_{name}": work[name].where(fits) for name in _NAMED}
        rank = named.astype("int64") * (_WRITTEN - _UNKNOWN) + _UNKNOWN
        return work.assign(life=range(len(work)), rank=rank, **put)
    told = _Follower().follow(work.assign(goes=goes))
    return work.join(told)


class _Follower:
    """Walks through the work of a site in order of time."""

    def __init__(self) -> None:
        self.places: dict[tuple[Hashable, str], _Place] = {}
        self.by_serial: dict[str, _Part] = {}
        self.rows: dict[Hashable, tuple[int, int, str | None, str | None, str | None]] = {}
        self.lives = 0

    def follow(self, work: pd.DataFrame) -> pd.DataFrame:
        when = work[~work["arrives"]].drop_duplicates("work_row").set_index("work_row")["order"]
        rows = work.assign(when=work["work_row"].map(when).fillna(work["order"]))
        rows = rows[rows["fits"]].sort_values(["when", "work_row"], kind="stable")
        for _, job in rows.groupby(["when", "work_row"], sort=False):
            self._job(job)
        columns = ["life", "rank", *(f"fitted_{name}" for name in _NAMED)]
        told = pd.DataFrame.from_dict(self.rows, orient="index", columns=columns)
        told = told.reindex(work.index)
        told[["life", "rank"]] = told[["life", "rank"]].fillna(-1).astype("int64")
        texts = told.columns[2:]
        return told.astype(dict.fromkeys(texts, "object")).where(told.notna(), None)

    def _job(self, job: pd.DataFrame) -> None:
        """Take one written row: every place it touches, from and to."""
        sides = {bool(arrives): side for arrives, side in job.groupby("arrives")}
        was_in = {arrives: self._were_in(side) for arrives, side in sides.items()}
        put = []
        for row in job.itertuples():
            there = was_in.get(not row.arrives, {})
            key = fold(row.clearance)
            came = there.get(key, _only(there)) if row.goes else None
            put.append((row, *self._part(row, came)))
        for row, rank, part in put:
            self._place(row).put(row.order, rank, part)
            if part is not None and part.serial is not None:
                self.by_serial[fold(part.serial)] = part
            told = (None, None, None) if part is None else _names(part)
            self.rows[row.Index] = (-1 if part is None else part.life, rank, *told)

    def _were_in(self, side: pd.DataFrame) -> dict[str, _Part]:
        found = {
            fold(row.clearance): self._place(row).before(row.order) for row in side.itertuples()
        }
        return {name: part for name, part in found.items() if part is not None}

    def _place(self, row: Any) -> _Place:
        return self.places.setdefault((row.position, row.role), _Place())

    def _part(self, row: Any, came: _Part | None) -> tuple[int, _Part | None]:
        """What is in after the work, and how well that is known."""
        if row.action == "moved" and row.goes and not row.arrives:
            return _EMPTY, None
        # What stands beside an exchange names the part that came in where it was written.
        silent = row.arrives and row.action == "exchanged"
        texts = [None if silent else _text(getattr(row, name)) for name in _NAMED]
        if row.action in NEW_LIFE:
            before = self._place(row).before(row.order)
            before = None if before is None else replace(before, supplier=None)
            part = _Part(self._new(), *texts)
            return _WRITTEN, part if before is None else part.filled_from(before)
        part = _Part(-1, *texts)
        same = [one for one in self._known_as(part, came)]
        for one in same:
            part = part.filled_from(one)
        part = replace(part, life=same[0].life if same else self._new())
        if part.serial is not None and row.role == PARTNER:
            # One rotor stands at many clearances: the others of this row find it here.
            self.by_serial[fold(part.serial)] = part
        if any(texts) and not row.arrives:
            return _WRITTEN, part
        return (_CAME if part.known else _UNKNOWN), part

    def _known_as(self, part: _Part, came: _Part | None) -> Iterator[_Part]:
        """Earlier knowledge of the same part: by its serial, by the place it came from."""
        by_serial = None if part.serial is None else self.by_serial.get(fold(part.serial))
        if by_serial is not None:
            yield by_serial
        if came is not None and not _differ(part, came):
            yield came

    def _new(self) -> int:
        self.lives += 1
        return self.lives


def _only(parts: dict[str, _Part]) -> _Part | None:
    """The one part among them; None where there are several, or none."""
    lives = {part.serial or part.life: part for part in parts.values()}
    return next(iter(lives.values())) if len(lives) == 1 else None


def _names(part: _Part) -> tuple[str | None, str | None, str | None]:
    return part.part_no, part.serial, part.supplier


def _differ(one: _Part, other: _Part) -> bool:
    pairs = zip(_names(one), _names(other), strict=True)
    return any(a is not None and b is not None and fold(a) != fold(b) for a, b in pairs)


def _text(cell: Any) -> str | None:
    return cell if isinstance(cell, str) else None


def last_fitted(work: pd.DataFrame, role: str = OWN) -> pd.DataFrame:
    """Return what was put into each place at each opening, one row an opening, in order.

    Parameters
    ----------
    work : DataFrame
        As `with_parts` gives it.
    role : str
        `OWN` or `PARTNER`.
    """
    put = work[work["fits"] & (work["role"] == role)]
    put = put.sort_values(["position", "order", "rank"], kind="stable")
    return put.drop_duplicates(["position", "order"], keep="last")

"""The readings of many clearances as arrays, laid out for one pass over reading numbers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

__all__ = ["Histories", "Layout", "lay_out", "of_families", "of_segments"]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Histories:
    """Readings of ``n`` clearances in ``F`` families: ``m`` readings in ``S`` segments.

    Rows of readings are sorted by segment and, within a segment, by exposure;
    segments by clearance, the current one last.  Codes count from 0.  A segment
    may have no reading; a clearance has at least one segment.

    A rate belongs to a position and a part.  Segments of a former part go in as a
    clearance of their own: one more member of the family.
    """

    value: Floats
    """(m,) mm, worn towards the limit positive."""
    exposure: Floats
    """(m,) what the wear is counted in: hours since renewal, or their transform."""
    uncertainty: Floats
    """(m,) mm, one standard uncertainty, more than 0."""
    at_least: Flags
    """(m,) one-sided: worn at least as far as `value`."""
    segment: Codes
    """(m,) code of the reading's segment, not falling."""
    clearance: Codes
    """(S,) code of the segment's clearance, not falling."""
    start_value: Floats
    """(S,) mm, an exactly known start; NaN where the start is free."""
    start_exposure: Floats
    """(S,) exposure at the known start; NaN where the start is free."""
    family: Codes
    """(n,) code of the clearance's family."""
    assumed_share: Floats
    """(F,) share of a family's uncertainties that are only assumed from the written step."""

    def __post_init__(self) -> None:
        """Refuse arrays that do not fit together: a fault of the program, not of its user."""
        readings, segments = len(self.value), len(self.clearance)
        for name in ("exposure", "uncertainty", "at_least", "segment"):
            if len(getattr(self, name)) != readings:
                raise ValueError(f"{name} has not one entry for each of {readings} readings")
        if not (len(self.start_value) == len(self.start_exposure) == segments):
            raise ValueError(f"the known starts are not one for each of {segments} segments")
        if not np.array_equal(np.unique(self.clearance), np.arange(len(self.family))):
            raise ValueError("every clearance needs a segment, and every segment a clearance")
        if np.any(np.diff(self.clearance) < 0) or np.any(np.diff(self.segment) < 0):
            raise ValueError("readings must be sorted by segment and segments by clearance")
        if readings and not 0 <= self.segment[0] <= self.segment[-1] < segments:
            raise ValueError("a reading lies in no segment")
        if np.any((self.family < 0) | (self.family >= len(self.assumed_share))):
            raise ValueError("a clearance lies in no family")
        if not np.all(self.uncertainty > 0) or not np.all(np.isfinite(self.uncertainty)):
            raise ValueError("every reading needs an uncertainty above 0")
        if not (np.all(np.isfinite(self.value)) and np.all(np.isfinite(self.exposure))):
            raise ValueError("every reading needs a value and an exposure")
        self._refuse_falling_exposure()

    def _refuse_falling_exposure(self) -> None:
        inside = np.diff(self.segment) == 0
        if np.any(np.diff(self.exposure)[inside] < 0):
            raise ValueError("exposure falls within a segment")
        known = ~np.isnan(self.start_value)
        if not np.array_equal(known, ~np.isnan(self.start_exposure)):
            raise ValueError("a known start needs both its value and its exposure")
        before = np.where(known, self.start_exposure, -np.inf)[self.segment]
        if np.any(self.exposure < before):
            raise ValueError("a reading lies before the known start of its segment")


@dataclass(frozen=True)
class Layout:
    """Histories in the order of the recursion: first readings of all segments, then second …

    Segments stand longest first, so that the segments with a ``j``-th reading are
    always the first so many.
    """

    histories: Histories
    rows: Codes
    """(m,) which reading of the histories stands in each place."""
    ranks: tuple[slice, ...]
    """Places of the first, second, third … readings."""
    value: Floats
    exposure: Floats
    variance: Floats
    """(m,) mm^2, squared uncertainty."""
    step: Floats
    """(m,) exposure since the reading or known start before; 0 at a free start."""
    opens: Flags
    """(m,) the reading is the first of a segment whose start is free."""
    segments: Codes
    """(S,) which segment of the histories stands in each place."""
    clearance_of_row: Codes
    family_of_row: Codes
    current: Codes
    """(n,) place of each clearance's current segment."""
    end_exposure: Floats
    """(S,) exposure at a segment's last reading or known start; NaN where it has neither."""

    @property
    def family_of_segment(self) -> Codes:
        """(S,) family of the segment in each place."""
        return self.histories.family[self.histories.clearance[self.segments]]

    @property
    def families(self) -> int:
        """How many families there are."""
        return len(self.histories.assumed_share)

    @cached_property
    def median_run(self) -> Floats:
        """(F,) median exposure from a segment's start to its readings; 1 where there is none."""
        histories = self.histories
        length = np.bincount(histories.segment, minlength=len(histories.clearance))
        begin = histories.start_exposure.copy()
        free = np.isnan(begin) & (length > 0)
        begin[free] = histories.exposure[(np.cumsum(length) - length)[free]]
        run = (histories.exposure - begin[histories.segment])[self.rows]
        family = self.family_of_row[run > 0]
        run = run[run > 0]
        order = np.lexsort((run, family))
        count = np.bincount(family, minlength=self.families)
        first = np.cumsum(count) - count
        ranked = np.append(run[order], 1.0)
        low = ranked[np.where(count > 0, first + (count - 1) // 2, -1)]
        high = ranked[np.where(count > 0, first + count // 2, -1)]
        median: Floats = 0.5 * (low + high)
        return median


def of_segments(histories: Histories, keep: Flags) -> Histories:
    """Return some segments (S,); a clearance left without any goes, families stay."""
    rows = keep[histories.segment]
    segment = np.cumsum(keep) - 1
    clearances, clearance = np.unique(histories.clearance[keep], return_inverse=True)
    return Histories(
        value=histories.value[rows],
        exposure=histories.exposure[rows],
        uncertainty=histories.uncertainty[rows],
        at_least=histories.at_least[rows],
        segment=segment[histories.segment[rows]],
        clearance=clearance,
        start_value=histories.start_value[keep],
        start_exposure=histories.start_exposure[keep],
        family=histories.family[clearances],
        assumed_share=histories.assumed_share,
    )


def of_families(histories: Histories, keep: Flags) -> Histories:
    """Return some families (F,), numbered anew in their order."""
    kept = of_segments(histories, keep[histories.family[histories.clearance]])
    renumbered = np.cumsum(keep) - 1
    return replace(
        kept, family=renumbered[kept.family], assumed_share=histories.assumed_share[keep]
    )


def lay_out(histories: Histories) -> Layout:
    """Arrange ``histories`` for the recursion."""
    segments = len(histories.clearance)
    length = np.bincount(histories.segment, minlength=segments)
    first = np.concatenate([[0], np.cumsum(length)[:-1]])
    rank = np.arange(len(histories.segment)) - first[histories.segment]
    order = np.argsort(-length, kind="stable")
    place = np.empty(segments, dtype=np.int64)
    place[order] = np.arange(segments)
    rows = np.lexsort((place[histories.segment], rank))
    stops = np.cumsum(np.bincount(rank, minlength=1))
    ranks = tuple(slice(int(a), int(b)) for a, b in zip([0, *stops[:-1]], stops, strict=True))
    row_clearance = histories.clearance[histories.segment[rows]]
    before = np.where(
        rank == 0,
        histories.start_exposure[histories.segment],
        np.concatenate([[np.nan], histories.exposure[:-1]])[: len(rank)],
    )
    last = np.searchsorted(histories.clearance, np.arange(len(histories.family)), "right") - 1
    return Layout(
        histories=histories,
        rows=rows,
        ranks=ranks,
        value=histories.value[rows],
        exposure=histories.exposure[rows],
        variance=histories.uncertainty[rows] ** 2,
        step=np.nan_to_num(histories.exposure - before)[rows],
        opens=np.isnan(before)[rows],
        segments=order,
        clearance_of_row=row_clearance,
        family_of_row=histories.family[row_clearance],
        current=place[last],
        end_exposure=_ends(histories, first + length - 1, length)[order],
    )


def _ends(histories: Histories, last_row: Codes, length: Codes) -> Floats:
    if not len(histories.value):
        return histories.start_exposure.copy()
    read = histories.exposure[np.clip(last_row, 0, None)]
    return np.where(length > 0, read, histories.start_exposure)

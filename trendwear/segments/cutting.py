"""Cut each history into segments: from one reset of a clearance to the next.

A segment starts at the first reading, at each work action, at an as-left that differs
from the as-found without recorded work, and at an as-found that is less worn than the
reading before (then at the earlier opening).  ``shimmed`` with an amount shifts the gap
and keeps the segment.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np

__all__ = ["AS_NEW", "FIRST", "RESTARTS_AGE", "STEP", "Job", "Mark", "Segment", "Visit", "cut"]

FIRST: Final = "first reading"
STEP: Final = "unexplained step"
RESTARTS_AGE: Final = frozenset(
    {"renewed", "re-babbitted", "reground", "partner renewed", "exchanged"}
)
"""Work after which the wear begins anew; other work leaves the parts, and their age."""
AS_NEW: Final = frozenset({"renewed", "re-babbitted"})
"""Work after which a clearance is as one with a new part of its own: the others bring worn parts
together with new ones, or with each other."""

LEFT_DIFFERS: Final = 3.0
"""An as-left this many combined uncertainties from the as-found was worked on."""
FOUND_LESS_WORN: Final = 4.0
"""An as-found this many combined uncertainties less worn was worked on before."""


@dataclass
class Mark:
    """One reading the trend takes.  ``worn_mm`` rises as the clearance wears."""

    row: int
    state: str
    worn_mm: float
    u_mm: float
    hours: float
    method: str | None = None
    bias_mm: float = 0.0
    surface: str | None = None
    at_least: bool = False
    fitted: bool = False
    remark: str | None = None
    shift_mm: float = 0.0
    """Added to ``worn_mm`` by shims fitted later in the segment."""

    @property
    def exact(self) -> bool:
        """Whether it was stated without any uncertainty."""
        return self.u_mm == 0.0

    @property
    def level_mm(self) -> float:
        """Worn by how much, as counted after the segment's last shim."""
        return self.worn_mm + self.shift_mm


@dataclass(frozen=True)
class Job:
    """Work done to one clearance.  ``amount_mm`` is counted as `Mark.worn_mm` is."""

    row: int
    action: str
    amount_mm: float = np.nan

    @property
    def keeps_segment(self) -> bool:
        """A shim of known thickness moves the gap and cuts nothing."""
        return self.action == "shimmed" and np.isfinite(self.amount_mm)


@dataclass(frozen=True)
class Visit:
    """One opening of the clearance, or one check on a closed machine."""

    order: float
    hours: float
    marks: tuple[Mark, ...]
    jobs: tuple[Job, ...] = ()

    def of(self, state: str) -> Mark | None:
        """Return the reading of that state, None where there is none."""
        return next((mark for mark in self.marks if mark.state == state), None)


@dataclass
class Segment:
    """Readings between two resets of one clearance."""

    cause: str
    start_hours: float
    age_from: float
    start_order: float
    work_row: int | None = None
    marks: list[Mark] = field(default_factory=list)
    known_start_mm: float = np.nan
    """A start stated as exact: a known intercept at ``start_hours``."""


class _Cutter:
    """Walks through the visits of one clearance in order of time."""

    def __init__(self, *, both_ways: bool) -> None:
        self.both_ways = both_ways
        self.segments: list[Segment] = []
        self.before: Visit | None = None

    def visit(self, visit: Visit) -> None:
        for mark in visit.marks:
            if mark.state == "check":
                self._add(visit, mark)
        found, left = self._found_and_left(visit)
        if found is not None:
            self._found(visit, found)
        for job in visit.jobs:
            self._work(visit, job)
        if left is not None:
            self._left(visit, found, left)
        self.before = visit

    def _found_and_left(self, visit: Visit) -> tuple[Mark | None, Mark | None]:
        """What was found and what was left; an unstated number is both, or neither."""
        found, left = visit.of("as-found"), visit.of("as-left")
        unstated = visit.of("not stated")
        if unstated is None:
            return found, left
        if visit.jobs:
            unstated.remark = "not stated whether before or after the work recorded"
            return found, left
        if found is None and left is None:
            return unstated, None
        if found is None:
            return unstated, left
        self._add(visit, unstated)
        return found, left

    def _found(self, visit: Visit, found: Mark) -> None:
        last = self._last_mark()
        if last is not None and self._less_worn(last, found):
            earlier = self.before or visit
            self._begin(earlier, STEP)
        self._add(visit, found)

    def _less_worn(self, last: Mark, found: Mark) -> bool:
        if self.both_ways or not np.isfinite(found.hours):
            return False
        return last.level_mm - found.worn_mm > _margin(last, found, FOUND_LESS_WORN)

    def _work(self, visit: Visit, job: Job) -> None:
        if job.keeps_segment and self.segments:
            for mark in self.segments[-1].marks:
                mark.shift_mm += job.amount_mm
            self.segments[-1].known_start_mm += job.amount_mm
            return
        self._begin(visit, job.action, job)

    def _left(self, visit: Visit, found: Mark | None, left: Mark) -> None:
        begun_here = bool(self.segments) and not self.segments[-1].marks
        if found is not None and not begun_here:
            if not visit.jobs and _same_reading(found, left):
                left.remark = "the same reading as found"
                return
            if abs(left.worn_mm - found.level_mm) > _margin(found, left, LEFT_DIFFERS):
                self._begin(visit, STEP)
        elif found is None and not begun_here:
            last = self._last_mark()
            if last is not None and self._less_worn(last, left):
                self._begin(visit, STEP)
        self._add(visit, left)

    def _add(self, visit: Visit, mark: Mark) -> None:
        if not np.isfinite(mark.hours):
            mark.remark = mark.remark or "hours unknown"
            return
        if not self.segments:
            self._begin(visit, FIRST)
        segment = self.segments[-1]
        mark.fitted = True
        if mark.exact and not segment.marks and mark.hours == segment.start_hours:
            segment.known_start_mm = mark.worn_mm
        segment.marks.append(mark)

    def _begin(self, visit: Visit, cause: str, job: Job | None = None) -> None:
        current = self.segments[-1] if self.segments else None
        if current is not None and not current.marks and current.start_order == visit.order:
            # Several jobs of one opening begin one segment, named by the one that counts most.
            if _counts(cause) > _counts(current.cause):
                current.cause, current.age_from = cause, visit.hours
                current.work_row = job.row if job else None
            return
        restarts = current is None or cause in RESTARTS_AGE
        age_from = visit.hours if restarts else current.age_from if current else np.nan
        row = job.row if job else None
        self.segments.append(Segment(cause, visit.hours, age_from, visit.order, row))

    def _last_mark(self) -> Mark | None:
        """The last fitted reading of the current segment."""
        return self.segments[-1].marks[-1] if self.segments and self.segments[-1].marks else None


def _counts(cause: str) -> int:
    """How much a cause says of where its run starts: most where the part itself is new."""
    return int(cause in RESTARTS_AGE) + int(cause in AS_NEW)


def _margin(first: Mark, second: Mark, times: float) -> float:
    """How far two readings of one clearance may lie apart."""
    margin = times * float(np.hypot(first.u_mm, second.u_mm))
    if first.method != second.method or first.surface != second.surface:
        margin += abs(first.bias_mm) + abs(second.bias_mm)
    return margin


def _same_reading(found: Mark, left: Mark) -> bool:
    return found.worn_mm == left.worn_mm and found.method == left.method


def cut(visits: Iterable[Visit], *, both_ways: bool) -> list[Segment]:
    """Cut the history of one clearance into segments.

    Parameters
    ----------
    visits : iterable of Visit
        Openings and checks of the clearance, in any order.
    both_ways : bool
        Whether it is limited both ways: then no reading is ever "less worn".

    Returns
    -------
    list of Segment
        In order of time.  `Mark.fitted` and `Mark.remark` of every reading are set.
    """
    cutter = _Cutter(both_ways=both_ways)
    for visit in _in_time(visits):
        cutter.visit(visit)
    return cutter.segments


def _in_time(visits: Iterable[Visit]) -> Iterator[Visit]:
    """Visits in order of time; those that cannot be placed come last."""
    return iter(sorted(visits, key=lambda visit: (np.isnan(visit.order), visit.order)))

"""What wear is counted in: running hours, starts on top, and a bend in time.

``e = scale (h + k n)^p`` with ``h`` running hours and ``n`` starts since renewal,
``k`` hours of wear that one start is worth, ``p`` below 1 for running-in, 1 for
straight and above 1 for accelerating wear.  Both belong to a family.  ``scale``
keeps the family's median segment as long as it is in hours: without it the
restricted likelihood would move with the unit of ``e``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from trendwear.wear.histories import Codes, Flags, Floats, Histories, of_families, of_segments

__all__ = ["Shape", "Use", "expose", "only_families", "only_segments", "shape_of", "straight"]


@dataclass(frozen=True)
class Use:
    """How long and how often the parts behind `Histories` had run, since their renewal."""

    hours: Floats
    """(m,) running hours at each reading."""
    starts: Floats
    """(m,) starts at each reading; NaN where they were not counted."""
    begin_hours: Floats
    """(S,) running hours at the known start of a segment, else NaN."""
    begin_starts: Floats
    """(S,) starts at the known start of a segment, else NaN."""
    age_known: Flags
    """(S,) whether hours and starts count from the part's renewal, as they should."""


@dataclass(frozen=True)
class Shape:
    """The exposure of ``F`` families."""

    hours_per_start: Floats
    """(F,) k, hours."""
    power: Floats
    """(F,) p."""
    scale: Floats
    """(F,) hours to the power 1 - p."""

    def exposure(self, family: Codes, hours: Floats, starts: Floats) -> Floats:
        """Exposure after so many hours and starts since renewal.

        Uncounted starts (NaN) are taken as none where a start is worth nothing.

        >>> shape = Shape(np.array([10.0]), np.array([0.5]), np.array([100.0]))
        >>> shape.exposure(np.array([0]), np.array([9000.0]), np.array([100.0]))
        array([10000.])
        """
        worth = self.hours_per_start[family]
        run = hours + np.where(worth > 0, worth * starts, 0.0)
        exposed: Floats = self.scale[family] * run ** self.power[family]
        return exposed


def straight(families: int) -> Shape:
    """Exposure in plain running hours."""
    return Shape(np.zeros(families), np.ones(families), np.ones(families))


def shape_of(histories: Histories, use: Use, hours_per_start: Floats, power: Floats) -> Shape:
    """Scale k and p (F,) so that each family's median segment keeps its length in hours."""
    unscaled = Shape(hours_per_start, power, np.ones(len(power)))
    spans = _spans(expose(histories, use, unscaled))
    hours = _spans(expose(histories, use, straight(len(power))))
    family = histories.family[histories.clearance]
    scale = np.ones(len(power))
    bent = (hours_per_start != 0) | (power != 1)
    for code in np.nonzero(bent)[0]:
        own = (family == code) & (hours > 0)
        if own.any():
            scale[code] = np.median(hours[own]) / np.median(spans[own])
    return Shape(hours_per_start, power, scale)


def expose(histories: Histories, use: Use, shape: Shape) -> Histories:
    """Return ``histories`` with their exposure counted in this shape."""
    family = histories.family[histories.clearance]
    return replace(
        histories,
        exposure=shape.exposure(family[histories.segment], use.hours, use.starts),
        start_exposure=shape.exposure(family, use.begin_hours, use.begin_starts),
    )


def only_segments(histories: Histories, use: Use, keep: Flags) -> tuple[Histories, Use]:
    """Return some segments (S,); a clearance left without any goes, families stay."""
    rows = keep[histories.segment]
    return (
        of_segments(histories, keep),
        Use(
            hours=use.hours[rows],
            starts=use.starts[rows],
            begin_hours=use.begin_hours[keep],
            begin_starts=use.begin_starts[keep],
            age_known=use.age_known[keep],
        ),
    )


def only_families(histories: Histories, use: Use, keep: Flags) -> tuple[Histories, Use]:
    """Return some families (F,), numbered anew in their order."""
    segments = keep[histories.family[histories.clearance]]
    return of_families(histories, keep), only_segments(histories, use, segments)[1]


def _spans(histories: Histories) -> Floats:
    """(S,) exposure from a segment's start or first reading to its last; 0 where it has none."""
    length = np.bincount(histories.segment, minlength=len(histories.clearance))
    first = np.cumsum(length) - length
    read = length > 0
    spans = np.zeros(len(length))
    begin = np.where(
        np.isnan(histories.start_exposure[read]),
        histories.exposure[first[read]],
        histories.start_exposure[read],
    )
    spans[read] = histories.exposure[(first + length - 1)[read]] - begin
    return spans

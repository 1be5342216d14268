"""A computed cold clearance in words that nobody takes for the maker's."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from trendwear.derived.ring import ColdClearance

__all__ = ["cold_clearance_lines"]

_DECIMALS: Final = {"in": 4, "mm": 3, "mil": 1, "um": 0}


def cold_clearance_lines(told: ColdClearance) -> Iterator[str]:
    """Yield the answer, how it was made, and what it is not."""

    def length(value: float) -> str:
        return f"{value:.{_DECIMALS[told.unit]}f} {told.unit}"

    yield f"Cold clearance, computed, not the maker's: {length(told.cold)}"
    yield f"  wanted hot: {length(told.hot)}"
    yield (
        f"  taken by the growth: {length(told.growth)} = {told.difference:.3g} for 1 {told.scale} "
        f"x {told.shaft:g} {told.unit} x {told.rise:g} {told.scale}"
    )
    yield f"  difference of growth: {told.whence}"
    yield (
        "Steel less carbon is about 4e-6 for 1 °F, 12 chrome steel less carbon about 3.4e-6 (Bloch "
        "and Geitner, p. 344; Callister, Table B.6). Carbon grades vary and a metal band changes "
        "how a ring grows: take the ring maker's figure where you have it."
    )
    yield "The maker's manual goes before this figure. Nothing is stored."

"""How round and how straight a partner is, as its sizes of one opening show it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from trendwear.derived.partners import Size

__all__ = ["shape_words"]


def shape_words(sizes: Sequence[Size], told: Callable[[float], str]) -> str:
    """Return out-of-round and taper of one partner in words; empty where neither was measured.

    Out of round is the largest difference between angles of one plane; taper is the
    largest difference between the means of planes.

    Parameters
    ----------
    sizes : sequence of Size
        Of one partner and opening.
    told : callable
        Words for a length in millimetres.
    """
    planes: dict[str, list[Size]] = {}
    for size in sizes:
        planes.setdefault(size.place.key[0], []).append(size)
    said = []
    spreads = [_spread([one.value_mm for one in plane]) for plane in planes.values() if plane[1:]]
    if spreads:
        said.append(f"out of round {told(max(spreads))}")
    if len(planes) > 1:
        means = [sum(one.value_mm for one in plane) / len(plane) for plane in planes.values()]
        said.append(f"taper {told(_spread(means))}")
    return f"{sizes[0].part} {', '.join(said)}" if said else ""


def _spread(values: list[float]) -> float:
    return max(values) - min(values)

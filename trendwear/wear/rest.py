"""Where the searches of families came to rest, so that none is searched twice.

Everything else about a fit follows from the readings and these few numbers by one
evaluation.  A family's search depends on its own readings and on the noise centre of
its priors alone, so families may be searched together, apart, or be known already.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from trendwear.wear.histories import Codes, Floats, Histories, lay_out, of_families
from trendwear.wear.one_sided import moved, no_sites, stand_in
from trendwear.wear.priors import Noise
from trendwear.wear.search import Sites, WearFit, fit_at, fit_standing

__all__ = ["Rest", "search_rests", "stand_at"]

_ROUNDS: Final = 40
_STILL: Final = 1e-4


@dataclass(frozen=True)
class Rest:
    """Where the search of one family came to rest."""

    mode: tuple[float, ...]
    """The mode, three numbers in `wear_likelihood`'s coordinates."""
    settled: bool
    """Whether the search came to rest before its rounds were used up."""
    pull: float
    """Of `Sites`; 0 without one-sided readings."""
    excess: float
    """Of `Sites`; 0 without one-sided readings."""
    stand_value: tuple[float, ...]
    """Values of the readings that stand in for the one-sided ones, in their order."""
    stand_uncertainty: tuple[float, ...]
    """Their uncertainties."""


def search_rests(
    histories: Histories,
    noise: Noise,
    known: Sequence[Rest | None],
    start: Sequence[Rest] | None = None,
) -> list[Rest]:
    """Search the families that are not known, each from its ``start`` where that is given.

    Parameters
    ----------
    histories : Histories
    noise : Noise
        Prior centre of the wear noise.
    known : sequence of Rest or None, length F
        Returned as they are; None where a family is to be searched.
    start : sequence of Rest, length F, optional
    """
    wanted = np.array([rest is None for rest in known], dtype=bool)
    if not wanted.any():
        return [rest for rest in known if rest is not None]
    begin = None
    if start is not None:
        begin = [rest for rest, want in zip(start, wanted, strict=True) if want]
    found = iter(_search(of_families(histories, wanted), noise, begin))
    return [next(found) if rest is None else rest for rest in known]


def stand_at(histories: Histories, noise: Noise, rests: Sequence[Rest]) -> WearFit:
    """Return the fit of all families at their ``rests``, without any search."""
    layout = lay_out(_stood(histories, rests))
    settled = np.array([rest.settled for rest in rests], dtype=bool)
    return fit_standing(layout, _sites(rests), noise, (_modes(rests), settled))


def _search(histories: Histories, noise: Noise, start: Sequence[Rest] | None) -> list[Rest]:
    families = len(histories.assumed_share)
    if start is None:
        fit = fit_at(lay_out(histories), no_sites(families), noise)
    else:
        layout = lay_out(_stood(histories, start))
        fit = fit_at(layout, _sites(start), noise, _modes(start))
    rests = _rests_of(fit)
    bounded = np.bincount(_family_of_bounds(histories), minlength=families) > 0
    if bounded.any():
        codes = np.nonzero(bounded)[0]
        chosen = [rests[code] for code in codes]
        for code, rest in zip(
            codes, _rounds(of_families(histories, bounded), noise, chosen), strict=True
        ):
            rests[code] = rest
    return rests


def _rounds(histories: Histories, noise: Noise, rests: Sequence[Rest]) -> list[Rest]:
    """Replace one-sided readings, round by round, until those of a family stand still."""
    out = list(rests)
    going = np.arange(len(out))
    fit = stand_at(histories, noise, out)
    for _ in range(_ROUNDS):
        stand = stand_in(histories, fit)
        far = np.zeros(len(going))
        family = histories.family[histories.clearance[histories.segment]]
        np.maximum.at(far, family, moved(fit.layout.histories, stand.histories))
        fit = fit_at(lay_out(stand.histories), stand.sites, noise, fit.x)
        for code, rest in zip(going, _rests_of(fit), strict=True):
            out[code] = rest
        moving = far >= _STILL
        if not moving.any():
            break
        if not moving.all():
            going, histories = going[moving], of_families(histories, moving)
            fit = stand_at(histories, noise, [out[code] for code in going])
    return out


def _rests_of(fit: WearFit) -> list[Rest]:
    histories = fit.layout.histories
    rows, family = _bounds(histories)
    stops = np.cumsum(np.bincount(family, minlength=len(fit.x)))[:-1]
    values = np.split(histories.value[rows], stops)
    uncertainties = np.split(histories.uncertainty[rows], stops)
    return [
        Rest(
            mode=tuple(fit.x[code].tolist()),
            settled=bool(fit.settled[code]),
            pull=float(fit.sites.pull[code]),
            excess=float(fit.sites.excess[code]),
            stand_value=tuple(values[code].tolist()),
            stand_uncertainty=tuple(uncertainties[code].tolist()),
        )
        for code in range(len(fit.x))
    ]


def _stood(histories: Histories, rests: Sequence[Rest]) -> Histories:
    """Put the stand-ins in the places of the one-sided readings."""
    rows, _ = _bounds(histories)
    if not len(rows):
        return histories
    value, uncertainty = histories.value.copy(), histories.uncertainty.copy()
    value[rows] = [number for rest in rests for number in rest.stand_value]
    uncertainty[rows] = [number for rest in rests for number in rest.stand_uncertainty]
    return replace(histories, value=value, uncertainty=uncertainty)


def _bounds(histories: Histories) -> tuple[Codes, Codes]:
    """Rows of the one-sided readings and their families, family by family."""
    rows, family = np.nonzero(histories.at_least)[0], _family_of_bounds(histories)
    order = np.argsort(family, kind="stable")
    return rows[order], family[order]


def _family_of_bounds(histories: Histories) -> Codes:
    family: Codes = histories.family[histories.clearance[histories.segment[histories.at_least]]]
    return family


def _sites(rests: Sequence[Rest]) -> Sites:
    return Sites(
        np.array([rest.pull for rest in rests], dtype=np.float64),
        np.array([rest.excess for rest in rests], dtype=np.float64),
    )


def _modes(rests: Sequence[Rest]) -> Floats:
    return np.array([rest.mode for rest in rests], dtype=np.float64).reshape(len(rests), 3)

"""The members of a family beside one another: their rates, and what each adds to the family's."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.fit.family_fit import FamilyFit
from trendwear.wear.likelihood import evidence

__all__ = ["shares_of", "weights"]

Floats = NDArray[np.float64]


def weights(families: FamilyFit) -> Floats:
    """What each member's own readings weigh in its family's mean rate, as shares of 1.

    ``w = 1/(s^2 + tau^2)`` with ``s`` the standard error of the member's own rate, at the
    most probable variances; 0 where its readings give no rate.  One entry a row of
    ``families.data.member``.
    """
    fit = families.fit
    given = evidence(fit.layout, fit.x[None, :, 0])
    kappa = np.exp(2 * fit.x[:, 1])[fit.layout.histories.family]
    information = given.information[0]
    weight = information / (1 + kappa * information)
    family = fit.layout.histories.family
    total = np.bincount(family, weight, len(families.data.families))[family]
    return np.asarray(np.divide(weight, total, out=np.zeros_like(weight), where=total > 0))


def shares_of(families: FamilyFit, position: int) -> pd.DataFrame:
    """What each member of its family adds to the rate of the clearance at ``position``.

    Returns
    -------
    DataFrame
        ``position``, ``era``, ``current`` of each member, and its ``share`` (0-1; they sum
        to 1).  The clearance's own share is `WearMixture.own_share`; the rest falls to the
        others by their weights.  Empty where the clearance was never read.
    """
    member = families.data.member.assign(weight=weights(families))
    of_family = families.family[member["position"]] == families.family[position]
    mine = (member["position"] == position) & member["current"]
    if not mine.any():  # never read: it has no rate of its own, and none is said
        return member.iloc[:0].assign(share=0.0)[["position", "era", "current", "share"]]
    own = float(families.wear.own_share[position])
    others = member[of_family & ~mine]
    total = others["weight"].sum()
    shared = others["weight"] * ((1 - own) / total if total > 0 else 0.0)
    told = pd.concat([member[mine].assign(share=own), others.assign(share=shared)])
    return told[["position", "era", "current", "share"]].reset_index(drop=True)

"""What past forecasts and plans were worth, for one machine and for the whole store."""

from __future__ import annotations

import math
from collections.abc import Collection

import pandas as pd

from trendwear.hindsight.followed import IN_TIME, LATE, NO_PLAN, UNTESTED
from trendwear.hindsight.hindcast import Hindcast
from trendwear.hindsight.plans import RISKS
from trendwear.hindsight.score import due_band, is_inside
from trendwear.planning.deferral import BandRecord, PastRecord, PlanRecord
from trendwear.wording import fold, fold_column

__all__ = ["past_record"]

_BAND = 90


def past_record(
    walked: Hindcast, machine: str, families: Collection[str], risk: float
) -> PastRecord:
    """Return how past plans and bands turned out.

    Parameters
    ----------
    walked : Hindcast
    machine : str
    families : collection of str
        Of the machine's limiting clearances.
    risk : float
        The accepted one; the nearest risk at which past plans were made is told.
    """
    nearest = min(RISKS, key=lambda kept: abs(math.log(kept) - math.log(max(risk, 1e-6))))
    plans = walked.plans[walked.plans["risk"] == nearest]
    found = walked.found
    judged = found[~found["at_least"] & found["found_mm"].notna()]
    judged = judged[judged["forecast_p50_mm"].notna()]
    mine = fold_column(judged["family"]).isin({fold(name) for name in families})
    return PastRecord(
        risk=nearest,
        of_machine=_plans(plans[plans["machine"] == machine]),
        of_all=_plans(plans),
        bands_of_families=_bands(judged[mine]),
        bands_of_all=_bands(judged),
    )


def _plans(plans: pd.DataFrame) -> PlanRecord:
    made = plans[plans["outcome"] != NO_PLAN]
    counts = made["outcome"].value_counts()
    return PlanRecord(
        made=len(made),
        late=int(counts.get(LATE, 0)),
        in_time=int(counts.get(IN_TIME, 0)),
        untested=int(counts.get(UNTESTED, 0)),
        above=len(plans) - len(made),
        late_expected=float(made["due"].sum()),
    )


def _bands(judged: pd.DataFrame) -> BandRecord:
    low, high = due_band(len(judged), _BAND)
    inside = int(is_inside(judged, "forecast", _BAND).sum()) if len(judged) else 0
    return BandRecord(len(judged), inside, int(low), int(high))

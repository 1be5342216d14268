"""What became of a plan: was anything past its limit before the planned overhaul came."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.hindsight.plans import RISKS, MachinePlan, any_of
from trendwear.segments.histories import Histories
from trendwear.tables import Columns

__all__ = ["IN_TIME", "LATE", "NO_PLAN", "PLANS", "UNTESTED", "Followed", "Follower", "outcomes"]

Floats = NDArray[np.float64]

LATE: Final = "late"
IN_TIME: Final = "in time"
UNTESTED: Final = "not put to the test"
NO_PLAN: Final = "above the risk when closed"
_SHOWS_WEAR: Final = ("as-found", "check", "not stated")

PLANS: Final[Columns] = {
    "machine": "text",
    "opening_no": "count",
    "date": "date",  # of the opening after which it was made; NaT where there are no dates
    "hours": "number",  # of the machine at the closing
    "risk": "number",
    "latest_hours": "number",  # from the closing to the latest overhaul
    "governed_by": "text",
    "clearances": "count",  # that the plan covers
    "silent": "count",  # limiting clearances without a forecast
    "apart": "count",  # limiting clearances past their limit when closed
    "outcome": "text",  # LATE, IN_TIME, UNTESTED or NO_PLAN
    "due": "number",  # chance foretold that it would be found late, as far as it was followed
    "followed_hours": "number",  # the least that any of its clearances was followed
    "first_past": "text",  # the clearance that passed its limit first
    "crossed_hours": "number",  # when it did, reckoned along a straight line between readings
    "found_past_hours": "number",  # when it was found past
    "note": "text",
}
"""One row a closing and risk; hours count from the closing but for ``hours``."""


@dataclass(frozen=True)
class Followed:
    """What later readings say of the members of a plan, in hours from the closing.

    Attributes
    ----------
    end : ndarray
        Last reading of the run, or the one that found it past; 0 where there is none.
    found : ndarray
        When it was found past; NaN where it was not.
    crossed : ndarray
        When it passed its limit, along a straight line from the reading before.
    """

    end: Floats
    found: Floats
    crossed: Floats

    @property
    def any(self) -> bool:
        """Whether anything was read after the closing, before the next work."""
        return bool((self.end > 0).any())


class Follower:
    """Follows clearances through the full record.

    Parameters
    ----------
    whole : Histories
        The full record, cut.
    """

    def __init__(self, whole: Histories) -> None:
        points = whole.points[whole.points["fitted"]]
        sign = points["position"].map(whole.positions["sign"]).astype("float64")
        points = points.assign(worn_mm=points["value_mm"] * sign)
        self._points = dict(list(points.groupby("position")))
        self._work = dict(list(whole.work.groupby("position")["hours"]))
        self._segments = dict(list(whole.segments.groupby("position")))

    def follow(self, plan: MachinePlan, closed: float) -> Followed:
        """Follow every member of a plan, closed at ``closed`` hours, to the end of its run."""
        levels = (plan.crossing.wear.weight * plan.crossing.wear.level).sum(axis=1)
        ends = []
        members = plan.members.to_dict("records")
        for member, run, level in zip(members, plan.run, levels, strict=True):
            seen = self._seen(member, closed)
            ends.append(_passed(member, seen, (closed - run, float(level)), closed))
        end, found, crossed = np.array(ends, dtype=float).reshape(-1, 3).T - closed
        return Followed(end, found, crossed)

    def _seen(self, member: dict[Any, Any], closed: float) -> pd.DataFrame:
        """Readings of the member's run after the closing, up to the next work on it."""
        points = self._points[member["position"]]
        last = points.loc[points["reading"] == member["last_reading"], "segment"]
        if len(last):
            segment = int(last.iloc[0])
        else:
            segments = self._segments[member["position"]]
            segment = int(segments.loc[segments["start_hours"] <= closed, "segment"].max())
        work = self._work.get(member["position"], pd.Series(dtype="float64"))
        until = work[work > closed].min()
        mine = (points["segment"] == segment) & points["state"].isin(_SHOWS_WEAR)
        mine &= (points["hours"] > closed) & ~(points["hours"] > until)
        return points[mine].sort_values("hours", kind="stable")


def _passed(
    member: dict[Any, Any], seen: pd.DataFrame, before: tuple[float, float], closed: float
) -> tuple[float, float, float]:
    """Hours of the machine at the end of the run, when found past, and when it passed."""
    limit, side = member["limit_mm"], member["side"]
    for row in seen[["hours", "worn_mm", "at_least"]].to_dict("records"):
        worn, hours = row["worn_mm"], row["hours"]
        bound = row["at_least"] and side > 0 and worn >= limit
        if worn * side > limit * side or bound:
            wear = worn - before[1]
            share = float(np.clip((limit - before[1]) / wear, 0.0, 1.0)) if wear else 1.0
            crossed = before[0] + share * (hours - before[0])
            return hours, hours, max(crossed, closed)
        before = (hours, worn)
    end = float(seen["hours"].max()) if len(seen) else closed
    return end, np.nan, np.nan


def outcomes(plan: MachinePlan, then: Followed) -> list[dict[str, object]]:
    """Return what became of the plan at each of `RISKS`; keys are columns of `PLANS`."""
    return [_outcome(plan, then, risk) for risk in RISKS]


def _outcome(plan: MachinePlan, then: Followed, risk: float) -> dict[str, object]:
    latest = plan.latest_hours(risk)
    told: dict[str, object] = {
        "risk": risk,
        "latest_hours": latest,
        "clearances": plan.members["clearance"].nunique(),
        "silent": len(set(plan.silent)),
        "apart": len(set(plan.apart)),
        "followed_hours": float(then.end.min()),
    }
    if np.isfinite(then.crossed).any():
        first = int(np.nanargmin(then.crossed))
        told |= {
            "first_past": plan.members["clearance"].iloc[first],
            "crossed_hours": then.crossed[first],
            "found_past_hours": then.found[first],
        }
    if np.isnan(latest):
        return told | {"outcome": NO_PLAN, "governed_by": plan.governed_by(0.0)}
    seen = np.minimum(then.end, latest)
    late = bool((then.crossed < latest).any())
    in_time = bool((then.end >= latest).all())
    return told | {
        "outcome": LATE if late else IN_TIME if in_time else UNTESTED,
        "due": any_of(plan.chances(seen), plan.members["position"].to_numpy(dtype=np.int64)),
        "governed_by": plan.governed_by(latest),
    }

"""Other cases: what becomes of today's plan if something were otherwise.

A case is a name and some changes.  It is worked out from what is known of the site today
and never changes it.  **What is used again:** duty ahead, limits, windows and accepted risks
change no fit, so histories, families and what is believed of each clearance stay those of
the forecast that the case stands beside; only running hours, limits and the plan are worked
out anew.  A renewal changes the history: its machine is forecast anew as of the day of the
renewal, and of the families only the renewed part's is fitted again where the others are kept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import pandas as pd

from trendwear.errors import TrendwearError, UnknownName, UsageProblem
from trendwear.forecasting.ahead import ahead_of
from trendwear.forecasting.clock import clocks
from trendwear.forecasting.limit_forecast import forecast_rows
from trendwear.forecasting.remarks import remarks
from trendwear.forecasting.site import SiteForecast, SiteRecord
from trendwear.planning.accepted import Accepted
from trendwear.planning.case_changes import (
    CancelledWindow,
    Change,
    NewWindow,
    OtherDuty,
    OtherLimit,
    OtherMove,
    OtherRenewal,
    OtherRisk,
)
from trendwear.planning.case_duty import duty_misfits, duty_remarks, with_duty
from trendwear.planning.case_register import (
    limit_misfits,
    limit_remarks,
    renewal_misfits,
    with_limit,
)
from trendwear.planning.case_windows import (
    risk_misfits,
    window_misfits,
    with_risk,
    with_window,
)
from trendwear.segments.positions import in_force
from trendwear.trust.judge import trust_notes

__all__ = ["Case", "accepted_in", "check_fits", "misfits", "oddities", "supposed"]

_WINDOWS = (OtherMove, CancelledWindow, NewWindow)


@dataclass(frozen=True)
class Case:
    """What is supposed to be otherwise.

    Attributes
    ----------
    name : str
        May be blank as long as the case is not kept.
    changes : tuple of Change
        At least one; no two of one thing.
    """

    name: str
    changes: tuple[Change, ...] = field(default_factory=tuple)

    def __post_init__(self) -> None:
        """Refuse a case that changes nothing, or one thing twice."""
        what = f"case {self.name}".strip()
        if not self.changes:
            raise UsageProblem(
                what,
                "it changes nothing",
                "Give at least one change: duty, a limit, a window, a renewal or a risk.",
            )
        counted = Counter(change.about for change in self.changes)
        twice = [change for change in self.changes if counted[change.about] > 1]
        if twice:
            found = "two changes of one thing: " + "; ".join(dict.fromkeys(map(str, twice)))
            raise UsageProblem(what, found, "Keep one of them.")
        risks = [change for change in self.changes if isinstance(change, OtherRisk)]
        if len(risks) > 1 and any(risk.consequence is None for risk in risks):
            raise UsageProblem(
                what,
                "one accepted risk for all limits, and another for some",
                "Give one for all, or one for each consequence.",
            )


def misfits(told: SiteForecast, case: Case, accepted: Accepted) -> list[TrendwearError]:
    """Return why a case does not fit a site today; empty where it does.

    Parameters
    ----------
    told : SiteForecast
    case : Case
    accepted : Accepted
        What the plan beside it accepts.
    """
    return list(_misfits(told, case, accepted))


def check_fits(told: SiteForecast, case: Case, accepted: Accepted) -> None:
    """Refuse a case that does not fit a site.

    Raises
    ------
    UnknownName
        It names a machine, clearance or window that is not there.
    UsageProblem
        A change of it means nothing today.
    """
    found = misfits(told, case, accepted)
    if not found:
        return
    if len(found) == 1:
        raise found[0]
    gone = any(isinstance(one, UnknownName) for one in found)
    kind = UnknownName if gone else UsageProblem
    listed = "\n  ".join(["", *map(str, found)])
    raise kind(
        f"case {case.name}".strip(),
        f"{len(found)} of its changes do not fit today:{listed}",
        "\nMend these changes or take them out.",
    )


def _misfits(told: SiteForecast, case: Case, accepted: Accepted) -> Iterator[TrendwearError]:
    outages = told.site.planning.outages
    for change in case.changes:
        if isinstance(change, _WINDOWS):
            found = list(window_misfits(told, change))
            yield from found
            outages = outages if found else with_window(outages, change)
    for change in case.changes:
        if isinstance(change, OtherDuty):
            yield from duty_misfits(told, change)
        elif isinstance(change, OtherLimit):
            yield from limit_misfits(told, change)
        elif isinstance(change, OtherRisk):
            yield from risk_misfits(told, accepted, change)
        elif isinstance(change, OtherRenewal):
            yield from renewal_misfits(told, outages, change)


def accepted_in(case: Case, accepted: Accepted) -> Accepted:
    """Return what is accepted in a case, given what is accepted today."""
    for change in case.changes:
        if isinstance(change, OtherRisk):
            accepted = with_risk(accepted, change)
    return accepted


def supposed(told: SiteForecast, case: Case) -> SiteForecast:
    """Return the forecast of a site as a case has it, its renewals left out.

    Equal to the forecast of a site for which duty, limits and windows were recorded so,
    except that what is hard to believe of readings (``trust``) stays judged as today, and a
    reading *worn through* stays counted by the limit that holds today.

    Parameters
    ----------
    told : SiteForecast
    case : Case
        One that `check_fits` finds nothing against.
    """
    site = _site(told, case.changes)
    if not any(isinstance(change, OtherDuty | OtherLimit) for change in case.changes):
        return replace(told, site=site)
    running = clocks(told.cut, site.duty_plan, told.as_of)
    basis = replace(
        told.basis,
        register=in_force(site.register, told.as_of),
        clocks=running,
        ahead=ahead_of(told.basis.families, told.cut, running),
    )
    day = pd.Timestamp(told.as_of).as_unit("us")
    rows = forecast_rows(basis, day)
    events = site.events[~(site.events["date"] > day)]
    doubts = trust_notes(told.trust, told.cut, rows)
    rows["notes"] = remarks(rows, basis, events, doubts, told.own.bounds_used)
    return replace(told, site=site, basis=basis, rows=rows)


def _site(told: SiteForecast, changes: Sequence[Change]) -> SiteRecord:
    """The record of the site with every change but renewals and risks."""
    site = told.site
    for change in changes:
        if isinstance(change, _WINDOWS):
            outages = with_window(site.planning.outages, change)
            site = replace(site, planning=replace(site.planning, outages=outages))
        elif isinstance(change, OtherDuty):
            site = replace(site, duty_plan=with_duty(told, site.duty_plan, change))
        elif isinstance(change, OtherLimit):
            site = replace(site, register=with_limit(site.register, change, told.as_of))
    return site


def oddities(told: SiteForecast, then: SiteForecast, case: Case) -> Iterator[str]:
    """Say what a reader of a case must know beside its numbers.

    Parameters
    ----------
    told, then : SiteForecast
        As things are, and as `supposed` has them.
    case : Case
    """
    for change in case.changes:
        if isinstance(change, OtherLimit):
            yield from limit_remarks(told, change)
        elif isinstance(change, OtherDuty):
            yield from duty_remarks(told, then, change)

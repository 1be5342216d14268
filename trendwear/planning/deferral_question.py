"""What is asked when an overhaul is to be put off: which machine, from which date, to which."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from difflib import get_close_matches
from enum import Enum
from math import isnan
from typing import Any, Final

import pandas as pd

from trendwear.errors import UnknownName, UsageProblem
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import Accepted, accepted_by_sheet, accepted_for_all
from trendwear.planning.plan import SitePlan, plan_site
from trendwear.wording import fold

__all__ = ["PlannedBy", "Question", "Request", "check_request", "question"]

_FARTHEST_YEARS: Final = 30
_NEAR: Final = 3


class PlannedBy(Enum):
    """Where the date that is to be put off comes from."""

    PERSON = "given by the person who asks"
    WINDOW = "start of the planned outage window"
    LATEST = "latest overhaul by the plan; no window starts in time"
    DUE = "due date, which comes before the latest overhaul; no window starts in time"
    TODAY = "by the plan the overhaul is due now"
    NOTHING = "the plan gives no date"


@dataclass(frozen=True)
class Request:
    """An overhaul to be put off.

    Attributes
    ----------
    machine : str
    to : date
        The later date asked for.
    as_of : date
        The day from which hours and chances count.
    planned : date, optional
        The date it is planned for now; the plan's own where it is left.
    risk : float, optional
        Accepted chance of passing a limit, in place of the ``risks`` sheet's.
    """

    machine: str
    to: dt.date
    as_of: dt.date
    planned: dt.date | None = None
    risk: float | None = None


@dataclass(frozen=True)
class Question:
    """A request that makes sense, beside the plan it would change.

    Attributes
    ----------
    machine : str
        As the register spells it.
    to : Timestamp
    planned : Timestamp or NaT
    planned_by : PlannedBy
    window : str or None
        The planned outage window.
    plan : SitePlan
    answer : dict
        The machine's row of `trendwear.planning_tables.OVERHAUL`.
    """

    machine: str
    to: pd.Timestamp
    planned: pd.Timestamp
    planned_by: PlannedBy
    window: str | None
    plan: SitePlan
    answer: dict[str, Any]

    @property
    def accepted(self) -> Accepted:
        """The accepted risks."""
        return self.plan.accepted

    @property
    def risk(self) -> float:
        """The accepted risk that sets the plan's date, else the strictest."""
        risk = float(self.answer["risk"])
        return self.accepted.strictest if isnan(risk) else risk


def check_request(request: Request) -> None:
    """Refuse what no site can make sense of, before any work is done.

    Raises
    ------
    UsageProblem
        The later date is not ahead, or beyond reach; the risk is no chance.
    """
    if request.to <= request.as_of:
        raise UsageProblem(
            f"the later date {request.to}",
            f"it is not after {request.as_of}, the day counted from",
            "Give a date that lies ahead, as 2027-12-01.",
        )
    if request.to.year - request.as_of.year > _FARTHEST_YEARS:
        raise UsageProblem(
            f"the later date {request.to}",
            f"it lies more than {_FARTHEST_YEARS} years ahead; nothing is forecast so far",
            "Give an earlier date.",
        )
    if request.planned is not None and request.planned >= request.to:
        raise _nothing_to_put_off(request, f"the planned date {request.planned}")
    if request.risk is not None:
        accepted_for_all(request.risk)


def question(told: SiteForecast, request: Request) -> Question:
    """Set a request beside the plan.

    Raises
    ------
    UnknownName
        The register has no such machine; near names are offered.
    UsageProblem
        The later date is not after the planned one; nobody has accepted a risk.
    """
    check_request(request)
    machine = _machine(told, request.machine)
    plan = plan_site(told, _accepted(told, request.risk))
    (answer,) = plan.overhaul[plan.overhaul["machine"] == machine].to_dict("records")
    planned, planned_by = _planned(plan, answer, request.planned)
    to = pd.Timestamp(request.to).as_unit("us")
    if pd.notna(planned) and to <= planned:
        raise _nothing_to_put_off(request, f"{planned:%Y-%m-%d} ({planned_by.value})")
    window = answer["outage"] if planned_by is PlannedBy.WINDOW else None
    return Question(machine, to, planned, planned_by, window, plan, answer)


def _nothing_to_put_off(request: Request, planned: str) -> UsageProblem:
    return UsageProblem(
        f"the later date {request.to}",
        f"it is not after {planned}: nothing is put off",
        "Give a later date; name another planned date with --from.",
    )


def _machine(told: SiteForecast, asked: str) -> str:
    known = {fold(str(name)): str(name) for name in told.basis.register["machine"].unique()}
    if fold(asked) in known:
        return known[fold(asked)]
    near = get_close_matches(fold(asked), known, n=_NEAR, cutoff=0.5)
    names = [known[name] for name in near] or list(known.values())[:12]
    if not names:
        offered = "The register is empty: load one first."
    else:
        offered = f"{'Near it' if near else 'It has'}: {', '.join(names)}"
    raise UnknownName(f"machine {asked}", "the register does not have it", offered)


def _accepted(told: SiteForecast, risk: float | None) -> Accepted:
    if risk is not None:
        return accepted_for_all(risk)
    by_sheet = accepted_by_sheet(told.site.planning.risks)
    if not by_sheet.given:
        raise UsageProblem(
            "accepted risk",
            "nobody has set one: the risks sheet is empty",
            "Give --risk 0.1 for one in ten, or fill the risks sheet, signed by the person who "
            "accepts it.",
        )
    return by_sheet


def _planned(
    plan: SitePlan, answer: dict[str, Any], given: dt.date | None
) -> tuple[pd.Timestamp, PlannedBy]:
    if given is not None:
        return pd.Timestamp(given).as_unit("us"), PlannedBy.PERSON
    if isinstance(answer["outage"], str):
        windows = plan.windows
        mine = (windows["machine"] == answer["machine"]) & (windows["outage"] == answer["outage"])
        return windows.loc[mine, "start"].iloc[0], PlannedBy.WINDOW
    latest, due = answer["latest_date"], answer["due_date"]
    if pd.isna(latest) and pd.isna(due):
        return pd.NaT, PlannedBy.NOTHING
    earlier = min(day for day in (latest, due) if pd.notna(day))
    if earlier <= answer["as_of"]:
        return answer["as_of"], PlannedBy.TODAY
    return earlier, PlannedBy.LATEST if earlier == latest else PlannedBy.DUE

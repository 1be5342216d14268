"""Other cases beside today's plan of a store: supposed, kept by name, opened again."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from trendwear import outlook
from trendwear.errors import UsageProblem
from trendwear.fit.kept import KEPT_BY, NOTHING_KEPT, KeptFits, KeptText
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.case_changes import OtherRenewal
from trendwear.planning.case_compare import Comparison, compare_case
from trendwear.planning.case_form import case_from, case_written
from trendwear.planning.cases import Case
from trendwear.planning.plan import SitePlan, accepted_risks, plan_site
from trendwear.planning.spares import OrderRules
from trendwear.progress import Progress, silent
from trendwear.store import cases as kept_in
from trendwear.store.cases import KeptCase, delete_case, former_cases, kept_cases
from trendwear.store.database import reader
from trendwear.store.kept_fits import kept_fits

__all__ = [
    "KeptCase",
    "delete_case",
    "former_cases",
    "keep_case",
    "kept_cases",
    "open_case",
    "other_case",
    "suppose",
    "suppose_beside",
]


def other_case(
    store: Path | str, case: Case | str, *, as_of: dt.date, risk: float | None = None
) -> pd.DataFrame:
    """Hold a case beside today's plan.  Nothing is stored.

    Parameters
    ----------
    store : path
        The store file.
    case : Case or str
        A case, or the name of one that is kept.
    as_of : date
        The day from which hours, dates and chances count.
    risk : float, optional
        Accepted chance of passing a limit, 0 to 1, in place of the ``risks`` sheet's.
        Where neither gives one there are rows for 5, 10 and 20 %.

    Returns
    -------
    DataFrame
        Columns of `trendwear.planning.case_compare.COMPARED`, one row a machine and risk.

    Raises
    ------
    UnknownName
        The case names a machine, clearance or window that is not there, or is not kept.
    UsageProblem
        ``risk`` is not within 0 and 1, or a change of the case means nothing.
    StoreProblem
        The store cannot be read.
    """
    wanted = open_case(store, case) if isinstance(case, str) else case
    found = suppose(store, wanted, as_of=as_of, risk=risk)
    return pd.concat([one.table for one in found], ignore_index=True)


def suppose(
    store: Path | str,
    case: Case,
    *,
    as_of: dt.date,
    risk: float | None = None,
    progress: Progress = silent,
) -> list[Comparison]:
    """Work a case out beside today's plan, once for each accepted risk; errors as `other_case`."""
    told = outlook.look(store, as_of=as_of, progress=progress)
    rules = OrderRules()
    plans = [plan_site(told, accepted, rules) for accepted in accepted_risks(told, risk)]
    return suppose_beside(store, case, told, plans)


def suppose_beside(
    store: Path | str, case: Case, told: SiteForecast, plans: Sequence[SitePlan]
) -> list[Comparison]:
    """Work a case out beside plans of a forecast that are there already; errors as `other_case`."""
    kept = _kept_fits(store, case)
    return [compare_case(told, case, plan, OrderRules(), kept) for plan in plans]


def keep_case(store: Path | str, case: Case, by: str) -> str:
    """Keep a case by its name; one of the same name is replaced and stays in the record.

    Returns
    -------
    str
        What was done, in a sentence.

    Raises
    ------
    UsageProblem
        It has no name, or nobody keeps it.
    StoreProblem
        The store cannot be written to.
    """
    return kept_in.keep_case(store, case.name, json.dumps(case_written(case)), by)


def open_case(store: Path | str, name: str) -> Case:
    """Return a kept case; whether it still fits is for `suppose` to say.

    Raises
    ------
    UnknownName
        No case of that name is kept.
    UsageProblem
        It was kept in a form that is not understood.
    StoreProblem
        The store cannot be read.
    """
    found = kept_in.kept_case(store, name)
    try:
        written = json.loads(found.changes)
    except json.JSONDecodeError as problem:
        raise UsageProblem(
            f"case {found.name}",
            f"what was kept is not readable ({problem})",
            "Make it again and keep it under the same name.",
        ) from None
    return case_from({**written, "name": found.name})


def _kept_fits(store: Path | str, case: Case) -> KeptFits:
    """Fits from before, where the case changes a history."""
    if not any(isinstance(change, OtherRenewal) for change in case.changes):
        return NOTHING_KEPT
    with reader(store) as connection:
        rows = kept_fits(connection, KEPT_BY)
    return NOTHING_KEPT.and_also(KeptText(*row) for row in rows)

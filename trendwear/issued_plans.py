"""Plans that are issued into the store, and read back from it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from trendwear import __version__, outlook, tables
from trendwear.errors import UnknownName, UsageProblem
from trendwear.planning.issued import (
    Frozen,
    Issue,
    IssuedPlan,
    freeze,
    plan_name,
)
from trendwear.planning.issued_tables import TABLES, details_of, frozen_from, tables_of
from trendwear.planning.plan import SitePlan, accepted_risks, plan_site
from trendwear.planning.site_plan import place_site
from trendwear.planning.spares import OrderRules
from trendwear.store.database import reader, writer
from trendwear.store.issued import KeptPlan, add_plan, kept_plans, kept_tables
from trendwear.store.packed import pack, unpack
from trendwear.wear.version import MODEL_VERSION

__all__ = ["check_issuable", "issue_plan", "issued_plan", "issues", "keep"]


def issue_plan(
    store: Path | str,
    name: str,
    *,
    as_of: dt.date,
    by: str | None = None,
    risk: float | None = None,
) -> Issue:
    """Issue a site's plan: keep a numbered copy of it, for ever.

    Parameters
    ----------
    store : path
        The store file.
    name : str
        What the plan is called.  Under a name that was used before it is its next issue;
        the former ones stay.
    as_of : date
        The day from which hours, dates and chances count.
    by : str, optional
        Who issues it.
    risk : float, optional
        Accepted chance of passing a limit, 0 to 1, in place of the ``risks`` sheet's.

    Returns
    -------
    Issue
        Its number and under what it was issued.

    Raises
    ------
    StoreProblem
        The store cannot be read or written to.
    UsageProblem
        The name says nothing, or no risk was chosen.
    """
    plan_name(name)
    told = outlook.look(store, as_of=as_of)
    rules = OrderRules()
    plans = [plan_site(told, accepted, rules) for accepted in accepted_risks(told, risk)]
    check_issuable(plans)
    placed = None
    if len(plans[0].windows):
        placed = place_site(plans[0], told.site.machines, told.site.planning.outages)
    return keep(store, name, freeze(told, plans[0], placed, rules), by)


def check_issuable(plans: list[SitePlan]) -> None:
    """Refuse to issue a plan shown at several risks for want of a chosen one, or of no machine.

    Raises
    ------
    UsageProblem
    """
    if plans[0].overhaul.empty:
        raise UsageProblem(
            "the plan to be issued", "the register holds no machine", "Load a register first"
        )
    if len(plans) > 1:
        raise UsageProblem(
            "the plan to be issued",
            "no risk was chosen, so it has no dates that anyone answers for",
            "Give --risk 0.1 for one in ten, or fill the risks sheet, signed by the person "
            "who accepts it",
        )


def keep(store: Path | str, name: str, frozen: Frozen, by: str | None = None) -> Issue:
    """Keep a plan in the store under the next number of its name, in one transaction.

    Raises
    ------
    StoreProblem
        The store cannot be written to.
    UsageProblem
        The name says nothing.
    """
    signed = by.strip() if by is not None else ""
    head = {
        "name": plan_name(name),
        "as_of": frozen.plan.as_of,
        "issued_by": signed or None,
        "method_version": MODEL_VERSION,
        "program_version": __version__,
        "details": details_of(frozen),
    }
    contents = {part: pack(table, TABLES[part]) for part, table in tables_of(frozen).items()}
    with writer(store) as connection:
        return _issue(add_plan(connection, head, contents))


def issues(store: Path | str) -> list[Issue]:
    """Return under what plans were issued from a store, by name and number.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    with reader(store) as connection:
        return [_issue(kept) for kept in kept_plans(connection)]


def issued_plan(store: Path | str, name: str, number: int | None = None) -> IssuedPlan:
    """Return an issued plan as it was issued, whatever has come into the store since.

    Parameters
    ----------
    store : path
        The store file.
    name : str
        However it is spelt.
    number : int, optional
        Which issue of it; the latest if left.

    Raises
    ------
    UnknownName
        No such plan was issued; it lists those that were.
    StoreProblem
        The store cannot be read.
    """
    with reader(store) as connection:
        found = kept_plans(connection, name)
        wanted = [kept for kept in found if number in (None, kept.number)]
        if not wanted:
            number_said = "" if number is None or not found else f", issue {number}"
            raise _unknown(f"plan {name}{number_said}", kept_plans(connection))
        kept = wanted[-1]
        contents = kept_tables(connection, kept.issue)
    frames = {
        part: unpack(contents[part], columns) if part in contents else tables.empty(columns)
        for part, columns in TABLES.items()  # a table that there was not yet held nothing
    }
    return IssuedPlan(_issue(kept), frozen_from(frames, kept.details, kept.as_of))


def _issue(kept: KeptPlan) -> Issue:
    return Issue(
        name=kept.name,
        number=kept.number,
        as_of=kept.as_of,
        issued_by=kept.issued_by,
        issued_at=kept.issued_at,
        method_version=kept.method_version,
        program_version=kept.program_version,
    )


def _unknown(what: str, kept: list[KeptPlan]) -> UnknownName:
    if not kept:
        return UnknownName(
            what,
            "no plan was issued from this store yet",
            "Issue one: trendwear plan --issue NAME",
        )
    named = [f"{one.name}, issue {one.number} (as of {one.as_of:%Y-%m-%d})" for one in kept]
    more = f"; and {len(named) - 12} more" if len(named) > 12 else ""
    return UnknownName(
        what, "no such plan was issued", "Issued were: " + "; ".join(named[-12:]) + more
    )

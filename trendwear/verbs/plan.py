"""The verb ``plan``: when each machine is to be overhauled at an accepted risk."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from trendwear.errors import UsageProblem
from trendwear.report.pdf.paper import Paper
from trendwear.verbs.options import (
    DEFAULT_STORE,
    AsOfOption,
    PaperOption,
    StoreOption,
    day_asked,
    terminal_width,
)

if TYPE_CHECKING:
    from trendwear.forecasting.site import SiteForecast
    from trendwear.planning.issued import Issue
    from trendwear.planning.plan import SitePlan
    from trendwear.planning.site_plan import Placed

__all__ = ["plan"]


class Keep(StrEnum):
    """What the windows of a whole site are chosen to keep least."""

    RISK = "risk"
    COST = "cost"


def plan(
    machines: Annotated[
        list[str] | None, typer.Argument(help="Only these machines; all where none is named.")
    ] = None,
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
    risk: Annotated[
        float | None,
        typer.Option(help="Accepted chance of passing a limit, 0 to 1; the risks sheet's if left."),
    ] = None,
    margin_days: Annotated[
        float, typer.Option(min=0.0, help="Days that parts shall lie ready before they are needed.")
    ] = 14.0,
    out: Annotated[
        Path | None, typer.Option(help="Write the plan: .csv .xlsx .parquet .md .pdf .ics")
    ] = None,
    paper: PaperOption = Paper.A4,
    issue: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Keep a numbered copy of the plan under this name."),
    ] = None,
    by: Annotated[str | None, typer.Option(help="Who issues it.")] = None,
    aim: Annotated[
        Keep, typer.Option(help="What the whole site's windows are chosen to keep least.")
    ] = Keep.RISK,
) -> None:
    """When each machine is to be overhauled, what sets the date, what to renew and order."""
    from trendwear import issued_plans, outlook
    from trendwear.planning.accepted import accepted_for_all
    from trendwear.planning.issued import freeze, plan_name
    from trendwear.planning.plan import accepted_risks, only_machines, plan_site
    from trendwear.planning.spares import OrderRules
    from trendwear.report.overhaul.export import check_plan_suffix, write_plan, written_words
    from trendwear.report.overhaul.printed import printed_for
    from trendwear.report.overhaul.terminal import plan_lines
    from trendwear.report.steps import steps_shown

    _check_aim(aim, machines or [], issue)
    if out is not None:
        check_plan_suffix(out)
    if risk is not None:
        accepted_for_all(risk)  # a risk that means nothing is said before the long work
    if issue is not None:
        plan_name(issue)
    elif by is not None:
        raise UsageProblem("--by", "it says who issues a plan", "Give --issue NAME too.")
    with steps_shown() as progress:
        told = outlook.look(store, as_of=day_asked(as_of), progress=progress)
    rules = OrderRules(margin_days=margin_days)
    whole = [plan_site(told, accepted, rules) for accepted in accepted_risks(told, risk)]
    plans = [only_machines(plan, machines or []) for plan in whole]
    if issue is not None:
        issued_plans.check_issuable(plans)
    placed = None if machines else _placed(told, plans, aim)
    if out is None:
        lines = plan_lines(plans, terminal_width(), placed)
    else:
        write_plan(plans, out, placed, printed_for(out, told, plans, paper))
        lines = written_words(plans, out)
    for line in lines:
        typer.echo(line)
    if issue is not None:
        frozen = freeze(
            told, plans[0], placed, rules, plans[0].overhaul["machine"] if machines else ()
        )
        typer.echo(_issued(issued_plans.keep(store, issue, frozen, by)))


def _placed(told: SiteForecast, plans: list[SitePlan], aim: Keep) -> Placed | None:
    """The whole site in its windows, where one risk was chosen and a window is ahead."""
    from trendwear.planning.site_board import Aim
    from trendwear.planning.site_plan import place_site

    site = told.site
    if len(plans) == 1 and len(plans[0].windows):
        return place_site(plans[0], site.machines, site.planning.outages, Aim[aim.name])
    if aim is not Keep.RISK:
        raise UsageProblem(
            "--aim",
            "no site is placed: several risks are shown, or no window is ahead",
            "Give --risk or fill the risks sheet, and load coming outages.",
        )
    return None


def _check_aim(aim: Keep, machines: list[str], issue: str | None) -> None:
    """Refuse another aim where no whole site is placed, or where it would be forgotten."""
    if aim is Keep.RISK:
        return
    if machines:
        raise UsageProblem(
            "--aim", "only the whole site is placed in windows", "Name no machine, or leave --aim."
        )
    if issue is not None:
        raise UsageProblem(
            "--aim", "an issued plan is placed by risk", "Leave --aim or --issue out."
        )


def _issued(issue: Issue) -> str:
    by = "" if issue.issued_by is None else f" by {issue.issued_by}"
    return (
        f"Issued{by}: plan {issue.name}, issue {issue.number}. "
        f'What has moved since: trendwear compare "{issue.name}"'
    )

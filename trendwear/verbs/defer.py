"""The verb ``defer``: the evidence for and against overhauling a machine at a later date."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from trendwear.errors import UsageProblem
from trendwear.report.pdf.paper import Paper
from trendwear.verbs.options import DEFAULT_STORE, AsOfOption, PaperOption, StoreOption, day_asked

__all__ = ["defer"]


def defer(
    machine: Annotated[str, typer.Argument(help="The machine.")],
    to: Annotated[str, typer.Option("--to", metavar="DATE", help="The later date asked for.")],
    out: Annotated[Path, typer.Option(help="Write the sheet: .pdf .md")],
    planned: Annotated[
        str | None,
        typer.Option("--from", metavar="DATE", help="The planned date; the plan's own if left."),
    ] = None,
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
    risk: Annotated[
        float | None,
        typer.Option(help="Accepted chance of passing a limit, 0 to 1; the risks sheet's if left."),
    ] = None,
    paper: PaperOption = Paper.A4,
) -> None:
    """The evidence for and against overhauling a machine at a later date, on two pages."""
    from trendwear import outlook
    from trendwear.planning.deferral_question import Request, check_request
    from trendwear.report.deferral.export import check_deferral_suffix, write_deferral
    from trendwear.report.steps import steps_shown

    check_deferral_suffix(out.suffix)
    from_day = None if planned is None else _day("--from", planned)
    request = Request(machine, _day("--to", to), day_asked(as_of), from_day, risk)
    check_request(request)  # what means nothing is said before the long work
    with steps_shown() as progress:
        told = outlook.put_off(store, request, progress)
    write_deferral(told, out, paper)
    typer.echo(f"The deferral sheet of {told.question.machine} written to {out}")
    if len(told.past):
        names = ", ".join(told.past["clearance"].drop_duplicates())
        typer.echo(f"Past its limit today: {names}")


def _day(option: str, text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise UsageProblem(option, text, "Write the date as 2027-12-01.") from None

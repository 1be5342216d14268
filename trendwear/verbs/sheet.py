"""The verb ``sheet``: what is taken to the bench when a machine is opened."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trendwear.report.pdf.paper import Paper
from trendwear.verbs.options import DEFAULT_STORE, AsOfOption, PaperOption, StoreOption, day_asked

__all__ = ["sheet"]


def sheet(
    machine: Annotated[str, typer.Argument(help="The machine.")],
    out: Annotated[Path, typer.Option(help="Write the sheet: .pdf")],
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
    paper: PaperOption = Paper.A4,
    blank: Annotated[
        bool, typer.Option("--blank", help="From the register alone: nothing read, no lead's page.")
    ] = False,
    tags: Annotated[
        bool, typer.Option("--tags/--no-tags", help="With tags to tie on the parts, or without.")
    ] = True,
) -> None:
    """The sheet for the bench: every position in the order of teardown, to fill in by hand."""
    from trendwear import outlook
    from trendwear.report.inspection.export import Pages, check_sheet_suffix, write_sheet
    from trendwear.report.steps import steps_shown

    check_sheet_suffix(out.suffix)
    with steps_shown() as progress:
        told = outlook.inspection_sheet(store, machine, as_of=day_asked(as_of), progress=progress)
    if blank:
        told = told.without_record()
    write_sheet(told, out, paper, Pages.WITH_TAGS if tags else Pages.WITHOUT_TAGS)
    count = len(told.positions)
    typer.echo(
        f"The sheet of {told.machine} ({count} position{'' if count == 1 else 's'}) "
        f"written to {out}"
    )
    if told.expected:
        typer.echo("What is expected stands on its last page, for the lead alone.")

"""The verb ``compare``: what moved each date since a plan was issued, and why."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trendwear.report.pdf.paper import Paper
from trendwear.verbs.options import (
    DEFAULT_STORE,
    AsOfOption,
    PaperOption,
    StoreOption,
    day_asked,
    terminal_width,
)

__all__ = ["compare"]


def compare(
    name: Annotated[str, typer.Argument(help="The name the plan was issued under.")],
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
    number: Annotated[
        int | None, typer.Option(min=1, help="Which issue of that name; the latest if left.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="Write the comparison: .csv .xlsx .md .pdf")
    ] = None,
    paper: PaperOption = Paper.A4,
) -> None:
    """What moved each date since a plan was issued, and why."""
    from trendwear import plan_comparison
    from trendwear.report.issued.export import check_compare_suffix, write_comparison
    from trendwear.report.issued.terminal import compare_lines
    from trendwear.report.steps import steps_shown

    if out is not None:
        check_compare_suffix(out)
    with steps_shown() as progress:
        moved = plan_comparison.moved_since(
            store, name, as_of=day_asked(as_of), number=number, progress=progress
        )
    if out is None:
        for line in compare_lines(moved, terminal_width()):
            typer.echo(line)
        return
    write_comparison(moved, out, paper)
    issue = moved.issued.issue
    typer.echo(f"Plan {issue.name}, issue {issue.number}, beside the plan now: written to {out}")

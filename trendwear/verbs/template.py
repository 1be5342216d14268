"""The verb ``template``: a blank workbook to write readings in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trendwear.errors import UsageProblem

__all__ = ["template"]


def template(
    out: Annotated[Path, typer.Option(help="Write the workbook here: .xlsx")],
) -> None:
    """A blank workbook to write readings in, with lists to choose from and explanations."""
    from trendwear.readings.template import template_bytes
    from trendwear.report.save import save

    if out.suffix.casefold() != ".xlsx":
        raise UsageProblem(
            str(out), "the blank sheets are a workbook", "Name a file that ends in .xlsx"
        )
    save(out, template_bytes())
    typer.echo(f"Blank sheets written to {out}. Fill in the sheet readings first; then:")
    typer.echo(f"  trendwear load --dry-run {out}    says what would go in")
    typer.echo(f"  trendwear load {out}              brings it in")

"""The verb that proposes how a workbook is laid out, for a person to confirm."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trendwear.errors import InputProblem, OutputProblem

__all__ = ["layout"]


def layout(
    path: Annotated[Path, typer.Argument(help="A workbook that is no long table.")],
    out: Annotated[
        Path | None, typer.Option(help="Write the proposed layouts to this headings file (TOML).")
    ] = None,
    headings: Annotated[
        Path | None, typer.Option(help="A headings file that says how dates and numbers are meant.")
    ] = None,
) -> None:
    """Propose which cells are machine, date, position and reading; store nothing."""
    from trendwear.readings.files import is_workbook, tabs_of
    from trendwear.readings.headings import Headings, read_headings
    from trendwear.readings.layouts.shown import proposal_lines, proposal_toml

    mapped = read_headings(headings) if headings else Headings()
    if not is_workbook(path):
        raise InputProblem(
            path.name, "a layout is proposed for workbooks only", "Give an .xlsx or .ods workbook"
        )
    tabs = tabs_of(path)
    strange = [tab for tab in tabs if mapped.sheet_named(tab.name) is None]
    if not strange:
        typer.echo(f"All sheets of {path.name} are sheets of the form: load them as they are.")
        return
    for line in proposal_lines(path, strange, mapped):
        typer.echo(line)
    if out is None:
        typer.echo("Nothing was stored. --out F.toml writes the layouts down to be corrected.")
        return
    _write(out, proposal_toml(path, strange))
    typer.echo(
        f"Nothing was stored. {out} holds the layouts: check them, answer its questions, then run "
        f"trendwear load {path} --headings {out} --dry-run"
    )


def _write(out: Path, text: str) -> None:
    try:
        with out.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise OutputProblem(
            str(out), "there is a file of that name already", "Name another file"
        ) from error
    except OSError as error:
        raise OutputProblem(
            str(out), f"it cannot be written ({error.strerror})", "Name another file or folder"
        ) from error

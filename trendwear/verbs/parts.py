"""The verbs about parts: ``part``, the record of one, and ``parts``, how long their like last."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trendwear.verbs.options import (
    DEFAULT_STORE,
    AsOfOption,
    StoreOption,
    day_asked,
    terminal_width,
)

__all__ = ["part", "parts"]


def part(
    serial: Annotated[str, typer.Argument(help="The part's serial number.")],
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
) -> None:
    """Where one part sat, from when to when, the hours it ran and what wore there."""
    from trendwear import outlook
    from trendwear.parts.record import part_record
    from trendwear.report.parts.record import part_lines
    from trendwear.report.steps import steps_shown

    with steps_shown() as progress:
        told = outlook.look(store, as_of=day_asked(as_of), progress=progress)
    for line in part_lines(part_record(told, serial), terminal_width()):
        typer.echo(line)


def parts(
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
    out: Annotated[Path | None, typer.Option(help="Write the table: .csv .xlsx .md")] = None,
) -> None:
    """How long parts last and how fast they wear, by part number and supplier."""
    from trendwear import outlook
    from trendwear.parts.lives import part_lives
    from trendwear.report.parts.export import check_lives_suffix, write_lives
    from trendwear.report.parts.lives import HOW_COUNTED, lives_table
    from trendwear.report.steps import steps_shown
    from trendwear.report.terminal import text_table

    if out is not None:
        check_lives_suffix(out)
    with steps_shown() as progress:
        told = outlook.look(store, as_of=day_asked(as_of), progress=progress)
    lives = part_lives(told)
    if out is not None:
        write_lives(lives, out)
        count = len(lives)
        typer.echo(f"{count} row{'' if count == 1 else 's'} written to {out}")
        return
    if lives.empty:
        typer.echo("No work on record put in a part.")
        return
    for line in (*text_table(lives_table(lives), terminal_width()), "", *HOW_COUNTED):
        typer.echo(line)

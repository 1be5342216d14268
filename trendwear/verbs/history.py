"""The verb ``history``: where each number came from and what was changed since; every load."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from trendwear.errors import UnknownName, UsageProblem
from trendwear.verbs.options import DEFAULT_STORE, StoreOption, terminal_width

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["history"]


def history(
    machine: Annotated[str | None, typer.Argument(help="The machine.")] = None,
    clearance: Annotated[str | None, typer.Argument(help="One clearance of it.")] = None,
    loads: Annotated[
        bool, typer.Option("--loads", help="List every load, and what became of it.")
    ] = False,
    out: Annotated[Path | None, typer.Option(help="Write it whole: .csv .xlsx")] = None,
    store: StoreOption = DEFAULT_STORE,
) -> None:
    """Where each number came from, and every change of it since; every load."""
    from trendwear.report.history.export import check_history_suffix, write_history
    from trendwear.report.history.lines import history_lines
    from trendwear.report.history.loads import loads_lines

    if out is not None:
        check_history_suffix(out)
    if loads == (machine is not None):
        found = "both a machine and --loads" if loads else "neither a machine nor --loads"
        raise UsageProblem("trendwear history", found, "Name one of the two.")
    told = _loads(store) if machine is None else _of_machine(store, machine, clearance)
    if out is not None:
        write_history(told, out)
        typer.echo(f"{len(told)} line{'' if len(told) == 1 else 's'} written to {out}")
        return
    say = loads_lines if machine is None else history_lines
    for line in say(told, terminal_width()):
        typer.echo(line)
    if machine is not None and clearance is not None:
        typer.echo(
            f"Run log, events, duty plan and due dates of the machine: trendwear history {machine}"
        )


def _loads(store: Path) -> pd.DataFrame:
    from trendwear.store.database import reader
    from trendwear.store.loads import loads

    with reader(store) as connection:
        return loads(connection)


def _of_machine(store: Path, machine: str, clearance: str | None) -> pd.DataFrame:
    from trendwear.store.database import reader
    from trendwear.store.history_record import record

    with reader(store) as connection:
        told = record(connection, machine, clearance)
    if told.empty:
        raise UnknownName(
            f"{machine} {clearance or ''}".strip(),
            f"{store} holds nothing about it",
            "The names it knows are in the forecast: trendwear forecast",
        )
    return told

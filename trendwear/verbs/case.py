"""The verb ``case``: what becomes of the plan if something were otherwise."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from trendwear.errors import UsageProblem
from trendwear.verbs.options import (
    DEFAULT_STORE,
    AsOfOption,
    StoreOption,
    day_asked,
    terminal_width,
)

if TYPE_CHECKING:
    from trendwear.planning.cases import Case

__all__ = ["EXAMPLE", "case"]

EXAMPLE = """\
A case file holds what is supposed, in any number and mixture:

\b
name = "A longer season"
[[duty]]                    # other running hours
machine = "T-101"           # left out: every machine
from = 2027-11-21           # left out: from today
to = 2027-12-15             # left out: for good
hours_per_day = 22          # or: factor = 1.1
[[limit]]                   # another limit
machine = "T-104"
clearance = "Rotor float"
limit = 0.018
unit = "in"                 # mm, um, mil or in
[[window]]                  # a window moved, cancelled or added
move = "Off-season 2028"    # or: cancel = "..." or: add = "..."
start = 2027-12-16          # its end left out: it stays as long
[[renewal]]                 # a clearance renewed
machine = "T-104"
clearance = "Rotor float"
window = "Off-season 2028"  # or: on = 2028-01-10
[[risk]]                    # another accepted chance
accepted = 0.2
consequence = "leak"        # left out: one for all limits
"""


def case(
    what: Annotated[
        str | None,
        typer.Argument(
            metavar="FILE|NAME",
            help="A case file (.toml), or the name of a kept case; left out: list the kept ones.",
        ),
    ] = None,
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
    risk: Annotated[
        float | None,
        typer.Option(help="Accepted chance today, 0 to 1; the risks sheet's if left."),
    ] = None,
    keep: Annotated[
        str | None, typer.Option(metavar="NAME", help="Keep the case under this name.")
    ] = None,
    delete: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Delete the kept case: its name once more."),
    ] = None,
    by: Annotated[str | None, typer.Option(help="Who keeps or deletes it.")] = None,
    out: Annotated[
        Path | None, typer.Option(help="Write both plans side by side: .csv .xlsx .md")
    ] = None,
) -> None:
    """What if: a case beside today's plan. Nothing is stored unless it is kept."""
    from trendwear import other_cases
    from trendwear.planning.accepted import accepted_for_all
    from trendwear.report.cases.export import check_case_suffix, write_case
    from trendwear.report.cases.terminal import case_lines, kept_lines
    from trendwear.report.steps import steps_shown

    if what is None:
        _unused(keep=keep, delete=delete, out=out)
        for line in kept_lines(other_cases.kept_cases(store), terminal_width()):
            typer.echo(line)
        return
    if delete is not None:
        _unused(keep=keep, out=out)
        typer.echo(other_cases.delete_case(store, what, delete, _signed(by)))
        return
    if out is not None:
        check_case_suffix(out)
    if risk is not None:
        accepted_for_all(risk)
    signed = "" if keep is None else _signed(by)
    asked = _named(_asked(store, what), keep)
    day = day_asked(as_of)
    with steps_shown() as progress:
        found = other_cases.suppose(store, asked, as_of=day, risk=risk, progress=progress)
    if out is None:
        for line in case_lines(found, terminal_width()):
            typer.echo(line)
    else:
        write_case(found, out)
        count = len(found[0].table)
        typer.echo(f"The case of {count} machine{'' if count == 1 else 's'} written to {out}")
    if keep is not None:
        typer.echo(other_cases.keep_case(store, asked, signed))


def _asked(store: Path, what: str) -> Case:
    """Read the case from a file, else the kept one of that name."""
    from trendwear import other_cases
    from trendwear.planning.case_file import read_case

    path = Path(what)
    if path.suffix.lower() == ".toml" or path.is_file():
        return read_case(path)
    return other_cases.open_case(store, what)


def _named(asked: Case, keep: str | None) -> Case:
    return asked if keep is None else replace(asked, name=keep)


def _signed(by: str | None) -> str:
    if by is None or not by.strip():
        raise UsageProblem("--by", "it is missing", "Say who keeps or deletes the case.")
    return by


def _unused(**options: object) -> None:
    for name, given in options.items():
        if given is not None:
            raise UsageProblem(f"--{name}", "it does not go with this", "Leave it out.")

"""The verbs that correct what was loaded: ``exclude``, ``amend``, ``accept-event``, ``take-back``.

Each asks who and why; nothing is ever deleted, and ``--undo`` stays in the record too.
"""

from __future__ import annotations

from typing import Annotated

import typer

from trendwear.errors import UsageProblem
from trendwear.verbs.options import DEFAULT_STORE, StoreOption, terminal_width

__all__ = ["accept_event", "amend", "exclude", "take_back"]

Machine = Annotated[str, typer.Argument(help="The machine.")]
Clearance = Annotated[str, typer.Argument(help="The clearance.")]
Date = Annotated[str, typer.Argument(help="Its date, or hours (31000 h) where it has none.")]
State = Annotated[str, typer.Argument(help="as-found, as-left, check or not stated.")]
By = Annotated[str, typer.Option(help="Who says so.")]
Why = Annotated[str, typer.Option(help="Why.")]
Plane = Annotated[str | None, typer.Option(help='Its plane, "" for a blank one.')]
Angle = Annotated[str | None, typer.Option(help='Its angle, "" for a blank one.')]
Repeat = Annotated[str | None, typer.Option(help='Its repeat, "" for a blank one.')]
Opening = Annotated[str | None, typer.Option(help='Its opening, "" for a blank one.')]
Undo = Annotated[bool, typer.Option("--undo", help="Take the last one back.")]


def exclude(
    machine: Machine,
    clearance: Clearance,
    date: Date,
    state: State,
    by: By,
    why: Why,
    plane: Plane = None,
    angle: Angle = None,
    repeat: Repeat = None,
    opening: Opening = None,
    undo: Undo = False,
    store: StoreOption = DEFAULT_STORE,
) -> None:
    """Take a reading out of the fit; it stays in the record and in the chart."""
    from trendwear.store import corrections
    from trendwear.store.signed import Signed
    from trendwear.store.which_row import ReadingKey

    key = ReadingKey(machine, clearance, date, state, plane, angle, repeat, opening)
    act = corrections.undo_exclude if undo else corrections.exclude
    typer.echo(act(store, key, Signed(by, why)))


def amend(
    machine: Machine,
    clearance: Clearance,
    date: Date,
    state: State,
    by: By,
    why: Why,
    value: Annotated[
        str | None, typer.Option(help="The right value, in any notation of a sheet.")
    ] = None,
    plane: Plane = None,
    angle: Angle = None,
    repeat: Repeat = None,
    opening: Opening = None,
    undo: Undo = False,
    store: StoreOption = DEFAULT_STORE,
) -> None:
    """Give a reading another value; the former one stays readable."""
    from trendwear.store import corrections
    from trendwear.store.signed import Signed
    from trendwear.store.which_row import ReadingKey

    key = ReadingKey(machine, clearance, date, state, plane, angle, repeat, opening)
    signed = Signed(by, why)
    if undo and value is None:
        typer.echo(corrections.undo_amend(store, key, signed))
    elif value is not None and not undo:
        typer.echo(corrections.amend(store, key, value, signed))
    else:
        found = "both --value and --undo" if undo else "neither --value nor --undo"
        raise UsageProblem("trendwear amend", found, "Give one of the two.")


def accept_event(
    machine: Machine,
    date: Annotated[str, typer.Argument(help="The day of the event.")],
    what: Annotated[str, typer.Argument(help="What happened, or some of its words.")],
    by: By,
    why: Why,
    undo: Undo = False,
    store: StoreOption = DEFAULT_STORE,
) -> None:
    """Answer for it that forecasts made before an event still hold."""
    from trendwear.store import corrections
    from trendwear.store.signed import Signed
    from trendwear.store.which_row import EventKey

    act = corrections.undo_accept_event if undo else corrections.accept_event
    typer.echo(act(store, EventKey(machine, date, what), Signed(by, why)))


def take_back(
    load: Annotated[int, typer.Argument(help="Its number: trendwear history --loads.")],
    by: By,
    why: Why,
    undo: Annotated[bool, typer.Option("--undo", help="Put the load in again.")] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would change; store nothing.")
    ] = False,
    store: StoreOption = DEFAULT_STORE,
) -> None:
    """Take a whole load back: its rows no longer count, and stay in the history."""
    from trendwear.report.history.loads import taken_back_lines
    from trendwear.store import put_again
    from trendwear.store import take_back as taking
    from trendwear.store.signed import Signed

    act = {
        (False, False): taking.take_back,
        (False, True): taking.preview_take_back,
        (True, False): put_again.undo_take_back,
        (True, True): put_again.preview_undo_take_back,
    }[undo, dry_run]
    done = act(store, load, Signed(by, why))
    for line in taken_back_lines(done.lines, terminal_width()):
        typer.echo(line)
    if done.tried:
        typer.echo("This is what would change; nothing was stored.")

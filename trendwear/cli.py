"""The ``trendwear`` command: one verb for each thing a person comes to do.

Heavy libraries are imported inside the verbs, so that ``--help`` answers at once.
"""

from __future__ import annotations

import importlib.util
import os
import socket
import sys
import tempfile
import traceback
from pathlib import Path
from types import TracebackType
from typing import Annotated

import typer

from trendwear import __version__
from trendwear.errors import OutputProblem, TrendwearError, UsageProblem
from trendwear.report.pdf.paper import Paper
from trendwear.verbs import (
    case,
    cold_clearance,
    compare,
    corrections,
    defer,
    draft,
    history,
    layout,
    parts,
    plan,
    propose_limits,
    sheet,
    template,
)
from trendwear.verbs.options import (
    DEFAULT_STORE,
    AsOfOption,
    PaperOption,
    StoreOption,
    day_asked,
    terminal_width,
)

__all__ = ["app", "main"]

MENDABLE, USAGE = 1, 2

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Wear trends of machine clearances, and when each will pass its limit.",
)


def _version(*, wanted: bool) -> None:
    if wanted:
        typer.echo(f"trendwear {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool,
        typer.Option("--version", is_eager=True, help="Print the version and stop."),
    ] = False,
) -> None:
    _version(wanted=version)


@app.command()
def load(
    paths: Annotated[
        list[Path], typer.Argument(help="Folders, workbooks or files.", readable=False)
    ],
    store: StoreOption = DEFAULT_STORE,
    headings: Annotated[
        Path | None, typer.Option(help="A headings file for a site's own headings (TOML).")
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would go in; store nothing.")
    ] = False,
    refused: Annotated[
        Path | None, typer.Option(help="Write every refused row to this CSV file.")
    ] = None,
    again: Annotated[
        bool, typer.Option("--again", help="Take in files that were taken back, too.")
    ] = False,
) -> None:
    """Bring readings into the store; refused rows are listed, good ones go in."""
    from trendwear.readings.headings import read_headings
    from trendwear.report.load_report import load_report_lines, write_refused
    from trendwear.report.steps import steps_shown
    from trendwear.store import intake

    take = intake.preview if dry_run else intake.load
    mapped = read_headings(headings) if headings else None
    files = intake.TakenBackFiles.COME_IN if again else intake.TakenBackFiles.STAY_OUT
    with steps_shown() as progress:
        how = intake.Loading(files, progress)
        report = take(paths, store=store, headings=mapped, how=how)
    for line in load_report_lines(report):
        typer.echo(line)
    if refused:
        write_refused(report, refused)
        typer.echo(f"Refused rows written to {refused}")
    if not report.clean:
        raise typer.Exit(MENDABLE)


@app.command()
def forecast(
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
    horizon_hours: Annotated[
        float | None,
        typer.Option(help="Overhaul interval in running hours; each machine's own if left."),
    ] = None,
    machine: Annotated[str | None, typer.Option(help="Only this machine.")] = None,
    first: Annotated[
        int | None, typer.Option(min=1, help="Show only so many of the most pressing.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="Write the whole table: .csv .xlsx .parquet .md .pdf")
    ] = None,
    paper: PaperOption = Paper.A4,
) -> None:
    """The limit-forecast table: what passes its limit, and when."""
    from trendwear import outlook
    from trendwear.report.export import check_suffix, write_table
    from trendwear.report.steps import steps_shown
    from trendwear.report.terminal import forecast_lines
    from trendwear.what_waits import nothing_registered

    if out is not None:
        check_suffix(out)
    with steps_shown() as progress:
        site = outlook.look(
            store, as_of=day_asked(as_of), horizon_hours=horizon_hours, progress=progress
        )
    told = outlook.limit_forecast(site, machine)
    if out is None:
        lines = forecast_lines(told, terminal_width(), first)
        for line in nothing_registered(store) if told.table.empty else lines:
            typer.echo(line)
        return
    write_table(told, out, paper)
    count = len(told.table)
    typer.echo(f"{count} row{'' if count == 1 else 's'} written to {out}")


@app.command()
def hindcast(
    store: StoreOption = DEFAULT_STORE,
    as_of: AsOfOption = None,
    out: Annotated[Path | None, typer.Option(help="Write the record: .csv .xlsx .md")] = None,
) -> None:
    """How good the forecasts would have been at every past opening."""
    from trendwear import outlook
    from trendwear.report.hindcast.export import check_record_suffix, write_record
    from trendwear.report.hindcast.terminal import hindcast_lines
    from trendwear.report.steps import steps_shown

    if out is not None:
        check_record_suffix(out)
    with steps_shown() as progress:
        told = outlook.hindcast(store, as_of=day_asked(as_of), progress=progress)
    if out is None:
        for line in hindcast_lines(told, terminal_width()):
            typer.echo(line)
        return
    write_record(told, out)
    typer.echo(f"{len(told.found)} as-found readings of {told.openings} openings written to {out}")


app.command()(history.history)
app.command()(template.template)
app.command()(layout.layout)
app.command()(draft.draft)
app.command()(plan.plan)
app.command()(defer.defer)
app.command()(sheet.sheet)
app.command()(compare.compare)
app.command()(parts.part)
app.command()(parts.parts)
app.command(epilog=case.EXAMPLE)(case.case)
app.command()(corrections.exclude)
app.command()(corrections.amend)
app.command()(corrections.accept_event)
app.command()(corrections.take_back)
app.command()(propose_limits.propose_limits)
app.command()(cold_clearance.cold_clearance)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where to write the sheets.")] = Path(
        "trendwear-demo"
    ),
) -> None:
    """Write the sheets of an invented sugar mill, to try everything on."""
    from trendwear.demo_plant import write_demo

    written = write_demo(folder)
    typer.echo("The demo mill's sheets:")
    for path in written:
        typer.echo(f"  {path}")
    typer.echo("Next: trendwear load " + " ".join(str(path) for path in written))


@app.command()
def dashboard(
    store: StoreOption = DEFAULT_STORE,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port on this computer.")] = 8501,
) -> None:
    """Serve the dashboard to this computer only."""
    from trendwear.bundled import bundled_folder
    from trendwear.dashboard_server import STORE_VARIABLE, dashboard_command

    if importlib.util.find_spec("streamlit") is None:
        raise OutputProblem(
            "the dashboard", "streamlit is not installed", "Run: pip install 'trendwear[dashboard]'"
        )
    with socket.socket() as probe:
        if probe.connect_ex(("127.0.0.1", port)) == 0:
            raise OutputProblem(
                f"port {port}", "another program serves there", "Name another with --port."
            )
    typer.echo(f"The dashboard: http://127.0.0.1:{port}  (stop it with Ctrl-C)")
    sys.stdout.flush()
    command = dashboard_command(bundled_folder("dashboards") / "app.py", port)
    surroundings = {**os.environ, STORE_VARIABLE: str(store.absolute())}
    os.execve(command[0], command, surroundings)


def main() -> None:
    """Run the command; what its user can mend is one message and exit code 1 (usage: 2)."""
    sys.excepthook = _log_fault
    try:
        typer.main.get_command(app)()
    except UsageProblem as problem:
        typer.echo(str(problem), err=True)
        sys.exit(USAGE)
    except TrendwearError as problem:
        typer.echo(str(problem), err=True)
        sys.exit(MENDABLE)


def _log_fault(
    kind: type[BaseException], fault: BaseException, trace: TracebackType | None
) -> None:
    """Keep the traceback of a fault of the program in a file, and name the file."""
    if issubclass(kind, KeyboardInterrupt):
        typer.echo("Stopped. What was not finished is not in the store.", err=True)
        return
    with tempfile.NamedTemporaryFile(
        "w", prefix="trendwear-", suffix=".log", delete=False, encoding="utf-8"
    ) as log:
        traceback.print_exception(kind, fault, trace, file=log)
    typer.echo(
        "trendwear failed. This is a fault of the program, not of your input; "
        f"what happened is written in {log.name}",
        err=True,
    )

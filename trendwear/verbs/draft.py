"""The verb ``draft``: proposes a register and the spellings, for a person to confirm."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trendwear.errors import UsageProblem
from trendwear.verbs.options import DEFAULT_STORE, StoreOption

__all__ = ["draft"]


def draft(
    out: Annotated[
        Path, typer.Option(help="Write it here: an .xlsx workbook, or a folder for CSV files.")
    ],
    paths: Annotated[
        list[Path] | None,
        typer.Argument(help="Folders, workbooks or files; none: what waits in the store."),
    ] = None,
    store: StoreOption = DEFAULT_STORE,
    headings: Annotated[
        Path | None, typer.Option(help="A headings file for a site's own headings (TOML).")
    ] = None,
) -> None:
    """Propose a register, and which spellings mean one position; you confirm it by loading it."""
    from trendwear.drafting import check_place, drafted, write_draft
    from trendwear.readings.headings import read_headings

    check_place(out)
    if not paths and not store.exists():
        raise UsageProblem(
            "trendwear draft",
            f"no sheets are named and there is no store {store}",
            "Name the sheets: trendwear draft SHEETS --out register.xlsx",
        )
    mapped = read_headings(headings) if headings else None
    made = drafted(paths or [], store if store.exists() else None, mapped)
    _tell_unread(made.refused, paths or [])
    for note in made.notes:
        typer.echo(note)
    if made.draft.is_empty:
        typer.echo("Nothing to propose: no readings were found whose position is not registered.")
        raise typer.Exit(1 if made.refused else 0)
    places = write_draft(made.draft, out)
    rows, blank = made.draft.rows, made.draft.open_cells
    yours = sum(len(cells) for sheet in blank.values() for cells in sheet)
    merged = sum(1 for row in rows["names"] if row["clearance"])
    machines = {row["machine"] for row in rows["clearances"]}
    typer.echo(
        f"Proposed: {_counted(len(rows['clearances']), 'clearance')} of "
        f"{_counted(len(machines), 'machine')}; {_counted(merged, 'spelling')} matched, "
        f"{len(rows['names']) - merged} for you to decide; {_counted(yours, 'cell')} to fill in."
    )
    typer.echo(f"Written to {', '.join(str(place) for place in places)}. Nothing is used yet.")
    sheets = [str(path) for path in paths or []] + (
        ["--headings", str(headings)] if headings else []
    )
    typer.echo("Check it, fill in what is missing, then:")
    typer.echo(f"  trendwear load {' '.join([str(out), *sheets, '--store', str(store)])}")


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _tell_unread(refused: int, paths: list[Path]) -> None:
    if refused:
        what = "1 row or sheet" if refused == 1 else f"{refused} rows or sheets"
        typer.echo(
            f"{what} could not be read and {'is' if refused == 1 else 'are'} left out. Why: "
            f"trendwear load --dry-run {' '.join(str(path) for path in paths)}"
        )

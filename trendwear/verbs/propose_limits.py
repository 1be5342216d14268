"""The verb ``propose-limits``: what rules of thumb give where the register has no limit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from trendwear.errors import UnknownName
from trendwear.verbs.options import DEFAULT_STORE, StoreOption, terminal_width

__all__ = ["propose_limits"]


def propose_limits(
    machine: Annotated[str | None, typer.Argument(help="Only this machine.")] = None,
    out: Annotated[
        Path | None, typer.Option(help="Write the proposals as a clearances sheet: .csv .xlsx")
    ] = None,
    store: StoreOption = DEFAULT_STORE,
) -> None:
    """What rules of thumb give where there is no limit; a person accepts it or not."""
    from trendwear.report.proposals.lines import proposal_lines
    from trendwear.report.proposals.sheet import check_sheet_suffix, write_sheet
    from trendwear.rules_of_thumb.proposals import as_sheet, proposals
    from trendwear.store.database import reader
    from trendwear.store.history import machines
    from trendwear.store.limit_status import without_limit
    from trendwear.wording import fold

    if out is not None:
        check_sheet_suffix(out)
    with reader(store) as connection:
        rows, known = without_limit(connection), machines(connection)["machine"]
    if machine is not None:
        if fold(machine) not in {fold(name) for name in known}:
            raise UnknownName(
                f"machine {machine}", f"{store} has no such machine", f"It has: {', '.join(known)}"
            )
        rows = rows[rows["machine"].map(fold) == fold(machine)]
    told = proposals(rows)
    if out is None:
        for line in proposal_lines(told, terminal_width()):
            typer.echo(line)
        return
    sheet = as_sheet(told)
    write_sheet(sheet, out)
    count = len(sheet)
    typer.echo(
        f"{count} proposed limit{'' if count == 1 else 's'} written to {out}; "
        "loaded as it stands, none of them counts"
    )

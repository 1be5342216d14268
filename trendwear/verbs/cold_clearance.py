"""The verb ``cold-clearance``: what to build a ring with cold, from the clearance wanted hot."""

from __future__ import annotations

from typing import Annotated

import typer

from trendwear.verbs.options import DEFAULT_STORE, StoreOption, terminal_width

__all__ = ["cold_clearance"]


def cold_clearance(
    shaft: Annotated[str, typer.Argument(help="The shaft's diameter: 2.500in, 63.5mm.")],
    rise: Annotated[str, typer.Argument(help="From cold to hot: 400F, 220C.")],
    hot: Annotated[str, typer.Option(help="The clearance wanted hot: 0.003in, 3mil.")],
    difference: Annotated[
        str | None, typer.Option(help="Growth of shaft less ring for one degree: 4e-6.")
    ] = None,
    materials: Annotated[
        str | None, typer.Option(help="Or the materials, SHAFT/RING: steel/carbon.")
    ] = None,
    store: StoreOption = DEFAULT_STORE,
) -> None:
    """What to build a ring with cold, computed; never the maker's value."""
    import textwrap

    from trendwear.derived.expansion import built_in_materials
    from trendwear.derived.ring import Ring, cold_of
    from trendwear.report.cold_clearance import cold_clearance_lines
    from trendwear.store import history
    from trendwear.store.database import reader

    known = built_in_materials()
    if materials is not None and store.exists():
        with reader(store) as connection:
            known = history.materials(connection)
    told = cold_of(Ring(shaft, rise, hot, difference, materials), known)
    for line in cold_clearance_lines(told):
        typer.echo(textwrap.fill(line, terminal_width(), subsequent_indent="    "))

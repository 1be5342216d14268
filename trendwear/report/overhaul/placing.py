"""The site's plan in words: which machine is opened in which window, and what does not fit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd

from trendwear.report.rounding import NONE

if TYPE_CHECKING:
    from trendwear.planning.site_plan import Placed

__all__ = ["placing_table", "placing_words"]

_PROVEN: Final = 1e-4
"""A gap this small cannot be told from none: the solver stops there."""


def placing_table(placed: Placed) -> pd.DataFrame:
    """Return one row a window: its machines, and how full it is."""
    board, window = placed.board, placed.placing.window
    rows = []
    for place, one in enumerate(board.windows.to_dict("records")):
        inside = np.flatnonzero(window == place)
        names = ", ".join(board.machines[machine] for machine in inside)
        crew = float(board.crew_days[inside].sum())
        rows.append(
            (
                one["outage"],
                f"{one['start']:%Y-%m-%d}",
                names or NONE,
                _of(float(len(inside)), one["machines"]),
                _of(crew, one["crew_days"]),
            )
        )
    columns = ["window", "starts", "machines", "how many", "crew days"]
    return pd.DataFrame(rows, columns=columns)


def _of(used: float, there: float) -> str:
    return f"{used:g}" if pd.isna(there) else f"{used:g} of {there:g}"


def placing_words(placed: Placed) -> list[str]:
    """Say how good the plan is, what it leaves out and what stands in the way."""
    return list(_words(placed))


def _words(placed: Placed) -> Iterator[str]:
    gap = placed.placing.gap
    if not placed.board.machines:
        yield "No machine needs one of these windows."
        return
    yield f"{placed.placing.solved.value.capitalize()}."
    yield f"Kept least: {placed.aim.value}; {placed.judged.price:,.0f} in this plan."
    if placed.board.unpriced:
        yield f"No cost is known, none is counted for: {', '.join(placed.board.unpriced)}."
    if np.isfinite(gap):
        yield (
            "Proven to be the best plan."
            if gap < _PROVEN
            else f"No plan can be better by more than {max(100 * gap, 0.1):.1f} %."
        )
    yield from placed.judged.broken
    for machine, ways in placed.judged.left_out.items():
        yield f"{machine} does not fit{_bound(placed, machine)}. {'. Or: '.join(ways)}."
    for machine, ways in placed.judged.waiting.items():
        yield f"{machine} is overdue and has to wait. {'. Or: '.join(ways)}."
    yield from _along(placed)
    elsewhere = list(_elsewhere(placed))
    if elsewhere:
        yield (
            "Renewals and orders are counted for each machine's own window, which is another "
            f"than here for {', '.join(elsewhere)}: choose the window under Renew or leave on "
            "the page Overhaul to see what it needs and by when."
        )


def _elsewhere(placed: Placed) -> Iterator[str]:
    """Machines placed in another window than their renewals and orders are counted for."""
    board = placed.board
    names = board.windows["outage"].tolist()
    for machine, meant, place in zip(
        board.machines, board.meant, placed.placing.window, strict=False
    ):
        if place >= 0 and meant is not None and names[place] != meant:
            yield f"{machine} ({meant})"


def _bound(placed: Placed, machine: str) -> str:
    """By which day it should be opened: the earlier of latest and due date."""
    board = placed.board
    if not board.not_after:
        return ""
    return f" before {board.not_after[board.machines.index(machine)]:%Y-%m-%d}"


def _along(placed: Placed) -> Iterator[str]:
    """Who is opened sooner than alone, because its train stops only together."""
    board, window = placed.board, placed.placing.window
    names = board.windows["outage"].tolist()
    for train in board.trains:
        for machine in train:
            place = int(window[machine])
            last = int(np.flatnonzero(board.allowed[machine]).max(initial=-1))
            if machine in board.overdue or not 0 <= place < last:
                continue
            others = [other for other in train if other != machine]
            ends = [int(np.flatnonzero(board.allowed[one]).max(initial=-1)) for one in others]
            held = [one for one, end in zip(others, ends, strict=True) if end <= place]
            held += [one for one in others if one in board.overdue and one not in held]
            if held:
                along = ", ".join(board.machines[one] for one in sorted(held))
                yield (
                    f"{board.machines[machine]} is opened in {names[place]} because its train "
                    f"stops only together ({along}); alone it could wait for {names[last]}."
                )

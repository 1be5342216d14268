"""Any placing of machines judged by one yardstick: what it costs, which rules it breaks,
and what would make the machines that are left out fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trendwear.errors import UnknownName
from trendwear.planning.site import Board, Placing, Solved
from trendwear.wording import fold

__all__ = ["Judged", "by_hand", "judge"]


@dataclass(frozen=True)
class Judged:
    """What a placing is worth.

    Attributes
    ----------
    price : float
        Of the machines placed and the windows used; NaN where one is unknown.
    broken : list of str
        Rules that it breaks, in words.
    left_out : dict of str to list of str
        Machines without a window, and what stands in its way in each window that is in
        time, all others staying where they are; the least first.
    waiting : dict of str to list of str
        Machines that no window serves in time and that are not in the first they fit, and
        what stands in the way of each earlier one.
    """

    price: float
    broken: list[str]
    left_out: dict[str, list[str]]
    waiting: dict[str, list[str]]


def by_hand(board: Board, windows: Mapping[str, str | None]) -> Placing:
    """Return a placing that a person made: the window of each machine by name.

    Machines not named are left out.

    Raises
    ------
    UnknownName
        A machine or window that is not on the board.
    """
    machines = {fold(name): place for place, name in enumerate(board.machines)}
    offered = {fold(name): place for place, name in enumerate(board.windows["outage"])}
    window = np.full(len(machines), -1, dtype=np.int64)
    for machine, name in windows.items():
        if fold(machine) not in machines:
            raise UnknownName(
                f"machine {machine}", "it needs no window here", "Leave it out of the plan."
            )
        if name is not None and fold(name) not in offered:
            known = ", ".join(board.windows["outage"])
            raise UnknownName(f"outage {name}", "it is not on offer", f"On offer: {known}")
        window[machines[fold(machine)]] = -1 if name is None else offered[fold(name)]
    whole = bool((window >= 0).all())
    return Placing(window, Solved.ALL_PLACED if whole else Solved.SOME_LEFT_OUT, float("nan"))


def judge(board: Board, placing: Placing) -> Judged:
    """Return what a placing costs, which rules it breaks and what would mend it."""
    window = placing.window
    left = np.flatnonzero(window < 0)
    return Judged(
        price=board.price_of(window),
        broken=list(_broken(board, window)),
        left_out={
            board.machines[machine]: list(_mends(board, window, int(machine))) for machine in left
        },
        waiting={
            board.machines[machine]: list(_mends(board, window, machine, int(window[machine])))
            for machine in board.overdue
            if window[machine] > int(board.allowed[machine].argmax())
        },
    )


def _broken(board: Board, window: NDArray[np.int64]) -> Iterator[str]:
    names = board.windows["outage"].tolist()
    for machine, place in enumerate(window):
        if place >= 0 and not board.allowed[machine, place]:
            yield f"{board.machines[machine]} cannot be opened in {names[place]}, or not in time"
    for place, name in enumerate(names):
        inside = window == place
        room, crew = board.windows[["machines", "crew_days"]].iloc[place]
        if np.isfinite(room) and inside.sum() > room:
            yield f"{name} takes {room:.0f} machines, not {inside.sum()}"
        need = float(board.crew_days[inside].sum())
        if np.isfinite(crew) and need > crew:
            yield f"{name} has {crew:.0f} crew days, not {need:.0f}"
    overlap = set(board.overlapping)
    for running, spare in board.pairs:
        if (window[running], window[spare]) in overlap:
            yield (
                f"{board.machines[spare]} stands in for {board.machines[running]}: "
                "not both in one window"
            )
    for train in board.trains:
        if len({int(window[machine]) for machine in train}) > 1:
            yield f"{', '.join(board.machines[m] for m in train)} stop only together"


def _mends(
    board: Board, window: NDArray[np.int64], machine: int, before: int | None = None
) -> Iterator[str]:
    """What stands in the way of one machine, with its train, in each window before one."""
    together = next((train for train in board.trains if machine in train), (machine,))
    names = board.windows["outage"].tolist()
    usable = [
        place
        for place in range(len(names) if before is None else before)
        if board.allowed[list(together), place].all()
    ]
    if not usable:
        yield _no_window(board, together, machine)
        return
    said = []
    for place in usable:
        moved = window.copy()
        moved[list(together)] = place
        rules = sorted(set(_broken(board, moved)) - set(_broken(board, window)))
        said.append((len(rules), f"{names[place]} would do but for this: {'; '.join(rules)}"))
    yield from (words for _, words in sorted(said, key=lambda one: one[0]))


def _no_window(board: Board, together: tuple[int, ...], machine: int) -> str:
    others = [board.machines[one] for one in together if one != machine]
    if others and board.allowed[machine].any():
        return f"a window in time for it and for {', '.join(others)} of its train alike"
    return "a window it can be opened in before its latest date, or a higher accepted risk"

"""A whole site's machines into outage windows under capacity: a mixed-integer program.

With ``x[m, w]`` 1 where machine m is opened in window w,

and ``used[w]`` 1 where any machine is,

    least    sum price[m, w] x[m, w] + sum once[w] used[w] + much sum left_out[m]
    so that  every machine has one window or is left out,
             no window takes more machines or crew days than it has,
             a running machine and its spare never open in windows that overlap,
             the machines of a train open in the same window.

Leaving a machine out costs more than any plan could save, so one is left out only where
not all fit.  Solved by HiGHS (Huangfu & Hall, *Math. Program. Comput.* 10, 2018) through
`scipy.optimize.milp`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum
from itertools import combinations
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

__all__ = ["Board", "Placing", "Solved", "place_machines"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_SECONDS: Final = 10.0
_WITHIN: Final = 1e-4
"""The solver stops when its plan is proven to be within this share of the best one."""
_SOONER: Final = 1e-6
"""Of windows that cost the same the earlier is taken: what the last is taken to cost more, as a
share of the highest price; never shown."""


@dataclass(frozen=True)
class Board:
    """Machines that need a window, and the windows on offer.

    Attributes
    ----------
    machines : tuple of str
    windows : DataFrame
        `trendwear.planning_tables.OUTAGES`, in order of time.
    price : ndarray, shape (machines, windows)
        What it costs, or risks, to open each machine in each window.
    allowed : ndarray of bool, shape (machines, windows)
        Whether it can be opened there, and in time.
    crew_days : ndarray, shape (machines,)
        Crew days of each opening; 0 where not given.
    pairs : tuple of (int, int)
        Running machine and spare.
    trains : tuple of tuple of int
        Machines that can only stop together.
    """

    machines: tuple[str, ...]
    windows: pd.DataFrame
    price: Floats
    allowed: Flags
    crew_days: Floats
    pairs: tuple[tuple[int, int], ...] = ()
    trains: tuple[tuple[int, ...], ...] = ()
    overdue: tuple[int, ...] = ()
    """Machines that no window serves in time: any window is allowed them, the sooner the better."""
    once: tuple[float, ...] = ()
    """What using each window costs, however many machines are opened in it; nothing if empty."""
    unpriced: tuple[str, ...] = ()
    """Machines whose price is not known: they count for nothing."""

    def price_of(self, window: NDArray[np.int64]) -> float:
        """What a placing (machines,) costs, windows used included; -1 is left out."""
        placed = np.flatnonzero(window >= 0)
        used = sum(self.once[place] for place in set(window[placed].tolist()) if self.once)
        return float(self.price[placed, window[placed]].sum()) + used

    @property
    def overlapping(self) -> list[tuple[int, int]]:
        """Pairs of windows that share a day, each window with itself among them."""
        start, end = self.windows["start"].tolist(), self.windows["end"].tolist()
        count = len(start)
        return [
            (one, other)
            for one in range(count)
            for other in range(count)
            if start[one] <= end[other] and start[other] <= end[one]
        ]


class Solved(Enum):
    """How the program ended."""

    ALL_PLACED = "every machine has a window"
    SOME_LEFT_OUT = "not all machines fit"
    NOTHING_TO_PLACE = "no machine needs a window"
    NO_PLAN = "no plan was found in the time given"


@dataclass(frozen=True)
class Placing:
    """Where every machine is opened.

    Attributes
    ----------
    window : ndarray of int, shape (machines,)
        Place among the windows; -1 where left out.
    solved : Solved
    gap : float
        How far the plan may still be from the best one, as a share of its price; NaN where
        nobody can say (a plan made by hand).
    """

    window: NDArray[np.int64]
    solved: Solved
    gap: float


def place_machines(board: Board, seconds: float = _SECONDS) -> Placing:
    """Return the cheapest placing of the machines of a board."""
    count, offered = len(board.machines), len(board.windows)
    if count == 0:
        return Placing(np.empty(0, dtype=np.int64), Solved.NOTHING_TO_PLACE, 0.0)
    price, once, left_out = _prices(board)
    sooner = np.linspace(0.0, _SOONER, offered)
    cells = count * offered
    rows = list(_rules(board))
    entries = [
        (row, column, value) for row, (some, _, _) in enumerate(rows) for column, value in some
    ]
    row, column, value = (np.array(part) for part in zip(*entries, strict=True))
    shape = (len(rows), cells + count + len(once))
    matrix = coo_array((value, (row, column)), shape=shape).tocsr()
    solved = milp(
        c=np.concatenate([(price + sooner).ravel(), np.full(count, left_out), once]),
        constraints=LinearConstraint(matrix, [low for _, low, _ in rows], [up for *_, up in rows]),
        integrality=np.concatenate([np.ones(cells), np.zeros(count + len(once))]),
        bounds=Bounds(0.0, np.append(board.allowed.ravel(), np.ones(count + len(once)))),
        options={"time_limit": seconds, "mip_rel_gap": _WITHIN},
    )
    if solved.x is None:
        return Placing(np.full(count, -1), Solved.NO_PLAN, float("nan"))
    taken = np.round(solved.x[:cells]).reshape(count, offered) > 0
    window = (
        np.where(taken.any(axis=1), taken.argmax(axis=1), -1) if offered else np.full(count, -1)
    )
    all_in = bool((window >= 0).all())
    scaled = replace(board, price=price, once=tuple(once))
    known = np.nan if solved.mip_dual_bound is None else solved.mip_dual_bound
    gap = _gap(scaled, window, left_out, float(known) - _SOONER * count)
    return Placing(window, Solved.ALL_PLACED if all_in else Solved.SOME_LEFT_OUT, gap)


def _prices(board: Board) -> tuple[Floats, Floats, float]:
    """Prices from 0 to 1, and one for leaving a machine out that outweighs them all."""
    price, once = np.where(board.allowed, board.price, 0.0), np.array(board.once, dtype=float)
    most = max(float(price.max(initial=0.0)), float(once.max(initial=0.0)))
    scale = most if most > 0 else 1.0
    return price / scale, once / scale, float(len(board.machines) + len(once) + 1)


def _gap(scaled: Board, window: NDArray[np.int64], left_out: float, bound: float) -> float:
    """The gap in what the placed machines cost: not diluted by the price of leaving out."""
    cost = scaled.price_of(window)
    whole = cost + left_out * float((window < 0).sum())
    if not np.isfinite(bound):
        return float("nan")
    short = max(whole - float(bound), 0.0)
    return short / cost if cost > 0 else short


Rule = tuple[list[tuple[int, float]], float, float]
"""Columns and their factors; least and most of their sum."""


def _rules(board: Board) -> Iterator[Rule]:
    count, offered = len(board.machines), len(board.windows)
    for machine in range(count):
        some = [(machine * offered + window, 1.0) for window in range(offered)]
        yield [*some, (count * offered + machine, 1.0)], 1.0, 1.0
    for window in range(len(board.once)):
        used = count * offered + count + window
        for machine in range(count):
            yield [(machine * offered + window, 1.0), (used, -1.0)], -1.0, 0.0
    yield from _capacities(board)
    yield from _bonds(board)


def _capacities(board: Board) -> Iterator[Rule]:
    """No window takes more machines or crew days than it has; a blank one has no bound."""
    offered = len(board.windows)
    room, crew = board.windows["machines"].tolist(), board.windows["crew_days"].tolist()
    for window in range(offered):
        cells = [machine * offered + window for machine in range(len(board.machines))]
        if np.isfinite(room[window]):
            yield [(cell, 1.0) for cell in cells], 0.0, max(room[window], 0.0)
        if np.isfinite(crew[window]):
            effort = list(zip(cells, board.crew_days.tolist(), strict=True))
            yield effort, 0.0, max(crew[window], 0.0)


def _bonds(board: Board) -> Iterator[Rule]:
    """A running machine and its spare apart, the machines of a train together."""
    offered = len(board.windows)
    for running, spare in board.pairs:
        for one, other in board.overlapping:
            yield [(running * offered + one, 1.0), (spare * offered + other, 1.0)], 0.0, 1.0
    for train in board.trains:
        for first, second in combinations(train, 2):
            for window in range(offered):
                cells = first * offered + window, second * offered + window
                yield [(cells[0], 1.0), (cells[1], -1.0)], 0.0, 0.0

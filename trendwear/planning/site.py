"""A whole site's machines into outage windows under capacity: a mixed-integer program.

With ``x[m, w]`` 1 where machine m is opened in window w, and ``used[w]`` 1 where any is,

    least    sum price[m, w] x[m, w] + sum once[w] used[w] + sum stay[m] left_out[m]
    so that  every machine has one window or is left out,
             no window takes more machines or crew days than it has,
             a running machine and its spare never open in windows that overlap,
             the machines of a train open in the same window.

No more machines are left out than must be: that is made least first.  Of those, the ones that
bear it best: ``stay`` is the highest price of each.  Solved by HiGHS
(Huangfu & Hall, *Math. Program. Comput.* 10, 2018) through `scipy.optimize.milp`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum
from itertools import combinations
from time import monotonic
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import coo_array

__all__ = ["Board", "Placing", "Solved", "place_machines"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_SECONDS: Final = 8.0
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
    not_after: tuple[dt.date, ...] = ()
    """Each machine's latest or due date, the earlier; not known where empty."""
    meant: tuple[str | None, ...] = ()
    """The window that each machine's own renewals and orders are counted for."""

    def price_of(self, window: NDArray[np.int64]) -> float:
        """What a placing (machines,) costs, windows used included; -1 is left out."""
        placed = np.flatnonzero(window >= 0)
        used = set(window[placed].tolist()) if self.once else set()
        paid = sum((self.once[place] for place in used), 0.0)
        return float(self.price[placed, window[placed]].sum()) + paid

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
    """Return the cheapest placing of the machines of a board.

    First as few are left out as can be, then the price is made least; both end in
    ``seconds``.
    """
    count, offered = len(board.machines), len(board.windows)
    if count == 0:
        return Placing(np.empty(0, dtype=np.int64), Solved.NOTHING_TO_PLACE, 0.0)
    begun, program = monotonic(), _program(board)
    scaled, stay = _scaled(board)
    cells = count * offered
    left_out = np.concatenate([np.zeros(cells), np.ones(count), np.zeros(len(board.once))])
    fewest = _least(program, left_out, seconds)
    if fewest.x is None:
        return Placing(np.full(count, -1), Solved.NO_PLAN, float("nan"))
    no_more = LinearConstraint(left_out[None, :], 0.0, round(fewest.fun) + 0.5)
    sooner = np.linspace(0.0, _SOONER, offered)
    price = np.concatenate([(scaled.price + sooner).ravel(), stay, scaled.once])
    held = replace(program, rules=[*program.rules, no_more])
    found = _least(held, price, max(seconds - (monotonic() - begun), 0.1))
    best = fewest if found.x is None else found
    taken = np.round(best.x[:cells]).reshape(count, offered) > 0
    window = (
        np.where(taken.any(axis=1), taken.argmax(axis=1), -1) if offered else np.full(count, -1)
    )
    bound = found.mip_dual_bound if fewest.success else None
    gap = float("nan")
    if bound is not None and np.isfinite(bound):
        whole = scaled.price_of(window)
        short = whole + float(stay[window < 0].sum()) - (float(bound) - _SOONER * count)
        gap = max(short, 0.0) / whole if whole > 0 else max(short, 0.0)
    all_in = bool((window >= 0).all())
    return Placing(window, Solved.ALL_PLACED if all_in else Solved.SOME_LEFT_OUT, gap)


def _scaled(board: Board) -> tuple[Board, Floats]:
    """The board with prices from 0 to 1, and what leaving each machine out counts as.

    One that is left out runs on beyond the last window: it counts as the dearest it may have.
    """
    price, once = np.where(board.allowed, board.price, 0.0), np.array(board.once, dtype=float)
    most = max(float(price.max(initial=0.0)), float(once.max(initial=0.0)))
    scale = most if most > 0 else 1.0
    scaled = replace(board, price=price / scale, once=tuple((once / scale).tolist()))
    return scaled, np.asarray(scaled.price.max(axis=1, initial=0.0), dtype=float)


@dataclass(frozen=True)
class _Program:
    """Variables: machine in window, machine left out, window used."""

    rules: list[LinearConstraint]
    whole: Floats
    bounds: Bounds


def _program(board: Board) -> _Program:
    rows = list(_rules(board))
    entries = [
        (row, column, value) for row, (some, _, _) in enumerate(rows) for column, value in some
    ]
    row, column, value = (np.array(part) for part in zip(*entries, strict=True))
    cells, others = board.allowed.size, len(board.machines) + len(board.once)
    matrix = coo_array((value, (row, column)), shape=(len(rows), cells + others)).tocsr()
    return _Program(
        [LinearConstraint(matrix, [low for _, low, _ in rows], [up for *_, up in rows])],
        np.concatenate([np.ones(cells), np.zeros(others)]),
        Bounds(0.0, np.append(board.allowed.ravel(), np.ones(others))),
    )


def _least(program: _Program, price: Floats, seconds: float) -> OptimizeResult:
    return milp(
        c=price,
        constraints=program.rules,
        integrality=program.whole,
        bounds=program.bounds,
        options={"time_limit": seconds, "mip_rel_gap": _WITHIN},
    )


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

"""How long a site of 300 machines and 12 windows takes to be planned, and how good the plan is.

Invented chances that grow from window to window, machines that must be opened before 20 %,
40 running and spare pairs, 30 trains of three; windows with room for all, for most, and for
half of the machines.  By the least risk, and by the least cost: parts, the chance of passing
a limit, running hours given away, and windows that are paid for once.  Run it with
``python tests/bench/site_plan.py``.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pandas as pd

from trendwear.planning.site import Board, place_machines
from trendwear.planning.site_judge import judge

MACHINES, WINDOWS = 300, 12
ROOMS = (45, 30, 15)
CREW_DAYS_A_MACHINE = 12.0
LATEST = 0.2


def invented(room: int, seed: int) -> Board:
    """A board of invented machines."""
    draw = np.random.default_rng(seed)
    start = pd.date_range("2027-01-15", periods=WINDOWS, freq="91D")
    windows = pd.DataFrame(
        {
            "outage": [f"window {number + 1}" for number in range(WINDOWS)],
            "start": start,
            "end": start + pd.Timedelta(days=20),
            "machines": float(room),
            "crew_days": room * CREW_DAYS_A_MACHINE,
        }
    )
    now = draw.uniform(0.0004, 0.04, MACHINES)[:, None]
    growth = draw.uniform(1.0, 3.0, MACHINES)[:, None]
    chance = 1.0 - np.exp(-now * np.arange(1.0, WINDOWS + 1) ** growth)
    allowed = chance <= LATEST
    allowed[~allowed.any(axis=1), 0] = True
    return Board(
        machines=tuple(f"M-{number + 1}" for number in range(MACHINES)),
        windows=windows,
        price=chance,
        allowed=allowed,
        crew_days=draw.integers(3, 25, MACHINES).astype(float),
        pairs=tuple((2 * pair, 2 * pair + 1) for pair in range(40)),
        trains=tuple((100 + 3 * n, 101 + 3 * n, 102 + 3 * n) for n in range(30)),
    )


def by_cost(board: Board, seed: int) -> Board:
    """The same board with prices in money, each above its machine's cheapest window."""
    draw = np.random.default_rng(seed)
    past = draw.uniform(5_000.0, 60_000.0, MACHINES)[:, None]
    an_hour = draw.uniform(0.02, 0.5, MACHINES)[:, None]
    hours = 2000.0 * np.arange(1.0, WINDOWS + 1)
    cost = past * board.price - an_hour * hours
    least = np.where(board.allowed, cost, np.inf).min(axis=1, keepdims=True)
    once = tuple(draw.uniform(0.0, 80_000.0, WINDOWS).round().tolist())
    return replace(board, price=cost - least, once=once)


def main() -> None:
    """Print time, gap and what was left out."""
    for room in ROOMS:
        risk = invented(room, seed=1)
        for aim, board in (("risk", risk), ("cost", by_cost(risk, seed=2))):
            begun = time.perf_counter()
            placing = place_machines(board)
            took = time.perf_counter() - begun
            told = judge(board, placing)
            print(
                f"room for {room} a window, least {aim}: {took:.2f} s, {placing.solved.value}, gap "
                f"{placing.gap:.2%}, {len(told.left_out)} left out, {len(told.broken)} rules broken"
            )


if __name__ == "__main__":
    main()

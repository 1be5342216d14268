"""The whole site in its windows, as solved or as a planner moves its machines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.planning.site_judge import by_hand, judge
from trendwear.report.overhaul.held import past_today
from trendwear.report.rounding import chance_text

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan
    from trendwear.planning.site_plan import Placed

__all__ = ["LEFT_OUT", "MACHINE", "WINDOW", "moved_words", "placed_table", "site_matrix"]

MACHINE: Final = "machine"
WINDOW: Final = "opened in"
LEFT_OUT: Final = "left out"
_OPENED: Final = "OPENED"


def placed_table(placed: Placed) -> pd.DataFrame:
    """Return every machine that needs a window, and the one it has."""
    names = placed.board.windows["outage"].tolist()
    window = [names[place] if place >= 0 else LEFT_OUT for place in placed.placing.window]
    return pd.DataFrame({MACHINE: list(placed.board.machines), WINDOW: window}, dtype="object")


def site_matrix(placed: Placed, plan: SitePlan, choice: Mapping[str, str]) -> pd.DataFrame:
    """Return machines down, windows across: where each is opened, and the chance before each.

    Parameters
    ----------
    placed : Placed
    plan : SitePlan
    choice : mapping of str to str
        The window of each machine, or `LEFT_OUT`.
    """
    board = placed.board
    chances = plan.windows.set_index(["machine", "outage"])[["chance_before", "hindrance"]]
    chances = chances[~chances.index.duplicated()]
    past = past_today(plan)
    rows = []
    for number, machine in enumerate(board.machines):
        row = {MACHINE: machine}
        for place, window in enumerate(board.windows["outage"]):
            chance, hindrance = chances.loc[(machine, window)]
            cell = f"(others {chance_text(chance)})" if machine in past else chance_text(chance)
            late = number in board.overdue or not board.allowed[number, place]
            if choice.get(machine) == window:
                cell = f"{_OPENED}, too late {cell}" if late else f"{_OPENED} {cell}"
            elif isinstance(hindrance, str):
                cell = "not possible"
            elif late:
                cell = f"too late {cell}"
            row[str(window)] = cell
        rows.append(row)
    return pd.DataFrame(rows, columns=[MACHINE, *map(str, board.windows["outage"])])


def moved_words(placed: Placed, choice: Mapping[str, str]) -> list[str]:
    """Judge windows chosen by hand by the yardstick of the plan.

    Raises
    ------
    UnknownName
        A machine or window that is not on the board.
    """
    return list(_moved(placed, choice))


def _moved(placed: Placed, choice: Mapping[str, str]) -> Iterator[str]:
    board = placed.board
    windows = {name: None if window == LEFT_OUT else window for name, window in choice.items()}
    judged = judge(board, by_hand(board, windows))
    best = placed.judged.price
    yield f"Kept least: {placed.aim.value}."
    yield f"Moved by hand {judged.price:,.0f}, in the plan {best:,.0f}."
    yield from (f"Not possible: {rule}." for rule in judged.broken)
    for machine in judged.left_out:
        yield f"{machine} is left out."
    for machine in judged.waiting:
        yield f"{machine} is overdue and has to wait."
    if not judged.broken and not judged.left_out:
        yield "Every machine has a window, and no rule is broken."

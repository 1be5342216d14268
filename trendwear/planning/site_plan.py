"""The site's plan as a whole: its machines into its windows, solved and judged."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from trendwear.planning.plan import SitePlan
from trendwear.planning.site import Board, Placing, place_machines
from trendwear.planning.site_board import Aim, board_of
from trendwear.planning.site_judge import Judged, judge
from trendwear.planning.windows import ahead_of

__all__ = ["Placed", "place_site"]


@dataclass(frozen=True)
class Placed:
    """Where the machines of a site are opened, and what that is worth."""

    aim: Aim
    board: Board
    placing: Placing
    judged: Judged


def place_site(
    plan: SitePlan, machines: pd.DataFrame, outages: pd.DataFrame, aim: Aim = Aim.RISK
) -> Placed:
    """Place every machine that needs a window before the last one has ended.

    Parameters
    ----------
    plan : SitePlan
        Of the whole site.
    machines : DataFrame
        `trendwear.tables.MACHINES`.
    outages : DataFrame
        `trendwear.planning_tables.OUTAGES`.
    aim : Aim
        What is to be kept least.
    """
    coming = ahead_of(outages, pd.Timestamp(plan.as_of))
    board = board_of(plan, machines, coming, aim)
    placing = place_machines(board)
    return Placed(aim, board, placing, judge(board, placing))

"""What only a printed plan holds: its paper, and a chart for each of the first machines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from trendwear.planning.over_time import OverTime, over_time
from trendwear.report.overhaul.overview import machines_in_order
from trendwear.report.pdf.paper import Paper

if TYPE_CHECKING:
    from trendwear.forecasting.site import SiteForecast
    from trendwear.planning.plan import SitePlan

__all__ = ["Printed", "printed_for"]

_CHARTS: Final = 40
"""No more charts: each takes half a second, and nobody leafs through hundreds."""


@dataclass(frozen=True)
class Printed:
    """What a plan on paper holds beyond the plan.

    Attributes
    ----------
    paper : Paper
    over_time : sequence of OverTime
        How the chances of the most pressing machines rise.
    """

    paper: Paper = Paper.A4
    over_time: Sequence[OverTime] = ()


def printed_for(
    path: Path, told: SiteForecast, plans: Sequence[SitePlan], paper: Paper = Paper.A4
) -> Printed:
    """Return what a plan written to ``path`` holds beyond the plan; nothing where it is no PDF."""
    if path.suffix.lower() != ".pdf":
        return Printed(paper)
    first = machines_in_order(plans)[:_CHARTS]
    return Printed(paper, [over_time(told, plans, machine) for machine in first])

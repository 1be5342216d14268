"""What a machine shares with the site around it while it lies open: the windows and the shelf."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.forecasting.clock import Clock
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import Accepted
from trendwear.planning.needs import orders_at
from trendwear.planning.overhaul import Limiting
from trendwear.planning.plan import SitePlan
from trendwear.planning.renewals import Renewals
from trendwear.planning.spares import OrderRules
from trendwear.planning_tables import OUTAGES

__all__ = ["TODAY", "Around", "with_today"]

TODAY: Final = "today, outside all windows"
"""Stands for an opening now, outside all windows."""


@dataclass(frozen=True)
class Around:
    """The site around an open machine.

    Attributes
    ----------
    told : SiteForecast
    plan : SitePlan
    limiting : Limiting
        Of the whole site.
    coming : DataFrame
        `trendwear.planning_tables.OUTAGES` ahead, and today (`with_today`).
    rules : OrderRules
    clock : Clock
        The machine's.
    start : Timestamp
        The day on which it is opened.
    """

    told: SiteForecast
    plan: SitePlan
    limiting: Limiting
    coming: pd.DataFrame
    rules: OrderRules
    clock: Clock
    start: pd.Timestamp

    @property
    def accepted(self) -> Accepted:
        """The accepted risks of the plan."""
        return self.plan.accepted

    def orders(self, lines: pd.DataFrame, machine: str) -> pd.DataFrame:
        """What the machine needs, the shelf shared with the site's other openings as planned.

        Parameters
        ----------
        lines : DataFrame
            `trendwear.planning_tables.RENEWALS` of the machine, as chosen.
        machine : str

        Returns
        -------
        DataFrame
            `trendwear.planning_tables.ORDERS` of the machine.
        """
        site = self.plan.renewals.table
        whole = pd.concat([site[site["machine"] != machine], lines], ignore_index=True)
        order = self.limiting.machines.get_indexer(whole["machine"])
        whole = whole.iloc[np.argsort(order, kind="stable")].reset_index(drop=True)
        renewals = Renewals(whole, {}, {})
        orders = orders_at(self.told, self.limiting, renewals, self.coming, self.rules)
        return orders[orders["machine"] == machine].reset_index(drop=True)


def with_today(coming: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """Return the windows ahead, and an opening today: what it needs is needed now."""
    now = tables.conform(
        pd.DataFrame({"outage": [TODAY], "start": [as_of], "end": [as_of]}), OUTAGES
    )
    return pd.concat([coming, now], ignore_index=True) if len(coming) else now

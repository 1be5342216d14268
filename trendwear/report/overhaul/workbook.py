"""A site's overhaul plan as a workbook: for people first, then every number."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import pandas as pd

from trendwear.planning.plan import joined
from trendwear.planning_tables import (
    COSTS,
    LOOKS,
    OPENING_COSTS,
    ORDERS,
    OVERHAUL,
    RENEWALS,
    WINDOWS,
)
from trendwear.report.cautions import CAUTIONS
from trendwear.report.overhaul.costs import COST_MEANINGS, COSTS_SAY, OPENING_COST_MEANINGS
from trendwear.report.overhaul.looks import LOOK_MEANINGS, LOOKS_SAY
from trendwear.report.overhaul.placing import placing_table, placing_words
from trendwear.report.overhaul.sheets import workbook_of
from trendwear.report.overhaul.table import (
    BESIDE_EVERY_DATE,
    OVERHAUL_HEADINGS,
    OVERHAUL_MEANINGS,
    accepted_words,
    overhaul_table,
)

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan
    from trendwear.planning.site_plan import Placed

__all__ = ["plan_workbook", "workbook_of"]


def plan_workbook(plans: Sequence[SitePlan], placed: Placed | None = None) -> bytes:
    """Return an XLSX workbook of a plan.

    Sheets: *overview* (for people), *overhaul* (`OVERHAUL`), *windows*, *renew or leave* and
    *orders* where one risk was chosen, *worth a look* where one more reading may move a date,
    *interval costs* and *cost of openings* where costs are
    given, *site* where the whole site was placed, *columns*, *about*.
    """
    sheets = {"overview": overhaul_table(plans), "overhaul": joined(plans)[list(OVERHAUL)]}
    if len(plans) == 1:
        sheets |= {
            "windows": plans[0].windows[list(WINDOWS)],
            "renew or leave": plans[0].renewals.table[list(RENEWALS)],
            "orders": plans[0].orders[list(ORDERS)],
        }
        if len(plans[0].looks):
            sheets["worth a look"] = plans[0].looks[list(LOOKS)]
        if len(plans[0].costs.table):
            sheets |= {
                "interval costs": plans[0].costs.table[list(COSTS)],
                "cost of openings": plans[0].costs.openings[list(OPENING_COSTS)],
            }
    if placed is not None:
        sheets["site"] = placing_table(placed)
        sheets["site in words"] = pd.DataFrame({"the site's windows": placing_words(placed)})
    sheets |= {"columns": _columns(), "about": _about(plans)}
    return workbook_of(sheets)


def _columns() -> pd.DataFrame:
    rows = [
        *OVERHAUL_MEANINGS.items(),
        *((f"overview: {name}", says) for name, says in OVERHAUL_HEADINGS.items()),
        *((f"worth a look: {name}", says) for name, says in LOOK_MEANINGS.items()),
        *((f"interval costs: {name}", says) for name, says in COST_MEANINGS.items()),
        *((f"cost of openings: {name}", says) for name, says in OPENING_COST_MEANINGS.items()),
    ]
    return pd.DataFrame(rows, columns=["column", "what it says"])


def _about(plans: Sequence[SitePlan]) -> pd.DataFrame:
    words = [
        f"Overhaul plan as of {plans[0].as_of:%Y-%m-%d}.",
        accepted_words(plans),
        BESIDE_EVERY_DATE,
        *([f"Worth a look: {LOOKS_SAY}"] if len(plans[0].looks) else []),
        *([COSTS_SAY] if len(plans[0].costs.table) else []),
        *CAUTIONS,
    ]
    return pd.DataFrame({"about this workbook": words})

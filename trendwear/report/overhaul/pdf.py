"""A site's overhaul plan as a document for a planning meeting."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.report.cautions import CAUTIONS
from trendwear.report.overhaul.charts import how_to_read, overhaul_chart
from trendwear.report.overhaul.costs import COSTS_SAY, costs_table, opening_costs_table
from trendwear.report.overhaul.overview import in_order, machines_in_order, overview_rows
from trendwear.report.overhaul.placing import placing_table, placing_words
from trendwear.report.overhaul.printed import Printed
from trendwear.report.overhaul.table import (
    BESIDE_EVERY_DATE,
    OVERHAUL_HEADINGS,
    accepted_words,
    renewals_table,
    to_order_table,
    windows_table,
)
from trendwear.report.pdf.document import document
from trendwear.report.pdf.picture import picture
from trendwear.report.rounding import NONE

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan
    from trendwear.planning.site_plan import Placed

__all__ = ["plan_pdf"]

_TEMPLATE: Final = Path(__file__).with_name("plan.typ")
_CHART_MM: Final = 155
_CHART_PIXELS: Final = 285
"""Its height between the axes, so that a machine's page has room for what to renew."""
_OVERVIEW_MM: Final = {
    "machine": 24,
    "accepted risk": 24,
    "latest overhaul": 27,
    "governed by": 57,
    "due date": 33,
    "outage": 37,
    "renew": 44,
    "order by": 20,
}
_BY_RISK_MM: Final = {
    "accepted risk": 26,
    "latest overhaul": 27,
    "outage": 37,
    "renew": 64,
    "order by": 20,
    "note": 92,
}
_WINDOWS_MM: Final = {
    "window": 27,
    "starts": 19,
    "chance of a limit passed before it": 23,
    "chance one window later": 20,
    "accepted risk holds": 19,
    "why it cannot be opened in it": 32,
}
_RENEWALS_MM: Final = {
    "clearance": 60,
    "recommended": 26,
    "chance past by then, left": 30,
    "chance past by then, renewed": 30,
    "interval with it and all above renewed": 42,
    "a renewed part starts from": 60,
}
_ORDERS_MM: Final = {
    "order by": 28,
    "need": 22,
    "to order": 15,
    "part": 38,
    "part number": 24,
    "at the supplier": 58,
    "lead time": 18,
    "for": 44,
    "chance past before delivery": 26,
}
_COSTS_MM: Final = {
    "machine": 22,
    "overhaul in time": 24,
    "once a limit is passed": 26,
    "cheapest interval": 29,
    "cost per 1000 h": 21,
    "at most 5 % more": 34,
    "interval at accepted risk": 32,
    "interval up to now": 30,
    "note": 55,
}
_OPENING_COSTS_MM: Final = {
    "opening": 34,
    "starts": 21,
    "paid in any case": 26,
    "expected cost": 26,
    "dearer than the cheapest by": 34,
}
_PLACING_MM: Final = {"window": 50, "starts": 25, "machines": 130, "how many": 30, "crew days": 38}


def plan_pdf(
    plans: Sequence[SitePlan], placed: Placed | None = None, printed: Printed | None = None
) -> bytes:
    """Return a plan as a PDF, the machine that must be opened first on top.

    Parameters
    ----------
    plans : sequence of SitePlan
        One, or one for each risk shown where none was chosen.
    placed : Placed, optional
        The site's machines in its windows.
    printed : Printed, optional
        The paper, and what the charts are drawn from.
    """
    printed = printed or Printed()
    machines = machines_in_order(plans)
    drawn = {told.machine: (told, overhaul_chart(told)) for told in printed.over_time}
    names = {
        machine: f"chart-{number}"
        for number, machine in enumerate(machines)
        if machine in drawn and drawn[machine][1] is not None
    }
    chosen = len(plans) == 1
    rows = overview_rows(plans, machines)
    data = {
        "title": "Overhaul plan",
        "subtitle": f"as of {plans[0].as_of:%Y-%m-%d}",
        "accepted": accepted_words(plans),
        "chosen": chosen,
        "foot": BESIDE_EVERY_DATE,
        "overview": _part(rows.assign(renew=rows["renew_short"]), _OVERVIEW_MM),
        "orders": _part(_late(to_order_table(plans[0])), _ORDERS_MM) if chosen else None,
        "placing": _placing(placed),
        "costs": _costs(plans[0], machines) if chosen else None,
        "machines": [
            {
                "machine": machine,
                "chart": names.get(machine, ""),
                "reading": how_to_read(drawn[machine][0]) if machine in names else "",
                **_machine(plans, machine, _of(rows, machine, "machine_name")),
            }
            for machine in machines
        ],
        "columns": list(OVERHAUL_HEADINGS.items()),
        "cautions": list(CAUTIONS),
    }
    charts = {name: _drawn(drawn[machine][1]) for machine, name in names.items()}
    return document(_TEMPLATE, data, as_of=plans[0].as_of, charts=charts, paper=printed.paper)


def _drawn(chart: Any) -> bytes:
    return picture(chart.properties(height=_CHART_PIXELS), _CHART_MM)


def _machine(plans: Sequence[SitePlan], machine: str, rows: pd.DataFrame) -> dict[str, Any]:
    """What stands on the page of one machine."""
    windows = _of(windows_table(plans[0]), machine)
    told: dict[str, Any] = dict.fromkeys(("by_risk", "renewals", "opening", "costs"))
    told["notes"] = []
    if len(plans) > 1:  # whether a risk holds is not known before one is chosen
        widths = {name: mm for name, mm in _WINDOWS_MM.items() if name != "accepted risk holds"}
        by_risk = _part(rows, _BY_RISK_MM)
        return {**told, "windows": _part(windows, widths), "by_risk": by_risk}
    told["windows"] = _part(windows, _WINDOWS_MM)
    told["notes"] = [note for note in rows["note"].iloc[0].split("; ") if note != NONE]
    openings = opening_costs_table(plans[0], machine)
    told |= {"costs": _part(openings, _OPENING_COSTS_MM) if len(openings) else None}
    renewals = _of(renewals_table(plans[0]), machine)
    if len(renewals):
        first = renewals.iloc[0]
        opening, following = first["opening"], first["next chance to open"]
        told |= {"opening": f"at {opening}; next chance to open: {following}"}
        told |= {"renewals": _part(_marked(renewals), _RENEWALS_MM)}
    return told


def _of(table: pd.DataFrame, machine: str, column: str = "machine") -> pd.DataFrame:
    return table[table[column] == machine]


def _marked(renewals: pd.DataFrame) -> pd.DataFrame:
    said = renewals["recommended"]
    return renewals.assign(recommended=[{"text": word, "strong": word == "renew"} for word in said])


def _late(orders: pd.DataFrame) -> pd.DataFrame:
    days = orders["order by"]
    return orders.assign(**{"order by": [{"text": d, "alarm": "LATE" in d} for d in days]})


def _placing(placed: Placed | None) -> dict[str, Any] | None:
    if placed is None:
        return None
    return {**_part(placing_table(placed), _PLACING_MM), "words": placing_words(placed)}


def _costs(plan: SitePlan, machines: Sequence[str]) -> dict[str, Any] | None:
    """What intervals cost; None where no costs are given."""
    table = costs_table(plan)
    if table.empty:
        return None
    lacks = table["missing"].map(lambda missing: f"missing: {missing}; " if missing else "")
    table["note"] = (lacks + table["note"]).str.removesuffix("; ")
    widths, say = _COSTS_MM, COSTS_SAY
    if table["note"].nunique() == 1:  # what holds for all machines is said once
        note = table["note"].iloc[0]
        widths = {name: mm for name, mm in widths.items() if name != "note"}
        say = f"{say} {note[:1].upper()}{note[1:]}." if note else say
    return {**_part(in_order(table, machines), widths), "say": say}


def _part(table: pd.DataFrame, widths_mm: dict[str, int]) -> dict[str, Any]:
    columns = list(widths_mm)
    rows = table[columns].to_numpy(dtype="object").tolist() if len(table) else []
    return {"columns": [[name, mm] for name, mm in widths_mm.items()], "rows": rows}

"""What overhaul intervals and openings cost, for people: tables, words and a chart."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

from trendwear.report.chart_style import BLUE, GREEN, GREY, INK, PAPER, RED, SKY, dressed
from trendwear.report.rounding import NONE, chance_text, hours_text

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan

__all__ = [
    "COSTS_SAY",
    "COST_MEANINGS",
    "OPENING_COST_MEANINGS",
    "cost_chart",
    "costs_table",
    "money_text",
    "opening_costs_table",
]

COSTS_SAY: Final = (
    "The chance in these costs is that of passing a limit, not of breaking down: cost_if_past must "
    "be what passing a limit costs, on top of the overhaul. Money is as the sheets give it."
)
"""What stands beside every cost."""

COST_MEANINGS: Final[dict[str, str]] = {
    "machine": "the machine",
    "renewed": "clearances whose parts an overhaul renews: recommended, else those that govern",
    "parts_cost": "price times quantity of those parts",
    "crew_cost": "crew_days times crew_day_cost; empty where no crew_day_cost is given",
    "window": "the cheapest window on offer that the machine fits",
    "window_cost": "what that window costs, as if nothing else were opened in it",
    "planned": "an overhaul before any limit is passed: parts, crew and window",
    "past_limit": "an overhaul after a limit was passed: cost_if_past on top",
    "best_hours": "running hours from renewal to renewal at which an hour costs least",
    "best_cost_per_1000h": "expected cost of 1000 running hours at that interval",
    "flat_from": "intervals from here on cost at most 5 % more",
    "flat_to": "and up to here",
    "no_best": "yes: the longest interval looked at is the cheapest, opening early never pays",
    "risk_hours": "running hours from renewal until the accepted risk is reached",
    "risk_cost_per_1000h": "expected cost of 1000 running hours at that interval",
    "usual_hours": "the machine's interval up to now, in running hours",
    "usual_cost_per_1000h": "expected cost of 1000 running hours at that interval",
    "missing": "what must be given before there is a cost",
    "notes": "what else must be known",
}
"""What each column of `trendwear.planning_tables.COSTS` says."""

OPENING_COST_MEANINGS: Final[dict[str, str]] = {
    "machine": "the machine",
    "opening": "the window, or the latest overhaul by the accepted risk",
    "date": "when it starts",
    "hours_until": "planned running hours until then",
    "chance_before": "chance that some limit is passed before it, 0 to 1; 1 where one is today",
    "planned": "parts, crew and the whole window: paid in any case",
    "expected_cost": "that, and the cost of passing a limit times its chance",
    "dearer_by": "than the cheapest window, hours run until then counted at the least cost",
    "hindrance": "why the machine cannot be opened then",
}
"""What each column of `trendwear.planning_tables.OPENING_COSTS` says."""

_HIGHEST: Final = 4.0
"""The chart ends at so many times the least cost."""
_BEYOND: Final = 1.15
_SIZE: Final = (640, 280)


def money_text(amount: float) -> str:
    """Return an amount in the site's money, no finer than it matters.

    >>> money_text(12345.6), money_text(8.128), money_text(float("nan"))
    ('12,346', '8.13', '—')
    """
    if math.isnan(amount):
        return NONE
    return f"{amount:,.0f}" if abs(amount) >= 100 else f"{amount:.3g}"


def costs_table(plan: SitePlan, machine: str | None = None) -> pd.DataFrame:
    """Return the cost of the intervals as text, one row a machine; of one or of all.

    Empty where no costs are given.
    """
    rows = [_interval(row) for row in _of(plan.costs.table, machine).to_dict("records")]
    return pd.DataFrame(
        rows,
        columns=[
            "machine",
            "overhaul in time",
            "once a limit is passed",
            "cheapest interval",
            "cost per 1000 h",
            "at most 5 % more",
            "interval at accepted risk",
            "interval up to now",
            "missing",
            "note",
        ],
    )


def _of(table: pd.DataFrame, machine: str | None) -> pd.DataFrame:
    return table if machine is None else table[table["machine"] == machine]


def _interval(row: dict[Any, Any]) -> tuple[str, ...]:
    best = hours_text(row["best_hours"])
    from_, to = hours_text(row["flat_from"]), hours_text(row["flat_to"])
    flat = NONE if pd.isna(row["flat_from"]) else f"{from_} to {to}"
    return (
        row["machine"],
        money_text(row["planned"]),
        money_text(row["past_limit"]),
        f"{best} or longer" if row["no_best"] else best,
        money_text(row["best_cost_per_1000h"]),
        f"{from_} or longer" if row["no_best"] else flat,
        _at(row["risk_hours"], row["risk_cost_per_1000h"]),
        _at(row["usual_hours"], row["usual_cost_per_1000h"]),
        row["missing"] or "",
        row["notes"] or "",
    )


def _at(hours: float, cost: float) -> str:
    return hours_text(hours) if pd.isna(cost) else f"{hours_text(hours)} at {money_text(cost)}"


def _dearer(by: float, least: int) -> str:
    if by != 0:
        return money_text(by)
    return "cheapest" if least == 1 else "no difference"


def opening_costs_table(plan: SitePlan, machine: str | None = None) -> pd.DataFrame:
    """Return the cost of ending the present run at each opening as text, in order of time."""
    table = _of(plan.costs.openings, machine)
    # Several alike: what is past already costs the same in each, and none is to be preferred.
    least = table.loc[table["dearer_by"] == 0, "machine"].value_counts()
    rows = [
        (
            row["machine"],
            row["opening"],
            NONE if pd.isna(row["date"]) else f"{row['date']:%Y-%m-%d}",
            hours_text(row["hours_until"]),
            chance_text(row["chance_before"]),
            money_text(row["planned"]),
            money_text(row["expected_cost"]),
            _dearer(row["dearer_by"], int(least.get(row["machine"], 0))),
            row["hindrance"] or "",
        )
        for row in table.to_dict("records")
    ]
    return pd.DataFrame(
        rows,
        columns=[
            "machine",
            "opening",
            "starts",
            "running hours until then",
            "chance of a limit passed before it",
            "paid in any case",
            "expected cost",
            "dearer than the cheapest by",
            "why it cannot be opened in it",
        ],
    )


def cost_chart(plan: SitePlan, machine: str) -> Any:
    """Draw what 1000 running hours cost against the interval from renewal to renewal.

    Returns
    -------
    altair.LayerChart or None
        None where the machine has no cost curve.
    """
    import altair as alt

    curve = plan.costs.curves.get(machine)
    if curve is None:
        return None
    (row,) = _of(plan.costs.table, machine).to_dict("records")
    top = _HIGHEST * 1000.0 * curve.best_cost
    line = pd.DataFrame({"hours": curve.hours, "cost": 1000.0 * curve.cost})
    line = line[line["cost"] <= top]
    marked = np.nanmax([line["hours"].max(), row["risk_hours"], row["usual_hours"]])
    end = min(_BEYOND * float(marked), float(curve.hours[-1]))
    x = alt.X(
        "hours:Q",
        title="running hours from renewal to renewal",
        scale=alt.Scale(domain=[0.0, end], nice=False),
    )
    y = alt.Y(
        "cost:Q",
        title="expected cost of 1000 running hours",
        scale=alt.Scale(domain=[0.0, top], nice=False),
    )
    base = alt.Chart(line)
    flat = alt.Chart(pd.DataFrame({"from": [curve.flat_from], "to": [curve.flat_to]}))
    width, height = _SIZE
    layers = [
        flat.mark_rect(color=SKY, opacity=0.25).encode(x="from:Q", x2="to:Q"),
        base.mark_line(color=BLUE, strokeWidth=2.5, clip=True).encode(
            x=x,
            y=y,
            tooltip=[
                alt.Tooltip("hours:Q", title="interval, h", format=",.0f"),
                alt.Tooltip("cost:Q", title="cost of 1000 h", format=",.3~g"),
            ],
        ),
        *_marks(row, top, end),
    ]
    return dressed(alt.layer(*layers).properties(width=width, height=height))


def _marks(row: dict[Any, Any], top: float, end: float) -> list[Any]:
    """The intervals that matter, each a rule with its words on a height of its own."""
    import altair as alt

    told = [
        ("at least cost" + (" or longer" if row["no_best"] else ""), row["best_hours"], GREEN),
        ("accepted risk reached", row["risk_hours"], RED),
        ("up to now", row["usual_hours"], GREY),
    ]
    marks = []
    for number, (what, hours, colour) in enumerate(told):
        if not hours <= end:
            continue
        data = pd.DataFrame(
            {
                "hours": [hours],
                "cost": [top * (0.95 - 0.09 * number)],
                "words": [f"{what}, {hours_text(hours)}"],
            }
        )
        base = alt.Chart(data).encode(x="hours:Q")
        marks.append(base.mark_rule(color=colour, strokeWidth=2, strokeDash=[6, 3], clip=True))
        words = base.encode(y="cost:Q", text="words:N")
        side: dict[str, Any] = {"align": "left", "dx": 5}
        if hours > end / 2:
            side = {"align": "right", "dx": -5}
        halo = words.mark_text(fontSize=12, stroke=PAPER, strokeWidth=5, **side)
        marks += [halo, words.mark_text(fontSize=12, color=INK, **side)]
    return marks

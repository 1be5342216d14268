"""An issued plan beside the plan now, as tables of text and as the columns of files."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear import tables
from trendwear.planning.moved import ALREADY, COMPARED
from trendwear.planning.news import NEWS
from trendwear.report.issued.words import latest_words, moved_by, moved_days
from trendwear.report.rounding import NONE
from trendwear.tables import Columns

if TYPE_CHECKING:
    from trendwear.planning.moved import Moved

__all__ = [
    "CAME_IN",
    "COMPARED_FILE",
    "came_in_table",
    "compared_file",
    "compared_table",
    "has_changed",
    "scope_lines",
    "steps_table",
]

COMPARED_FILE: Final[Columns] = {**COMPARED, "moved_by": "text"}
"""The columns of ``trendwear compare`` in CSV and in Python, one row a machine."""

CAME_IN: Final[Columns] = {"step": "count", "group": "text", **NEWS}
"""What came in by each step."""

_MOVING: Final = ("latest_date", "outage", "order_by", "renew", "outcome", "placed")


def compared_file(moved: Moved) -> pd.DataFrame:
    """Return `COMPARED` with what moved each date in words (`COMPARED_FILE`)."""
    words = [moved_by(moved, machine) for machine in moved.table["machine"]]
    return tables.conform(moved.table.assign(moved_by=words), COMPARED_FILE)


def has_changed(row: dict[str, Any]) -> bool:
    """Whether anything a planner goes by is another now; *already* stays *already*."""
    if row["standing"] != "in both":
        return True
    names = [name for name in _MOVING if not (name == "latest_date" and _still_already(row))]
    return any(_differ(row[f"{name}_issued"], row[f"{name}_now"]) for name in names)


def _still_already(row: dict[str, Any]) -> bool:
    return row["outcome_issued"] in ALREADY and row["outcome_now"] in ALREADY


def _differ(one: Any, other: Any) -> bool:
    return not (pd.isna(one) and pd.isna(other)) and bool(one != other)


def compared_table(moved: Moved) -> pd.DataFrame:
    """Return the issued plan beside the plan now as text, one row a machine."""
    rows = []
    for row in moved.table.to_dict("records"):
        still = _still_already(row)
        rows.append(
            {
                "machine": row["machine"],
                "latest overhaul, issued": latest_words(
                    row["latest_date_issued"], row["outcome_issued"]
                ),
                "now": latest_words(row["latest_date_now"], row["outcome_now"]),
                "moved": NONE if still else moved_days(row["days"]),
                "what moved it": moved_by(moved, row["machine"]) or _standing(row),
                "window, issued": row["outage_issued"] or NONE,
                "window now": row["outage_now"] or NONE,
                "order by, issued": _day(row["order_by_issued"]),
                "order by now": _day(row["order_by_now"]),
                "more to renew": row["renew_added"] or NONE,
                "no longer to renew": row["renew_dropped"] or NONE,
            }
        )
    return pd.DataFrame(rows)


def _standing(row: dict[str, Any]) -> str:
    words = {"new": "new in the register since", "gone": "no longer in the register"}
    return words.get(row["standing"], NONE)


def _day(date: Any) -> str:
    return NONE if pd.isna(date) else f"{date:%Y-%m-%d}"


def steps_table(moved: Moved) -> pd.DataFrame:
    """Return the days that each step moved each latest overhaul, one row a machine."""
    moves = moved.moves
    names = {number: f"{number}. {step.group.value}" for number, step in enumerate(moved.steps)}
    days = moves.pivot_table(
        index="machine", columns="step", values="days", sort=False, dropna=False, aggfunc="first"
    )
    days = days.reindex(columns=list(names)).rename(columns=names)
    whole = moved.table.set_index("machine")["days"].reindex(days.index)
    return days.assign(**{"whole move, days": whole}).reset_index()


def came_in_table(moved: Moved) -> pd.DataFrame:
    """Return all that came in, step by step (`CAME_IN`)."""
    parts = [
        step.news.assign(step=number, group=step.group.value)
        for number, step in enumerate(moved.steps)
        if len(step.news)
    ]
    told = pd.concat(parts, ignore_index=True) if parts else tables.empty(CAME_IN)
    return tables.conform(told, CAME_IN)


def scope_lines(moved: Moved) -> list[str]:
    """Return what changed in the scope of the windows still ahead, a line a window and machine."""
    ahead = moved.scope[moved.scope["change"] != "the window has begun"]
    begun = moved.scope.loc[moved.scope["change"] == "the window has begun", "outage"]
    lines = [f"{window} has begun: its scope stays as issued." for window in begun.unique()]
    for (window, machine), some in ahead.groupby(["outage", "machine"], sort=False):
        told = [
            f"{change}: {', '.join(rows['clearance'])}"
            for change, rows in some.groupby(some.apply(_change, axis=1), sort=False)
        ]
        lines.append(f"{window}, {machine}: {'; '.join(told)}")
    return lines


def _change(row: Any) -> str:
    return f"added ({row['need_now']})" if row["change"] == "added" else str(row["change"])

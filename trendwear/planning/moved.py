"""How a plan moved since it was issued: step by step, machine by machine, and as a whole."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.planning.issued import IssuedPlan
from trendwear.planning.plan import SitePlan
from trendwear.planning.steps import Step
from trendwear.tables import Columns
from trendwear.wording import fold_column

__all__ = [
    "ALREADY",
    "COMPARED",
    "MOVES",
    "SCOPE_CHANGES",
    "Moved",
    "compared",
    "moves_of",
    "scope_changes",
]

ALREADY: Final = ("past its limit today", "above the accepted risk today")
"""Outcomes whose latest date is the day asked about itself."""

_SHOWN: Final = ("latest_date", "outage", "order_by", "renew", "outcome")
_SIDES: Final[Columns] = {
    f"{name}_{side}": what
    for name, what in zip(_SHOWN, ("date", "text", "date", "text", "text"), strict=True)
    for side in ("issued", "now")
}

MOVES: Final[Columns] = {
    "machine": "text",
    "step": "count",  # 0, 1, ... in the order in which inputs are taken over
    "group": "text",  # what is taken over in it
    **_SIDES,  # here: before and after the step
    "days": "number",  # the latest date moved by, later is positive; empty: no date on a side
    "order_days": "number",
}
"""What each step moves, one row a machine and step.  The days of a machine add up to the whole."""

COMPARED: Final[Columns] = {
    "machine": "text",
    "standing": "text",  # "in both", "new", "gone"
    **_SIDES,
    "days": "number",
    "order_days": "number",
    "placed_issued": "text",  # its window, the whole site placed together
    "placed_now": "text",
    "renew_added": "text",
    "renew_dropped": "text",
}
"""The plan as issued beside the plan now, one row a machine."""

SCOPE_CHANGES: Final[Columns] = {
    **dict.fromkeys(("outage", "machine", "clearance", "part_no", "part"), "text"),
    "need_issued": "text",
    "need_now": "text",
    "renew_issued": "flag",
    "renew_now": "flag",
    "change": "text",
}
"""What is no longer in a window's scope as it was issued; one row a clearance."""


@dataclass(frozen=True)
class Moved:
    """An issued plan held against the plan of another day.

    Attributes
    ----------
    issued : IssuedPlan
        Names as they are spelt now.
    as_of : date
    now : SitePlan
    steps : list of Step
    moves : DataFrame
        `MOVES`.
    table : DataFrame
        `COMPARED`.
    scope : DataFrame
        `SCOPE_CHANGES`.
    method_now : int
        Version of the mathematics now; the issued plan's stands in ``issued.issue``.
    program_now : str
    respelt : dict of str to str
        Machines that are spelt otherwise now.
    """

    issued: IssuedPlan
    as_of: dt.date
    now: SitePlan
    steps: list[Step]
    moves: pd.DataFrame
    table: pd.DataFrame
    scope: pd.DataFrame
    method_now: int
    program_now: str
    respelt: dict[str, str] = field(default_factory=dict)


def moves_of(issued: SitePlan, steps: Sequence[Step], plans: Sequence[SitePlan]) -> pd.DataFrame:
    """Return what each step moves (`MOVES`).

    Parameters
    ----------
    issued : SitePlan
        As it was told.
    steps, plans : sequence
        Each step and the plan after it.
    """
    before, parts = issued, [tables.empty(MOVES)]
    for number, (step, after) in enumerate(zip(steps, plans, strict=True)):
        rows = _side_by_side(before, after)
        rows = rows[rows["standing"] == "in both"]
        parts.append(tables.conform(rows.assign(step=number, group=step.group.value), MOVES))
        before = after
    return pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)


def compared(
    issued: SitePlan, now: SitePlan, placed: tuple[pd.DataFrame, pd.DataFrame]
) -> pd.DataFrame:
    """Return the plan as issued beside the plan now (`COMPARED`), machines in today's order.

    Parameters
    ----------
    issued, now : SitePlan
    placed : pair of DataFrame
        `trendwear.planning.issued.PLACED` as issued, and now.
    """
    rows = _side_by_side(issued, now)
    for side, table in zip(("issued", "now"), placed, strict=True):
        window = table.drop_duplicates("machine").set_index("machine")["outage"]
        rows[f"placed_{side}"] = rows["machine"].map(window)
    both = list(zip(rows["renew_issued"], rows["renew_now"], strict=True))
    rows["renew_added"] = [_left_over(now_, was) for was, now_ in both]
    rows["renew_dropped"] = [_left_over(was, now_) for was, now_ in both]
    return tables.conform(rows, COMPARED)


def _side_by_side(issued: SitePlan, now: SitePlan) -> pd.DataFrame:
    was = _keyed(issued.overhaul)
    is_now = _keyed(now.overhaul)
    names = [*is_now.index, *was.index.difference(is_now.index, sort=False)]
    old, new = was.reindex(names), is_now.reindex(names)
    rows = pd.DataFrame(
        {
            "machine": new["machine"].where(new["machine"].notna(), old["machine"]),
            "standing": np.where(
                old["machine"].isna(), "new", np.where(new["machine"].isna(), "gone", "in both")
            ),
            **{f"{name}_issued": old[name] for name in _SHOWN},
            **{f"{name}_now": new[name] for name in _SHOWN},
        }
    ).reset_index(drop=True)
    rows["days"] = (rows["latest_date_now"] - rows["latest_date_issued"]).dt.days
    rows["order_days"] = (rows["order_by_now"] - rows["order_by_issued"]).dt.days
    return rows


def _keyed(overhaul: pd.DataFrame) -> pd.DataFrame:
    return overhaul.set_index(pd.Index(fold_column(overhaul["machine"]), name=None))


def _left_over(some: object, others: object) -> str | None:
    """The names of a list that are not in another."""
    known = set(_listed(others))
    return "; ".join(name for name in _listed(some) if name not in known) or None


def _listed(text: object) -> list[str]:
    return text.split("; ") if isinstance(text, str) else []


def scope_changes(issued: pd.DataFrame, now: pd.DataFrame, as_of: dt.date) -> pd.DataFrame:
    """Return what differs between the scope lists of then and now (`SCOPE_CHANGES`).

    Parameters
    ----------
    issued, now : DataFrame
        `trendwear.planning.issued.SCOPE`.
    as_of : date
        Windows that began on or before it are no longer planned for: they are told apart.
    """
    key = ["outage", "machine", "clearance"]
    both = issued.merge(now, how="outer", on=key, suffixes=("_issued", "_now"), indicator="side")
    for name in ("part_no", "part", "start"):
        both[name] = both[f"{name}_now"].where(both[f"{name}_now"].notna(), both[f"{name}_issued"])
    for side in ("issued", "now"):
        both[f"renew_{side}"] = both[f"renew_{side}"].eq(other=True)  # missing: not in it
    begun = both["start"] <= pd.Timestamp(as_of)
    word = both["need_issued"].astype(str) + " -> " + both["need_now"].astype(str)
    alike = both["need_issued"] == both["need_now"]
    renewing = np.where(both["renew_now"], "to be renewed now", "no longer to be renewed")
    word = word.where(~alike, pd.Series(renewing, index=both.index))
    both["change"] = word.mask(both["side"] == "right_only", "added")
    dropped = both["side"] == "left_only"
    both["change"] = both["change"].mask(dropped, "no longer in it")
    both["change"] = both["change"].mask(dropped & begun, "the window has begun")
    same = alike & (both["renew_issued"] == both["renew_now"]) & (both["side"] == "both")
    rows = both[~same].sort_values(["start", "machine"], kind="stable").reset_index(drop=True)
    return tables.conform(rows, SCOPE_CHANGES)

"""The chance that is held against an accepted risk, beside that of passing any limit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from trendwear.planning.accepted import ANY
from trendwear.report.rounding import chance_text

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan

__all__ = ["chance_beside_risk", "holds_text", "past_today"]

PAST_TODAY: Final = "past today"


def past_today(plan: SitePlan) -> set[str]:
    """Return the machines that are past a limit today."""
    table = plan.overhaul
    return set(table.loc[table["past_today"].notna(), "machine"])


def holds_text(window: dict[Any, Any], past: set[str]) -> str:
    """Say whether every accepted risk holds until a window, and which is nearest: *yes: leak 7 %*.

    Parameters
    ----------
    window : dict
        A row of `trendwear.planning_tables.WINDOWS`.
    past : set of str
        The machines past a limit today: for them no window holds.
    """
    if window["machine"] in past:
        return PAST_TODAY
    word = "yes" if window["holds"] else "no"
    nearest = _nearest(window)
    return f"{word}: {nearest}" if nearest else word


def chance_beside_risk(row: dict[Any, Any], chance: str) -> str:
    """Return a chance as held against the accepted risk, and that of any limit where it is more.

    Each consequence has an accepted risk of its own, so that of all limits together can be
    above one of them while every one holds: *damage 7 %, any 15 %*.

    Parameters
    ----------
    row : dict
        A row of `WINDOWS` or of `OVERHAUL`.
    chance : str
        Its column with the chance that some limit is passed.
    """
    any_limit, nearest = chance_text(row[chance]), _nearest(row)
    if not nearest or nearest.endswith(f" {any_limit}"):
        return nearest or any_limit
    return f"{nearest}, any {any_limit}"


def _nearest(row: dict[Any, Any]) -> str:
    of = row["nearest_of"]
    named = isinstance(of, str) and of != ANY
    return f"{of} {chance_text(row['nearest_chance'])}" if named else ""

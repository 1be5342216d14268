"""How the chance that some limit of a machine is passed rises with time, for a chart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.errors import UnknownName
from trendwear.forecasting.clock import Clock
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.concessions import with_last_days
from trendwear.planning.overhaul import Limiting, limiting_of
from trendwear.planning.plan import SitePlan
from trendwear.planning.together import Together
from trendwear.planning.windows import planned_hours
from trendwear.tables import Columns

__all__ = ["ASKED", "CURVE", "MARKS", "OverTime", "over_time"]

CURVE: Final[Columns] = {
    "heading": "text",  # the consequence whose risk is accepted, or "any limit"
    "date": "date",  # empty where the duty is unknown
    "hours": "number",  # planned running hours from now; hours really run with no duty known
    "chance": "number",  # that some limit under the heading is passed by then
}
MARKS: Final[Columns] = {
    "heading": "text",
    "risk": "number",  # accepted
    "sets": "flag",  # this one sets the machine's date
    "hours": "number",  # running hours from now until it is reached, where it sets the date
    "date": "date",
}
ASKED: Final[Columns] = {
    "date": "date",
    "words": "text",  # what the date is
}

_POINTS: Final = 90
_LEAST_DAYS: Final = 400
_BEYOND: Final = 1.12
"""The picture ends so much beyond the last thing worth seeing."""
_NOT_BEYOND: Final = 2.5
"""A latest overhaul so many times as far as the windows is left outside the picture."""
_USUAL_HOURS: Final = 8000.0

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class OverTime:
    """One machine's chances over time, and what stands beside them.

    Attributes
    ----------
    machine : str
    as_of : Timestamp
    until : Timestamp or None
        The picture's end; None where the duty is unknown: then only hours are told.
    until_hours : float
    curve : DataFrame
        `CURVE`.  Clearances past their limit today are not in it.
    marks : DataFrame
        `MARKS`: every accepted risk of the machine, and where it sets the date.
    windows : DataFrame
        The machine's rows of `trendwear.planning_tables.WINDOWS`.
    due : DataFrame
        ``what``, ``due``, ``overdue``: dates set by law, insurer, site rule or a concession.
    asked : DataFrame
        `ASKED`: dates that the reader asked about; the picture reaches to them.
    """

    machine: str
    as_of: pd.Timestamp
    until: pd.Timestamp | None
    until_hours: float
    curve: pd.DataFrame
    marks: pd.DataFrame
    windows: pd.DataFrame
    due: pd.DataFrame
    asked: pd.DataFrame = field(default_factory=lambda: tables.empty(ASKED))
    past: str | None = None
    """The clearances past their limit today, which curve and marks leave out."""


def over_time(
    told: SiteForecast,
    plans: Sequence[SitePlan],
    machine: str,
    asked: pd.DataFrame | None = None,
) -> OverTime:
    """Return how the chances of one machine rise.

    Parameters
    ----------
    told : SiteForecast
    plans : sequence of SitePlan
        Of that forecast: one, or one for each risk shown where none was chosen.
    machine : str
    asked : DataFrame, optional
        `ASKED`: dates to be shown beside.

    Raises
    ------
    UnknownName
        The register has no such machine.
    """
    asked = tables.empty(ASKED) if asked is None else tables.conform(asked, ASKED)
    known = plans[0].overhaul["machine"]
    if machine not in set(known):
        offered = "It has: " + ", ".join(known)
        raise UnknownName(f"machine {machine}", "the register does not have it", offered)
    limiting = limiting_of(told)
    counted = (limiting.rows["machine"] == machine) & ~limiting.rows["past"].astype(bool)
    mine = limiting.only(counted.to_numpy())
    clock = told.basis.clocks[machine]
    as_of = pd.Timestamp(told.as_of).as_unit("us")
    windows = plans[0].windows[plans[0].windows["machine"] == machine].reset_index(drop=True)
    dated = with_last_days(told.site.planning.due_dates, limiting.concessions)
    due = _due(dated, machine, as_of)
    headings = plans[0].accepted.heading(mine.rows["consequence"])
    marks = _marks(plans, machine, list(headings.drop_duplicates()))
    if clock.duty.known:
        until = _until(as_of, windows, (due, asked), marks)
        dates = pd.Series(pd.date_range(as_of, until, periods=_POINTS).floor("D"))
        dates = dates.astype("datetime64[us]").drop_duplicates().reset_index(drop=True)
        hours = planned_hours([clock], dates)[0]
    else:
        until = None
        farthest = _until_hours(told.basis.horizon_hours[machine], marks)
        hours = np.linspace(0.0, farthest, _POINTS)
        dates = pd.Series(pd.NaT, index=range(_POINTS), dtype="datetime64[us]")
    curve = _curve(mine, headings, clock, (dates, hours))
    (gone,) = plans[0].overhaul.loc[known == machine, "past_today"].head(1)
    past = gone if isinstance(gone, str) else None
    whole = (curve, marks, windows, due, asked, past)
    return OverTime(machine, as_of, until, float(hours[-1]), *whole)


def _curve(
    mine: Limiting, headings: pd.Series, clock: Clock, along: tuple[pd.Series, Floats]
) -> pd.DataFrame:
    dates, hours = along
    names = headings.drop_duplicates().tolist()
    if not names:
        return tables.empty(CURVE)
    group = pd.Index(names).get_indexer(headings)
    code = group.astype(np.int64)
    if clock.duty.known:
        spread = np.full(len(names), clock.duty.spread)
        together = Together.as_planned(mine.crossing, code, spread)
    else:  # hours really run are all that can be told
        together = Together.in_hours(mine.crossing, code, len(names))
    together = together.by_part(mine.rows["position"])
    chances = np.array([together.any(np.full(len(names), at)) for at in hours])
    parts = [
        pd.DataFrame({"heading": name, "date": dates, "hours": hours, "chance": chances[:, number]})
        for number, name in enumerate(names)
    ]
    return tables.conform(pd.concat(parts, ignore_index=True), CURVE)


def _marks(plans: Sequence[SitePlan], machine: str, headings: list[str]) -> pd.DataFrame:
    rows = []
    for plan in plans:
        (answer,) = plan.overhaul[plan.overhaul["machine"] == machine].to_dict("records")
        without = pd.notna(answer["past_today"])
        date = answer["date_without_past"] if without else answer["latest_date"]
        for heading in headings:
            sets = heading == answer["risk_of"]
            hours = np.nan if without else answer["latest_hours"]
            rows.append(
                {
                    "heading": heading,
                    "risk": plan.accepted.risk(heading),
                    "sets": sets,
                    "hours": hours if sets else np.nan,
                    "date": date if sets else pd.NaT,
                }
            )
    return tables.conform(pd.DataFrame(rows, columns=list(MARKS)), MARKS)


def _due(due_dates: pd.DataFrame, machine: str, as_of: pd.Timestamp) -> pd.DataFrame:
    mine = due_dates[(due_dates["machine"] == machine) & due_dates["due"].notna()]
    mine = mine.assign(overdue=mine["due"] < as_of)
    return mine[["what", "due", "overdue"]].sort_values("due").reset_index(drop=True)


def _until(
    as_of: pd.Timestamp,
    windows: pd.DataFrame,
    dates: tuple[pd.DataFrame, pd.DataFrame],
    marks: pd.DataFrame,
) -> pd.Timestamp:
    """The picture's end: windows and due dates, and the latest overhaul where not far beyond.

    Where dates are asked about, they stand in place of windows and due dates.
    """
    due, asked = dates
    ends = asked["date"] if len(asked) else pd.concat([windows["end"], due["due"]])
    near = max(ends.max(), as_of + pd.Timedelta(days=_LEAST_DAYS)) if len(ends) else None
    latest = marks["date"].max()
    if near is None:
        near = max(as_of + pd.Timedelta(days=_LEAST_DAYS), latest if pd.notna(latest) else as_of)
        near = min(near, as_of + pd.Timedelta(days=30 * 365))
    elif pd.notna(latest) and latest - as_of <= _NOT_BEYOND * (near - as_of):
        near = max(near, latest)
    return (as_of + _BEYOND * (near - as_of)).floor("D")


def _until_hours(usual: float, marks: pd.DataFrame) -> float:
    reached = marks["hours"].max()
    least = usual if np.isfinite(usual) else _USUAL_HOURS
    return float(_BEYOND * max(least, reached if pd.notna(reached) else 0.0))

"""What a check before the overhaul could change: one more reading, and the date it may move.

A check is taken on a machine that was not taken apart (bearing cap off, lift check, bump
test) and resets nothing.  Each clearance that has a say in its machine's date is asked what
the date would be after one more reading of it today (`latest_after`); what can be read with
the least opened stands first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.forecasting.clock import Clock
from trendwear.forecasting.crossing import FARTHEST_HOURS
from trendwear.forecasting.site import SiteForecast
from trendwear.lengths import MM_PER_UNIT
from trendwear.planning.accepted import Accepted
from trendwear.planning.latest_after import After, latest_after
from trendwear.planning.opening_choice import ChosenWindows
from trendwear.planning.overhaul import Answer, Limiting
from trendwear.planning_tables import LOOKS
from trendwear.segments.histories import Histories
from trendwear.segments.hour_line import dates_of
from trendwear.wording import fold

__all__ = ["ACCESS_IN_ORDER", "WORTH_A_LOOK", "Offered", "looks_of"]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]

ACCESS_IN_ORDER: Final = ("none", "bearing cap", "packing housing", "casing")
"""What must be opened to reach a clearance, the least first."""
WORTH_A_LOOK: Final = 0.05
"""From this chance on that the window changes a reading is worth taking."""
_LEAST_SAY: Final = 0.02
"""A clearance less likely past its limit than this share of the accepted risk is not asked:
by Markov's inequality a reading raises its chance to that risk once in fifty at most."""
_MOST: Final = 5
_RANGE: Final = (0.05, 0.95)


@dataclass(frozen=True)
class Offered:
    """The coming windows, and which of them each machine is meant for.

    Attributes
    ----------
    coming : DataFrame
        `trendwear.planning_tables.OUTAGES`, in order of time.
    chosen : ChosenWindows
    planned : ndarray, shape (machines, windows)
        Planned hours from now until each window.
    """

    coming: pd.DataFrame
    chosen: ChosenWindows
    planned: Floats


def looks_of(
    told: SiteForecast,
    limiting: Limiting,
    accepted: Accepted,
    answers: pd.DataFrame,
    offered: Offered,
) -> pd.DataFrame:
    """Return what one more reading of each clearance may change (`LOOKS`).

    Parameters
    ----------
    told : SiteForecast
    limiting : Limiting
        All that may limit, those past today by forecast among them.
    accepted : Accepted
    answers : DataFrame
        `trendwear.planning.answers.Answers.table` with ``due_date``.
    offered : Offered

    Returns
    -------
    DataFrame
        Machines in the order of their latest dates.  None of a machine that was *read* past a
        limit, or that several clearances are past by forecast: no one reading moves its date.
    """
    counted = _counted(limiting, answers)
    asked = _asked(counted, accepted, answers, offered)
    if asked.empty:
        return tables.empty(LOOKS)
    gauges = _gauges(told.basis.cut).reindex(asked["position"])
    uncertainty = gauges["u_mm"].to_numpy(dtype=float)
    after = latest_after(counted, accepted, asked["position"].to_numpy(), uncertainty)
    sign = told.basis.cut.positions["sign"].to_numpy(dtype=float)[asked["position"]]
    in_unit = sign / asked["unit"].map(MM_PER_UNIT).to_numpy(dtype=float)
    rows = asked.reset_index(drop=True).assign(
        method=gauges["method"].to_numpy(),
        uncertainty=uncertainty * np.abs(in_unit),
        latest_date=answers["latest_date"].reindex(asked["machine"]).to_numpy(),
        **_dates(after, asked["machine"], told.basis.clocks),
        **_readings(after, in_unit),
    )
    windows = pd.DataFrame([_windows(row, answers, offered) for row in rows.to_dict("records")])
    rows = pd.concat([rows, windows, _changes(windows, after, in_unit)], axis=1)
    return tables.conform(_in_order(rows), LOOKS)


def _counted(limiting: Limiting, answers: pd.DataFrame) -> Limiting:
    """The clearances of machines whose answer one reading may move."""
    one_past = (answers["answer"] == Answer.PAST) & (answers["past"].map(len) == 1)
    moved = answers["answer"].isin([Answer.REACHED, Answer.ABOVE]) | one_past
    read_past = {machine for machine, _ in limiting.measured_past}
    machines = set(answers.index[moved]) - read_past
    rows = limiting.rows
    return limiting.only((rows["machine"].isin(machines) & ~rows["conceded"]).to_numpy(dtype=bool))


def _asked(
    counted: Limiting, accepted: Accepted, answers: pd.DataFrame, offered: Offered
) -> pd.DataFrame:
    """The clearances that have a say in their machines' dates, one row a position."""
    rows = counted.rows
    until = answers["planned"].fillna(0.0).to_numpy(dtype=float)
    until = np.where(answers["answer"] == Answer.REACHED, until, 0.0)
    chance = counted.by_machine.each(until) if len(rows) else np.zeros(0)
    risk = np.array([accepted.risk(one) for one in accepted.heading(rows["consequence"])])
    weight = np.divide(chance, risk, out=np.zeros(len(rows)), where=risk > 0)
    said = rows.assign(chance_past=chance, say=weight)
    said["chance_past"] = said.groupby("position")["chance_past"].transform("sum")
    said = said[said["say"] >= _LEAST_SAY].sort_values("say", ascending=False, kind="stable")
    said = said.drop_duplicates("position").groupby("machine", sort=False).head(_MOST)
    return said.sort_index()


def _gauges(cut: Histories) -> pd.DataFrame:
    """How each position is read: by the method of its last check, else of its last reading."""
    points = cut.points[cut.points["u_mm"].notna()]
    points = points.assign(check=points["state"] == "check")
    points = points.sort_values(["position", "check", "hours"], kind="stable")
    last = points.drop_duplicates("position", keep="last").set_index("position")
    # A stated exact start tells nothing of the gauge.
    usual = cut.points[cut.points["u_mm"] > 0].groupby("position")["u_mm"].median()
    u = last["u_mm"].where(last["u_mm"] > 0).fillna(usual).fillna(0.0)
    return pd.DataFrame({"method": last["method"], "u_mm": u}).reindex(cut.positions.index)


def _dates(after: After, machines: pd.Series, clocks: dict[str, Clock]) -> dict[str, Any]:
    """Where the latest date would be: the last whole day before so many planned hours."""
    hours = np.stack(_between(after.planned, *_RANGE), axis=1)
    hours[hours >= FARTHEST_HOURS] = np.nan
    day = np.full(hours.shape, np.nan)
    for machine, places in machines.groupby(machines.to_numpy()).indices.items():
        clock = clocks[str(machine)]
        day[places] = clock.duty.day_after(clock.day, hours[places].ravel()).reshape(-1, 2)
    found: dict[str, Any] = {"hours_p05": hours[:, 0], "hours_p95": hours[:, 1]}
    for name, days in (("date_p05", day[:, 0]), ("date_p95", day[:, 1])):
        found[name] = dates_of(pd.Series(days)).to_numpy()
    return found


def _readings(after: After, in_unit: Floats) -> dict[str, Floats]:
    low, high = _between(after.reading * in_unit[:, None], *_RANGE)
    return {"reading_p05": low, "reading_p95": high}


def _between(values: Floats, low: float, high: float) -> tuple[Floats, Floats]:
    """Quantiles (n,) of values (n, readings) of equal chance."""
    found = np.quantile(values, [low, high], axis=1, method="hazen")
    return found[0], found[1]


def _windows(row: dict[str, Any], answers: pd.DataFrame, offered: Offered) -> dict[str, Any]:
    """The window in time and the next that would do, with the planned hours until they start."""
    chosen, place = offered.chosen, int(row["code"])
    names, starts = offered.coming["outage"], offered.coming["start"]
    here = chosen.in_time[place]
    later = chosen.following[place] if here >= 0 else chosen.meant[place]
    due = answers["due_date"].iloc[place]
    if later >= 0 and pd.notna(due) and starts[later] > due:
        later = -1  # no reading of a clearance moves a date that is set by law or insurer
    planned = offered.planned[place]
    return {
        "outage": names[here] if here >= 0 else None,
        "later_outage": names[later] if later >= 0 else None,
        "until": planned[here] if here >= 0 else np.nan,
        "until_later": planned[later] if later >= 0 else np.nan,
    }


def _changes(windows: pd.DataFrame, after: After, in_unit: Floats) -> pd.DataFrame:
    """Chance that the window changes either way, and up to which reading a later one would do."""
    rows = []
    told = windows[["until", "until_later"]].to_numpy(dtype=float)
    for place, (until, until_later) in enumerate(told):
        planned = after.planned[place]
        reading = np.nan
        if (np.diff(planned) <= 0).all() and planned[-1] < until_later <= planned[0]:
            reading = np.interp(-until_later, -planned, after.reading[place]) * in_unit[place]
        rows.append(
            (_chance_before(planned, until), 1 - _chance_before(planned, until_later), reading)
        )
    changes = pd.DataFrame(rows, columns=["chance_sooner", "chance_later", "reading_later"])
    either = changes[["chance_sooner", "chance_later"]].max(axis=1)
    return changes.assign(decides=either >= WORTH_A_LOOK, either=either)


def _chance_before(planned: Floats, until: float) -> float:
    """Chance that the latest overhaul lies before so many planned hours; NaN where unknown."""
    if not np.isfinite(until):
        return float("nan")
    hours, count = np.sort(planned), len(planned)
    # Several readings may leave the date at the same hours: a jump, not a slope.
    if np.ptp(hours) == 0 or until <= hours[0] or until > hours[-1]:
        return float(np.mean(hours < until))
    last = int(np.searchsorted(hours, until)) - 1
    step = (until - hours[last]) / (hours[last + 1] - hours[last])
    return float((last + 0.5 + step) / count) if step < 1 else float((last + 1) / count)


def _in_order(rows: pd.DataFrame) -> pd.DataFrame:
    opened = {name: place for place, name in enumerate(ACCESS_IN_ORDER)}
    access = rows["access"].map(
        lambda text: opened.get(fold(text)) if isinstance(text, str) else None
    )
    rows = rows.assign(
        opened=access.astype("float64").fillna(len(opened)), idle=~rows["decides"].astype(bool)
    )
    rows = rows.sort_values(
        ["latest_date", "code", "idle", "opened", "either"],
        ascending=[True, True, True, True, False],
        kind="stable",
    ).reset_index(drop=True)
    return rows.assign(place=rows.groupby("code").cumcount() + 1)

"""Outage windows: the chance that some limit is passed before each, and which machine fits."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.forecasting.clock import Clock
from trendwear.planning.accepted import Accepted
from trendwear.planning.overhaul import Limiting
from trendwear.planning.together import Together
from trendwear.planning_tables import WINDOWS
from trendwear.segments.hour_line import days
from trendwear.wording import fold

__all__ = ["ahead_of", "hindrance", "planned_hours", "reaches", "running_now", "windows_of"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_WORDS: Final = {"bearing": "bearing cap", "packing": "packing housing", "gland": "packing housing"}
_CASING: Final = re.compile(r"(?<!no )(?<!not )(?<!without )\bcasing")


def ahead_of(outages: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """Return the windows that start after the day, in order of time."""
    coming = outages[outages["start"] > as_of]
    return coming.sort_values(["start", "end"], kind="stable").reset_index(drop=True)


def running_now(outages: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """Return the windows that have begun and not ended on the day, in order of time."""
    open_now = outages[(outages["start"] <= as_of) & (outages["end"] >= as_of)]
    return open_now.sort_values(["start", "end"], kind="stable").reset_index(drop=True)


def planned_hours(clocks: list[Clock], dates: pd.Series) -> Floats:
    """Planned running hours (machines, dates) from now to each date; NaN where unknown."""
    day = days(dates)
    return np.array(
        [[clock.duty.hours_between(clock.day, float(end)) for end in day] for clock in clocks],
        dtype=float,
    ).reshape(len(clocks), len(day))


def windows_of(
    limiting: Limiting, accepted: Accepted, coming: pd.DataFrame, clocks: list[Clock]
) -> pd.DataFrame:
    """Return the chances of every machine at every coming window (`WINDOWS`, no hindrances).

    Parameters
    ----------
    limiting : Limiting
        What counts: usually without the clearances past their limit today.
    accepted : Accepted
    coming : DataFrame
        As `ahead_of` gives it.
    clocks : list of Clock
        One a machine, in the order of ``limiting.machines``.
    """
    count = len(limiting.machines)
    planned = planned_hours(clocks, coming["start"])
    rows = limiting.rows
    code = rows["code"].to_numpy(dtype=np.int64)
    together = limiting.by_machine
    has_row = np.bincount(code, minlength=count) > 0
    keys = pd.DataFrame({"code": code, "heading": accepted.heading(rows["consequence"])})
    group = keys.groupby(["code", "heading"], sort=False).ngroup().to_numpy(dtype=np.int64)
    groups = keys.drop_duplicates()
    owner = groups["code"].to_numpy(dtype=np.int64)
    risk = np.array([accepted.risk(name) for name in groups["heading"]], dtype=float)
    by_heading = Together.as_planned(limiting.crossing, group, limiting.spread[owner])
    by_heading = by_heading.by_part(rows["position"])
    names = groups["heading"].to_numpy(dtype=object)
    parts = []
    for place, window in enumerate(coming.itertuples()):
        hours = planned[:, place]
        known = has_row & np.isfinite(hours)
        each = together.each(hours)
        by_name = by_heading.any(hours[owner])
        broken = ~(by_name <= risk)
        nearest = _nearest(by_name, risk, owner, count)
        held = known & (nearest >= 0)
        parts.append(
            pd.DataFrame(
                {
                    "machine": limiting.machines,
                    "outage": window.outage,
                    "start": window.start,
                    "end": window.end,
                    "hours_until": hours,
                    "chance_before": np.where(known, together.any(hours), np.nan),
                    "expected_past": np.where(
                        known, np.bincount(code, weights=each, minlength=count), np.nan
                    ),
                    "holds": known & (np.bincount(owner, weights=broken, minlength=count) == 0),
                    "nearest_of": [
                        names[one] if told else None
                        for one, told in zip(nearest, held, strict=True)
                    ],
                    "nearest_chance": [
                        by_name[one] if told else np.nan
                        for one, told in zip(nearest, held, strict=True)
                    ],
                }
            )
        )
    if not parts:
        return tables.empty(WINDOWS)
    table = pd.concat(parts, ignore_index=True)
    table["place"] = np.tile(np.arange(count), len(parts))
    table = table.sort_values(["place", "start"], kind="stable").reset_index(drop=True)
    table["chance_if_late"] = table.groupby("machine", sort=False)["chance_before"].shift(-1)
    return tables.conform(table, WINDOWS)


def _nearest(chance: Floats, risk: Floats, owner: Integers, machines: int) -> Integers:
    """For each machine the group whose chance is the greatest part of its risk; -1 for none.

    Where no chance at all is accepted, any is too great.
    """
    part = np.divide(chance, risk, out=np.full(len(risk), np.inf), where=risk > 0)
    order = np.argsort(np.nan_to_num(part, nan=-1.0, posinf=np.inf), kind="stable")
    nearest = np.full(machines, -1, dtype=np.int64)
    nearest[owner[order]] = order
    return nearest


def reaches(scope: object, access: object) -> bool:
    """Whether a window's scope covers what must be opened to reach a clearance.

    Bearing caps, packing or gland housings named in it are all that it covers, unless the
    casing is named too; a scope that names none of them, or a blank one, covers all.
    """
    if not isinstance(scope, str) or not isinstance(access, str) or fold(access) == "none":
        return True
    words = fold(scope)
    if _CASING.search(words):
        return True
    named = {step for word, step in _WORDS.items() if word in words}
    return not named or fold(access) in named


def hindrance(machine: dict[str, Any], window: dict[str, Any], access: set[str]) -> str:
    """Say why a machine cannot be opened in a window; empty where it can.

    Parameters
    ----------
    machine : dict
        Its row of `tables.MACHINES`.
    window : dict
        A row of `OUTAGES`.
    access : set of str
        What must be opened to reach the clearances that govern it.
    """
    return ", and ".join(_hindrances(machine, window, access))


def _hindrances(machine: dict[str, Any], window: dict[str, Any], access: set[str]) -> Iterator[str]:
    here, there = machine.get("site"), window["site"]
    if isinstance(here, str) and isinstance(there, str) and fold(here) != fold(there):
        yield f"it is for {there}"
    length = (window["end"] - window["start"]).days + 1
    if pd.notna(machine.get("open_days")) and machine["open_days"] > length:
        yield f"it has {length} days, the opening takes {machine['open_days']:.0f}"
    if pd.notna(window["machines"]) and window["machines"] < 1:
        yield "it takes no machine"
    crew = machine.get("crew_days")
    if pd.notna(crew) and pd.notna(window["crew_days"]) and crew > window["crew_days"]:
        yield f"it has {window['crew_days']:.0f} crew days, the opening takes {crew:.0f}"
    beyond = sorted(name for name in access if not reaches(window["scope"], name))
    if beyond:
        yield f"its scope ({window['scope']}) leaves out: {', '.join(beyond)}"

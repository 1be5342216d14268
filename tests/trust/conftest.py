"""A small site from short rows: register, histories, families."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.fit.family_fit import FamilyFit, Given, fit_families
from trendwear.segments.chronicle import Record
from trendwear.segments.histories import Histories, histories
from trendwear.segments.positions import in_force, positions

AS_OF = dt.date(2030, 1, 1)
Rows = Sequence[Mapping[str, object]]


@dataclass(frozen=True)
class Site:
    """What the rooms before trust hand over."""

    register: pd.DataFrame
    cut: Histories
    families: FamilyFit
    events: pd.DataFrame

    def point(self, clearance: str, hours: float, state: str = "as-found") -> int:
        """Row of ``cut.points`` of one reading."""
        points = self.cut.points
        same = (points["clearance"] == clearance) & (points["state"] == state)
        (row,) = points.index[same & (points["run_hours"] == hours)]
        return int(row)


def _date(hours: float) -> pd.Timestamp:
    return pd.Timestamp("2000-01-01") + pd.Timedelta(days=round(hours / 20))


def _framed(rows: Rows, columns: tables.Columns, usual: Mapping[str, object]) -> pd.DataFrame:
    if not rows:
        return tables.empty(columns)
    whole = [{**usual, **row, "row": number} for number, row in enumerate(rows, start=1)]
    for row in whole:
        if "run_hours" in row and "date" not in row:
            row["date"] = _date(row["run_hours"])
    return tables.conform(pd.DataFrame(whole), columns)


@pytest.fixture
def site() -> Callable[..., Site]:
    """Build a site of machine M from rows; events stand at running hours or dates."""

    def build(register: Rows, readings: Rows, work: Rows = (), events: Rows = ()) -> Site:
        place = {"machine": "M", "kind": "ring", "basis": "diametral", "moves": "opens"}
        place |= {"unit": "mm", "limiting": True, "family": "rings"}
        clearances = in_force(_framed(register, tables.CLEARANCES, place), AS_OF)
        names = sorted(set(clearances["machine"]))
        machines = _framed([{"machine": name} for name in names], tables.MACHINES, {})
        basis = clearances.drop_duplicates("clearance").set_index("clearance")["basis"]
        zero = dict.fromkeys(("date_spread_days", "hours_spread"), 0.0)
        reading = {"machine": "M", "state": "as-found", "unit": "mm", "step_mm": 0.005}
        reading |= {"stated_mm": 0.005, "half_width_mm": 0.0, "at_least": False}
        reading |= {"excluded": False, "file": "hand", "sheet": "readings", **zero}
        rows = [
            {"reading": number, "basis": basis[str(row["clearance"])], **row}
            for number, row in enumerate(readings, start=1)
        ]
        done = {"machine": "M", "action": "renewed", **zero}
        told = {"machine": "M", "date_spread_days": 0.0}
        record = Record(
            _framed(rows, tables.READINGS, reading),
            _framed(work, tables.WORK, done),
            tables.empty(tables.RUN_LOG),
        )
        happened = _framed(events, tables.EVENTS, told)
        places = positions(clearances, machines)
        cut = histories(record, places, tables.empty(tables.METHODS), AS_OF)
        families = fit_families(cut, happened, Given({}, {}))
        return Site(clearances, cut, families, happened)

    return build


@pytest.fixture
def rings() -> Callable[..., tuple[list[dict[str, object]], list[dict[str, object]]]]:
    """Eight rings that wear about 0.04 mm in each of five runs of 8000 h."""

    def build(count: int = 8, runs: int = 6) -> tuple[list[dict[str, object]], ...]:
        draw = np.random.default_rng(7)
        register, readings = [], []
        for ring in range(count):
            name = f"ring {ring + 1}"
            register.append(
                {
                    "clearance": name,
                    "limit_mm": 0.6,
                    "design_min_mm": 0.18 + 0.05 * ring,
                    "design_max_mm": 0.22 + 0.05 * ring,
                }
            )
            worn = 0.20 + 0.05 * ring
            for run in range(runs):
                value = round(worn + 0.004 * draw.standard_normal(), 3)
                readings.append(
                    {"clearance": name, "run_hours": 1000.0 + 8000.0 * run, "value_mm": value}
                )
                worn += 0.04 * (1 + 0.1 * draw.standard_normal())
        return register, readings

    return build

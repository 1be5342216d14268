"""A whole site of 100,000 readings: how long it takes, and how much memory.

An invented site of 250 machines with 20 clearances each, opened ten times, read as found
and as left; some clearances are renewed at each opening, hours are logged each quarter,
one reading in ten states no hours.  First the frames alone go through everything a
forecast does, with the processor seconds of each stage; then, in a process of its own,
the same readings are loaded from CSV into a store.

Run it with ``python tests/bench/site_speed.py``; it takes half a minute.
"""

from __future__ import annotations

import datetime as dt
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
import pandas as pd

import trendwear
from trendwear import tables
from trendwear.forecasting.site import SiteForecast, SiteRecord, forecast_site
from trendwear.segments.chronicle import Record

MACHINES, CLEARANCES, OPENINGS = 250, 20, 10
CLASSES = 10
AS_OF = dt.date(2026, 11, 1)
BEGUN = np.datetime64("2000-01-01", "us")
DAYS_BETWEEN = 900
HOURS_PER_DAY = 20.0
RENEWED = 0.3
LIMIT_MM = 0.6
DAY = np.timedelta64(86_400_000_000, "us")
PLACE = ("machine", "clearance")
SHEETS = ("machines", "clearances", "readings", "work", "run_log")


def invented_site() -> SiteRecord:
    """Machines that wear by gamma increments and are renewed now and then."""
    draw = np.random.default_rng(7)
    machine = np.array([f"M-{number:03d}" for number in range(MACHINES)])
    clearance = np.array([f"brg {number:02d}" for number in range(CLEARANCES)])
    shape = (MACHINES, CLEARANCES, OPENINGS)
    gaps = draw.integers(DAYS_BETWEEN - 200, DAYS_BETWEEN + 60, (MACHINES, OPENINGS))
    day = np.cumsum(gaps, axis=1) - gaps[:, :1]
    hours = day * HOURS_PER_DAY
    rate = 1e-5 * np.exp(0.4 * draw.standard_normal((MACHINES, CLEARANCES, 1)))
    run = np.diff(hours, axis=1, prepend=0.0)[:, None, :]
    wear = draw.gamma(np.where(run > 0, 16.0, 1.0), size=shape) / 16.0 * run * rate
    renewed = draw.random(shape) < RENEWED
    left, found = np.empty(shape), np.empty(shape)
    level = np.full(shape[:2], 0.20)
    for opening in range(OPENINGS):
        found[..., opening] = level + wear[..., opening]
        level = np.where(renewed[..., opening], 0.20, found[..., opening])
        left[..., opening] = level
    value = np.stack([found, left], axis=-1) + 0.005 * draw.standard_normal((*shape, 2))
    rows = np.indices(value.shape).reshape(4, -1)
    when, meter = day[rows[0], rows[2]], hours[rows[0], rows[2]]
    readings = pd.DataFrame(
        {
            "machine": machine[rows[0]],
            "clearance": clearance[rows[1]],
            "date": BEGUN + when * DAY,
            "run_hours": np.where(draw.random(len(when)) < 0.1, np.nan, meter),
            "state": np.array(["as-found", "as-left"])[rows[3]],
            "value_mm": np.round(value.ravel(), 2),
        }
    )
    common = {"date_spread_days": 0.0, "hours_spread": 0.0, "unit": "mm", "basis": "diametral"}
    origin = {"at_least": False, "half_width_mm": 0.0, "step_mm": 0.01, "excluded": False}
    readings = readings.assign(reading=np.arange(len(readings)), **common, **origin)
    jobs = np.argwhere(renewed)
    work = pd.DataFrame(
        {
            "machine": machine[jobs[:, 0]],
            "clearance": clearance[jobs[:, 1]],
            "date": BEGUN + day[jobs[:, 0], jobs[:, 2]] * DAY,
            "action": "renewed",
            "run_hours": hours[jobs[:, 0], jobs[:, 2]],
        }
    )
    return SiteRecord(
        machines=_machines(machine),
        register=_register(machine, clearance),
        record=Record(_table(readings, "READINGS"), _table(work, "WORK"), _run_log(machine, day)),
        events=tables.empty(tables.EVENTS),
        duty_plan=tables.empty(tables.DUTY_PLAN),
        methods=tables.empty(tables.METHODS),
        families=tables.empty(tables.FAMILIES),
    )


def _table(frame: pd.DataFrame, name: str) -> pd.DataFrame:
    rows = frame.assign(file="invented", sheet="invented", row=np.arange(len(frame)) + 2)
    return tables.conform(rows, getattr(tables, name))


def _machines(machine: np.ndarray) -> pd.DataFrame:
    classes = [f"pump {number % CLASSES}" for number in range(len(machine))]
    return tables.conform(pd.DataFrame({"machine": machine, "class": classes}), tables.MACHINES)


def _register(machine: np.ndarray, clearance: np.ndarray) -> pd.DataFrame:
    places = pd.MultiIndex.from_product([machine, clearance], names=["machine", "clearance"])
    usual = {"kind": "journal", "basis": "diametral", "moves": "opens", "unit": "mm"}
    limits = {"limit_mm": LIMIT_MM, "design_min_mm": 0.18, "design_max_mm": 0.22, "limiting": True}
    return tables.conform(places.to_frame(index=False).assign(**usual, **limits), tables.CLEARANCES)


def _run_log(machine: np.ndarray, day: np.ndarray) -> pd.DataFrame:
    quarters = np.arange(0, day.max(), 91)
    rows = pd.MultiIndex.from_product([machine, quarters], names=["machine", "day"])
    log = rows.to_frame(index=False)
    log = log.assign(date=BEGUN + log["day"].to_numpy() * DAY, run_hours=log["day"] * HOURS_PER_DAY)
    return _table(log, "RUN_LOG")


class Stages:
    """Processor seconds of each stage that a forecast reports, and the peak memory after it."""

    def __init__(self) -> None:
        self.rows: list[dict[str, object]] = []
        self.stage, self.begun = "", time.process_time()

    def __call__(self, stage: str, _done: int, _of: int) -> None:
        if stage != self.stage:
            self.end()
            self.stage, self.begun = stage, time.process_time()

    def end(self) -> None:
        took = time.process_time() - self.begun
        if self.stage:
            self.rows.append({"stage": self.stage, "seconds": took, "peak_mb": peak_megabytes()})


def peak_megabytes() -> float:
    """The most memory this process has held."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def run() -> tuple[pd.DataFrame, SiteForecast]:
    """Forecast the invented site."""
    site = invented_site()
    stages = Stages()
    done = forecast_site(site, AS_OF, progress=stages)
    stages.end()
    return pd.DataFrame(stages.rows), done


def write_sheets(site: SiteRecord, folder: Path) -> None:
    """Write the site as the CSV sheets that a user would load."""
    frames = {
        "machines": site.machines[["machine", "class"]],
        "clearances": site.register.rename(
            columns={
                "limit_mm": "limit",
                "design_min_mm": "design_min",
                "design_max_mm": "design_max",
            }
        )[[*PLACE, "kind", "basis", "moves", "unit", "limit", "design_min", "design_max"]],
        "readings": site.record.readings.rename(columns={"value_mm": "value"})[
            [*PLACE, "date", "run_hours", "state", "value"]
        ],
        "work": site.record.work[[*PLACE, "date", "action", "run_hours"]],
        "run_log": site.record.run_log[["machine", "date", "run_hours"]],
    }
    for sheet in SHEETS:
        frame = frames[sheet]
        if "value" in frame:
            frame = frame.assign(value=frame["value"].map("{:.2f}".format))
        frame.to_csv(folder / f"{sheet}.csv", index=False, date_format="%Y-%m-%d")


def load(folder: Path) -> None:
    """Load the sheets of a folder, and print the seconds and the memory."""
    begun = time.perf_counter()
    report = trendwear.load([folder], store=folder / "site.duckdb")
    took = time.perf_counter() - begun
    print(
        f"{report.count_of('readings').added} readings loaded from CSV in {took:.1f} s by the "
        f"clock, peak {peak_megabytes():.0f} MB, "
        f"{len(report.faults)} rows refused"
    )


def main() -> None:
    """Print the stages of the forecast, then the load."""
    table, done = run()
    total = table["seconds"].sum()
    print(table.to_string(index=False, float_format="{:.1f}".format))
    readings = len(done.site.record.readings)
    print(f"{readings} readings, {len(done.rows)} clearances: {total:.1f} s in all\n")
    with tempfile.TemporaryDirectory() as folder:
        write_sheets(done.site, Path(folder))
        subprocess.run([sys.executable, __file__, "load", folder], check=True)


if __name__ == "__main__":
    if sys.argv[1:2] == ["load"]:
        load(Path(sys.argv[2]))
    else:
        main()

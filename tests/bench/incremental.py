"""How long a forecast takes when most of it was worked out before.

Makes a site of 2,000 clearances in 200 families on 100 machines, each read at eight
openings since it was new, loads it, and times the forecast of the whole site: the first
one, the second one (nothing changed), one after a single reading was added, and one
after that.  Seconds depend on the computer; the ratios to the first forecast matter.
The share of the families is timed apart: the rest (cutting histories, own lines, dates)
is done every time.

One thread: ``OMP_NUM_THREADS=1 python tests/bench/incremental.py``.
"""

from __future__ import annotations

import csv
import datetime as dt
import shutil
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd

import trendwear
from trendwear import outlook
from trendwear.forecasting import site

MACHINES: Final = 100
CLEARANCES: Final = 20
FAMILIES: Final = 200
OPENINGS: Final = 8
AS_OF: Final = dt.date(2026, 11, 1)


def names() -> list[tuple[str, str, str]]:
    """Machine, clearance and family of each clearance; ten members a family."""
    return [
        (f"M-{machine:03d}", f"ring {place}", f"family {(machine * CLEARANCES + place) % FAMILIES}")
        for machine in range(MACHINES)
        for place in range(CLEARANCES)
    ]


def sheets(folder: Path) -> Path:
    """Write the site: gamma wear at log-normal rates, one part from first to last."""
    draw = np.random.default_rng(7)
    register, readings, work = [], [], []
    days = pd.date_range("2010-03-01", periods=OPENINGS, freq="700D")
    hours = np.arange(1, OPENINGS + 1) * 16000 + draw.integers(0, 2000, (MACHINES, OPENINGS))
    for number, (machine, clearance, family) in enumerate(names()):
        register.append(
            {
                "machine": machine,
                "clearance": clearance,
                "kind": "ring",
                "basis": "diametral",
                "moves": "opens",
                "unit": "mm",
                "limit": 0.9,
                "family": family,
            }
        )
        work.append(
            {
                "machine": machine,
                "clearance": clearance,
                "date": "2008-03-01",
                "run_hours": 0,
                "action": "renewed",
            }
        )
        rate = 2e-6 * np.exp(0.4 * draw.standard_normal())
        worn = draw.gamma(16000 / 8000 / 0.2**2, 8000 * 0.2**2 * rate, OPENINGS).cumsum()
        worn += 0.2 + 0.005 * draw.standard_normal(OPENINGS)
        readings += [
            {
                "machine": machine,
                "clearance": clearance,
                "date": day.date().isoformat(),
                "run_hours": int(run),
                "state": "as-found",
                "value": f"{value:.3f}",
                "uncertainty": 0.005,
            }
            for day, run, value in zip(days, hours[number // CLEARANCES], worn, strict=True)
        ]
    write(folder / "clearances.csv", register)
    write(folder / "readings.csv", readings)
    write(folder / "work.csv", work)
    return folder


def one_more(folder: Path) -> Path:
    """Write one more reading of the first clearance."""
    machine, clearance, _ = names()[0]
    row = {"machine": machine, "clearance": clearance, "date": "2026-03-01", "run_hours": 139000}
    write(folder / "readings.csv", [row | {"state": "as-found", "value": "0.47"}])
    return folder


def write(path: Path, rows: Sequence[Mapping[str, object]]) -> None:
    """Write one CSV file."""
    path.parent.mkdir(exist_ok=True)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


class Stopwatch:
    """Takes the place of a function, and sums the seconds spent in it."""

    def __init__(self, work: Callable[..., object]) -> None:
        self.work = work
        self.seconds = 0.0

    def __call__(self, *given: object, **named: object) -> object:
        """Do the work."""
        begin = time.perf_counter()
        done = self.work(*given, **named)
        self.seconds += time.perf_counter() - begin
        return done


def look(store: Path, families: Stopwatch) -> dict[str, object]:
    """Forecast the whole site once."""
    families.seconds = 0.0
    begin = time.perf_counter()
    told = outlook.look(store, as_of=AS_OF)
    return {
        "whole_s": time.perf_counter() - begin,
        "families_s": families.seconds,
        "searched": len(told.found),
    }


def main() -> None:
    """Print one row for each forecast."""
    families = Stopwatch(site.fit_families)
    site.fit_families = families
    with tempfile.TemporaryDirectory() as place:
        store = Path(place) / "site.duckdb"
        trendwear.load([sheets(Path(place) / "first")], store=store)
        warm = Path(place) / "warm.duckdb"
        shutil.copy(store, warm)
        look(warm, families)  # imports and caches are filled
        rows = {"first": look(store, families), "nothing changed": look(store, families)}
        loaded = trendwear.load([one_more(Path(place) / "more")], store=store)
        assert loaded.clean, loaded.faults.to_string()
        rows["one reading more"] = look(store, families)
        rows["nothing changed again"] = look(store, families)
    table = pd.DataFrame(rows).T
    for name in ("whole", "families"):
        table[f"{name}_ratio"] = table[f"{name}_s"] / table.loc["first", f"{name}_s"]
    print(table.to_string(float_format="{:.3f}".format))


if __name__ == "__main__":
    main()

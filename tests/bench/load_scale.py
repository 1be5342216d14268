"""How long it takes to load many readings, and how much memory: is the cost in proportion?

Readings of invented machines, 20 clearances each, as found and as left at openings three
years apart, from CSV and from a workbook.  Every load runs in a process of its own, for
the highest memory it ever held; processor seconds stand beside those on the clock, for
other work may share the machine.  Each file is loaded a second time into the same store.

Run it with ``python tests/bench/load_scale.py``, or with the numbers of readings wanted:
``python tests/bench/load_scale.py 100000``.  The whole table takes some minutes.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

import trendwear

SIZES = (100_000, 250_000, 500_000, 1_000_000)
IN_WORKBOOK = 100_000
CLEARANCES, OPENINGS = 20, 10
METHODS = ("feeler", "bore gauge and micrometer", "plastic thread")


def write_register(folder: Path, machines: int) -> None:
    """Write the register of so many machines."""
    rows = pd.MultiIndex.from_product(
        [[f"M-{number:04d}" for number in range(machines)], range(CLEARANCES)],
        names=["machine", "number"],
    ).to_frame(index=False)
    rows["clearance"] = rows.pop("number").map("brg {:02d}".format)
    usual = {"kind": "sleeve bearing", "basis": "diametral", "moves": "opens", "unit": "mm"}
    rows.assign(**usual, limit=0.6).to_csv(folder / "clearances.csv", index=False)


def readings(count: int) -> pd.DataFrame:
    """So many readings: every machine's openings, each clearance as found and as left."""
    draw = np.random.default_rng(3)
    row = np.arange(count)
    state, row = row % 2, row // 2
    clearance, row = row % CLEARANCES, row // CLEARANCES
    opening, machine = row % OPENINGS, row // OPENINGS
    day = np.datetime64("1996-03-01") + 1000 * opening + machine % 300
    worn = 0.2 + 0.02 * opening + 0.005 * draw.standard_normal(count) - 0.01 * state
    return pd.DataFrame(
        {
            "machine": pd.Series(machine).map("M-{:04d}".format),
            "clearance": pd.Series(clearance).map("brg {:02d}".format),
            "date": pd.Series(day).dt.strftime("%Y-%m-%d"),
            "run_hours": 20_000 * opening,
            "state": np.where(state == 0, "as-found", "as-left"),
            "value": np.round(worn, 3),
            "method": np.array(METHODS)[clearance % len(METHODS)],
            "note": np.where(row % 50 == 0, "read twice", ""),
        }
    )


def write_readings(count: int, path: Path) -> None:
    """Write so many readings to a CSV file or a workbook."""
    rows = readings(count)
    if path.suffix == ".csv":
        rows.to_csv(path, index=False)
    else:
        rows.to_excel(path, sheet_name="readings", index=False, engine="xlsxwriter")


def load_once(store: Path, paths: list[Path]) -> None:
    """Load, and print seconds, processor seconds, MiB held at most and readings that went in."""
    begin, worked = time.perf_counter(), time.process_time()
    report = trendwear.load(paths, store=store)
    seconds, worked = time.perf_counter() - begin, time.process_time() - worked
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    assert report.clean, report.faults.head().to_string()
    added = report.count_of("readings").added
    print(f"{seconds:.2f} {worked:.2f} {memory:.0f} {added}")


def in_its_own_process(store: Path, *paths: Path) -> tuple[float, ...]:
    """Load in a process of its own."""
    told = subprocess.run(
        [sys.executable, __file__, "--load", str(store), *map(str, paths)],
        check=True,
        capture_output=True,
        text=True,
    )
    return tuple(float(word) for word in told.stdout.split())


def measure(count: int, form: str) -> None:
    """Print a line for a first load and one for a second."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store, file = folder / "s.duckdb", folder / f"readings{form}"
        write_register(folder, count // (2 * CLEARANCES * OPENINGS) + 1)
        write_readings(count, file)
        in_its_own_process(store, folder / "clearances.csv")
        for which in ("first", "second"):
            seconds, worked, memory, added = in_its_own_process(store, file)
            assert added == (count if which == "first" else 0), added
            print(
                f"{count:>10,} {form:>5} {which:>7} {seconds:>8.1f} {worked:>10.1f} "
                f"{1e6 * worked / count:>12.1f} {memory:>8,.0f}",
                flush=True,
            )


def main(sizes: tuple[int, ...]) -> None:
    """Print the table."""
    print(f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    print(" readings    file    load  seconds  processor  µs a reading      MiB")
    for count in sizes:
        measure(count, ".csv")
        if count == IN_WORKBOOK:
            measure(count, ".xlsx")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--load"]:
        load_once(Path(sys.argv[2]), [Path(path) for path in sys.argv[3:]])
    else:
        main(tuple(int(word) for word in sys.argv[1:]) or SIZES)

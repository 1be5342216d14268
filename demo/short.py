"""Print the head of a store's limit forecast, and what governs each machine.

python demo/short.py demo/out/demo.duckdb 2026-11-01
"""

from __future__ import annotations

import shutil
import sys
from datetime import date
from pathlib import Path

from trendwear.outlook import limit_forecast
from trendwear.report.terminal import forecast_lines, governing_lines

ROWS = 8
WIDTH = 150


def main(store: str, as_of: str) -> None:
    """Print both."""
    told = limit_forecast(Path(store), as_of=date.fromisoformat(as_of))
    width = max(WIDTH, shutil.get_terminal_size().columns)
    lines = forecast_lines(told, width)
    machines = tuple(told.table["machine"].unique())
    starts = [number for number, line in enumerate(lines) if line.startswith(machines)]
    print("\n".join(lines[: starts[ROWS]]))
    print(f"… and {len(starts) - ROWS} more\n")
    print("\n".join(governing_lines(told)))
    print(f"\n{lines[-1]}")


if __name__ == "__main__":
    main(*sys.argv[1:])

"""Tell, from a limit-forecast table, which clearance of each machine reaches its limit first.

python demo/governing.py demo/out/limit-forecast.csv
"""

from __future__ import annotations

import sys

import pandas as pd
from rich.console import Console
from rich.table import Table

PAST = ("measured past limit", "past limit")


def governing(forecast: pd.DataFrame) -> pd.DataFrame:
    """Return one row a machine: a clearance past its limit, else the earliest even chance.

    A machine without either keeps its first row, so that none is left out.
    """
    order = forecast.assign(
        not_past=~forecast["outcome"].isin(PAST),
        when=pd.to_datetime(forecast["date_p50"]),
        hours=forecast["hours_to_limit_p50"],
    )
    order = order.sort_values(["machine", "not_past", "when", "hours"], kind="stable")
    return order.drop_duplicates("machine")


def main(path: str) -> None:
    """Print that as a table."""
    forecast = pd.read_csv(path, dtype={"slot": str})
    table = Table("machine", "governed by", "outcome", "1 in 20 by", "even chance by")
    for row in governing(forecast).fillna("").to_dict("records"):
        table.add_row(
            *(str(row[name]) for name in ("machine", "clearance", "outcome")),
            *(str(row[name]) for name in ("date_p05", "date_p50")),
        )
    console = Console()
    console.print("\nWhich clearance governs each machine")
    console.print(table)
    outcomes = forecast["outcome"].value_counts()
    console.print("; ".join(f"{count} {outcome}" for outcome, count in outcomes.items()))


if __name__ == "__main__":
    main(sys.argv[1])

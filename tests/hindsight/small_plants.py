"""Sheets of small plants whose past is easily reckoned by hand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

Row = dict[str, object]
Sheets = Mapping[str, Sequence[Mapping[str, object]]]

AS_OF = dt.date(2030, 1, 1)
OPENED = ("2010-03-01", "2012-03-01", "2014-03-01", "2016-03-01", "2018-03-01", "2020-03-01")
HOURS = (0, 15_000, 30_000, 45_000, 60_000, 75_000)


def clearance(name: str, machine: str = "M", **other: object) -> Row:
    row: Row = {"machine": machine, "clearance": name, "kind": "ring", "basis": "diametral"}
    return row | {"moves": "opens", "unit": "mm", "limit": 0.5, "family": "rings"} | other


def found(name: str, opening: int, value: object, **other: object) -> Row:
    row: Row = {"machine": "M", "clearance": name, "date": OPENED[opening]}
    row |= {"run_hours": HOURS[opening], "state": "as-found", "value": value}
    return row | {"uncertainty": 0.005} | other


def run(name: str, *values: float, **other: object) -> list[Row]:
    """As-found readings of one run, one an opening."""
    return [found(name, opening, value, **other) for opening, value in enumerate(values)]


def undated(rows: Sequence[Mapping[str, object]]) -> list[Row]:
    """The same rows with running hours only."""
    return [{**row, "date": ""} for row in rows]


STEADY: Sheets = {
    "clearances": [clearance("a"), clearance("b"), clearance("c")],
    "readings": [
        *run("a", 0.20, 0.24, 0.29, 0.32, 0.37, 0.41),
        *run("b", 0.21, 0.26, 0.30, 0.36, 0.40, 0.45),
        *run("c", 0.19, 0.22, 0.27, 0.30, 0.33, 0.47),
    ],
}
"""Three rings that wear alike; the last reading of c is worn far more than foretold."""

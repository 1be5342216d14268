"""Small machines that are opened."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path

from invented_deferrals import steady, store_of

from trendwear import outlook
from trendwear.bench.inspection import Inspection

Rows = Sequence[Mapping[str, object]]
AS_OF = dt.date(2020, 1, 1)
LONG = "Governor end gland, segmented carbon ring in the second housing from the steam side"


def position(name: str, **other: object) -> dict[str, object]:
    """A wear ring that opens."""
    row = {"machine": "M-1", "clearance": name, "kind": "wear ring", "basis": "diametral"}
    row |= {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name, "access": "casing"}
    row |= {"design_min": 0.1, "design_max": 0.2, "part": "ring", "part_no": "R-1"}
    row |= {"limit_source": "shop rule", "method": "inside and outside micrometer"}
    return row | {"consequence": "leak"} | other


def read(name: str, **other: object) -> list[dict[str, object]]:
    """Read 0.20 mm in 2015, then 0.04 mm more every 8000 h: 0.40 mm at 40,000 h."""
    rows = steady(name, 0.20, 0.04, machine="M-1", method="inside and outside micrometer")
    return [row | other for row in rows]


MACHINE: Mapping[str, Rows] = {
    "machines": [{"machine": "M-1", "description": "mill drive", "site": "here"}],
    "clearances": [
        position("casing ring", location="stage 2", slot="2"),
        position("cap bearing", kind="sleeve bearing", access="bearing cap", location="inboard"),
        position(
            "gland ring",
            kind="carbon ring",
            access="packing housing",
            location="steam end gland",
            slot="1",
            unit="mil",
            limit=15,
            design_min=4,
            design_max=6,
            part_no="C-1",
        ),
        position("gap", kind="axial gap", basis="axial", moves="opens", limit=0.9),
        position("gap", kind="axial gap", basis="axial", moves="closes", limit=0.05),
    ],
    "readings": [*read("casing ring"), *read("cap bearing"), *read("gap")],
    "run_log": [{"machine": "M-1", "date": "2019-12-31", "run_hours": 40000}],
    "parts": [
        {"part_no": "R-1", "part": "ring", "supplier": "supplier B"}
        | {"supplier_part_name": "neck ring, stationary", "supplier_part_no": "B-7"}
    ],
}


def many(count: int) -> Mapping[str, Rows]:
    """A machine with so many positions, long names among them."""
    names = [f"{LONG} {number}" if number % 7 == 0 else f"ring {number}" for number in range(count)]
    return {
        **MACHINE,
        "clearances": [
            position(name, slot=str(number), limit_source=LONG, part=LONG)
            for number, name in enumerate(names)
        ],
        "readings": [row for name in names[:3] for row in read(name)],
    }


def sheet_of(sheets: Mapping[str, Rows], folder: Path, machine: str = "M-1") -> Inspection:
    """The sheet of a machine of a new store."""
    return outlook.inspection_sheet(store_of(sheets, folder), machine, as_of=AS_OF)

"""Measured sizes as the store hands them on."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest

from trendwear import tables
from trendwear.derived.clearances import Computed, computed
from trendwear.derived.expansion import built_in_materials
from trendwear.dimension_tables import DIMENSIONS
from trendwear.lengths import MM_PER_UNIT
from trendwear.store.methods import default_methods

Made = Callable[..., Computed]


@pytest.fixture
def made() -> Made:
    """Compute clearances of sizes: ``made(("bore", "4.0020"), ("journal", "3.9955", {...}))``."""

    def compute(*sizes: tuple[object, ...], unit: str = "in", **common: object) -> Computed:
        rows = [
            _row(number, size, {"unit": unit, **common}) for number, size in enumerate(sizes, 1)
        ]
        frame = tables.conform(pd.DataFrame(rows), DIMENSIONS)
        return computed(frame, default_methods(), built_in_materials())

    return compute


def _row(number: int, size: tuple[object, ...], common: dict[str, object]) -> dict[str, object]:
    part, written, *more = size
    own = {**common, **(more[0] if more and isinstance(more[0], dict) else {})}
    per_unit = MM_PER_UNIT[str(own["unit"])]
    decimals = len(str(written).partition(".")[2])
    date = pd.Timestamp(str(own.pop("date", "2024-05-01")))
    stated = own.pop("stated", None)
    return {
        "dimension": number,
        "machine": "T-1",
        "clearance": "brg",
        "register_basis": "diametral",
        "date": date,
        "date_spread_days": 0.0,
        "hours_spread": 0.0,
        "state": "as-found",
        "part": part,
        "value_mm": float(str(written)) * per_unit,
        "step_mm": 10.0**-decimals * per_unit,
        "stated_mm": None if stated is None else float(str(stated)) * per_unit,
        "written": written,
        "file": "sizes.csv",
        "row": number + 1,
        **own,
    }

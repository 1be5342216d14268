"""Published numbers, and the data they were computed from."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

FOLDER = Path(__file__).parent
Expect = Callable[[str], object]
Table = Callable[[str], pd.DataFrame]


@pytest.fixture(scope="session")
def table() -> Table:
    """Read one of the data files beside the checks."""

    def read(name: str) -> pd.DataFrame:
        return pd.read_csv(FOLDER / f"{name}.csv")

    return read


@pytest.fixture(scope="session")
def expect() -> Callable[[str], Expect]:
    """What a check expects: each quantity with the tolerance that its source allows."""
    rows = pd.read_csv(FOLDER / "expected.csv").set_index(["check", "quantity"])

    def of(check: str) -> Expect:
        def quantity(name: str) -> object:
            row = rows.loc[(check, name)]
            return pytest.approx(row["expected"], abs=row["abs_tolerance"], rel=0)

        return quantity

    return of

"""Forecasts from a store that keeps the fits of its families."""

from __future__ import annotations

import datetime as dt
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import trendwear
from trendwear import outlook
from trendwear.fit import kept
from trendwear.fit.kept import NOTHING_KEPT
from trendwear.forecasting.site import SiteForecast, forecast_site
from trendwear.store.database import reader, writer
from trendwear.store.history import signature
from trendwear.store.kept_fits import kept_fits
from trendwear.wear import rest

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2020, 1, 1)
NOBODY = 65534


def sheets(families: int = 3, members: int = 4) -> dict[str, Rows]:
    """Clearances that wear at rates of their own; the last reading of the first is a bound."""
    draw = np.random.default_rng(11)
    register, readings = [], []
    for number in range(families * members):
        name, machine = f"ring {number}", f"M-{number % 2}"
        register.append(
            {
                "machine": machine,
                "clearance": name,
                "kind": "ring",
                "basis": "diametral",
                "moves": "opens",
                "unit": "mm",
                "limit": 0.9,
                "family": f"family {number % families}",
            }
        )
        worn = 0.2 + 0.05 * draw.uniform(0.5, 1.5) * np.arange(5) + 0.004 * draw.normal(size=5)
        readings += [reading(machine, name, year, f"{worn[year]:.3f}") for year in range(5)]
    readings[4] = {**readings[4], "value": f">{readings[4]['value']}"}
    return {"clearances": register, "readings": readings}


def reading(machine: str, name: str, year: int, value: str) -> dict[str, object]:
    return {
        "machine": machine,
        "clearance": name,
        "date": f"{2010 + year}-06-01",
        "run_hours": 8000 * year,
        "state": "as-found",
        "value": value,
        "uncertainty": 0.005,
    }


@pytest.fixture
def searched(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Grows by how many families are searched at once."""
    told: list[int] = []
    fit_at = rest.fit_at

    def fit(layout, *others):  # type: ignore[no-untyped-def]
        told.append(layout.families)
        return fit_at(layout, *others)

    monkeypatch.setattr(rest, "fit_at", fit)
    return told


@pytest.fixture
def store(stored: Stored) -> Path:
    return stored(sheets())


def scratch(store: Path) -> SiteForecast:
    return forecast_site(outlook.read_site(store), AS_OF)


def rows_in(store: Path) -> int:
    with reader(store) as connection:
        return len(kept_fits(connection, kept.KEPT_BY))


def assert_same(left: SiteForecast, right: SiteForecast) -> None:
    pd.testing.assert_frame_equal(
        left.limit_forecast().table, right.limit_forecast().table, rtol=1e-9, atol=1e-9
    )


def test_the_second_look_searches_and_writes_nothing(store: Path, searched: list[int]) -> None:
    first = outlook.look(store, as_of=AS_OF)
    assert len(first.found) == 3
    stamp = signature(store)
    searched.clear()
    second = outlook.look(store, as_of=AS_OF)
    assert searched == []
    assert signature(store) == stamp
    assert_same(second, first)
    assert_same(second, scratch(store))


def test_after_a_new_reading_only_its_family_is_searched(
    store: Path, tmp_path: Path, searched: list[int]
) -> None:
    outlook.look(store, as_of=AS_OF)
    new = tmp_path / "new.csv"
    pd.DataFrame([reading("M-1", "ring 1", 5, "0.52")]).to_csv(new, index=False)
    loaded = trendwear.load([new.rename(tmp_path / "readings.csv")], store=store)
    assert loaded.clean
    searched.clear()
    again = outlook.look(store, as_of=AS_OF)
    assert set(searched) == {1}
    assert [one.family for one in again.found] == ["family 1"]
    assert_same(again, scratch(store))


def test_days_that_are_looked_at_in_turn_come_to_rest(store: Path, searched: list[int]) -> None:
    days = [dt.date(year, 1, 1) for year in (2013, 2014, 2015, 2020)]
    for day in days:
        outlook.look(store, as_of=day)
    stamp = signature(store)
    searched.clear()
    for day in days * 2:
        outlook.look(store, as_of=day)
    assert searched == []
    assert signature(store) == stamp


def test_another_version_fits_everything_anew(
    store: Path, searched: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    first = outlook.look(store, as_of=AS_OF)
    monkeypatch.setattr(outlook, "KEPT_BY", "model 0, an earlier form")
    searched.clear()
    again = outlook.look(store, as_of=AS_OF)
    assert searched[0] == 3
    assert len(again.found) == 3
    assert_same(again, first)


def test_a_damaged_row_is_fitted_anew(store: Path, searched: list[int]) -> None:
    first = outlook.look(store, as_of=AS_OF)
    with writer(store) as connection:
        connection.execute(
            "update kept_fit set result = replace(result, '0', '7') where family = 'family 2'"
        )
    searched.clear()
    again = outlook.look(store, as_of=AS_OF)
    assert set(searched) == {1}
    assert_same(again, first)
    assert rows_in(store) == 3


def test_a_store_in_use_is_still_forecast(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(outlook, "_PATIENCE_TO_KEEP_S", 0.05)
    with reader(store):
        told = outlook.look(store, as_of=AS_OF)
    assert len(told.found) == 3
    assert rows_in(store) == 0


LOOK = f"""
import datetime, os, resource, sys
from trendwear import outlook
if os.getuid() == 0 and sys.argv[2] == "shut":
    os.setgid({NOBODY}); os.setuid({NOBODY})
if sys.argv[2] == "full":
    resource.setrlimit(resource.RLIMIT_FSIZE, (1, 1))
told = outlook.look(sys.argv[1], as_of=datetime.date(2020, 1, 1))
print(len(told.found), len(told.rows))
"""


@pytest.fixture
def shut(store: Path) -> Iterator[Path]:
    """A store in which an ordinary user may read but not write."""
    for gate in store.parent.glob("*.gate"):
        gate.unlink()
    place = store.parent
    for parent in (place, *place.parents[:3]):
        parent.chmod(parent.stat().st_mode | stat.S_IXOTH | stat.S_IROTH)
    store.chmod(0o444)
    yield store
    store.chmod(0o644)


@pytest.mark.parametrize("trouble", ["shut", "full"])
def test_a_store_that_cannot_be_written_to_is_still_forecast(shut: Path, trouble: str) -> None:
    if trouble == "full":
        shut.chmod(0o644)
    done = subprocess.run(
        [sys.executable, "-c", LOOK, str(shut), trouble],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.stdout == "3 12\n", done.stderr
    assert rows_in(shut) == 0


def test_progress_is_told(store: Path) -> None:
    told: list[tuple[str, int, int]] = []
    forecast_site(
        outlook.read_site(store),
        AS_OF,
        kept=NOTHING_KEPT,
        progress=lambda what, done, of: told.append((what, done, of)),
    )
    stages = list(dict.fromkeys(what for what, _, _ in told))
    wanted = ["cutting histories", "drawing own lines", "fitting families", "working out dates"]
    assert [stage for stage in stages if stage in wanted] == wanted
    assert all(0 <= done <= of for _, done, of in told)

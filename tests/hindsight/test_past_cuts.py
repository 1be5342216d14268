"""Histories of the past: cut once, and cut like the whole site at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from small_plants import AS_OF, HOURS, OPENED, Sheets, clearance, found, run

from trendwear import outlook
from trendwear.forecasting.site import SiteRecord, forecast_site
from trendwear.hindsight.past import Past
from trendwear.hindsight.past_cuts import PastCuts
from trendwear.hindsight.timeline import timeline
from trendwear.segments.histories import histories
from trendwear.segments.positions import in_force, positions

TWO_MACHINES: Sheets = {
    "clearances": [clearance("a"), clearance("b"), clearance("x", "N"), clearance("y", "N")],
    "readings": [
        *run("a", 0.20, 0.24, 0.29, 0.32),
        *run("b", 0.21, 0.26, 0.30, 0.36),
        *run("x", 0.19, 0.22, 0.27, machine="N"),
        found("y", 0, 0.22, machine="N"),
        found("y", 1, 0.25, machine="N", run_hours=""),
    ],
    "work": [
        {"machine": "M", "clearance": "b", "date": OPENED[2], "run_hours": HOURS[2]}
        | {"action": "moved", "to_machine": "n", "to_clearance": "y"}
    ],
    "run_log": [
        {"machine": "N", "date": date, "run_hours": hours}
        for date, hours in zip(OPENED[:5], HOURS[:5], strict=True)
    ],
}


@pytest.fixture
def site(stored: Callable[[Sheets], Path]) -> SiteRecord:
    return outlook.read_site(stored(TWO_MACHINES))


def places_of(site: SiteRecord) -> pd.DataFrame:
    return positions(in_force(site.register, AS_OF), site.machines)


def past_of(site: SiteRecord) -> Past:
    whole = histories(site.record, places_of(site), site.methods, AS_OF)
    return Past(site, AS_OF, timeline(whole.chronicle))


def test_the_past_is_what_the_site_knew_that_day(site: SiteRecord) -> None:
    past = past_of(site)
    for before in sorted(set(past.times.openings["after"])):
        then = past.at(before, dated=True)
        assert then is not None
        day = pd.Timestamp("1970-01-01") + pd.Timedelta(days=before - 1)
        there = forecast_site(site, day.date())
        for name in ("level", "rate", "var_level", "var_wear", "weight"):
            np.testing.assert_allclose(
                getattr(then.basis.wear, name), getattr(there.basis.wear, name), rtol=1e-9
            )
        pd.testing.assert_series_equal(then.basis.last_hours, there.basis.last_hours)
        columns = ["position", "segment", "cause", "start_hours", "readings"]
        pd.testing.assert_frame_equal(then.basis.cut.segments[columns], there.cut.segments[columns])


def test_nothing_is_cut_twice(site: SiteRecord) -> None:
    places = places_of(site)
    times = past_of(site).times
    cuts = PastCuts(site, AS_OF, times)
    before = float(times.openings["after"].max())
    first, again = (cuts.at(before, places, dated=True) for _ in range(2))
    assert len(first) == 1  # a part moved from one machine to the other: they stay together
    assert all(one is other for one, other in zip(first, again, strict=True))
    earlier = cuts.at(float(times.openings["after"].min()), places, dated=True)
    assert earlier[0] is not first[0]


def test_before_the_first_row_nothing_is_known(site: SiteRecord) -> None:
    assert past_of(site).at(0.0, dated=True) is None
    assert past_of(site).at(1e9, dated=False) is None


def test_openings_stand_in_order_of_time(site: SiteRecord) -> None:
    openings = past_of(site).times.openings
    assert openings["before"].is_monotonic_increasing
    assert (openings["after"] > openings["before"]).all()
    assert len(openings) == 4 + 3

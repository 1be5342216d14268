"""What comes back out of the store."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.readings.loaded import LoadReport
from trendwear.store import history
from trendwear.store.database import writer

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]

REGISTER = (
    "machine,clearance,kind,basis,moves,unit,limit,limiting,method\n"
    "K-1,b,sleeve,diametral,opens,mil,12,,feeler\n"
    "K-1,a,sleeve,diametral,opens,mil,,,\n"
    "K-1,c,sleeve,diametral,opens,mil,12,no,\n"
)
READINGS = (
    "machine,clearance,date,state,value,method,by\n"
    "K-1,b,2014-05-01,as-found,7,,J\nK-1,b,2010-05-01,as-left,6,lift check,\n"
)
FRAMES = {
    "machines": tables.MACHINES,
    "clearances": tables.CLEARANCES,
    "readings": tables.READINGS,
    "work": tables.WORK,
    "events": tables.EVENTS,
    "run_log": tables.RUN_LOG,
    "duty_plan": tables.DUTY_PLAN,
    "methods": tables.METHODS,
}


@pytest.mark.parametrize("name", list(FRAMES))
def test_frames_are_those_agreed(take: Take, stored: Stored, store: Path, name: str) -> None:
    with writer(store):
        pass
    assert list(tables.check(stored(name), FRAMES[name])) == list(FRAMES[name])
    take(
        clearances=REGISTER,
        readings=READINGS,
        work="machine,clearance,date,action\nK-1,*,2010-05-01,renewed\n",
        events="machine,date,what\nK-1,2010-05-01,trip\n",
        run_log="machine,date,run_hours\nK-1,2010-05-01,1000\n",
        duty_plan="machine,from,hours_per_day\nK-1,2010-05-01,20\n",
    )
    frame = tables.check(stored(name), FRAMES[name])
    assert list(frame) == list(FRAMES[name])
    assert len(frame) > 0


def test_limiting_where_there_is_a_limit(take: Take, stored: Stored) -> None:
    take(clearances=REGISTER)
    assert list(stored("clearances")["limiting"]) == [True, False, False]


def test_readings_run_by_date_with_the_usual_method_where_none_is_given(
    take: Take, stored: Stored
) -> None:
    take(clearances=REGISTER, readings=READINGS)
    assert list(stored("readings")["method"]) == ["lift check", "feeler"]


def test_a_corrected_basis_holds_for_readings_that_leave_it_blank(
    take: Take, stored: Stored
) -> None:
    take(clearances=REGISTER, readings=READINGS)
    take("new", clearances=REGISTER.replace("diametral", "radial"))
    assert set(stored("readings")["basis"]) == {"radial"}


def test_starting_values_of_methods(stored: Stored) -> None:
    given = history.default_methods().set_index("method")
    # A lift check is good to ± 1 mil: one standard uncertainty is 1/sqrt(3) mil.
    assert given.loc["lift check", "uncertainty_mm"] == pytest.approx(0.0254 / np.sqrt(3))
    assert given.loc["lift check", "resolution_mm"] == pytest.approx(0.0127)
    assert given.index.is_unique
    assert (given["uncertainty_mm"] > 0).all()


def test_the_signature_changes_with_a_load_and_not_with_a_look(
    take: Take, stored: Stored, store: Path
) -> None:
    take(clearances=REGISTER)
    first = history.signature(store)
    stored("readings")
    assert history.signature(store) == first
    take(readings=READINGS)
    assert history.signature(store) != first

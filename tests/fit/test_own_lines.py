"""The own-data line of one clearance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.regression.linear_model import WLS

from trendwear.fit.own_line import Start, fit_line

HOURS = np.array([0.0, 8000.0, 16000.0, 16000.0, 24000.0, 32000.0])
VALUE = np.array([0.20, 0.27, 0.36, 0.19, 0.28, 0.35])
U = np.array([0.005, 0.01, 0.005, 0.005, 0.02, 0.005])
SEGMENT = np.array([1, 1, 1, 2, 2, 2])


def test_it_is_statsmodels_wls_with_one_rate_and_a_level_each() -> None:
    line = fit_line(HOURS, VALUE, U, SEGMENT)
    design = np.column_stack([SEGMENT == 1, SEGMENT == 2, HOURS]).astype(float)
    plain = WLS(VALUE, design, weights=U**-2).fit()
    scale = max(1.0, plain.scale)
    se = plain.bse[2] * np.sqrt(scale / plain.scale)
    assert line.rate == pytest.approx(plain.params[2], rel=1e-9)
    assert line.rate_se == pytest.approx(se, rel=1e-9)
    ahead = plain.get_prediction([[0, 1, 40000.0]])
    mean, error = line.predict(40000.0, 2)
    assert mean == pytest.approx(ahead.predicted_mean[0], rel=1e-9)
    assert error == pytest.approx(ahead.se_mean[0] * np.sqrt(scale / plain.scale), rel=1e-9)


def test_two_readings_are_as_good_as_the_gauge() -> None:
    line = fit_line([0, 8000], [0.20, 0.28], [0.005, 0.003])
    assert line.rate == pytest.approx(1e-5)
    assert line.rate_se == pytest.approx(np.hypot(0.005, 0.003) / 8000)
    assert line.dof == 0
    assert np.isinf(line.t_dof)


def test_one_reading_gives_a_level_and_no_rate() -> None:
    line = fit_line([8000], [0.28], [0.005])
    assert not line.has_rate
    assert line.state(1) == pytest.approx((0.28, 0.005**2, 0.0))


def test_one_reading_a_segment_gives_no_rate() -> None:
    assert not fit_line([0, 8000], [0.2, 0.2], [0.005, 0.005], [1, 2]).has_rate


def test_readings_that_scatter_more_than_stated_widen_the_line() -> None:
    stated = fit_line([0, 8000, 16000], [0.20, 0.28, 0.36], [0.005] * 3)
    wild = fit_line([0, 8000, 16000], [0.20, 0.34, 0.36], [0.005] * 3)
    assert stated.scale == 1.0
    assert wild.scale > 1.0
    assert wild.t_dof == 1.0
    assert wild.rate_se == pytest.approx(stated.rate_se * np.sqrt(wild.scale))


def test_a_known_start_is_passed_through() -> None:
    line = fit_line([8000, 16000], [0.08, 0.17], [0.005] * 2, [1, 1], {1: Start(0.0, 0.0)})
    mean, error = line.predict([0.0], 1)
    assert mean[0] == pytest.approx(0.0, abs=1e-15)
    assert error[0] == pytest.approx(0.0, abs=1e-9)
    through_origin = WLS([0.08, 0.17], [[8000.0], [16000.0]], weights=[4e4, 4e4]).fit()
    assert line.rate == pytest.approx(through_origin.params[0])


def test_a_known_start_alone_is_a_level() -> None:
    line = fit_line([], [], [], [], {1: Start(100.0, 0.3)})
    assert line.state(1) == (0.3, 0.0, 0.0)
    assert not line.has_rate


def test_no_uncertainty_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        fit_line([0, 1], [0, 1], [0.0, 1.0])


@given(shift=st.floats(0, 1e6), factor=st.floats(0.01, 100), order=st.permutations(range(6)))
def test_neither_origin_nor_unit_nor_order_matters(
    shift: float, factor: float, order: list[int]
) -> None:
    plain = fit_line(HOURS, VALUE, U, SEGMENT)
    other = fit_line(HOURS[order] + shift, factor * VALUE[order], factor * U[order], SEGMENT[order])
    assert other.rate == pytest.approx(factor * plain.rate, rel=1e-6)
    assert other.rate_se == pytest.approx(factor * plain.rate_se, rel=1e-6)
    assert other.state(2)[0] == pytest.approx(factor * plain.state(2)[0], rel=1e-6)

"""Half-lives against a published example and small closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from statsmodels.duration.survfunc import SurvfuncRight

from trendwear.parts.survival import half_renewed

# Weeks of remission under 6-mercaptopurine: Freireich, E. J. et al.,
# Blood 21 (1963), 699-716; the estimate and its standard errors as in Klein, J. P. and
# Moeschberger, M. L., Survival Analysis, 2nd ed. (2003), table 4.1 (from memory).
RELAPSED = [6.0, 6, 6, 7, 10, 13, 16, 22, 23]
IN_REMISSION = [6.0, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
TIMES = [*RELAPSED, *IN_REMISSION]
ENDED = [True] * len(RELAPSED) + [False] * len(IN_REMISSION)
SURVIVE = {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}
ERRORS = [0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346]


def test_the_estimator_is_that_of_the_published_example() -> None:
    told = SurvfuncRight(TIMES, np.array(ENDED, dtype=int))
    assert list(told.surv_times) == list(SURVIVE)
    assert told.surv_prob == pytest.approx(list(SURVIVE.values()), abs=5e-4)
    assert told.surv_prob_se == pytest.approx(ERRORS, abs=5e-5)


def test_half_of_the_published_example() -> None:
    half = half_renewed(TIMES, ENDED)
    assert half.hours == 23
    # by hand: log(-log S) + 1.645 se/(S |log S|) reaches log(log 2) first at 13 weeks
    error = 0.1068 / (0.690 * abs(math.log(0.690)))
    assert math.log(-math.log(0.690)) + 1.645 * error > math.log(math.log(2))
    error = 0.0963 / (0.753 * abs(math.log(0.753)))
    assert math.log(-math.log(0.753)) + 1.645 * error < math.log(math.log(2))
    assert half.low == 13
    assert math.isinf(half.high)


def test_none_renewed_tells_nothing() -> None:
    assert math.isnan(half_renewed([1000.0, 2000.0], [False, False]).hours)


def test_fewer_than_half_renewed_tell_no_half() -> None:
    half = half_renewed([1000.0, 2000.0, 3000.0, 4000.0], [True, False, False, False])
    assert math.isnan(half.hours)


def test_a_band_that_runs_into_the_last_part_is_open() -> None:
    half = half_renewed([1000.0, 2000.0, 3000.0, 4000.0], [True] * 4)
    assert math.isinf(half.high)
    assert half.low == 1000.0


def test_parts_still_in_lengthen_the_half_life() -> None:
    hours = np.arange(1.0, 21.0) * 1000
    all_renewed = half_renewed(hours, np.ones(20, dtype=bool))
    some_in = half_renewed(hours, np.arange(20) % 2 == 0)
    assert some_in.hours > all_renewed.hours
    assert all_renewed.low <= 10_500 <= all_renewed.high
    assert np.isfinite(all_renewed.high)

"""When a line passes a value: the forecast's crossing against published inverse predictions.

A line known as a joint normal of level and rate is past a limit with chance q from
the place on where (mean - limit) / sd = z(q).  Fieller's limits are those places with
Student's t in place of z, so asking for q = Phi(±t) must return them
(Fieller, *J. R. Statist. Soc. B* 16 (1954) 175-185).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
import pytest
from scipy.stats import norm
from scipy.stats import t as student

from trendwear.fit.own_line import OwnLine, fit_line
from trendwear.forecasting.ahead import plain_hours
from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.first_passage import Reaches, crossing_interval
from trendwear.wear.state import WearMixture


@dataclass(frozen=True)
class Backwards:
    """A fitted line read backwards from 0 on, with so much variance of what is read."""

    line: OwnLine
    reading_variance: float

    def where(self, value: float, percent: float) -> tuple[float, float, float]:
        """Lower limit, point and upper limit of the place where the line passes ``value``."""
        quantile = float(student.ppf(0.5 + percent / 200, self.line.dof))
        ends = [self._place(value, float(norm.cdf(z))) for z in (-quantile, 0.0, quantile)]
        return ends[0], ends[1], ends[2]

    def propagated(self, value: float) -> tuple[float, float]:
        """Where the line passes ``value``, and its uncertainty by propagation."""
        place = (value - float(self.line.predict(0.0, 1)[0])) / self.line.rate
        error = float(self.line.predict(place, 1)[1])
        return place, sqrt(self.reading_variance + error**2) / self.line.rate

    def _place(self, value: float, chance: float) -> float:
        level, error = self.line.predict(0.0, 1)
        cov = covariance(self.line)
        one = np.ones((1, 1))
        wear = WearMixture(
            weight=one,
            level=level * one,
            rate=self.line.rate * one,
            var_level=(error**2 + self.reading_variance) * one,
            cov_level_rate=cov * one,
            var_rate=self.line.rate_se**2 * one,
            var_wear=0 * one,
            gauge_scale=one,
            has_level=np.array([True]),
            own_share=np.ones(1),
            family_rate=np.zeros(1),
            family_rate_sd=np.zeros(1),
            tau=np.zeros(1),
        )
        crossing = Crossing(wear, np.array([value]), np.ones(1), np.zeros(1), plain_hours(1))
        return float(crossing.hours_at(chance)[0])


def covariance(line: OwnLine) -> float:
    """Of the level at 0 and the rate."""
    _, _, at_last = line.state(1)
    return at_last - line.last_exposure[0] * line.rate_se**2


def fitted(x, y) -> tuple[OwnLine, float]:
    """The line with its scatter learnt from the readings, and that scatter's variance."""
    tiny = 1e-6 * float(np.ptp(y))
    line = fit_line(x, y, np.full(len(x), tiny))
    return line, line.scale * tiny**2


def test_arsenic_of_one_new_reading(table, expect) -> None:
    """Greenwell and Schubert Kabban 2014: inversion interval, 90 %."""
    data, wanted = table("arsenic"), expect("arsenic")
    line, variance = fitted(data["actual"], data["measured"])
    low, point, high = Backwards(line, variance).where(3.0, 90)
    assert point == wanted("x0_at_y0=3")
    assert low == wanted("inversion90_lo")
    assert high == wanted("inversion90_hi")


def test_arsenic_of_the_line_itself(table, expect) -> None:
    """The same paper, for the mean response: this is the question of a limit."""
    data, wanted = table("arsenic"), expect("arsenic")
    line, _ = fitted(data["actual"], data["measured"])
    low, _, high = Backwards(line, 0.0).where(3.0, 90)
    assert low == wanted("mean_response_inversion90_lo")
    assert high == wanted("mean_response_inversion90_hi")


def test_arsenic_by_propagation(table, expect) -> None:
    """The same paper: Wald's interval, which propagation of errors gives."""
    data, wanted = table("arsenic"), expect("arsenic")
    line, variance = fitted(data["actual"], data["measured"])
    place, error = Backwards(line, variance).propagated(3.0)
    reach = float(student.ppf(0.95, line.dof)) * error
    assert error == wanted("wald_se")
    assert place - reach == wanted("wald90_lo")
    assert place + reach == wanted("wald90_hi")


def test_arsenic_of_three_new_readings(table, expect) -> None:
    """Three readings traced back through the line; their own scatter is pooled with its."""
    data, wanted = table("arsenic"), expect("arsenic")
    new = np.array([3.17, 3.09, 3.16])
    line, variance = fitted(data["actual"], data["measured"])
    dof = line.dof + len(new) - 1
    pooled = (variance * line.dof + ((new - new.mean()) ** 2).sum()) / dof
    level, error = line.predict(0.0, 1)
    cov = [[error**2, covariance(line)], [covariance(line), line.rate_se**2]]
    interval = crossing_interval(
        (float(level), line.rate),
        np.array(cov) * pooled / variance,
        (new.mean(), pooled / len(new)),
        float(student.ppf(0.95, dof)),
    )
    assert interval.reaches is Reaches.BETWEEN
    assert (new.mean() - level) / line.rate == wanted("x0_three_readings_3.17_3.09_3.16")
    assert interval.low == wanted("inversion90_lo_three")
    assert interval.high == wanted("inversion90_hi_three")


def test_known_uncertainties_backwards(table, expect) -> None:
    """ISO/TS 28037:2010, p. 13: the place of y = 10.5 with u = 0.5."""
    data, wanted = table("iso28037_equal_weights"), expect("iso28037_equal")
    line = fit_line(data["x"], data["y"], data["u_y"])
    place, error = Backwards(line, 0.5**2).propagated(10.5)
    assert place == wanted("x0_from_y=10.5_u=0.5")
    assert error == wanted("u_x0")


def test_linewidth_backwards(table, expect) -> None:
    """NIST/SEMATECH e-Handbook 2.3.6.7.3: the largest uncertainty of a corrected width."""
    data, wanted = table("nist_linewidth_calibration"), expect("nist_linewidth")
    line, variance = fitted(data["x_true_um"], data["y_measured_um"])
    errors = [
        Backwards(line, variance).propagated(float(width))[1] for width in np.arange(0.0, 12.5, 0.5)
    ]
    assert max(errors) == wanted("max_u_of_inverse_value_um")


def test_reaction_chamber(table, expect) -> None:
    """Graybill and Iyer 1994, p. 433: dial setting for a mean of 400, 99 %."""
    data, wanted = table("reaction_chamber"), expect("reaction_chamber")
    line, _ = fitted(data["dial"], data["temp"])
    low, point, high = Backwards(line, 0.0).where(400.0, 99)
    assert point == wanted("x0_mean_response_400")
    assert low == wanted("ci99_lo")
    assert high == wanted("ci99_hi")


def test_four_readings_with_a_finite_interval() -> None:
    """Own arithmetic, by Fieller's formula: 6.0 to 9.0 mil over 24,000 h, limit 12 mil."""
    line, _ = fitted(np.array([0, 8000, 16000, 24000.0]), np.array([6.0, 7.1, 7.9, 9.0]))
    assert 1000 * line.rate == pytest.approx(0.1225, abs=1e-9)
    assert Backwards(line, 0.0).where(12.0, 95) == pytest.approx((42_767, 48_735, 57_344), abs=0.5)


def test_four_readings_that_allow_never() -> None:
    """The same hours, scattered more: a point, but no upper limit (Fieller's g is above 1)."""
    line, _ = fitted(np.array([0, 8000, 16000, 24000.0]), np.array([6.0, 7.5, 6.8, 8.0]))
    _, point, high = Backwards(line, 0.0).where(12.0, 95)
    assert point == pytest.approx(86_340, abs=1)
    assert np.isnan(high)

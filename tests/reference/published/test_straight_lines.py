"""The own-data line against published straight lines."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pandas as pd
import pytest

from trendwear.fit.own_line import OwnLine, Start, fit_line

CERTIFIED_DIGITS = 1e-10
"""Relative; the certified values carry 15 digits, double precision keeps 11 of them here."""


def line_of(x: pd.Series, y: pd.Series, start: Start | None = None) -> OwnLine:
    """The line with its scatter learnt from the readings: their stated uncertainty is far below."""
    tiny = np.full(len(x), 1e-6 * float(np.ptp(y)))
    return fit_line(x, y, tiny, known_start={1: start} if start else None)


def scatter(line: OwnLine, y: pd.Series) -> float:
    """Standard deviation of the readings about the line."""
    return sqrt(line.scale) * 1e-6 * float(np.ptp(y))


def at(line: OwnLine, x: float) -> tuple[float, float]:
    """The line and its standard error at one place."""
    value, error = line.predict(x, 1)
    return float(value), float(error)


def covariance(line: OwnLine) -> float:
    """Of the intercept at 0 and the slope."""
    _, _, at_last = line.state(1)
    return at_last - line.last_exposure[0] * line.rate_se**2


def test_norris(table, expect) -> None:
    """NIST StRD, Norris: certified."""
    data = table("strd_norris")
    certified = table("strd_certified").set_index(["dataset", "parameter"]).loc["norris"]
    line = line_of(data["x"], data["y"])
    wanted, error = certified.loc["B1"]
    assert line.rate == pytest.approx(wanted, rel=CERTIFIED_DIGITS)
    assert line.rate_se == pytest.approx(error, rel=CERTIFIED_DIGITS)
    wanted, error = certified.loc["B0"]
    assert at(line, 0.0) == pytest.approx((wanted, error), rel=1e-9)
    spread = certified.loc["residual_sd", "certified"]
    assert scatter(line, data["y"]) == pytest.approx(spread, rel=CERTIFIED_DIGITS)
    assert line.dof == len(data) - 2


def test_line_through_the_origin(table) -> None:
    """NIST StRD, NoInt1: certified; a part that is new at 0 h with an exact clearance."""
    data = table("strd_noint1")
    certified = table("strd_certified").set_index(["dataset", "parameter"]).loc["noint1"]
    line = line_of(data["x"], data["y"], Start(0.0, 0.0))
    wanted, error = certified.loc["B1"]
    assert line.rate == pytest.approx(wanted, rel=CERTIFIED_DIGITS)
    assert line.rate_se == pytest.approx(error, rel=CERTIFIED_DIGITS)
    spread = certified.loc["residual_sd", "certified"]
    assert scatter(line, data["y"]) == pytest.approx(spread, rel=CERTIFIED_DIGITS)
    assert at(line, 0.0) == pytest.approx((0.0, 0.0), abs=1e-12)


def test_thermometer(table, expect) -> None:
    """JCGM 100:2008, H.3: correction b = y1 + y2 (t - 20 °C)."""
    data, wanted = table("gum_h3_thermometer"), expect("gum_h3")
    line = line_of(data["t_reading_degC"], data["b_correction_degC"])
    intercept, error = at(line, 20.0)
    assert intercept == wanted("intercept_y1")
    assert error == wanted("u_y1")
    assert line.rate == wanted("slope_y2")
    assert line.rate_se == wanted("u_y2")
    with_slope = covariance(line) + 20.0 * line.rate_se**2
    assert with_slope / (error * line.rate_se) == wanted("corr_y1_y2")
    assert scatter(line, data["b_correction_degC"]) == wanted("residual_s")
    at_30, error_30 = at(line, 30.0)
    assert at_30 == wanted("correction_at_30C")
    assert error_30 == wanted("u_correction_at_30C")


def test_known_uncertainties(table, expect) -> None:
    """ISO/TS 28037:2010, p. 13: the uncertainties are believed, chi-squared is below its dof."""
    data, wanted = table("iso28037_equal_weights"), expect("iso28037_equal")
    line = fit_line(data["x"], data["y"], data["u_y"])
    intercept, error = at(line, 0.0)
    assert line.rate == wanted("b")
    assert line.rate_se == wanted("u_b")
    assert intercept == wanted("a")
    assert error == wanted("u_a")
    assert covariance(line) == wanted("cov_ab")
    assert line.ssr == wanted("chi2")
    assert line.scale == 1.0
    assert line.t_dof == np.inf


def test_linewidth(table, expect) -> None:
    """NIST/SEMATECH e-Handbook 2.3.6.7.3."""
    data, wanted = table("nist_linewidth_calibration"), expect("nist_linewidth")
    line = line_of(data["x_true_um"], data["y_measured_um"])
    intercept, error = at(line, 0.0)
    assert intercept == wanted("a")
    assert error == wanted("se_a")
    assert line.rate == wanted("b")
    assert line.rate_se == wanted("se_b")
    assert error**2 == wanted("var_a")
    assert line.rate_se**2 == wanted("var_b")
    assert covariance(line) == wanted("cov_ab")
    assert intercept / error == wanted("t_a")
    assert line.rate / line.rate_se == wanted("t_b")


def test_modulus(table, expect) -> None:
    """Natrella, NBS Handbook 91, 5-4.1."""
    data, wanted = table("natrella_youngs_modulus"), expect("natrella")
    line = line_of(data["temp"], data["modulus"])
    intercept, error = at(line, 0.0)
    spread = scatter(line, data["modulus"])
    assert line.rate == wanted("slope")
    assert line.rate_se**2 == wanted("var_slope")
    assert intercept == wanted("intercept")
    assert error**2 == wanted("var_intercept")
    assert spread == wanted("s")
    assert at(line, 1200.0)[1] ** 2 == wanted("var_mean_at_1200")
    assert at(line, 750.0)[1] ** 2 + spread**2 == wanted("var_single_at_750")

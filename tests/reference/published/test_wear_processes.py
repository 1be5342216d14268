"""The family model's likelihood against published processes and estimates."""

from __future__ import annotations

from math import log, pi, sqrt

import numpy as np
import pandas as pd

from trendwear.bundled import bundled_folder
from trendwear.wear.histories import Histories, lay_out
from trendwear.wear.likelihood import Pooled, evidence, pool
from trendwear.wear.recursion import Evidence

LOG_2PI = log(2 * pi)
NO_WEAR_NOISE = -40.0
"""log sigma_w/phi of steady wear."""


def known_starts(unit: np.ndarray, exposure: np.ndarray, value: np.ndarray) -> Histories:
    """Units of one family that start at exactly 0; the uncertainty of a reading is phi itself."""
    units, codes = np.unique(unit, return_inverse=True)
    count = len(units)
    return Histories(
        value=value.astype(float),
        exposure=exposure.astype(float),
        uncertainty=np.ones(len(value)),
        at_least=np.zeros(len(value), dtype=bool),
        segment=codes,
        clearance=np.arange(count),
        start_value=np.zeros(count),
        start_exposure=np.zeros(count),
        family=np.zeros(count, dtype=np.int64),
        assumed_share=np.zeros(1),
    )


def liners(exposure_hours: float) -> Histories:
    """The cylinder liners, their exposure in units of so many hours."""
    sheet = pd.read_csv(bundled_folder("data") / "cylinder_liners" / "readings.csv")
    read = sheet[sheet["state"] == "as-found"]
    unit = read["machine"].str.removeprefix("Liner ").astype(int).to_numpy()
    hours = read["run_hours"].to_numpy() / exposure_hours
    return known_starts(unit, hours, read["value"].to_numpy())


def at(histories: Histories, sigma_w_ratio: float, tau_ratio: float) -> tuple[Evidence, Pooled]:
    """Evidence and its sums at log sigma_w/phi and log tau/phi, of a family of its own."""
    layout = lay_out(histories)
    given = evidence(layout, np.array([[sigma_w_ratio]]))
    return given, pool(layout, given, np.array([tau_ratio]))


def test_random_slopes_through_the_origin(expect) -> None:
    """Cylinder liners: restricted likelihood of a random slope, as lme4 and MixedLM have it."""
    wanted = expect("liner_open")
    phi, tau = 0.3400935, 0.0176967
    assert phi == wanted("s_resid")
    assert tau == wanted("tau_slope")
    given, pooled = at(liners(1000.0), NO_WEAR_NOISE, log(tau / phi))
    freedom = float(given.count[0]) - 1
    squares, constant = float(pooled.squares[0, 0]), float(pooled.constant[0, 0])
    minus2 = constant + 2 * freedom * log(phi) + squares / phi**2 + freedom * LOG_2PI
    assert minus2 == wanted("minus2_reml_loglik")
    assert float(pooled.mean[0, 0]) == wanted("slope_mm_per_kh")
    assert phi / sqrt(float(pooled.weight[0, 0])) == wanted("se_slope")
    by_tau = 0.5 * (pooled.slopes[0] + pooled.slopes[1] / phi**2)
    assert abs(float(by_tau[0, 0])) < 1e-3
    assert abs(freedom - squares / phi**2) < 1e-3


def test_wiener_process_without_reading_error(expect) -> None:
    """Cylinder liners: one drift and variance for all, readings exact."""
    wanted = expect("liner_open")
    variance, phi = 1.85185303e-5, 1e-7
    assert variance == wanted("wiener_sigma2")
    given, pooled = at(liners(1.0), log(sqrt(variance) / phi), -40.0)
    count = float(given.count[0])
    drift, weight = float(pooled.mean[0, 0]), float(pooled.weight[0, 0])
    constant = float(pooled.constant[0, 0]) - log(weight)
    squares = float(pooled.squares[0, 0]) / phi**2
    likelihood = -0.5 * (constant + squares + count * (2 * log(phi) + LOG_2PI))
    assert drift == wanted("wiener_mu_mm_per_h")
    assert likelihood == wanted("wiener_loglik")
    assert abs(squares / count - 1) < 1e-6


def test_wiener_process_read_with_error(expect) -> None:
    """Liner 28: log-likelihood at given drift, variance and reading error (Whitmore's model)."""
    wanted = expect("wiener_with_measurement_error")
    drift, variance, phi = 9e-5, 1.5e-5, 0.05
    hours, wear = np.array([33000, 38500, 55460]), np.array([2.90, 3.25, 4.10])
    given, _ = at(known_starts(np.ones(3), hours, wear), log(sqrt(variance) / phi), -40.0)
    squares = given.squares[0, 0] - 2 * drift * given.moment[0, 0]
    squares += drift**2 * given.information[0, 0]
    constant = given.log_variance[0, 0] + 3 * (2 * log(phi) + LOG_2PI)
    likelihood = -0.5 * float(constant + squares / phi**2)
    assert likelihood == wanted("loglik_t33000_38500_55460_y2.90_3.25_4.10_mu9e-5_s2=1.5e-5_se0.05")

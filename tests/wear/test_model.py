"""The model against outsiders: statsmodels' own models and published estimates."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from scipy.optimize import minimize
from scipy.stats import multivariate_normal

from trendwear.bundled import bundled_folder
from trendwear.wear.model import WearModel
from trendwear.wear.results import WearResults

PUBLISHED = Path(__file__).parents[1] / "reference" / "published"


def expected(check: str) -> dict[str, float]:
    """Quantities of one published check."""
    table = pd.read_csv(PUBLISHED / "expected.csv")
    return dict(table.loc[table["check"] == check, ["quantity", "expected"]].to_numpy())


@pytest.fixture(scope="module")
def fleet() -> pd.DataFrame:
    """Two families: eight clearances of 2 to 7 readings, some cut into two segments."""
    draw = np.random.default_rng(3)
    rows = []
    for number in range(8):
        rate = 0.02 * np.exp(0.4 * draw.standard_normal())
        hours = np.sort(draw.uniform(0, 50, draw.integers(2, 8)))
        mm = 0.2 + rate * hours + 0.02 * draw.standard_normal(len(hours))
        segment = np.where((number % 3 == 0) & (np.arange(len(hours)) > 2), "second", "first")
        rows.append(
            pd.DataFrame(
                {
                    "clearance": f"ring {number}",
                    "segment": segment,
                    "family": "seal" if number < 5 else "bearing",
                    "kh": hours,
                    "mm": mm + 0.1 * (segment == "second"),
                    "u": draw.uniform(0.01, 0.02, len(hours)),
                }
            )
        )
    return pd.concat(rows, ignore_index=True)


@pytest.fixture(scope="module")
def model(fleet: pd.DataFrame) -> WearModel:
    return WearModel(
        fleet["mm"], fleet["kh"], fleet["u"], fleet[["clearance", "segment", "family"]]
    )


def test_given_variances_equal_statsmodels_gls(fleet: pd.DataFrame, model: WearModel) -> None:
    theta = np.array([1.2, 0.006, 0.008])
    results = model.given(np.tile([*theta, 0.0], 2))
    for family in ("seal", "bearing"):
        some = fleet[fleet["family"] == family]
        clearance, hours = some["clearance"].to_numpy(), some["kh"].to_numpy()
        same = clearance[:, None] == clearance
        segment = (some["clearance"] + some["segment"]).to_numpy()
        cov = np.diag((theta[0] * some["u"]) ** 2)
        cov = cov + theta[1] ** 2 * (segment[:, None] == segment) * np.minimum.outer(hours, hours)
        cov = cov + theta[2] ** 2 * same * np.outer(hours, hours)
        design = pd.get_dummies(segment, dtype=float).assign(rate=hours)
        gls = sm.GLS(some["mm"].to_numpy(), design, sigma=cov).fit(cov_type="fixed scale")
        name = f"{family}: beta_bar"
        assert results.params[name] == pytest.approx(gls.params["rate"], rel=1e-9)
        assert results.bse[name] == pytest.approx(gls.bse["rate"], rel=1e-9)


def test_each_family_could_be_fitted_alone(fleet: pd.DataFrame, model: WearModel) -> None:
    together = model.fit()
    for family, some in fleet.groupby("family"):
        alone = WearModel(some["mm"], some["kh"], some["u"], some[["clearance", "segment"]]).fit()
        found = together.params.filter(like=f"{family}: ").to_numpy()
        np.testing.assert_allclose(found, alone.params, rtol=1e-6)
        np.testing.assert_allclose(
            together.rates().loc[some["clearance"].unique(), "rate_high"],
            alone.rates()["rate_high"],
            rtol=1e-6,
        )


def test_order_of_rows_is_irrelevant(fleet: pd.DataFrame) -> None:
    def rates(rows: pd.DataFrame) -> pd.DataFrame:
        groups = rows[["clearance", "segment", "family"]]
        return WearModel(rows["mm"], rows["kh"], rows["u"], groups).fit().rates().sort_index()

    by_clearance = fleet.sort_values(["family", "mm"]).sort_values("segment", kind="stable")
    left, right = rates(fleet), rates(by_clearance)
    np.testing.assert_allclose(
        left.drop(columns="family").astype(float),
        right.drop(columns="family").astype(float),
        rtol=1e-5,
        atol=1e-12,
    )


def test_no_wear_noise_equals_mixedlm() -> None:
    """Random slope, fixed intercept for each subject, on data of Belenky et al. (2003)."""
    study = pd.read_csv(PUBLISHED / "sleepstudy.csv")
    model = WearModel(
        study["Reaction"], study["Days"], 1.0, study[["Subject"]].set_axis(["clearance"], axis=1)
    )
    best = _restricted_maximum(model, (25.0, 6.0))
    results = model.given([best[0], 0.0, best[1], 0.0])

    subjects = pd.get_dummies(study["Subject"], dtype=float)
    mixed = sm.MixedLM(
        study["Reaction"],
        subjects.assign(Days=study["Days"]),
        groups=study["Subject"],
        exog_re=study[["Days"]],
    ).fit(reml=True, method="powell")
    assert np.isfinite(mixed.llf)
    assert results.llf == pytest.approx(mixed.llf, abs=1e-5)
    assert best[0] ** 2 == pytest.approx(mixed.scale, rel=1e-3)
    assert best[1] ** 2 == pytest.approx(float(mixed.cov_re.iloc[0, 0]), rel=1e-3)
    assert results.params["beta_bar"] == pytest.approx(mixed.fe_params["Days"], rel=1e-5)
    random = pd.Series({subject: float(x.iloc[0]) for subject, x in mixed.random_effects.items()})
    np.testing.assert_allclose(
        results.rates()["rate"], mixed.fe_params["Days"] + random.to_numpy(), rtol=1e-3
    )


def _restricted_maximum(model: WearModel, start: tuple[float, float]) -> np.ndarray:
    """Phi and tau of the largest restricted likelihood without wear noise."""

    def lost(log_theta: np.ndarray) -> float:
        phi, tau = np.exp(log_theta)
        return -model.loglike([phi, 0.0, tau, 0.0])

    options = {"xatol": 1e-9, "fatol": 1e-11}
    found = minimize(lost, np.log(start), method="Nelder-Mead", options=options)
    return np.asarray(np.exp(found.x))


@pytest.fixture(scope="module")
def liners() -> WearModel:
    """Cylinder liners, worn 0 at 0 h (Giorgio, Guida & Pulcini)."""
    sheet = pd.read_csv(bundled_folder("data") / "cylinder_liners" / "readings.csv")
    read = sheet[sheet["state"] == "as-found"]
    groups = read[["machine"]].set_axis(["clearance"], axis=1)
    starts = groups.drop_duplicates().assign(value=0.0, exposure=0.0)
    return WearModel(read["value"], read["run_hours"] / 1000, 1.0, groups, starts)


def test_liners_through_the_origin_equal_published_reml(liners: WearModel) -> None:
    wanted = expected("liner_open")
    phi, tau = _restricted_maximum(liners, (0.3, 0.02))
    results = liners.given([phi, 0.0, tau, 0.0])
    assert phi == pytest.approx(wanted["s_resid"], abs=1e-6)
    assert tau == pytest.approx(wanted["tau_slope"], abs=1e-6)
    assert -2 * results.llf == pytest.approx(wanted["minus2_reml_loglik"], abs=1e-4)
    assert results.params["beta_bar"] == pytest.approx(wanted["slope_mm_per_kh"], abs=1e-7)
    assert results.bse["beta_bar"] == pytest.approx(wanted["se_slope"], abs=1e-7)


def likelihood_at_rate(results: WearResults, rate: float) -> float:
    """Log-likelihood with the family's rate known: the restricted one, its integral undone."""
    error = float(results.bse["beta_bar"])
    away = (rate - float(results.params["beta_bar"])) / error
    return results.llf - 0.5 * np.log(2 * np.pi * error**2) - 0.5 * away**2


def test_liners_as_wiener_process(liners: WearModel) -> None:
    wanted = expected("liner_open")
    sigma = np.sqrt(1000 * wanted["wiener_sigma2"])  # per root of 1000 h
    results = liners.given([1e-7, sigma, 0.0, 0.0])
    rate = 1000 * wanted["wiener_mu_mm_per_h"]
    assert results.params["beta_bar"] == pytest.approx(rate, rel=1e-8)
    assert likelihood_at_rate(results, rate) == pytest.approx(wanted["wiener_loglik"], abs=1e-6)


def test_wiener_process_read_with_error() -> None:
    """Whitmore, Lifetime Data Analysis 1 (1995) 307-319: drift 9e-5, variance 1.5e-5 an hour."""
    hours, mm = np.array([33000.0, 38500.0, 55460.0]), np.array([2.90, 3.25, 4.10])
    one = pd.DataFrame({"clearance": ["liner"] * 3})
    start = pd.DataFrame({"clearance": ["liner"], "value": [0.0], "exposure": [0.0]})
    results = WearModel(mm, hours, 0.05, one, start).given([1.0, np.sqrt(1.5e-5), 0.0, 0.0])
    found = likelihood_at_rate(results, 9e-5)
    (wanted,) = expected("wiener_with_measurement_error").values()
    assert found == pytest.approx(wanted, abs=1e-9)
    cov = 1.5e-5 * np.minimum.outer(hours, hours) + 0.05**2 * np.eye(3)
    assert found == pytest.approx(multivariate_normal(9e-5 * hours, cov).logpdf(mm), abs=1e-9)


def test_a_new_clearance_wears_like_its_family(fleet: pd.DataFrame) -> None:
    new = pd.DataFrame(
        {
            "clearance": ["new"],
            "segment": ["first"],
            "family": ["seal"],
            "kh": [3.0],
            "mm": [0.22],
            "u": [0.01],
        }
    )
    rows = pd.concat([fleet, new], ignore_index=True)
    groups = rows[["clearance", "segment", "family"]]
    results = WearModel(rows["mm"], rows["kh"], rows["u"], groups).fit()
    row = results.rates().loc["new"]
    assert row["level"] == pytest.approx(0.22)
    assert row["own_share"] == 0.0
    assert row["rate"] == pytest.approx(results.mixture.family_rate[-1])
    assert row["rate_low"] < row["rate"] < row["rate_high"]


def test_a_family_of_one_stands_on_its_own(fleet: pd.DataFrame) -> None:
    own = fleet[fleet["clearance"] == fleet["clearance"].mode()[0]]
    results = WearModel(own["mm"], own["kh"], own["u"], own[["clearance"]]).fit()
    assert results.rates()["own_share"].iloc[0] == pytest.approx(1.0)
    assert bool(results.converged.all())


def test_no_rate_without_two_readings_anywhere() -> None:
    groups = pd.DataFrame({"clearance": ["a", "b"]})
    results = WearModel([0.2, 0.3], [0.0, 5.0], 0.01, groups).fit()
    rates = results.rates()
    assert rates["rate"].isna().all()
    assert rates["level"].tolist() == pytest.approx([0.2, 0.3])


def test_summary_and_intervals_name_every_parameter(model: WearModel) -> None:
    results = model.fit()
    text = str(results.summary())
    interval = results.conf_int()
    assert list(interval.index) == model.param_names
    for name in model.param_names:
        assert name in text
        low, high = interval.loc[name]
        assert low < results.params[name] < high
    assert (interval.filter(regex="phi|sigma|tau", axis=0)[0] > 0).all()
    covariance = results.cov_params()
    np.testing.assert_allclose(np.sqrt(np.diag(covariance)), results.bse)
    assert model.loglike(results.params) == pytest.approx(results.llf)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"mm": np.nan}, "needs a value"),
        ({"kh": np.nan}, "and an exposure"),
        ({"u": 0.0}, "uncertainty above 0"),
        ({"family": "other"}, "two families"),
        ({"family": None}, "names no family"),
    ],
)
def test_what_makes_no_sense_is_refused(
    fleet: pd.DataFrame, change: dict[str, object], message: str
) -> None:
    broken = fleet.copy()
    for column, value in change.items():
        broken.loc[1, column] = value
    groups = broken[["clearance", "segment", "family"]]
    with pytest.raises(ValueError, match=message):
        WearModel(broken["mm"], broken["kh"], broken["u"], groups)


def test_starts_that_make_no_sense_are_refused() -> None:
    groups = pd.DataFrame({"clearance": ["a", "a"]})
    late = pd.DataFrame({"clearance": ["a"], "value": [0.1], "exposure": [3.0]})
    unknown = pd.DataFrame({"clearance": ["b"], "value": [0.1], "exposure": [0.0]})
    for starts, message in (
        (late, "before the known start"),
        (unknown, "without a reading"),
        (pd.concat([late, late]), "twice"),
    ):
        with pytest.raises(ValueError, match=message):
            WearModel([0.2, 0.3], [1.0, 5.0], 0.01, groups, starts)
    with pytest.raises(ValueError, match="column 'clearance'"):
        WearModel([0.2, 0.3], [1.0, 5.0], 0.01, pd.DataFrame({"ring": ["a", "a"]}))
    with pytest.raises(ValueError, match="2 rows for 1 readings"):
        WearModel([0.2], [1.0], 0.01, groups)

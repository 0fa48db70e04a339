"""Proof values in the sample, against a textbook example, scipy's own fit, and simulation."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import CensoredData, norm

from baywright_plugins.joint_strength.censored import NoScatter, fit_normal
from baywright_plugins.joint_strength.fractile import tolerance_factor
from baywright_plugins.joint_strength.single_ends import end_fraction

NONE = np.array([])


def test_textbook_example() -> None:
    """Meeker & Escobar, Statistical Methods for Reliability Data (1998), page 199, log-normal: five
    failures, fifteen still running at 500. A published check of that page prints mu = 6.564256 and
    the covariance [[0.0581, 0.0374], [0.0374, 0.0405]]. (It prints sigma as 0.543, which is 0.534
    with two digits exchanged: the next test fits the same data with scipy.)"""
    fit = fit_normal(np.log([252.0, 315, 369, 403, 474]), np.log(np.full(15, 500.0)))
    assert fit.mean == pytest.approx(6.564256, abs=5e-7)
    assert fit.sd == pytest.approx(0.534, abs=5e-4)
    printed = np.array([[0.0581, 0.0374], [0.0374, 0.0405]])
    assert np.abs(fit.covariance - printed).max() < 1.1e-4


CASES: dict[str, tuple[Any, Any]] = {
    "textbook": (np.log([252.0, 315, 369, 403, 474]), np.log(np.full(15, 500.0))),
    "one limit": (np.array([81.0, 86, 92, 95, 99, 106, 108]), np.full(3, 111.2)),
    "proofs among strengths": (np.array([81.0, 86, 92, 106, 108]), np.array([70.0, 90, 95, 104])),
    "complete": (np.array([9.85, 8.42, 10.61, 9.12]), NONE),
}


@pytest.mark.parametrize("name", CASES)
def test_same_as_scipy(name: str) -> None:
    """scipy.stats.norm.fit on CensoredData, run live."""
    strengths, proofs = CASES[name]
    censored = CensoredData.right_censored(
        np.concatenate([strengths, proofs]),
        np.concatenate([np.zeros(len(strengths), bool), np.ones(len(proofs), bool)]),
    )
    mean, sd = norm.fit(censored)
    fit = fit_normal(strengths, proofs)
    assert (fit.mean, fit.sd) == pytest.approx((mean, sd), rel=2e-4)
    theirs = norm.logpdf(strengths, mean, sd).sum() + norm.logsf(proofs, mean, sd).sum()
    assert theirs - 1e-9 <= fit.log_likelihood <= theirs + 1e-5


def test_complete_sample_is_mean_and_standard_deviation() -> None:
    """Nothing censored: mean, n - 1 standard deviation, variances s^2/n and s^2/(2 n)."""
    x = np.array([9.85, 8.42, 10.61, 9.12, 10.95, 8.88])
    fit = fit_normal(x, NONE)
    assert fit.mean == pytest.approx(x.mean(), rel=1e-13)
    assert fit.sample_sd == pytest.approx(x.std(ddof=1), rel=1e-12)
    expected = np.diag([x.var() / 6, x.var() / 12])
    assert fit.covariance == pytest.approx(expected, abs=1e-12)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("n", "limit", "fraction"), [(12, 0.4, 0.05), (8, 0.2, 0.05), (12, 0.0, end_fraction())]
)
def test_factor_of_the_strengths_alone_is_on_the_safe_side(
    n: int, limit: float, fraction: float
) -> None:
    """800 series pulled with a scale that stops `limit` standard deviations above the mean: the
    characteristic value lies below the true one at least as often as its 75 % claims (three
    standard errors, 4.6 %, allowed)."""
    random = np.random.default_rng(n)
    true = norm.ppf(fraction)
    below, series = 0, 0
    while series < 800:
        pulls = random.standard_normal(n)
        strengths, held = pulls[pulls < limit], np.full(int((pulls >= limit).sum()), limit)
        if len(strengths) < 3:
            continue
        fit = fit_normal(strengths, held)
        k = tolerance_factor(len(strengths), fraction)
        below += fit.mean - k * fit.sample_sd <= true
        series += 1
    assert below / series >= 0.75 - 0.046


def test_no_scatter_is_refused() -> None:
    """Equal strengths, and no proof value above them, have no scatter to fit."""
    with pytest.raises(NoScatter):
        fit_normal(np.full(5, 9.5), NONE)
    with pytest.raises(NoScatter):
        fit_normal(np.full(5, 9.5), np.array([9.5, 3.0]))
    assert fit_normal(np.full(5, 9.5), np.array([9.9])).sd > 0


FORCE = st.floats(20, 200, allow_nan=False)


@given(st.lists(FORCE, min_size=3, max_size=12, unique=True), st.integers(1, 12))
def test_a_reading_at_the_limit_never_lowers_the_mean(strengths: list[float], held: int) -> None:
    """One more joint that held all the scale can show speaks for strong joints only."""
    x = np.array(strengths)
    if np.ptp(x) < 1e-3:
        return
    limit = x.max() * 1.001
    fewer = fit_normal(x, np.full(held - 1, limit))
    more = fit_normal(x, np.full(held, limit))
    assert more.mean >= fewer.mean * (1 - 1e-9)


@given(
    st.lists(FORCE, min_size=3, max_size=10, unique=True),
    st.lists(FORCE, max_size=10),
    st.floats(1e-4, 1e4),
    st.floats(-1e3, 1e3),
)
def test_fit_follows_scale_and_shift(
    strengths: list[float], proofs: list[float], scale: float, shift: float
) -> None:
    """Other units and another zero give the same joint."""
    x, c = np.array(strengths), np.array(proofs)
    if np.ptp(x) < 1e-3:
        return
    plain, moved = fit_normal(x, c), fit_normal(shift + scale * x, shift + scale * c)
    size = abs(shift) + scale * 200
    assert moved.mean == pytest.approx(shift + scale * plain.mean, abs=1e-6 * size, rel=1e-6)
    assert moved.sd == pytest.approx(scale * plain.sd, abs=1e-6 * size, rel=1e-6)


@given(
    st.lists(FORCE, min_size=3, max_size=10, unique=True), st.lists(FORCE, min_size=1, max_size=10)
)
def test_nothing_nearby_is_more_likely(strengths: list[float], proofs: list[float]) -> None:
    """The maximum proves itself: steps of 1 % of the scatter in mean or scatter do not raise it."""
    x, c = np.array(strengths), np.array(proofs)
    if np.ptp(x) < 1e-3:
        return
    fit = fit_normal(x, c)

    def level(mean: float, sd: float) -> float:
        return float(norm.logpdf(x, mean, sd).sum() + norm.logsf(c, mean, sd).sum())

    assert fit.log_likelihood == pytest.approx(level(fit.mean, fit.sd), rel=1e-7, abs=1e-7)
    for mean, sd in ((0.01, 0), (-0.01, 0), (0, 0.01), (0, -0.01)):
        assert level(fit.mean + mean * fit.sd, fit.sd * (1 + sd)) <= fit.log_likelihood + 1e-9


def test_far_proof_values_settle() -> None:
    """500 proof values a million times the strengths: found, with a slope of zero, not a crash."""
    fit = fit_normal(np.array([1.0, 1.1, 1.2]), np.full(500, 1e6))
    assert np.isfinite([fit.mean, fit.sd]).all() and fit.mean > 1e6

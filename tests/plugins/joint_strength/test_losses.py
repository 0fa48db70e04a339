"""Wear and standing, against scipy's regression and by what a fit must do."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress

from baywright_plugins.joint_strength.losses import (
    NotEnoughPoints,
    fit_standing,
    fit_wear,
    standing_factor,
    wear_factor,
)

M = np.array([1.0, 5, 10, 20, 40])
S = np.array([9.66, 9.12, 8.74, 8.27, 7.9])
DAYS = np.array([1.0, 7, 30])
SHARE = np.array([1.0, 0.975, 0.955])


def test_wear_same_as_scipy() -> None:
    """scipy.stats.linregress on logarithms, run live: slope, intercept, error, r squared."""
    line, fit = linregress(np.log(M), np.log(S)), fit_wear(M, S)
    assert fit.exponent == pytest.approx(-line.slope, rel=1e-12)
    assert fit.first == pytest.approx(np.exp(line.intercept), rel=1e-12)
    assert fit.exponent_error == pytest.approx(line.stderr, rel=1e-9)
    assert fit.r_squared == pytest.approx(line.rvalue**2, rel=1e-9)


def test_standing_same_as_scipy() -> None:
    """scipy.stats.linregress of strength on log10(days), run live; c is slope over intercept."""
    line, fit = linregress(np.log10(DAYS), SHARE), fit_standing(DAYS, SHARE)
    assert fit.loss_per_decade == pytest.approx(-line.slope / line.intercept, rel=1e-12)
    assert fit.loss_error == pytest.approx(line.stderr / line.intercept, rel=1e-9)
    assert fit.r_squared == pytest.approx(line.rvalue**2, rel=1e-9)


@given(st.floats(0, 0.5), st.floats(0.1, 1e4))
def test_exact_power_law_is_found(exponent: float, first: float) -> None:
    """Points on a power law give its exponent and first value back."""
    fit = fit_wear(M, first * M**-exponent)
    assert fit.exponent == pytest.approx(exponent, abs=1e-9)
    assert fit.first == pytest.approx(first, rel=1e-9)


@given(st.floats(1e-3, 1e3))
def test_only_ratios_count(scale: float) -> None:
    """Strengths in another unit, or as shares, give the same loss."""
    assert fit_wear(M, scale * S).exponent == pytest.approx(fit_wear(M, S).exponent, rel=1e-9)
    c = fit_standing(DAYS, SHARE).loss_per_decade
    assert fit_standing(DAYS, scale * SHARE).loss_per_decade == pytest.approx(c, rel=1e-9)


def test_used_parts_lose_less() -> None:
    """What was tested at assembly 10 has lost part of it already: factors multiply."""
    whole = wear_factor(0.055, 10) * wear_factor(0.055, 20, tested_at=10)
    assert whole == pytest.approx(wear_factor(0.055, 20))
    assert wear_factor(0.055, 10, tested_at=10) == 1.0


def test_standing_factor_by_hand() -> None:
    """1 - 0.03 log10(100) = 0.94."""
    assert standing_factor(0.03, 100) == pytest.approx(0.94)


def test_two_points_have_no_error() -> None:
    """A line through two points fits whatever they are; no error is claimed."""
    assert fit_wear(M[:2], S[:2]).exponent_error is None


def test_one_assembly_is_no_series() -> None:
    """A loss needs two different assemblies or days."""
    with pytest.raises(NotEnoughPoints):
        fit_wear(np.full(4, 5.0), np.array([9.0, 9.1, 8.9, 9.2]))
    with pytest.raises(NotEnoughPoints):
        fit_standing(np.array([1.0, 1.0]), np.array([9.0, 9.1]))
    with pytest.raises(NotEnoughPoints):
        fit_standing(np.array([100.0, 1000.0]), np.array([1.0, 9.0]))

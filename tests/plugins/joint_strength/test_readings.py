"""Units, and which readings are strengths."""

import numpy as np
import pytest
from scipy.stats import probplot

from baywright_plugins.joint_strength.probability_plot import (
    normal_by_chance,
    paper_of,
    straightness,
)
from baywright_plugins.joint_strength.readings import newtons_per_unit, sample_of


def test_units() -> None:
    """NIST SP 811, Appendix B.8: 9.80665 N to the kilogram-force, 4.448222 N to the pound-force."""
    assert newtons_per_unit("kgf") == 9.80665
    assert newtons_per_unit("lbf") == pytest.approx(4.448222, abs=5e-7)
    assert newtons_per_unit("N", kgf_n=9.81) == 1.0
    ratio = newtons_per_unit("lbf", kgf_n=9.81) / newtons_per_unit("kgf", kgf_n=9.81)
    assert ratio == pytest.approx(0.45359237)


def test_limit_and_proofs_are_no_strengths() -> None:
    """A reading at the scale's limit, and a pull that was stopped, are proof values."""
    sample = sample_of([8, 10, 9], newtons_each=2.0, scale_limit=10, proofs=[8, 12])
    assert sample.force_n.tolist() == [16, 16, 18, 20, 24]
    assert sample.gave_way.tolist() == [True, False, True, False, False]
    assert sample.place.tolist() == [0, 0, 2, 1, 1]
    assert sample.series.tolist() == [0, 1, 0, 0, 1]
    assert sample.strengths_n.tolist() == [16, 18]


def test_paper_with_a_proof_value_between() -> None:
    """Johnson's adjusted ranks by hand: strengths 1 and 3 of five with a proof value at place 2
    have ranks 1, 2.25, 3.5, 4.75."""
    sample = sample_of([1, 3, 4, 5], newtons_each=1.0, proofs=[2])
    ranks = np.array([1, 2.25, 3.5, 4.75])
    assert paper_of(sample).probability == pytest.approx((ranks - 0.375) / 5.25)


def test_paper_with_a_limit_is_that_of_the_whole_series() -> None:
    """Proof values above all strengths leave the strengths' places as they are."""
    cut = sample_of([1, 2, 3, 9, 9], newtons_each=1.0, scale_limit=9)
    whole = sample_of([1, 2, 3, 10, 11], newtons_each=1.0)
    assert paper_of(cut).probability == pytest.approx(paper_of(whole).probability[:3])


def test_straightness_near_scipys() -> None:
    """scipy.stats.probplot, run live, with Filliben's medians in place of Blom's positions."""
    x = np.array([79.0, 82.6, 87.1, 88.6, 89.5, 92.9, 96.6, 97.7, 101.2, 104.1, 107.4, 110.0])
    paper = paper_of(sample_of(x, newtons_each=1.0))
    _, (_, _, r) = probplot(x)
    assert straightness(paper.quantile, x) == pytest.approx(r, abs=1e-3)


def test_shapiro_wilk_of_a_textbook() -> None:
    """Shapiro & Wilk (1965), weights of eleven men in pounds: W = 0.79, below the 1 % point 0.792;
    so the chance is about 0.01 (data and values from memory)."""
    men = np.array([148.0, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236])
    assert 0.001 < normal_by_chance(men) < 0.012

"""Buckling of imperfect rods against published tables."""

import pytest

from baywright_plugins.kit.buckling_curves import imperfect_load_n, johnson_euler, reduction


@pytest.mark.parametrize(
    ("curve", "slenderness", "chi"),
    [("a", 1.0, 0.6656), ("b", 1.0, 0.597), ("c", 0.5, 0.843), ("d", 2.0, 0.1766)],
)
def test_chi_of_the_code(curve: str, slenderness: float, chi: float) -> None:
    """EN 1993-1-1:2005, 6.3.1.2 and Table 6.1: values as in published chi tables, from memory."""
    assert reduction(slenderness, curve) == pytest.approx(chi, abs=6e-5)


def test_stocky_rods_reach_the_squash_load_and_slender_ones_the_euler_load() -> None:
    """Limits of the Perry-Robertson form (EN 1993-1-1:2005, 6.3.1.2(4))."""
    assert imperfect_load_n(1000.0, 1e6, "c") == 1000.0
    assert imperfect_load_n(1e6, 100.0, "a0") == pytest.approx(100.0, rel=0.01)


@pytest.mark.parametrize(
    ("length_mm", "slenderness", "stress", "regime"),
    [(200.0, 80.0, 201.0526, "johnson"), (400.0, 160.0, 79.805, "euler")],
)
def test_johnson_and_euler_meet(
    length_mm: float, slenderness: float, stress: float, regime: str
) -> None:
    """Solid round of 10 mm, E 207 GPa, yield 250 MPa: formula and transition read in several
    texts on machine design, numbers recomputed independently."""
    found = johnson_euler(207000.0, 250.0, 10.0, length_mm)
    assert found.transition == pytest.approx(127.8439, rel=1e-4)
    assert found.slenderness == pytest.approx(slenderness)
    assert found.stress_n_per_mm2 == pytest.approx(stress, rel=1e-4)
    assert found.regime == regime

"""Many variants in one call answer as each would alone; bands answer as sparse factors would."""

import numpy as np
import pytest

from baywright_plugins.truss_check import solve
from baywright_plugins.truss_check.equilibrium import Truss
from baywright_plugins.truss_check.many import VariantNotSolvable, solve_variants
from baywright_plugins.truss_check.solve import Solver
from tests.plugins.truss_check.boxes import box_beam, held


def shaken(bays: int, seed: int) -> tuple[Truss, np.ndarray]:
    """A box beam numbered at random, some supports sprung, and three load cases."""
    draw = np.random.default_rng(seed)
    beam = box_beam(bays)
    order = draw.permutation(len(beam["nodes_mm"]))
    place = np.argsort(order)
    beam |= {"start": place[beam["start"]], "end": place[beam["end"]]}
    beam["nodes_mm"] = beam["nodes_mm"][order] + draw.uniform(-9, 9, beam["nodes_mm"].shape)
    fixed = np.zeros(beam["nodes_mm"].shape, dtype=bool)
    fixed[place[:3]] = True
    spring = np.where(draw.random(fixed.shape) < 0.1, 40.0, 0.0)
    return held(beam, fixed, spring), draw.standard_normal((3, *fixed.shape))


@pytest.mark.parametrize("cases", [1, 3])
@pytest.mark.parametrize("bays", [1, 4, 25])
def test_variants_answer_as_each_alone(bays: int, cases: int) -> None:
    """Sixty variants, the last of which stands alone in its block where the frame is large."""
    truss, loads = shaken(bays, 7)
    loads = loads[:cases]
    draw = np.random.default_rng(1)
    stiffness = truss.stiffness_n_per_mm * 10.0 ** draw.uniform(-1, 1, (60, len(truss.start)))
    states = solve_variants(truss, stiffness, loads)
    assert states.residual_ratio.max() < 1e-11
    for variant in (0, 31, 59):
        one = Truss(
            truss.nodes_mm, truss.start, truss.end, stiffness[variant], truss.fixed,
            truss.spring_n_per_mm,
        )  # fmt: skip
        alone = Solver(one).solve(loads)
        force, moved = states.member_force_n[variant], states.displacement_mm[variant]
        assert force == pytest.approx(alone.member_force_n, abs=1e-9)
        assert moved == pytest.approx(alone.displacement_mm, abs=1e-9)


def test_one_variant_of_one_case() -> None:
    """The least there can be; loads are left as they were."""
    truss, loads = shaken(3, 5)
    given = loads[:1].copy()
    states = solve_variants(truss, truss.stiffness_n_per_mm[None], loads[:1])
    alone = Solver(truss).solve(loads[:1])
    assert (loads[:1] == given).all()
    assert states.member_force_n[0] == pytest.approx(alone.member_force_n, abs=1e-9)
    assert states.residual_ratio[0] == pytest.approx(alone.residual_ratio[0], abs=1e-11)


def test_variant_that_cannot_be_solved_is_named() -> None:
    """One of the variants of a mechanism fails: its number is told."""
    truss, loads = shaken(3, 2)
    loose = truss.held(np.zeros_like(truss.fixed), np.zeros(truss.fixed.shape))
    stiffness = np.tile(truss.stiffness_n_per_mm, (5, 1))
    with pytest.raises(VariantNotSolvable) as refused:
        solve_variants(loose, stiffness, loads)
    assert 0 <= refused.value.variant < 5


@pytest.mark.parametrize("seed", range(4))
def test_band_and_sparse_factors_agree(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the numbering, twin bars and springs: both ways give the same forces."""
    truss, loads = shaken(12, seed)
    twice = np.r_[: len(truss.start), [5, 5, 17]]
    truss = Truss(
        truss.nodes_mm, np.r_[truss.start, truss.end[[5]], truss.start[[5, 17]]],
        np.r_[truss.end, truss.start[[5]], truss.end[[5, 17]]], truss.stiffness_n_per_mm[twice],
        truss.fixed, truss.spring_n_per_mm,
    )  # fmt: skip
    by_band = Solver(truss).solve(loads)
    monkeypatch.setattr(solve, "LARGEST_BAND", 0)
    sparse = Solver(truss).solve(loads)
    assert by_band.member_force_n == pytest.approx(sparse.member_force_n, abs=1e-9)
    assert by_band.reaction_n == pytest.approx(sparse.reaction_n, abs=1e-9)

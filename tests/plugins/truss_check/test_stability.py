"""Rank: what moves and what is stressed, however the load lies and however stiff the bars are."""

import numpy as np
import pytest
import scipy.linalg

from baywright_plugins.truss_check.equilibrium import Truss
from baywright_plugins.truss_check.solve import Solver
from baywright_plugins.truss_check.stability import (
    RankUndecided,
    internal_stability,
    null_space,
    stability,
)
from tests.plugins.truss_check.boxes import box_beam, cantilever, held


def chain(count: int, *, offset_mm: float = 0.0) -> Truss:
    """Bars in line between two fixed nodes, the middle node moved aside."""
    x = np.linspace(0.0, 1000.0, count)
    nodes = np.column_stack([x, 0 * x, 0 * x])
    nodes[count // 2, 2] = offset_mm
    fixed = np.zeros(nodes.shape, dtype=bool)
    fixed[[0, -1]] = True
    start = np.arange(count - 1)
    return Truss(nodes, start, start + 1, np.ones(count - 1), fixed, np.zeros(nodes.shape))


def by_svd(truss: Truss) -> int:
    singular = scipy.linalg.svdvals(truss.free_equilibrium.toarray())
    return len(truss.free) - int((singular > 1e-10 * singular.max()).sum())


@pytest.mark.parametrize("count", [3, 5, 40, 150])
def test_chain_in_line(count: int) -> None:
    """n nodes in line: each inner node moves two ways across, plus along but for the bars."""
    found = stability(chain(count))
    assert found.self_stress_states == 1
    assert found.mechanisms == 2 * (count - 2)


def test_chain_almost_in_line_is_refused() -> None:
    """A millionth of a millimetre aside is neither straight nor bent: no count is given."""
    with pytest.raises(RankUndecided):
        stability(chain(5, offset_mm=2e-7))
    assert stability(chain(5, offset_mm=1.0)).self_stress_states == 0


@pytest.mark.parametrize("bays", [3, 20, 40])
def test_slender_box_is_stable(bays: int) -> None:
    """A long thin beam is soft, not loose: condition numbers of 1e7 and above do not matter."""
    beam = box_beam(bays, cross=set(range(bays + 1)))
    beam["nodes_mm"] = beam["nodes_mm"] * [1.0, 0.1, 0.1]
    fixed = np.zeros(beam["nodes_mm"].shape, dtype=bool)
    fixed[:4] = True
    truss = held(beam, fixed)
    assert stability(truss).mechanisms == by_svd(truss) == 0
    if bays == 40:
        assert np.linalg.cond(truss.free_stiffness.toarray()) > 1e7


@pytest.mark.parametrize("bays", [6, 30])
def test_one_bare_face(bays: int) -> None:
    """Taking one diagonal out of a determinate beam frees one mechanism, and a second one two,
    in dense and in sparse hands."""
    beam = box_beam(bays)
    diagonals = np.flatnonzero(beam["stiffness_n_per_mm"] < beam["stiffness_n_per_mm"].max())
    for out in (1, 2):
        gone = diagonals[np.linspace(5, len(diagonals) - 6, out).astype(int)]
        keep = np.setdiff1d(np.arange(len(beam["start"])), gone)
        fewer = {k: v if k == "nodes_mm" else v[keep] for k, v in beam.items()}
        found = internal_stability(fewer["nodes_mm"], fewer["start"], fewer["end"])
        assert found.mechanisms == out
        moved = found.modes
        truss = held(fewer, np.zeros(fewer["nodes_mm"].shape, dtype=bool))
        assert np.abs(truss.stretch_mm(moved)).max() < 1e-10
        assert np.abs(moved.sum(axis=1)).max() < 1e-8, "rigid motions are taken out"


def test_free_body_has_six_rigid_motions() -> None:
    """Unsupported: six ways to move, no more."""
    beam = box_beam(25)
    free = held(beam, np.zeros(beam["nodes_mm"].shape, dtype=bool))
    assert stability(free).mechanisms == 6


@pytest.mark.parametrize("seed", range(6))
def test_against_dense_rank(seed: int) -> None:
    """Random trusses with random bars left out: the count of a dense singular value analysis."""
    draw = np.random.default_rng(seed)
    beam = box_beam(26)
    keep = draw.random(len(beam["start"])) > 0.03 * seed
    fewer = {k: v if k == "nodes_mm" else v[keep] for k, v in beam.items()}
    fixed = np.zeros(beam["nodes_mm"].shape, dtype=bool)
    fixed[:4] = True
    truss = held(fewer, fixed)
    found = stability(truss)
    assert found.mechanisms == by_svd(truss)
    assert found.node_mobility.sum() == pytest.approx(found.mechanisms)
    assert found.member_redundancy.sum() == pytest.approx(found.self_stress_states, abs=1e-6)


def test_load_that_does_not_drive_the_mechanism() -> None:
    """A mechanism is found by rank where the load would leave it at rest."""
    truss = chain(3)
    load = np.zeros((1, 3, 3))
    load[0, 1, 0] = 100.0
    assert stability(truss).mechanisms == 2


def test_springs_count_as_supports() -> None:
    """A faint spring holds a direction as well as a stiff one."""
    truss = chain(3)
    spring = np.zeros(truss.nodes_mm.shape)
    spring[1, 1:] = 1e-6
    found = stability(truss.held(truss.fixed, spring))
    assert (found.mechanisms, found.self_stress_states) == (0, 1)


def test_node_without_members_moves_three_ways() -> None:
    truss = cantilever(2)
    nodes = np.vstack([truss.nodes_mm, [[5.0, 5.0, 5.0]]])
    fixed = np.vstack([truss.fixed, [[False] * 3]])
    found = stability(
        Truss(nodes, truss.start, truss.end, truss.stiffness_n_per_mm, fixed, np.zeros(nodes.shape))
    )
    assert found.mechanisms == 3
    assert np.flatnonzero(found.node_mobility > 0.5).tolist() == [len(nodes) - 1]


def test_everything_fixed() -> None:
    """No free direction: nothing moves, every bar is redundant."""
    truss = cantilever(1)
    found = stability(truss.held(np.ones_like(truss.fixed), truss.spring_n_per_mm))
    assert (found.mechanisms, found.degrees_of_freedom) == (0, 0)
    assert found.self_stress_states == found.members


@pytest.mark.parametrize("ratio", [1e4, 1e8, 1e12])
def test_forces_at_extreme_stiffness_ratios(ratio: float) -> None:
    """Statically determinate: forces cannot depend on stiffness, and must not lose digits."""
    truss = cantilever(5)
    keep = np.ones(len(truss.start), dtype=bool)
    redundant = stability(truss).member_redundancy
    while stability(_only(truss, keep)).self_stress_states:
        redundant = stability(_only(truss, keep)).member_redundancy
        keep[np.flatnonzero(keep)[int(redundant.argmax())]] = False
    even = _only(truss, keep)
    draw = np.random.default_rng(3)
    uneven = Truss(
        even.nodes_mm, even.start, even.end,
        even.stiffness_n_per_mm * ratio ** draw.random(len(even.start)),
        even.fixed, even.spring_n_per_mm,
    )  # fmt: skip
    load = draw.standard_normal((2, *truss.nodes_mm.shape))
    one, other = Solver(even).solve(load), Solver(uneven).solve(load)
    size = np.abs(one.member_force_n).max()
    assert np.abs(one.member_force_n - other.member_force_n).max() < 1e-9 * size


def _only(truss: Truss, keep: np.ndarray) -> Truss:
    return Truss(
        truss.nodes_mm, truss.start[keep], truss.end[keep], truss.stiffness_n_per_mm[keep],
        truss.fixed, truss.spring_n_per_mm,
    )  # fmt: skip


def test_null_space_is_orthonormal() -> None:
    """Blocks found one after the other stay perpendicular."""
    beam = box_beam(30, cross=set())
    free = held(beam, np.zeros(beam["nodes_mm"].shape, dtype=bool))
    basis = null_space(free.free_equilibrium)
    assert basis.shape[1] == 8
    assert np.abs(basis.T @ basis - np.eye(8)).max() < 1e-10
    assert np.abs(free.free_equilibrium.T @ basis).max() < 1e-10

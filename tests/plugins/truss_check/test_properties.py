"""What holds of every truss: balance, turning, mirroring, scaling, no direction above the worst."""

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from baywright_plugins.truss_check.equilibrium import Truss
from baywright_plugins.truss_check.first_slip import first_slip
from baywright_plugins.truss_check.limit import LimitNotProven, collapse
from baywright_plugins.truss_check.orientation import worst_orientation
from baywright_plugins.truss_check.solve import Solver
from baywright_plugins.truss_check.stability import RankUndecided, stability
from tests.plugins.truss_check.boxes import box_beam, held

QUICK = settings(max_examples=25, deadline=None)


@st.composite
def trusses(draw: Any) -> Truss:
    """Box beams with shaken nodes, stiffnesses and supports of all kinds; stable ones only."""
    seed = draw(st.integers(0, 2**31))
    random = np.random.default_rng(seed)
    beam = box_beam(draw(st.integers(1, 5)))
    nodes = beam["nodes_mm"] + random.uniform(-25, 25, beam["nodes_mm"].shape)
    beam = {**beam, "nodes_mm": nodes}
    beam["stiffness_n_per_mm"] = 10.0 ** random.uniform(1, 3, len(beam["start"]))
    fixed = random.random(nodes.shape) < 0.1
    spring = np.where(random.random(nodes.shape) < 0.1, 10.0 ** random.uniform(0, 2), 0.0)
    fixed[: draw(st.integers(2, 4))] = True
    truss = held(beam, fixed, spring)
    try:
        assume(stability(truss).mechanisms == 0)
    except RankUndecided:
        assume(False)
    return truss


def loads_for(truss: Truss, count: int = 2) -> np.ndarray:
    random = np.random.default_rng(len(truss.start))
    return random.standard_normal((count, *truss.nodes_mm.shape)) * 10


@QUICK
@given(trusses())
def test_answer_proves_itself(truss: Truss) -> None:
    """Forces balance at every node with reactions, and stretches follow from displacements."""
    loads = loads_for(truss)
    state = Solver(truss).solve(loads)
    inside = (truss.equilibrium @ state.member_force_n.T).T.reshape(loads.shape)
    assert np.abs(inside - loads - state.reaction_n).max() < 1e-9 * np.abs(loads).max()
    stretch = truss.stretch_mm(state.displacement_mm)
    size = np.abs(stretch).max()
    assert np.abs(state.member_force_n / truss.stiffness_n_per_mm - stretch).max() < 1e-8 * size
    assert not state.displacement_mm[:, truss.fixed].any()
    loose = ~truss.fixed & (truss.spring_n_per_mm == 0)
    assert not state.reaction_n[:, loose].any()


@QUICK
@given(trusses(), st.permutations([0, 1, 2]), st.tuples(*[st.sampled_from([-1.0, 1.0])] * 3))
def test_turned_and_mirrored(truss: Truss, order: list[int], sign: tuple[float, ...]) -> None:
    """Turning or mirroring the truss turns its displacements and keeps its member forces."""
    turn = np.eye(3)[order] * np.array(sign)[:, None]
    other = Truss(
        truss.nodes_mm @ turn.T, truss.start, truss.end, truss.stiffness_n_per_mm,
        truss.fixed[:, order], truss.spring_n_per_mm[:, order],
    )  # fmt: skip
    loads = loads_for(truss)
    one, two = Solver(truss).solve(loads), Solver(other).solve(loads @ turn.T)
    size = np.abs(one.member_force_n).max()
    assert np.abs(one.member_force_n - two.member_force_n).max() < 1e-8 * size
    moved = np.abs(one.displacement_mm).max()
    assert np.abs(one.displacement_mm @ turn.T - two.displacement_mm).max() < 1e-8 * moved


@QUICK
@given(trusses(), st.floats(-50, 50).filter(lambda x: abs(x) > 1e-3))
def test_scaled_loads(truss: Truss, factor: float) -> None:
    """Linear: twice the load, twice the force; half the factor of first slip for positive ones."""
    loads = loads_for(truss)
    one, two = Solver(truss).solve(loads), Solver(truss).solve(factor * loads)
    size = np.abs(two.member_force_n).max()
    assert np.abs(factor * one.member_force_n - two.member_force_n).max() < 1e-9 * size
    capacity = np.full(len(truss.start), 60.0)
    slip = first_slip(one.member_force_n, capacity, capacity).factor
    scaled = first_slip(two.member_force_n, capacity, capacity).factor
    assert scaled == pytest.approx(slip / abs(factor), rel=1e-8)


@QUICK
@given(trusses(), st.integers(0, 2**31))
def test_no_direction_beats_the_worst(truss: Truss, seed: int) -> None:
    """Random directions stay below the worst orientation; its own direction reaches it."""
    random = np.random.default_rng(seed)
    mass = random.uniform(0.01, 1.0, len(truss.nodes_mm))
    solver = Solver(truss)
    worst = worst_orientation(solver, mass, 9.80665)
    directions = random.standard_normal((40, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    loads = directions[:, None, :] * mass[None, :, None] * 9.80665
    sampled = np.abs(solver.solve(loads).member_force_n)
    size = worst.worst_member_force_n.max()
    assert (sampled <= worst.worst_member_force_n + 1e-8 * size).all()
    member = int(worst.worst_member_force_n.argmax())
    own = worst.direction[member] * mass[:, None] * 9.80665
    reached = solver.solve(own[None]).member_force_n[0, member]
    assert reached == pytest.approx(worst.worst_member_force_n[member], rel=1e-8)


@settings(max_examples=12, deadline=None)
@given(trusses())
def test_collapse_is_never_before_first_slip(truss: Truss) -> None:
    """First slip bounds collapse from below, and both limit theorems meet."""
    random = np.random.default_rng(len(truss.start))
    tension = random.uniform(20, 80, len(truss.start))
    compression = random.uniform(20, 300, len(truss.start))
    load = loads_for(truss, 1)
    slip = first_slip(Solver(truss).solve(load).member_force_n, tension, compression).factor[0]
    try:
        found = collapse(truss, load[0], tension, compression)
    except LimitNotProven:
        pytest.fail("bounds do not meet")
    if found is not None:
        assert found.factor >= slip * (1 - 1e-9)
        assert found.upper_bound == pytest.approx(found.factor, rel=1e-6)

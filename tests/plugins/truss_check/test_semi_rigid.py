"""Hubs that turn stiffly: both limits, hand solutions, and a reference program run live."""

import numpy as np
import pytest
from numpy.typing import NDArray

from baywright_plugins.truss_check.semi_rigid import FrameState, Rods, fixity, solve_frame

Floats = NDArray[np.float64]


def rods(nodes: Floats, pairs: list[tuple[int, int]], spring: float, **more: float) -> Rods:
    start, end = (np.array(ends) for ends in zip(*pairs, strict=True))
    away = nodes[end] - nodes[start]
    length = np.linalg.norm(away, axis=1)
    one = np.ones(len(start))
    return Rods(
        start,
        end,
        away / length[:, None],
        length,
        more.get("EA", 6e5) / length,
        more.get("EI", 2.4e6) * one,
        more.get("GJ", 1e6) / length,
        spring * np.ones((len(start), 2)),
    )


def cantilever(spring: float) -> FrameState:
    """A rod of 120 mm whose far end carries 1 N across it; its hub at the wall cannot turn."""
    # three stiff rods to the wall stand in for the clamped hub
    wall = np.array([[-50.0, 0, 0], [0.0, 0, 0], [120.0, 0, 0], [0.0, 50, 0], [0.0, 0, 50]])
    member = rods(wall, [(1, 2), (0, 1), (3, 1), (4, 1)], spring)
    stiff = Rods(
        member.start,
        member.end,
        member.direction,
        member.length_mm,
        member.axial_n_per_mm,
        member.bending_n_mm2 * np.array([1.0, 1e7, 1e7, 1e7]),
        member.torsion_n_mm * np.array([1.0, 1e7, 1e7, 1e7]),
        np.vstack([member.spring_n_mm_per_rad[:1], np.full((3, 2), np.inf)]),
    )
    fixed = np.zeros((5, 3), dtype=bool)
    fixed[[0, 1, 3, 4]] = True
    force = np.zeros((5, 3, 1))
    force[2, 1, 0] = 1.0
    return solve_frame(5, stiff, fixed, force, np.zeros((5, 3)))


def test_cantilever_on_a_spring() -> None:
    """Tip of a cantilever on a rotational spring: F L^3 / (3 E I) + F L^2 / k_theta (springs in
    series; any text on the mechanics of materials)."""
    for spring in (200.0, 1200.0, 50_000.0):
        tip = cantilever(spring).displacement_mm[2, 1, 0]
        assert tip == pytest.approx(120.0**3 / (3 * 2.4e6) + 120.0**2 / spring, rel=2e-4)
    assert cantilever(np.inf).displacement_mm[2, 1, 0] == pytest.approx(0.24, rel=2e-4)


def test_moment_at_the_wall_is_force_times_arm() -> None:
    """Equilibrium alone: 1 N at 120 mm makes 120 N mm, whatever the spring."""
    assert cantilever(1200.0).end_moment_n_mm[0, 0, 0] == pytest.approx(120.0, rel=1e-6)
    assert cantilever(1200.0).end_moment_n_mm[0, 1, 0] == pytest.approx(0.0, abs=1e-6)


def test_fixity_runs_from_pin_to_rigid() -> None:
    """0 for no spring, 1 for an infinite one, one half where the spring is 3 E I / L."""
    springs = np.array([0.0, 3 * 2.4e6 / 120.0, np.inf])
    factors = fixity(springs, np.full(3, 2.4e6), np.full(3, 120.0))
    assert factors.tolist() == pytest.approx([0.0, 0.5, 1.0])


NODES = np.array(
    [[x, y, z] for x in (0.0, 120.0, 240.0) for y in (0.0, 120.0) for z in (0.0, 120.0)]
)
EDGES = [
    (a, b)
    for a in range(12)
    for b in range(a + 1, 12)
    if abs(np.linalg.norm(NODES[a] - NODES[b]) - 120.0) < 1e-9
]
DIAGONALS = [
    (0, 5), (1, 6), (0, 3), (2, 7), (4, 9), (5, 10), (6, 11),
    (4, 7), (8, 11), (3, 5), (0, 6), (4, 10), (5, 11), (1, 7),
]  # fmt: skip


def box(spring: float, pairs: list[tuple[int, int]]) -> tuple[FrameState, Rods]:
    fixed = np.zeros((12, 3), dtype=bool)
    fixed[:4] = True
    force = np.zeros((12, 3, 2))
    force[8, 2, 0], force[11, 1, 1] = -5.0, 3.0
    member = rods(NODES, pairs, spring)
    return solve_frame(12, member, fixed, force, np.zeros((12, 3))), member


def test_free_hubs_are_the_truss() -> None:
    """With springs of 0 the forces are those of the pin-jointed truss, solved here by itself."""
    state, member = box(0.0, EDGES + DIAGONALS)
    bars = np.zeros((len(member.start), 36))
    for m, (i, j) in enumerate(zip(member.start, member.end, strict=True)):
        bars[m, 3 * i : 3 * i + 3] = -member.direction[m]
        bars[m, 3 * j : 3 * j + 3] = member.direction[m]
    free = bars[:, 12:]
    stiffness = free.T @ (member.axial_n_per_mm[:, None] * free)
    load = np.zeros((36, 2))
    load[3 * 8 + 2, 0], load[3 * 11 + 1, 1] = -5.0, 3.0
    moved = np.linalg.solve(stiffness, load[12:])
    forces = member.axial_n_per_mm[:, None] * (free @ moved)
    assert state.axial_n == pytest.approx(forces, abs=1e-9)
    assert state.rotation_rad == pytest.approx(0.0)


def test_unbraced_bays_hold_by_their_hubs_alone() -> None:
    """Without diagonals pinned hubs make a mechanism; the stiffer the hubs the less it sways."""
    with pytest.raises(np.linalg.LinAlgError):
        box(0.0, EDGES)
    sway = [np.abs(box(k, EDGES)[0].displacement_mm[11, 1, 1]) for k in (500.0, 5000.0, np.inf)]
    assert sway[0] > sway[1] > sway[2] > 0.0


def test_rigid_frame_against_a_reference_program() -> None:
    """Both load cases of an unbraced box frame, rigid joints, run live in a general-purpose
    structural program with the same sections."""
    pynite = pytest.importorskip("Pynite")
    state, _ = box(np.inf, EDGES)
    model = pynite.FEModel3D()
    model.add_material("wood", 1.0, 1.0, 0.3, 0.0)
    for k, (x, y, z) in enumerate(NODES.tolist()):
        model.add_node(f"N{k}", x, y, z)
    model.add_section("rod", 6e5, 2.4e6, 2.4e6, 1e6)
    for m, (i, j) in enumerate(EDGES):
        model.add_member(f"M{m}", f"N{i}", f"N{j}", "wood", "rod")
    for k in range(4):
        model.def_support(f"N{k}", True, True, True, False, False, False)
    model.add_load_combo("a", {"A": 1.0})
    model.add_load_combo("b", {"B": 1.0})
    model.add_node_load("N8", "FZ", -5.0, case="A")
    model.add_node_load("N11", "FY", 3.0, case="B")
    model.analyze(check_statics=False)
    for case, combo in enumerate("ab"):
        for k in range(12):
            node = model.nodes[f"N{k}"]
            theirs = [node.DX[combo], node.DY[combo], node.DZ[combo]]
            assert state.displacement_mm[k, :, case] == pytest.approx(theirs, abs=1e-9)
            turned = [node.RX[combo], node.RY[combo], node.RZ[combo]]
            assert state.rotation_rad[k, :, case] == pytest.approx(turned, abs=1e-11)

"""Values that a hand calculation gives as well, or a second method."""

import numpy as np
import pytest

from baywright_plugins.truss_check.eigen import frame_buckling
from baywright_plugins.truss_check.equilibrium import Truss
from baywright_plugins.truss_check.first_slip import first_slip
from baywright_plugins.truss_check.limit import collapse
from baywright_plugins.truss_check.solve import Solver
from baywright_plugins.truss_check.stability import internal_stability
from tests.plugins.truss_check.boxes import BAY, K_AXIS, K_DIAGONAL, box_beam, cantilever

SHEAR_N = K_DIAGONAL * BAY  # S = k_d b
BENDING_N_MM2 = K_AXIS * BAY**3  # E I = k_ch b^3
TORSION_N_MM2 = K_DIAGONAL * BAY**3 / 2  # G J = k_d b^3 / 2


def plane_cantilever(*, crossed: bool) -> tuple[Truss, np.ndarray]:
    """Four bays of 120, diagonals from upper left to lower right, 1 N down at the upper tip."""
    nodes = np.array([[i * BAY, 0, j * BAY] for i in range(5) for j in (0, 1)])
    rows: list[tuple[int, int, float]] = [(2 * i, 2 * i + 1, K_AXIS) for i in range(1, 5)]
    for i in range(4):
        low, high = 2 * i, 2 * i + 1
        rows += [(low, low + 2, K_AXIS), (high, high + 2, K_AXIS), (high, low + 2, K_DIAGONAL)]
        rows += [(low, high + 2, K_DIAGONAL)] * crossed
    table = np.array(rows)
    fixed = np.zeros(nodes.shape, dtype=bool)
    fixed[:, 1] = True
    fixed[:2] = True
    load = np.zeros(nodes.shape)
    load[9, 2] = -1.0
    truss = Truss(
        nodes, table[:, 0].astype(np.int64), table[:, 1].astype(np.int64), table[:, 2], fixed,
        np.zeros(nodes.shape),
    )  # fmt: skip
    return truss, load


@pytest.mark.parametrize(("crossed", "slip", "limit"), [(False, 20.0, 20.0), (True, 17.14, 25.607)])
def test_plane_cantilever(crossed: bool, slip: float, limit: float) -> None:
    """Single diagonals: 60 N over a chord force of 3 N, statically determinate, so both are 20.
    Crossed: by both linear programs and event to event, computed apart from this project."""
    truss, load = plane_cantilever(crossed=crossed)
    tension, compression = np.full(len(truss.start), 60.0), np.full(len(truss.start), 300.0)
    state = Solver(truss).solve(load[None])
    factor = first_slip(state.member_force_n, tension, compression).factor[0]
    found = collapse(truss, load, tension, compression)
    assert factor == pytest.approx(slip, abs=0.005)
    assert found is not None
    assert found.factor == pytest.approx(limit, abs=5e-4)
    assert found.upper_bound == pytest.approx(found.factor, rel=1e-9)


@pytest.mark.parametrize(("cross", "mechanisms"), [(set(), 2), ({0}, 1), ({0, 6}, 0)])
def test_box_beam_needs_two_cross_faces(cross: set[int], mechanisms: int) -> None:
    """A free box beam of six bays: its section lozenges unless a cross face near each end is
    braced. By Maxwell's count 76 rods against 78."""
    beam = box_beam(6, cross=cross)
    found = internal_stability(beam["nodes_mm"], beam["start"], beam["end"])
    assert found.mechanisms == mechanisms


def test_cantilever_tip() -> None:
    """Nine bays: 2.080 mm/N computed apart from this project, 2.067 by L^3/(3 E I) + L/S."""
    truss = cantilever(9)
    load = np.zeros(truss.nodes_mm.shape)
    load[-4:, 2] = -0.25
    moved = Solver(truss).solve(load[None]).displacement_mm[0]
    tip = -moved[-4:, 2].mean()
    length = 9 * BAY
    assert tip == pytest.approx(2.080, abs=5e-4)
    assert tip == pytest.approx(length**3 / (3 * BENDING_N_MM2) + length / SHEAR_N, rel=0.01)


def test_cantilever_twist() -> None:
    """1 N m at the tip: 0.01049 rad computed apart from this project, 0.01035 by T L / (G J)."""
    truss = cantilever(9)
    away = truss.nodes_mm[-4:] - truss.nodes_mm[-4:].mean(axis=0)
    load = np.zeros(truss.nodes_mm.shape)
    around = np.cross([1.0, 0.0, 0.0], away)
    load[-4:] = around * 1000 / np.cross(away, around)[:, 0].sum()
    moved = Solver(truss).solve(load[None]).displacement_mm[0, -4:]
    twist = float(np.mean(np.cross(away, moved)[:, 0] / (away**2).sum(axis=1)))
    assert twist == pytest.approx(0.01049, abs=5e-6)
    assert twist == pytest.approx(1000 * 9 * BAY / TORSION_N_MM2, rel=0.02)


def test_cantilever_column() -> None:
    """Twelve bays, pressed at the free end: 245.0 N computed apart from this project, 246.5 by
    1/(1/N_E + 1/S) with N_E = pi^2 E I / (2 L)^2."""
    truss = cantilever(12)
    load = np.zeros(truss.nodes_mm.shape)
    load[-4:, 0] = -0.25
    solver = Solver(truss)
    force = solver.solve(load[None]).member_force_n[0]
    critical = frame_buckling(truss, solver, force, count=2).value[0]
    euler = np.pi**2 * BENDING_N_MM2 / (2 * 12 * BAY) ** 2
    assert critical == pytest.approx(245.0, abs=0.05)
    assert critical == pytest.approx(1 / (1 / euler + 1 / SHEAR_N), rel=0.01)

"""Member forces against the same equations solved in whole fractions, where no digit is lost."""

from fractions import Fraction

import numpy as np
import pytest

from baywright_plugins.truss_check.equilibrium import Truss
from baywright_plugins.truss_check.stability import stability_and_solver
from tests.plugins.truss_check.boxes import box_beam, held


def exact_forces(truss: Truss, load: np.ndarray) -> np.ndarray:
    """Gauss elimination of K x = f in fractions, then k B^T x; directions as given in floats."""
    place = {dof: row for row, dof in enumerate(truss.free.tolist())}
    size = len(place)
    matrix = [[Fraction(0)] * size for _ in range(size)]
    columns = []
    for a, b, unit, k in zip(
        truss.start.tolist(), truss.end.tolist(), truss.direction.tolist(),
        truss.stiffness_n_per_mm.tolist(), strict=True,
    ):  # fmt: skip
        column = [
            (place[3 * node + axis], sign * Fraction(unit[axis]))
            for node, sign in ((a, -1), (b, 1))
            for axis in range(3)
            if 3 * node + axis in place
        ]
        columns.append((column, Fraction(k)))
        for i, x in column:
            for j, y in column:
                matrix[i][j] += Fraction(k) * x * y
    right = [Fraction(float(x)) for x in load.ravel()[truss.free]]
    for i in range(size):
        for row in range(i + 1, size):
            if matrix[row][i]:
                share = matrix[row][i] / matrix[i][i]
                right[row] -= share * right[i]
                matrix[row] = [x - share * y for x, y in zip(matrix[row], matrix[i], strict=True)]
    moved = [Fraction(0)] * size
    for i in reversed(range(size)):
        known = sum((matrix[i][j] * moved[j] for j in range(i + 1, size)), Fraction(0))
        moved[i] = (right[i] - known) / matrix[i][i]
    return np.array([float(k * sum(x * moved[i] for i, x in column)) for column, k in columns])


@pytest.mark.parametrize("ratio", [1.0, 1e6, 1e12])
def test_redundant_box(ratio: float) -> None:
    """Stiffnesses spread over a ratio of up to 1e12: eleven digits stay."""
    draw = np.random.default_rng(5)
    beam = box_beam(2, cross={0, 1, 2})
    beam["stiffness_n_per_mm"] = ratio ** draw.random(len(beam["start"]))
    fixed = np.zeros(beam["nodes_mm"].shape, dtype=bool)
    fixed[:4] = True
    truss = held(beam, fixed)
    load = np.asarray(draw.standard_normal(fixed.shape))
    found, solver = stability_and_solver(truss)
    assert found.mechanisms == 0 and found.self_stress_states > 0
    assert solver is not None
    expected = exact_forces(truss, load)
    ours = solver.solve(load[None]).member_force_n[0]
    assert ours == pytest.approx(expected, abs=1e-11 * np.abs(expected).max())


@pytest.mark.parametrize("stiffness", [[1e-9, 1e15, 1.0], [1e6, 1e12, 1.0]])
def test_hanger_with_absurd_bars(stiffness: list[float]) -> None:
    """Three bars to one node, far apart in stiffness."""
    nodes = np.array([[-1000.0, 0, 0], [0, 0, 0], [1000, 0, 0], [0, -1200, 0]])
    fixed = np.array([[True] * 3] * 3 + [[False, False, True]])
    truss = Truss(
        nodes, np.array([0, 1, 2]), np.array([3, 3, 3]), np.array(stiffness), fixed,
        np.zeros(nodes.shape),
    )  # fmt: skip
    load: np.ndarray = np.zeros(nodes.shape)
    load[3] = [350.0, -20.0, 0.0]
    _, solver = stability_and_solver(truss)
    assert solver is not None
    expected = exact_forces(truss, load)
    assert solver.solve(load[None]).member_force_n[0] == pytest.approx(expected, rel=1e-7)

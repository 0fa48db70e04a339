"""Live runs of general-purpose structural programs beside ours."""

import numpy as np
import openseespy.opensees as ops
import pytest
from Pynite import FEModel3D

from baywright_plugins.truss_check.equilibrium import Truss
from baywright_plugins.truss_check.solve import Solver
from tests.plugins.truss_check.boxes import cantilever


def box_and_loads() -> tuple[Truss, np.ndarray]:
    truss = cantilever(6)
    loads = np.zeros((3, *truss.nodes_mm.shape))
    loads[0, -4:, 2] = -10.0
    loads[1, -4:] = [5.0, 3.0, -1.0]
    loads[2, :, 1] = 2.0
    return truss, loads


def by_opensees(truss: Truss, load: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Forces and displacements; the model is wiped first, since it keeps what it was told."""
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 3)
    for tag, place in enumerate(truss.nodes_mm.tolist()):
        ops.node(tag, *place)
        ops.fix(tag, *[int(x) for x in truss.fixed[tag]])
    for tag, (a, b) in enumerate(zip(truss.start.tolist(), truss.end.tolist(), strict=True)):
        rigidity = float(truss.stiffness_n_per_mm[tag] * truss.length_mm[tag])
        ops.uniaxialMaterial("Elastic", tag, rigidity)
        ops.element("Truss", tag, a, b, 1.0, tag)
    ops.timeSeries("Linear", 1)
    ops.pattern("Plain", 1, 1)
    for tag, force in enumerate(load.tolist()):
        ops.load(tag, *force)
    ops.system("BandSPD")
    ops.numberer("RCM")
    ops.constraints("Plain")
    ops.integrator("LoadControl", 1.0)
    ops.algorithm("Linear")
    ops.analysis("Static")
    assert ops.analyze(1) == 0
    forces = np.array([ops.basicForce(tag)[0] for tag in range(len(truss.start))])
    moved = np.array([ops.nodeDisp(tag) for tag in range(len(truss.nodes_mm))])
    ops.wipe()
    return forces, moved


def by_pynite(truss: Truss, loads: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Forces and displacements of all cases; bars are springs of its library."""
    model = FEModel3D()
    for tag, (x, y, z) in enumerate(truss.nodes_mm.tolist()):
        model.add_node(f"N{tag}", x, y, z)
        model.def_support(f"N{tag}", *(bool(f) for f in truss.fixed[tag]), True, True, True)
    for tag, (a, b) in enumerate(zip(truss.start.tolist(), truss.end.tolist(), strict=True)):
        model.add_spring(f"S{tag}", f"N{a}", f"N{b}", float(truss.stiffness_n_per_mm[tag]))
    for row, load in enumerate(loads):
        for tag, force in enumerate(load.tolist()):
            for axis, size in zip(("FX", "FY", "FZ"), force, strict=True):
                if size:
                    model.add_node_load(f"N{tag}", axis, size, case=f"C{row}")
        model.add_load_combo(f"L{row}", {f"C{row}": 1.0})
    model.analyze_linear(check_stability=False)
    cases = range(len(loads))
    springs = [model.springs[f"S{tag}"] for tag in range(len(truss.start))]
    forces = np.array([[spring.axial(f"L{row}") for spring in springs] for row in cases])
    nodes = [model.nodes[f"N{tag}"] for tag in range(len(truss.nodes_mm))]
    moved = np.array(
        [[[node.DX[f"L{r}"], node.DY[f"L{r}"], node.DZ[f"L{r}"]] for node in nodes] for r in cases]
    )
    return forces, moved


def test_openseespy() -> None:
    """OpenSees, corotation off, one model for each load case."""
    truss, loads = box_and_loads()
    ours = Solver(truss).solve(loads)
    for row, load in enumerate(loads):
        forces, moved = by_opensees(truss, load)
        assert ours.member_force_n[row] == pytest.approx(forces, abs=1e-9 * np.abs(forces).max())
        assert ours.displacement_mm[row] == pytest.approx(moved, abs=1e-9 * np.abs(moved).max())


def test_pynite() -> None:
    """PyNiteFEA with two-node springs; compression is positive there."""
    truss, loads = box_and_loads()
    ours = Solver(truss).solve(loads)
    forces, moved = by_pynite(truss, loads)
    assert ours.displacement_mm == pytest.approx(moved, abs=1e-8 * np.abs(moved).max())
    size = np.abs(forces).max()
    sign = np.sign(forces.ravel()[np.abs(forces).argmax()]) * np.sign(
        ours.member_force_n.ravel()[np.abs(forces).argmax()]
    )
    assert ours.member_force_n == pytest.approx(sign * forces, abs=1e-8 * size)

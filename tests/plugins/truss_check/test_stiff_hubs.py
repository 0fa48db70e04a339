"""Hubs that turn stiffly: both limits through the calculator, another program run live, refusals.

A second program is run live on the rigid frame in `test_semi_rigid.py`.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import openseespy.opensees as ops
import pytest
from Pynite import FEModel3D

from baywright_plugins.truss_check.joint_stiffness import Joints, stiffened_section
from baywright_plugins.truss_check.semi_rigid import Rods, SemiRigid
from baywright_service.contract import InvalidInputs, Result
from tests.plugins.truss_check.sections import KIT, box_model
from tests.plugins.truss_check.test_semi_rigid import DIAGONALS, EDGES, NODES, rods
from tests.plugins.truss_check.wire import body_of, check_files, desk

Check = Callable[[Any], Result]
SPRING = 3000.0
LOADS = {8: (0.0, 0.0, -5.0), 11: (2.0, 3.0, 0.0)}
MASS_KG = 0.4


def members(pairs: list[tuple[int, int]], spring: float) -> Rods:
    """Members of the box whose seats give in torsion as in bending."""
    plain = rods(NODES, pairs, spring)
    torsion = 1.0 / (1.0 / plain.torsion_n_mm + 2.0 / spring)
    return Rods(
        plain.start, plain.end, plain.direction, plain.length_mm, plain.axial_n_per_mm,
        plain.bending_n_mm2, torsion, plain.spring_n_mm_per_rad,
    )  # fmt: skip


def held_box(pairs: list[tuple[int, int]], spring: float) -> SemiRigid:
    fixed = np.zeros((12, 3), dtype=bool)
    fixed[:4] = True
    return SemiRigid(12, members(pairs, spring), fixed, np.zeros((12, 3)))


def opensees_box(pairs: list[tuple[int, int]], spring: float) -> None:
    """The same box: beam elements between extra nodes, tied to the hubs by turning springs."""
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 6)
    for tag, place in enumerate(NODES.tolist()):
        ops.node(tag, *place)
        held = int(tag < 4)
        ops.fix(tag, held, held, held, 0, 0, 0)
        if not held:
            ops.mass(tag, *[MASS_KG / 1000.0] * 3, 0.0, 0.0, 0.0)
    ops.uniaxialMaterial("Elastic", 1, spring)
    extra = 1000
    for tag, (i, j) in enumerate(pairs):
        ends = []
        for hub in (i, j):
            ops.node(extra, *NODES[hub].tolist())
            ops.equalDOF(hub, extra, 1, 2, 3)
            ops.element("zeroLength", extra, hub, extra, "-mat", 1, 1, 1, "-dir", 4, 5, 6)
            ends.append(extra)
            extra += 1
        away = NODES[j] - NODES[i]
        beside = np.eye(3)[int(np.abs(away).argmin())]
        ops.geomTransf("Linear", tag, *beside.tolist())
        ops.element(
            "elasticBeamColumn", tag, *ends, 1.0, 6e5, 1.0, 1e6, 2.4e6 / 6e5,
            2.4e6 / 6e5, tag,
        )  # fmt: skip
    ops.constraints("Transformation")
    ops.numberer("RCM")
    ops.system("UmfPack")


def test_semi_rigid_frame_against_openseespy() -> None:
    """Displacements, turns and forces along the rods of a bare box that only its hubs hold."""
    frame = held_box(EDGES, SPRING)
    force = np.zeros((12, 3, 1))
    for node, load in LOADS.items():
        force[node, :, 0] = load
    ours = frame.solve(force)
    opensees_box(EDGES, SPRING)
    ops.timeSeries("Linear", 1)
    ops.pattern("Plain", 1, 1)
    for node, load in LOADS.items():
        ops.load(node, *load, 0.0, 0.0, 0.0)
    ops.integrator("LoadControl", 1.0)
    ops.algorithm("Linear")
    ops.analysis("Static")
    assert ops.analyze(1) == 0
    theirs = np.array([ops.nodeDisp(node) for node in range(12)])
    axial = np.array([ops.basicForce(tag)[0] for tag in range(len(EDGES))])
    ops.wipe()
    assert ours.displacement_mm[:, :, 0] == pytest.approx(theirs[:, :3], abs=1e-8)
    assert ours.rotation_rad[:, :, 0] == pytest.approx(theirs[:, 3:], abs=1e-9)
    assert ours.axial_n[:, 0] == pytest.approx(axial, abs=1e-7)
    assert np.abs(theirs[:, :3]).max() > 1.0


@pytest.mark.parametrize("pairs", [EDGES, EDGES + DIAGONALS], ids=["bare", "braced"])
def test_frequencies_of_a_semi_rigid_frame_against_openseespy(pairs: list[tuple[int, int]]) -> None:
    """Eigenvalues of the box with 0.4 kg at each hub."""
    masses = np.full(12, MASS_KG)
    masses[:4] = 0.0
    ours = held_box(pairs, SPRING).frequencies_hz(masses, count=4)
    opensees_box(pairs, SPRING)
    theirs = np.sqrt(np.array(ops.eigen("-genBandArpack", 4))) / (2 * np.pi)
    ops.wipe()
    assert ours == pytest.approx(theirs, rel=1e-7)


def test_a_leaning_portal_buckles_at_its_sway_stiffness() -> None:
    """A load P on hinged posts of height h tips them by P x / h; the portal resists with x over
    its sway under 1 N, so that it buckles at h / sway (any text on the stability of structures,
    the bow of the posts left out)."""
    nodes = np.array([[0.0, 0, 0], [120.0, 0, 0], [0.0, 0, 120], [120.0, 0, 120]])
    frame_rods = rods(nodes, [(0, 2), (1, 3), (2, 3)], 500.0, EA=1e9)
    fixed = np.array([[True] * 3] * 2 + [[False, True, False]] * 2)
    frame = SemiRigid(4, frame_rods, fixed, np.zeros((4, 3)))
    push = np.zeros((4, 3, 1))
    push[2:, 0, 0] = 0.5
    sway = frame.solve(push).displacement_mm[2, 0, 0]
    axial = np.array([-0.5, -0.5, 0.0])
    assert frame.critical_factors(axial)[0] == pytest.approx(120.0 / sway, rel=1e-6)


def stiff_body(model: str, spring: float | None = None, **more: Any) -> dict[str, Any]:
    faces = {"side_faces": {"default": "none"}, "cross_faces": {"every": 0}}
    axes = {axis: [{"rod": "R120", "count": n}] for axis, n in (("x", 3), ("y", 2), ("z", 4))}
    section = {"id": "A", "rods": axes, **faces, **more}
    joints: dict[str, Any] = {"model": model}
    if spring is not None:
        joints["rotational_stiffness_n_mm_per_rad"] = spring
    return {
        "kit": desk("kit"),
        "frame": {"layout": {"sections": [section]}},
        "joints": joints,
    }


def test_a_bare_box_holds_by_its_hubs_alone(check: Check) -> None:
    """Pinned it folds; stiff it stands, sways less the stiffer the hubs, and says so."""
    pinned = check(stiff_body("pinned"))
    assert [f.code for f in pinned.findings] == ["mechanism"]
    assert "joint_stiffness" not in pinned.value["sections"][0]
    sways = []
    for spring in (200.0, 20_000.0):
        result = check(stiff_body("semi-rigid", spring))
        section = result.value["sections"][0]
        assert section["stability"]["mechanisms"] > 0 and section["cases"] == []
        stiff = section["joint_stiffness"]
        assert stiff["holds_by"] == "hub-stiffness" and "pinned_sway_mm_per_n" not in stiff
        sways.append(stiff["sway_mm_per_n"][0])
        assert stiff["moment_max_n_mm"] > 0
        [finding] = result.findings
        assert finding.code == "holds-only-by-hub-stiffness"
        factor = stiff["critical_factors"][0]
        assert finding.level == ("stop" if factor < 3 else "watch")
        assert finding.remedy is not None and finding.remedy.patch is not None
    assert sways[0] > 10 * sways[1]
    rigid = check(stiff_body("rigid")).value["sections"][0]["joint_stiffness"]
    assert rigid["sway_mm_per_n"][0] < sways[1]
    assert "rotational_stiffness_n_mm_per_rad" not in rigid


def test_both_limits_of_a_section() -> None:
    """Springs toward 0 give the pinned answers; springs toward infinity the rigid ones."""
    model = box_model((2, 2, 4), side_faces={"default": "single"}, cross_faces={"every": 1})
    soft, none, hard, rigid = (
        stiffened_section(model, KIT, Joints("semi-rigid", k), (), mechanisms=0)
        for k in (1e-6, 0.0, 1e14, np.inf)
    )
    assert none.stiff is not None and none.pinned is not None
    assert soft.stiff is not None and hard.stiff is not None and rigid.stiff is not None
    assert none.stiff.sway_mm_per_n == pytest.approx(none.pinned.sway_mm_per_n, rel=1e-9)
    assert none.stiff.twist_rad_per_nm == pytest.approx(none.pinned.twist_rad_per_nm, rel=1e-9)
    assert soft.stiff.sway_mm_per_n == pytest.approx(none.pinned.sway_mm_per_n, rel=1e-8)
    assert hard.stiff.sway_mm_per_n == pytest.approx(rigid.stiff.sway_mm_per_n, rel=1e-7)
    assert rigid.stiff.sway_mm_per_n[0] < 0.95 * none.stiff.sway_mm_per_n[0]


def test_structure_with_stiff_joints(check: Check) -> None:
    """Beside the pinned forces; the pinned limit is the truss itself."""
    [case] = [c for c in check_files("static") if c["name"] == "t_junction"]
    body = body_of(case)
    count = len(body["structure"]["members"]["start"])
    body["structure"]["members"]["bending_stiffness_n_mm2"] = [1e6] * count
    forces = case["expected"]["member_forces"]
    for spring, tolerance in ((1e-3, 1e-7), (5e4, None)):
        body["joints"] = {"model": "semi-rigid", "rotational_stiffness_n_mm_per_rad": spring}
        found = check(body).value
        assert found["semi_rigid"]["holds_by"] == "bracing"
        for row, expected in zip(found["semi_rigid"]["load_cases"], forces, strict=True):
            size = np.abs(expected).max()
            apart = np.abs(np.array(row["member_force_n"]) - expected).max() / size
            assert apart < tolerance if tolerance else apart > 1e-6
            pinned = found["load_cases"][0]["member_force_n"]
            assert len(pinned) == len(row["end_moment_n_mm"])


def test_a_structure_that_stiff_joints_hold(check: Check) -> None:
    """A bare square pushed over: forces only with stiff joints, none where it is unsupported."""
    body: dict[str, Any] = {
        "structure": {
            "nodes_mm": [[0, 0, 0], [120, 0, 0], [0, 0, 120], [120, 0, 120]],
            "members": {
                "start": [0, 1, 2], "end": [2, 3, 3], "axial_stiffness_n": [6e5] * 3,
                "bending_stiffness_n_mm2": [2.4e6] * 3,
            },
            "supports": [
                {"node": 0, "fixed": ["x", "y", "z"]}, {"node": 1, "fixed": ["x", "y", "z"]},
                {"node": 2, "fixed": ["y"]}, {"node": 3, "fixed": ["y"]},
            ],
            "load_cases": [{"id": "push", "forces": [{"node": 2, "n": [1, 0, -1]}]}],
        },
        "joints": {"model": "rigid"},
        "analyses": ["linear", "frame-buckling"],
    }  # fmt: skip
    result = check(body)
    found = result.value["semi_rigid"]
    assert found["holds_by"] == "hub-stiffness" and result.value["load_cases"] == []
    [finding] = result.findings
    assert finding.code == "holds-only-by-hub-stiffness" and finding.remedy is not None
    # portal with hinged feet and a beam as stiff as its posts: h^3 (2 k + 1) / (12 k E I) for half
    # the push on each post, k = I_beam h / (I_post l) = 1 (handbook of frames, from memory)
    sway = found["load_cases"][0]["displacement_mm"][2][0]
    by_hand = 120.0**3 / (12 * 2.4e6) * 3.0
    assert sway == pytest.approx(by_hand, rel=0.02)
    body["structure"]["supports"] = body["structure"]["supports"][:1]
    loose = check(body)
    assert loose.value["semi_rigid"]["holds_by"] == "nothing"
    assert "folds-with-stiff-hubs" in [f.code for f in loose.findings]


def test_missing_stiffness_is_named(check: Check) -> None:
    body = stiff_body("semi-rigid")
    for hub in body["kit"]["hubs"]:
        hub.pop("rotational_stiffness_n_mm_per_rad", None)
    with pytest.raises(InvalidInputs) as fault:
        check(body)
    [(pointer, what)] = fault.value.faults
    assert pointer == "/joints/rotational_stiffness_n_mm_per_rad" and what.code == "missing"
    assert "H18" in what
    body["kit"]["hubs"][0]["rotational_stiffness_n_mm_per_rad"] = 5000
    found = check(body).value["sections"][0]["joint_stiffness"]
    assert found["rotational_stiffness_n_mm_per_rad"] == 5000


def test_frequencies_of_a_rigid_frame_against_pynite() -> None:
    """Eigenvalues of the bare box with rigid hubs and 0.4 kg at each free one, in a second
    program whose masses come from loads."""
    model = FEModel3D()
    model.add_material("wood", 1.0, 1.0, 0.3, 0.0)
    model.add_section("rod", 6e5, 2.4e6, 2.4e6, 1e6)
    for tag, (x, y, z) in enumerate(NODES.tolist()):
        model.add_node(f"N{tag}", x, y, z)
        model.def_support(f"N{tag}", *[tag < 4] * 3, False, False, False)
        if tag >= 4:
            model.add_node_load(f"N{tag}", "FY", -MASS_KG / 1000.0, case="mass")
    for tag, (i, j) in enumerate(EDGES):
        model.add_member(f"M{tag}", f"N{i}", f"N{j}", "wood", "rod")
    model.add_load_combo("mass", {"mass": 1.0})
    model.analyze_modal(num_modes=4, mass_combo_name="mass", check_stability=False)
    fixed = np.zeros((12, 3), dtype=bool)
    fixed[:4] = True
    frame = SemiRigid(12, rods(NODES, EDGES, np.inf), fixed, np.zeros((12, 3)))
    masses = np.where(np.arange(12) < 4, 0.0, MASS_KG)
    assert frame.frequencies_hz(masses, count=4) == pytest.approx(
        np.sort(model.frequencies), rel=1e-5
    )

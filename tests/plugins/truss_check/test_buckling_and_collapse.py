"""What buckles first, and collapse: whose members, and when there must be none."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from baywright_plugins.truss_check import TrussCheck
from baywright_plugins.truss_check.beams import Rods, beam_column, beam_compression_n, beams
from baywright_plugins.truss_check.collapse_mode import yielding
from baywright_plugins.truss_check.eigen import frame_buckling
from baywright_plugins.truss_check.equilibrium import Truss
from baywright_plugins.truss_check.frequencies import standing
from baywright_plugins.truss_check.limit import collapse, upper_bound
from baywright_service.contract import Inputs, Result
from tests.plugins.truss_check.sections import box_model, model_of
from tests.plugins.truss_check.wire import body_of, check_files, desk, expected_desk

Check = Callable[[Any], Result]
Pair = tuple[Inputs, Result]
BENDING, FREE = 12000 * np.pi * 8**4 / 64, 20.0


@pytest.mark.parametrize("pattern", ["alternating", "single", "lean-in"])
def test_a_box_column_by_engesser_and_by_its_eigenvalue(pattern: str) -> None:
    """A free-standing column of 12 bays: Engesser with seats in series against the eigenvalue of
    all its rods, two ways that share no code. 246.5 by hand for alternating diagonals, 245.0 by
    an independent program."""
    model = box_model((1, 1, 12), side_faces={"default": pattern}, cross_faces={"every": 4})
    [beam] = beams(model.part)
    assert (beam.axis, beam.bays, beam.joined, beam.length_factor) == (2, 12, (False, False), 2.0)
    rods = Rods(model.part, model.stiffness_n_per_mm)
    made = beam_column(
        beam, rods, np.full(len(model.part.start), BENDING), model.part.length_mm - FREE
    )
    assert made is not None
    column, _, _ = made
    stands = standing(model)
    force = np.zeros((1, *model.part.nodes_mm.shape))
    force[0, model.part.lattice[:, 2] == 12, 2] = -0.25
    forces = stands.solver.solve(force).member_force_n
    modes = frame_buckling(stands.truss, stands.solver, forces[0], count=1)
    assert column.critical_n == pytest.approx(modes.value[0], rel=0.005)
    assert beam_compression_n(beam, rods, forces) == pytest.approx([1.0])
    if pattern == "alternating":
        assert column.critical_n == pytest.approx(246.5, abs=0.1)
        assert modes.value[0] == pytest.approx(245.0, rel=0.005)


def test_beams_of_the_demo_machine() -> None:
    """The box frame has twelve beams; between its corners each is as long as its bays and half a
    corner at both ends."""
    found = beams(model_of("S2").part)
    assert [(beam.axis, beam.bays) for beam in found] == [(0, 7)] * 4 + [(1, 3)] * 4 + [(2, 10)] * 4
    assert [beam.length_mm for beam in found] == [960.0] * 4 + [480.0] * 4 + [1320.0] * 4
    assert all(beam.length_factor == 1.0 for beam in found)
    assert beams(box_model((3, 3, 3), beams=[
        {"at": [0, 0, 0], "axis": "x", "bays": 3}, {"at": [0, 1, 0], "axis": "x", "bays": 3},
    ]).part) == []  # bays side by side are no beam  # fmt: skip


def test_the_smallest_of_three_governs(changed: Pair) -> None:
    """Rods, beams and frame of the demo machine; the frame as an independent program has it."""
    expected = expected_desk()["elastic_buckling_factor_standing"]
    for name in ("S1", "S2"):
        [section] = [s for s in changed[1].value["sections"] if s["section"] == name]
        buckling = section["buckling"]
        frame = buckling["frame"]
        assert frame["case"] == "stand"
        assert frame["factor"] == pytest.approx(expected[f"{name}_changed"], abs=0.06)
        assert frame["critical_factors"][0] == frame["factor"]
        rod, beam = buckling["rods"]["factor"], buckling["beams"][0]["factor"]
        assert buckling["factor"] == min(rod, beam, frame["factor"])
        assert buckling["governs"] == "beam" and beam == buckling["factor"]
        bar = buckling["rods"]["governing"]
        length = {"R120": 100.0, "R170": 149.6}[bar["rod"]]
        euler = np.pi**2 * BENDING / length**2
        assert buckling["rods"]["euler_n"] == pytest.approx(euler, rel=1e-9)
        assert rod == pytest.approx(-euler / bar["force_n"], rel=1e-9)
        lowest = buckling["beams"][0]
        assert lowest["critical_load_n"] / lowest["compression_n"] == pytest.approx(beam)
    codes = [f.code for f in changed[1].findings]
    assert codes.count("buckling-governs") == 3


def slim(diameter: float, **more: Any) -> dict[str, Any]:
    kit = desk("kit")
    for rod in kit["rods"]:
        rod["diameter_mm"] = diameter
    axes = {axis: [{"rod": "R120", "count": n}] for axis, n in (("x", 1), ("y", 1), ("z", 6))}
    section = {
        "id": "A", "rods": axes, "side_faces": {"default": "crossed"}, "cross_faces": {"every": 1},
        "fittings": [{"title": "top", "mass_kg": 6.0, "levels": [6]}],
    }  # fmt: skip
    return {
        "kit": kit,
        "frame": {"layout": {"sections": [section]}},
        "handling": {"cases": ["stand"], "required_planned_ratio": 0.5},
        **more,
    }


def test_chords_that_bow_between_hubs_govern_and_are_named(check: Check) -> None:
    """Rods of 1 mm: four chords bow at 4 pi^2 E I / a^2 = 2.33 N, far below what the column
    formula gives; the finding names both."""
    result = check(slim(1.0))
    [section] = result.value["sections"]
    beam = section["buckling"]["beams"][0]
    by_hand = 4 * np.pi**2 * 12000 * np.pi / 64 / 100.0**2
    assert beam["chord_n"] == beam["critical_load_n"] == pytest.approx(by_hand, rel=1e-9)
    assert beam["governs"] == "chord" and beam["chord_n"] < 0.12 * beam["engesser_n"]
    codes = {f.code: f.level for f in result.findings}
    assert codes["chord-buckles-between-lacing-points"] == "watch"
    assert codes["buckling-below-required"] == "stop"


def test_a_rod_that_buckles_has_no_collapse_factor(check: Check) -> None:
    """Rods of 2 mm bow before they are pressed in; with 8 mm the same frame collapses by slip."""
    thin, thick = check(slim(2.0)), check(slim(8.0))
    [case] = thin.value["sections"][0]["cases"]
    assert "collapse_factor" not in case and "first_slip_factor" in case
    assert "buckles" in case["collapse_left_out"]
    assert "rod-buckles-before-seats-slip" in [f.code for f in thin.findings]
    [case] = thick.value["sections"][0]["cases"]
    assert case["collapse_factor"] >= case["first_slip_factor"] and "collapse_left_out" not in case


def test_crooked_rods_take_less(check: Check) -> None:
    """Strength makes the capacity the smaller of bearing, Euler over its margin, and the curve."""
    straight, crooked = (
        check(slim(4.0, **more)).value["sections"][0]
        for more in ({}, {"rod_compression_strength_n_per_mm2": 5.0, "rod_buckling_curve": "d"})
    )
    rods = crooked["buckling"]["rods"]
    assert rods["critical_load_n"] == rods["imperfect_load_n"] < rods["euler_n"]
    assert "imperfect_load_n" not in straight["buckling"]["rods"]
    assert crooked["first_slip_factor"] < straight["first_slip_factor"]
    assert rods["imperfect_load_n"] < 5.0 * np.pi * 4


def test_a_detent_has_first_slip_alone(check: Check) -> None:
    body = slim(8.0, seat_after_slip_ratio=0.79)
    result = check(body)
    [case] = result.value["sections"][0]["cases"]
    assert "collapse_factor" not in case and "lets go" in case["collapse_left_out"]
    assert "seat-is-a-detent" in [f.code for f in result.findings]
    body["seat_after_slip_ratio"] = 0.8
    [case] = check(body).value["sections"][0]["cases"]
    [full] = check(slim(8.0)).value["sections"][0]["cases"]
    if "collapse_factor" in case:
        assert case["collapse_factor"] == pytest.approx(0.8 * full["collapse_factor"], rel=1e-6)
    else:
        assert 0.8 * full["collapse_factor"] < full["first_slip_factor"]


def test_collapse_is_never_given_without_first_slip(planned: Pair, changed: Pair) -> None:
    for _, result in (planned, changed):
        for section in result.value["sections"]:
            for case in section["cases"]:
                assert "collapse_factor" not in case or "first_slip_factor" in case


def test_members_of_the_collapse_mode_do_its_work() -> None:
    """The kinematic theorem with the listed members alone gives the collapse factor again: no
    other member changes its length in the motion."""
    for case in check_files("limit"):
        nodes = np.array(case["nodes"]) * 1000.0
        members = case["members"]
        start, end = (np.array([m[k] for m in members]) for k in "ij")
        length = np.linalg.norm(nodes[end] - nodes[start], axis=1)
        fixed = np.zeros(nodes.shape, dtype=bool)
        for support in case["supports"]:
            fixed[support["node"]] = [support[axis] for axis in "xyz"]
        stiffness = np.array([m["EA"] for m in members]) / length
        truss = Truss(nodes, start, end, stiffness, fixed, np.zeros(nodes.shape))
        force = np.zeros(nodes.shape)
        for load in case["load_cases"][0]["loads"]:
            force[load["node"]] += [load["fx"], load["fy"], load["fz"]]
        tension, compression = (
            np.array([m[f"{way}_capacity"] for m in members]) for way in ("tension", "compression")
        )
        found = collapse(truss, force, tension, compression)
        assert found is not None
        gives = yielding(truss, found)
        assert 0 < len(gives) < len(members)
        only = np.zeros(len(members))
        only[gives] = 1.0
        again = upper_bound(truss, found.motion, force, tension * only, compression * only)
        assert again == pytest.approx(case["expected"]["collapse_factor"], rel=1e-6)


@pytest.mark.parametrize("case", check_files("limit"), ids=lambda case: str(case["name"]))
def test_members_of_collapse_and_its_picture(
    case: dict[str, Any], check: Check, calculator: TrussCheck
) -> None:
    inputs = calculator.load(body_of(case))
    result = calculator.calculate(inputs)
    [row] = result.value["limit_load"]
    assert len(row["collapse_members"]) and row["first_slip_factor"] <= row["collapse_factor"]
    drawing = calculator.draw(inputs, result, "collapse")
    assert "first slip at" in drawing.title and "collapse at" in drawing.title
    detent = check({**body_of(case), "seat_after_slip_ratio": 0.5})
    [row] = detent.value["limit_load"]
    assert "collapse_factor" not in row and "lets go" in row["collapse_left_out"]


def test_slender_members_of_a_structure(check: Check) -> None:
    """Bending stiffness makes Euler the limit of pressed members: no collapse factor, and the
    rod's own buckling factor beside the frame's."""
    [case] = [c for c in check_files("limit") if c["name"] == "limit_box_cantilever"]
    body = body_of(case)
    members = body["structure"]["members"]
    members["bending_stiffness_n_mm2"] = [1e6] * len(members["start"])
    body["analyses"] = ["linear", "limit-load", "frame-buckling"]
    result = check(body)
    [row] = result.value["limit_load"]
    assert "collapse_factor" not in row and "buckles" in row["collapse_left_out"]
    buckling = result.value["buckling"]
    force = np.array(result.value["load_cases"][0]["member_force_n"])
    nodes = np.array(body["structure"]["nodes_mm"])
    length = np.linalg.norm(nodes[members["end"]] - nodes[members["start"]], axis=1)
    by_hand = 1.0 / (-force / (np.pi**2 * 1e6 / length**2)).max()
    assert buckling["rods"]["factor"] == pytest.approx(by_hand, rel=1e-9)
    assert buckling["governs"] == "rod"
    assert buckling["frame"]["factor"] == result.value["frame_buckling"][0]["critical_factors"][0]


def test_pictures_of_collapse_and_buckling(changed: Pair, calculator: TrussCheck) -> None:
    inputs, result = changed
    collapse_view = calculator.draw(inputs, result, "collapse")
    assert "first slip at 1.77" in collapse_view.title and "collapse at 3.55" in collapse_view.title
    buckling_view = calculator.draw(inputs, result, "buckling")
    assert "buckles at 64.7 times" in buckling_view.title
    assert collapse_view.shapes and buckling_view.shapes

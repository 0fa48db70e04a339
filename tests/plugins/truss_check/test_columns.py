"""Columns through HTTP: the check files, end conditions by hand, crookedness, and refusals."""

import json
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import openseespy.opensees as ops
import pytest
from scipy.linalg import eigh

from baywright_plugins.truss_check.columns import sprung_length_factor
from tests.plugins.truss_check.wire import DATA

Run = Callable[[Any], dict[str, Any]]
SYSTEMS = {"X": "crossed", "N": "posts"}


@pytest.fixture
def run(post: Callable[..., Any]) -> Run:
    def answer(body: Any) -> dict[str, Any]:
        response = post("truss-check", body)
        assert response.status_code == 200, response.get_json()
        envelope: dict[str, Any] = response.get_json()
        return envelope

    return answer


def case(name: str) -> Any:
    return json.loads((DATA / "truss" / f"{name}.json").read_text())


def laced(column: dict[str, Any]) -> dict[str, Any]:
    """A laced column of a check file, SI to the units of the API."""
    body = {
        "system": SYSTEMS[column["kind"]],
        "length_mm": column["pin_ended_length"] * 1e3,
        "panel_mm": column["panel"] * 1e3,
        "chord_distance_mm": column["chord_distance"] * 1e3,
        "modulus_n_per_mm2": column["E"] / 1e6,
        "chord_area_mm2": column["chord_area"] * 1e6,
        "chord_inertia_mm4": column["chord_inertia"] * 1e12,
        "diagonal_area_mm2": column["diagonal_area"] * 1e6,
    }
    if "post_area" in column:
        body["post_area_mm2"] = column["post_area"] * 1e6
    return body


def test_euler_column(run: Run) -> None:
    """Closed form to 1e-9, and the eigenvalue of a frame of 16 elements."""
    data = case("buckling_euler")
    column, expected = data["column"], data["expected"]
    given = {
        "length_mm": column["length"] * 1e3,
        "bending_stiffness_n_mm2": column["EI"] * 1e6,
        "ends": column["ends"],
    }
    found = run({"column": given})["result"]["column"]
    assert found["critical_load_n"] == pytest.approx(expected["critical_load"], rel=1e-9)
    assert found["critical_load_n"] == pytest.approx(expected["frame_eigenvalue"], rel=3e-6)
    tube = {
        "length_mm": 1400, "diameter_mm": 12, "inner_diameter_mm": 10,
        "modulus_n_per_mm2": column["EA"] / (math.pi * (36 - 25)),
    }  # fmt: skip
    again = run({"column": tube})["result"]["column"]
    assert again["critical_load_n"] == pytest.approx(expected["critical_load"], rel=1e-9)


@pytest.mark.parametrize("name", ["buckling_laced_crossed", "buckling_laced_posts"])
def test_laced_columns(name: str, run: Run) -> None:
    """Closed forms to 1e-9; the eigenvalue of an independent frame within the stated tolerance."""
    data = case(name)
    expected = data["expected"]
    found = run({"built_up_column": laced(data["column"])})["result"]["column"]
    for ours, theirs in (
        ("critical_load_n", "critical_load"),
        ("engesser_n", "engesser"),
        ("chord_n", "chord_local"),
        ("euler_n", "euler_effective"),
        ("shear_stiffness_n", "shear_stiffness"),
    ):
        assert found[ours] == pytest.approx(expected[theirs], rel=1e-9), ours
    assert found["governs"] == expected["governs"].replace(" ", "-")
    assert found["critical_load_n"] == pytest.approx(
        expected["frame_eigenvalue"], rel=data["tolerance"]
    )
    by_panels = laced(data["column"])
    del by_panels["length_mm"]
    by_panels["panels_count"] = 2 * data["column"]["panels_half_length"]
    again = run({"built_up_column": by_panels})["result"]["column"]
    assert again["critical_load_n"] == pytest.approx(found["critical_load_n"], rel=1e-12)


def test_a_chord_that_bows_far_below_the_column_formula_is_named(run: Run) -> None:
    """Twice pi^2 E I / a^2 by hand, a tenth of what the column formula gives."""
    column = laced(case("buckling_laced_crossed")["column"])
    column["chord_inertia_mm4"] = 11.0
    column["axial_load_n"] = 500.0
    envelope = run({"built_up_column": column})
    found = envelope["result"]["column"]
    by_hand = 2 * math.pi**2 * 70_000 * 11.0 / 200**2
    assert found["governs"] == "chord"
    assert found["critical_load_n"] == pytest.approx(by_hand, rel=1e-12)
    assert found["critical_load_n"] < 0.1 * found["engesser_n"]
    codes = [(f["code"], f["level"]) for f in envelope["findings"]]
    assert codes == [("column-buckles", "stop"), ("chord-buckles-between-lacing-points", "watch")]


def frame_eigenvalue(bending: float, length: float, spring: float, elements: int = 24) -> float:
    """Buckling load of a pinned column with end springs: cubic elements, dense eigenvalue."""
    step = length / elements
    size = 2 * (elements + 1)
    stiff, geometric = np.zeros((size, size)), np.zeros((size, size))
    k = bending / step**3 * np.array(
        [[12, 6 * step, -12, 6 * step], [6 * step, 4 * step**2, -6 * step, 2 * step**2],
         [-12, -6 * step, 12, -6 * step], [6 * step, 2 * step**2, -6 * step, 4 * step**2]]
    )  # fmt: skip
    g = 1 / (30 * step) * np.array(
        [[36, 3 * step, -36, 3 * step], [3 * step, 4 * step**2, -3 * step, -(step**2)],
         [-36, -3 * step, 36, -3 * step], [3 * step, -(step**2), -3 * step, 4 * step**2]]
    )  # fmt: skip
    for e in range(elements):
        span = slice(2 * e, 2 * e + 4)
        stiff[span, span] += k
        geometric[span, span] += g
    stiff[1, 1] += spring
    stiff[-1, -1] += spring
    free = [i for i in range(size) if i not in (0, size - 2)]
    values = eigh(geometric[np.ix_(free, free)], stiff[np.ix_(free, free)], eigvals_only=True)
    return float(1 / values.max())


@pytest.mark.parametrize("spring", [0.0, 500.0, 5e4, 1e6, 1e9])
def test_end_springs_against_an_eigenvalue(spring: float, run: Run) -> None:
    bending, length = 2.4e6, 149.6
    column = {
        "length_mm": length,
        "bending_stiffness_n_mm2": bending,
        "end_spring_n_mm_per_rad": spring,
    }
    found = run({"column": column})["result"]["column"]
    assert found["critical_load_n"] == pytest.approx(
        frame_eigenvalue(bending, length, spring), rel=1e-5
    )


def test_end_springs_reach_both_limits() -> None:
    assert sprung_length_factor(1e6, 100.0, 1e-6) == pytest.approx(1.0, abs=1e-9)
    assert sprung_length_factor(1e6, 100.0, 1e15) == pytest.approx(0.5, abs=1e-9)
    assert sprung_length_factor(1e6, 100.0, math.inf) == 0.5


@pytest.mark.parametrize(
    ("ends", "share"),
    [("pinned", 1.0), ("fixed", 4.0), ("cantilever", 0.25), ("fixed-pinned", 2.0408)],
)
def test_end_conditions(ends: str, share: float, run: Run) -> None:
    """Euler's four cases as in any text on the strength of materials."""
    column = {"length_mm": 1000, "bending_stiffness_n_mm2": 1e8, "ends": ends}
    found = run({"column": column})["result"]["column"]["critical_load_n"]
    assert found == pytest.approx(share * math.pi**2 * 100, rel=1e-4)


def test_crooked_columns_follow_the_curve(run: Run) -> None:
    """EN 1993-1-1 Table 6.1, curve b at a slenderness of 1: 0.597, as tabulated in handbooks."""
    euler = math.pi**2 * 1e8 / 1000**2
    column = {
        "length_mm": 1000, "bending_stiffness_n_mm2": 1e8, "area_mm2": 100,
        "compression_strength_n_per_mm2": euler / 100, "curve": "b", "axial_load_n": 0.7 * euler,
    }  # fmt: skip
    envelope = run({"column": column})
    found = envelope["result"]["column"]
    assert found["slenderness_ratio"] == pytest.approx(1.0)
    assert found["critical_load_n"] == pytest.approx(0.597 * euler, rel=1e-3)
    assert found["governs"] == "imperfect-column" and envelope["verdict"] == "stop"


def test_seats_in_series_soften_the_lacing(run: Run) -> None:
    """A box column of 8 mm beech with 250 N/mm seats, single diagonals in two planes: shear
    stiffness k_d b with k_d = 1 / (L / E A + 2 / k_s) = 120.75 N/mm (springs in series)."""
    area = math.pi * 16
    column = {
        "system": "single", "panel_mm": 120, "panels_count": 12, "chord_distance_mm": 120,
        "modulus_n_per_mm2": 12000, "chord_area_mm2": area, "chord_inertia_mm4": 201.06,
        "diagonal_area_mm2": area, "seat_stiffness_n_per_mm": 250, "chords_count": 4,
        "planes_count": 2, "ends": "cantilever",
    }  # fmt: skip
    found = run({"built_up_column": column})["result"]["column"]
    assert found["shear_stiffness_n"] == pytest.approx(120.75 * 120, rel=1e-4)
    # printed for the 12-bay cantilever by an independent program: 245.0, by hand 246.5
    assert found["critical_load_n"] == pytest.approx(245.0, rel=0.01)


@pytest.mark.parametrize(
    ("body", "pointer", "code"),
    [
        ({"column": {"length_mm": 100}}, "/column/bending_stiffness_n_mm2", "missing"),
        (
            {"column": {"length_mm": 100, "modulus_n_per_mm2": 1}},
            "/column/inertia_mm4",
            "missing",
        ),
        (
            {"column": {"length_mm": 100, "modulus_n_per_mm2": 1, "diameter_mm": 5,
                        "inner_diameter_mm": 5}},
            "/column/inner_diameter_mm",
            "out-of-range",
        ),
        (
            {"column": {"length_mm": 100, "bending_stiffness_n_mm2": 1e6,
                        "compression_strength_n_per_mm2": 30}},
            "/column/area_mm2",
            "missing",
        ),
        (
            {"built_up_column": {k: v for k, v in laced(case("buckling_laced_posts")["column"])
                                 .items() if k != "post_area_mm2"}},
            "/built_up_column/post_area_mm2",
            "missing",
        ),
        (
            {"column": {"length_mm": 100, "bending_stiffness_n_mm2": 1e6}, "structure": {}},
            "/structure",
            "",
        ),
    ],
)  # fmt: skip
def test_what_is_missing_is_named(
    body: Any, pointer: str, code: str, post: Callable[..., Any], faults_of: Callable[..., Any]
) -> None:
    response = post("truss-check", body)
    assert response.status_code == 422, response.get_json()
    faults = faults_of(response)
    assert any(at.startswith(pointer) and (not code or what == code) for at, what in faults), faults


def test_a_load_beyond_all_bounds_is_refused(post: Callable[..., Any]) -> None:
    column = {"length_mm": 1e-3, "bending_stiffness_n_mm2": 1e18, "length_factor": 0.1}
    found = post("truss-check", {"column": column}).get_json()
    assert found["result"]["column"]["critical_load_n"] == pytest.approx(math.pi**2 * 1e26)


def test_openseespy_agrees_on_the_pinned_column() -> None:
    """Load at which the tangent of a live OpenSees model (corotational, 16 elements) turns
    singular: the pinned column of the check file, found by bisection on the sign of det."""
    data = case("buckling_euler")["column"]
    bending, length = data["EI"] * 1e6, data["length"] * 1e3

    def softens(load: float) -> bool:
        """Whether a push across at mid-height moves the wrong way or without bound."""
        ops.wipe()
        ops.model("basic", "-ndm", 2, "-ndf", 3)
        for k in range(17):
            ops.node(k, 0.0, length * k / 16)
        ops.fix(0, 1, 1, 0)
        ops.fix(16, 1, 0, 0)
        ops.geomTransf("PDelta", 1)
        for k in range(16):
            ops.element("elasticBeamColumn", k, k, k + 1, 1e3, 1e6, bending / 1e6, 1)
        ops.timeSeries("Linear", 1)
        ops.pattern("Plain", 1, 1)
        ops.load(16, 0.0, -load, 0.0)
        ops.load(8, 1e-6, 0.0, 0.0)
        ops.system("FullGeneral")
        ops.numberer("Plain")
        ops.constraints("Plain")
        ops.integrator("LoadControl", 1.0)
        ops.test("NormDispIncr", 1e-12, 50, 0)
        ops.algorithm("Newton")
        ops.analysis("Static")
        done = ops.analyze(1)
        moved = float(ops.nodeDisp(8, 1))
        ops.wipe()
        return bool(done != 0) or moved <= 0.0

    low, high = 150.0, 220.0
    assert not softens(low) and softens(high)
    for _ in range(24):
        middle = (low + high) / 2
        low, high = (low, middle) if softens(middle) else (middle, high)
    assert low == pytest.approx(math.pi**2 * bending / length**2, rel=5e-3)

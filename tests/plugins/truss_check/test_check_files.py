"""Every check file, posted through HTTP and held to its own tolerance."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tests.plugins.truss_check.wire import body_of, check_files

Run = Callable[[Any], dict[str, Any]]


@pytest.fixture
def run(post: Callable[..., Any]) -> Run:
    def answer(body: Any) -> dict[str, Any]:
        response = post("truss-check", body)
        assert response.status_code == 200, response.get_json()
        envelope: dict[str, Any] = response.get_json()
        return envelope

    return answer


def name_of(case: dict[str, Any]) -> str:
    return str(case["name"])


def close(found: Any, expected: Any, tolerance: float) -> bool:
    """Largest difference as a share of the largest expected value."""
    expected = np.asarray(expected, dtype=float)
    size = max(float(np.abs(expected).max(initial=0.0)), 1e-12)
    return bool(np.abs(np.asarray(found, dtype=float) - expected).max() <= tolerance * size)


@pytest.mark.parametrize("case", check_files("static"), ids=name_of)
def test_static(case: dict[str, Any], run: Run) -> None:
    """Member forces, displacements, reactions and counts of independent programs and by hand."""
    envelope = run(body_of(case))
    result, expected, tolerance = envelope["result"], case["expected"], case["tolerance"]
    assert envelope["verdict"] == "ok"
    assert result["stability"]["mechanisms"] == case["counts"]["mechanisms"] == 0
    assert result["stability"]["self_stress_states"] == case["counts"]["self_stress"]
    assert [row["id"] for row in result["load_cases"]] == [c["name"] for c in case["load_cases"]]
    for row, forces, moved, reactions in zip(
        result["load_cases"],
        expected["member_forces"],
        expected["displacements"],
        expected["reactions"],
        strict=True,
    ):
        assert close(row["member_force_n"], forces, tolerance)
        assert close(np.array(row["displacement_mm"]) / 1000, moved, tolerance)
        assert close(row["reaction_n"], reactions, tolerance)
    by_hand = case.get("hand", {})
    if "member_forces" in by_hand:
        forces = [row["member_force_n"] for row in result["load_cases"]]
        assert close(forces, by_hand["member_forces"], by_hand["hand_tolerance"])


@pytest.mark.parametrize("case", check_files("mechanism"), ids=name_of)
def test_mechanism(case: dict[str, Any], run: Run) -> None:
    """Counts and projectors by exact rank; no forces, whether or not the load drives it."""
    envelope = run(body_of(case))
    stability, expected = envelope["result"]["stability"], case["expected"]
    assert envelope["verdict"] == "stop"
    assert envelope["result"]["load_cases"] == []
    for ours, theirs in (
        ("mechanisms", "mechanisms"),
        ("self_stress_states", "self_stress"),
        ("degrees_of_freedom", "degrees_of_freedom"),
        ("members", "members"),
        ("moving_nodes", "moving_nodes"),
        ("self_stressed_members", "self_stressed_members"),
    ):
        assert stability[ours] == expected[theirs], ours
    assert stability["node_mobility"] == pytest.approx(expected["node_mobility"], abs=1e-8)
    assert stability["member_redundancy"] == pytest.approx(expected["member_redundancy"], abs=1e-8)


@pytest.mark.parametrize("case", check_files("orientation"), ids=name_of)
def test_orientation(case: dict[str, Any], run: Run) -> None:
    """Worst member force over all directions of gravity, and the direction, with masses given."""
    found = run(body_of(case))["result"]["any_orientation"]
    expected = case["expected"]
    assert close(found["worst_member_force_n"], expected["worst_force_any_direction"], 1e-9)
    assert close(found["direction"], expected["worst_direction"], 1e-9)


@pytest.mark.parametrize("case", check_files("orientation"), ids=name_of)
def test_orientation_from_gravity_cases(case: dict[str, Any], run: Run) -> None:
    """The same from three load cases that are self weight along x, y and z, without masses."""
    body = body_of(case)
    del body["node_mass_kg"]
    found = run(body)["result"]["any_orientation"]
    expected = case["expected"]["worst_force_any_direction"]
    assert close(found["worst_member_force_n"], expected, 1e-9)


@pytest.mark.parametrize("case", check_files("limit"), ids=name_of)
def test_limit(case: dict[str, Any], run: Run) -> None:
    """Collapse by both theorems and first member, against other programs and by hand."""
    [row] = run(body_of(case))["result"]["limit_load"]
    expected, tolerance = case["expected"], case["tolerance"]
    assert row["collapse_factor"] == pytest.approx(expected["collapse_factor"], rel=tolerance)
    assert row["upper_bound_factor"] == pytest.approx(expected["upper_bound"], rel=tolerance)
    assert row["first_slip_factor"] == pytest.approx(expected["first_member_factor"], rel=tolerance)


@pytest.mark.parametrize("case", check_files("buckling"), ids=name_of)
def test_frame_buckling(case: dict[str, Any], run: Run) -> None:
    """Lowest eigenvalues of K + f Kg, a double one among them."""
    body = {**body_of(case), "analyses": ["linear", "frame-buckling"], "mode_count": 3}
    [row] = run(body)["result"]["frame_buckling"]
    expected = case["expected"]["critical_factors"]
    assert row["critical_factors"] == pytest.approx(expected, rel=case["tolerance"])


def test_published_displacement_of_the_opensees_example(run: Run) -> None:
    """OpenSees documentation, basic truss example 1.1: 0.530093 and -0.177894 in, as printed."""
    [case] = [c for c in check_files("static") if c["name"] == "documentation_3_bar"]
    [row] = run(body_of(case))["result"]["load_cases"]
    tip_in = np.array(row["displacement_mm"][3][:2]) / 25.4
    assert tip_in == pytest.approx([0.530093, -0.177894], abs=5e-7)

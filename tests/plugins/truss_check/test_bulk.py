"""Envelopes and variants in one call say what the single answers say."""

import doctest
from typing import Any

import numpy as np
import pytest

from baywright_plugins.truss_check import envelope, solve
from tests.conftest import Post
from tests.plugins.truss_check.boxes import box_beam, held, wire


def body_of(cases: int = 3) -> dict[str, Any]:
    """A box beam of four bays with capacities."""
    beam = box_beam(4)
    fixed = np.zeros(beam["nodes_mm"].shape, dtype=bool)
    fixed[:4] = True
    loads = np.random.default_rng(2).standard_normal((cases, *fixed.shape))
    body = wire(held(beam, fixed), loads)
    count = len(beam["start"])
    members = body["structure"]["members"]
    members |= {"tension_n": [60.0] * count, "compression_n": [300.0] * count}
    members["bending_stiffness_n_mm2"] = [2.4e6] * count
    body["analyses"] = ["linear"]
    return body


def result_of(post: Post, body: Any) -> dict[str, Any]:
    response = post("truss-check", body)
    assert response.status_code == 200, response.get_data()[:500]
    result: dict[str, Any] = response.get_json()["result"]
    return result


def test_envelope(post: Post) -> None:
    """Over the cases, member by member; without `linear` the cases themselves are left out."""
    body = body_of()
    cases = result_of(post, body)["load_cases"]
    body["analyses"] = ["envelope"]
    result = result_of(post, body)
    forces = np.array([case["member_force_n"] for case in cases])
    found = result["envelope"]
    assert result["load_cases"] == []
    assert found["force_max_n"] == forces.max(axis=0).tolist()
    assert found["force_min_n"] == forces.min(axis=0).tolist()
    assert found["utilisation_max"] == max(case["utilisation_max"] for case in cases)
    worst = max(cases, key=lambda case: case["utilisation_max"])
    assert found["governing_member"] == worst["governing_member"]
    assert cases[found["governing_case"][found["governing_member"]]] == worst
    moved = [np.linalg.norm(case["displacement_mm"], axis=1).max() for case in cases]
    assert found["displacement_max_mm"] == pytest.approx(max(moved))
    assert found["residual_ratio"] == max(case["residual_ratio"] for case in cases)


def test_envelope_without_load_cases(post: Post) -> None:
    body = body_of()
    body["structure"]["load_cases"] = []
    body["analyses"] = ["envelope"]
    assert result_of(post, body)["envelope"] == {}


@pytest.mark.parametrize("wide", [False, True])
def test_variants(post: Post, wide: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each as posted alone, whether the frame suits a band or not."""
    if wide:
        monkeypatch.setattr(solve, "LARGEST_BAND", 0)
    body = body_of()
    draw = np.random.default_rng(4)
    base = np.array(body["structure"]["members"]["axial_stiffness_n"])
    rigidity = base * draw.uniform(0.3, 3.0, (5, len(base)))
    factor = draw.uniform(-2, 2, (5, 3))
    variants = {"axial_stiffness_n": rigidity.tolist(), "load_factor": factor.tolist()}
    body["structure"]["variants"] = variants
    found = result_of(post, body)["variants"]
    for place in range(5):
        one = body_of()
        one["structure"]["members"]["axial_stiffness_n"] = rigidity[place].tolist()
        for case, times in zip(one["structure"]["load_cases"], factor[place], strict=True):
            for row in case["forces"]:
                row["n"] = (np.array(row["n"]) * times).tolist()
        cases = result_of(post, one)["load_cases"]
        used = [case["utilisation_max"] for case in cases]
        assert found["utilisation_max"][place] == pytest.approx(max(used), rel=1e-9)
        assert found["first_slip_factor"][place] == pytest.approx(1 / max(used), rel=1e-9)
        assert found["governing_case"][place] == int(np.argmax(used))
        assert found["governing_member"][place] == cases[int(np.argmax(used))]["governing_member"]
        moved = max(np.linalg.norm(case["displacement_mm"], axis=1).max() for case in cases)
        assert found["displacement_max_mm"][place] == pytest.approx(moved, rel=1e-9)
        most = max(np.abs(case["member_force_n"]).max() for case in cases)
        assert found["force_max_n"][place] == pytest.approx(most, rel=1e-9)
        assert found["residual_ratio"][place] <= 1e-8


def test_variants_of_the_load_alone(post: Post) -> None:
    """Twice the load, twice the share of capacity."""
    body = body_of(cases=1)
    body["structure"]["variants"] = {"load_factor": [[1.0], [2.0], [-1.0]]}
    found = result_of(post, body)["variants"]
    assert found["utilisation_max"][1] == pytest.approx(2 * found["utilisation_max"][0])
    assert found["displacement_max_mm"][2] == pytest.approx(found["displacement_max_mm"][0])


PLACE = "/structure/variants"


@pytest.mark.parametrize(
    ("variants", "pointer", "code"),
    [
        ({}, PLACE, "missing"),
        ({"axial_stiffness_n": [[1.0, 2.0]]}, f"{PLACE}/axial_stiffness_n", "out-of-range"),
        ({"axial_stiffness_n": 5}, f"{PLACE}/axial_stiffness_n", "wrong-type"),
        ({"axial_stiffness_n": []}, f"{PLACE}/axial_stiffness_n", "out-of-range"),
        ({"load_factor": [[1, 1, 1], [1, 1]]}, f"{PLACE}/load_factor/1", "wrong-type"),
        ({"load_factor": [[1, 1, 1], [1, "1", 1]]}, f"{PLACE}/load_factor/1/1", "wrong-type"),
        ({"load_factor": [[1, 1, 1], [1, 1, 1e9]]}, f"{PLACE}/load_factor/1/2", "out-of-range"),
        ({"load_factor": [[1, 1]]}, f"{PLACE}/load_factor", "out-of-range"),
        ({"load_factor": [[]]}, f"{PLACE}/load_factor/0", "wrong-type"),
        ({"load_factor": [[1, 1, 1]] * 6000}, f"{PLACE}/load_factor", "too-many"),
    ],
)
def test_faults_of_variants(
    variants: Any, pointer: str, code: str, post: Post, assert_problem: Any, faults_of: Any
) -> None:
    body = body_of()
    body["structure"]["variants"] = variants
    response = post("truss-check", body)
    assert_problem(response, 422, "invalid-input")
    assert faults_of(response) == [(pointer, code)]


def test_variants_of_a_mechanism(post: Post) -> None:
    """No forces for any of them."""
    body = body_of()
    body["structure"]["variants"] = {"load_factor": [[1, 1, 1]]}
    body["structure"]["supports"] = []
    body["seek_remedies"] = False
    assert "variants" not in result_of(post, body)


def test_examples_in_docstrings() -> None:
    outcome = doctest.testmod(envelope)
    assert outcome.attempted > 0 and outcome.failed == 0

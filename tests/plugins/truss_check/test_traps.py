"""Traps that answers from general programs are known to fall into, each posted over HTTP.

A structure that is no structure is told by rank, not by what a load happens to do; input that
cannot be right is refused by the name of its field; what is answered states its residual.
"""

import itertools
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from baywright_plugins.truss_check import TrussCheck
from baywright_plugins.truss_check.equilibrium import Truss
from baywright_service.contract import CannotCalculate, InvalidInputs
from tests.conftest import Post
from tests.plugins.truss_check.boxes import box_beam, held, wire
from tests.plugins.truss_check.test_exact_arithmetic import exact_forces

RUN = "truss-check"
#: What a stated residual must meet, whatever is posted.
RESIDUAL = 1e-8


def beam(bays: int, *, wide: float = 1.0) -> Truss:
    """A cantilever of box beam, stretched along its length."""
    parts = box_beam(bays)
    parts["nodes_mm"] = parts["nodes_mm"] * [wide, 1.0, 1.0]
    fixed = np.zeros(parts["nodes_mm"].shape, dtype=bool)
    fixed[:4] = True
    return held(parts, fixed)


def tripod() -> dict[str, Any]:
    """Three feet, one top, 1 kN down."""
    feet = [[0.0, 0.0, 0.0], [1000.0, 0.0, 0.0], [0.0, 1000.0, 0.0]]
    return {
        "structure": {
            "nodes_mm": [*feet, [300.0, 300.0, 900.0]],
            "members": {"start": [0, 1, 2], "end": [3, 3, 3], "axial_stiffness_n": [6e5] * 3},
            "supports": [{"node": k, "fixed": ["x", "y", "z"]} for k in range(3)],
            "load_cases": [{"id": "down", "forces": [{"node": 3, "n": [0.0, 0.0, -1000.0]}]}],
        }
    }


def answered(response: Any) -> dict[str, Any]:
    assert response.status_code == 200, response.get_data()[:800]
    body: dict[str, Any] = response.get_json()
    return body


def test_load_that_does_not_drive_the_mechanism(post: Post) -> None:
    """Two bars in line pulled along the line: forces would be exact, yet the middle node is free
    to leave the line. It stops, with counts and no forces."""
    body = {
        "structure": {
            "nodes_mm": [[0, 0, 0], [500, 0, 0], [1000, 0, 0]],
            "members": {"start": [0, 1], "end": [1, 2], "axial_stiffness_n": [1e6, 1e6]},
            "supports": [{"node": k, "fixed": ["x", "y", "z"]} for k in (0, 2)],
            "load_cases": [{"id": "along", "forces": [{"node": 1, "n": [100, 0, 0]}]}],
        }
    }
    answer = answered(post(RUN, body))
    assert answer["verdict"] == "stop"
    assert answer["findings"][0]["code"] == "mechanism"
    result = answer["result"]
    assert (result["stability"]["mechanisms"], result["stability"]["self_stress_states"]) == (2, 1)
    assert result["load_cases"] == [] and result["stability"]["moving_nodes"] == [1]


def ring(long: int, *, cross_faces: bool) -> dict[str, Any]:
    """A square ring of box beams, `long` bays a side and one bay deep and high: every face on
    the outside is crossed, the faces shared by two bays are bare or crossed."""
    cells = [
        (i, j)
        for i, j in itertools.product(range(long), repeat=2)
        if i in (0, long - 1) or j in (0, long - 1)
    ]
    owners: dict[frozenset[tuple[int, int, int]], int] = {}
    for i, j in cells:
        corners = [(i + a, j + b, c) for a, b, c in itertools.product((0, 1), repeat=3)]
        for axis, side in itertools.product(range(3), (0, 1)):
            at = (i, j, 0)[axis] + side
            face = frozenset(corner for corner in corners if corner[axis] == at)
            owners[face] = owners.get(face, 0) + 1
    edges: set[frozenset[tuple[int, int, int]]] = set()
    for face, count in owners.items():
        for a, b in itertools.combinations(sorted(face), 2):
            apart = sum(x != y for x, y in zip(a, b, strict=True))
            if apart == 1 or count == 1 or cross_faces:
                edges.add(frozenset((a, b)))
    places = sorted({place for edge in edges for place in edge})
    number = {place: k for k, place in enumerate(places)}
    pairs = sorted(tuple(sorted(number[place] for place in edge)) for edge in edges)
    return {
        "nodes_mm": [[120.0 * x for x in place] for place in places],
        "members": {
            "start": [a for a, _ in pairs],
            "end": [b for _, b in pairs],
            "axial_stiffness_n": [6e5] * len(pairs),
        },
        "supports": [
            {"node": number[(0, 0, 0)], "fixed": ["x", "y", "z"]},
            {"node": number[(long, 0, 0)], "fixed": ["y", "z"]},
            {"node": number[(0, long, 0)], "fixed": ["z"]},
        ],
        "load_cases": [{"id": "down", "forces": [{"node": 9, "n": [0, 0, -10]}]}],
    }


@pytest.mark.parametrize("long", [3, 4, 6])
def test_ring_with_bare_shared_faces(long: int, post: Post) -> None:
    """Rods outnumber degrees of freedom by far, and still the ring lozenges: as many mechanisms
    as a singular value analysis counts. Crossing the shared faces leaves none."""
    bare = ring(long, cross_faces=False)
    nodes = np.array(bare["nodes_mm"])
    start, end = np.array(bare["members"]["start"]), np.array(bare["members"]["end"])
    unit = nodes[end] - nodes[start]
    unit /= np.linalg.norm(unit, axis=1)[:, None]
    matrix = np.zeros((nodes.size, len(start)))
    for k, (a, b) in enumerate(zip(start, end, strict=True)):
        matrix[3 * a : 3 * a + 3, k], matrix[3 * b : 3 * b + 3, k] = -unit[k], unit[k]
    fixed = [3 * s["node"] + "xyz".index(axis) for s in bare["supports"] for axis in s["fixed"]]
    free = np.setdiff1d(np.arange(nodes.size), fixed)
    expected = len(free) - np.linalg.matrix_rank(matrix[free])
    assert len(start) > len(free) and expected > 0
    answer = answered(post(RUN, {"structure": bare, "seek_remedies": False}))
    assert answer["verdict"] == "stop" and answer["result"]["load_cases"] == []
    assert answer["result"]["stability"]["mechanisms"] == expected
    crossed = answered(post(RUN, {"structure": ring(long, cross_faces=True)}))
    assert crossed["result"]["stability"]["mechanisms"] == 0


@pytest.mark.parametrize("tied", [4, 8])
def test_hub_in_the_middle_of_a_face(tied: int, post: Post) -> None:
    """A hub in a face, tied to everything in its plane, moves across it: one mechanism, however
    many rods hold it in the plane. A rod out of the plane holds it."""
    draw = np.random.default_rng(3)
    truss = beam(2)
    nodes = np.vstack([truss.nodes_mm, [120.0, 0.0, 60.0]])
    hub = len(nodes) - 1
    in_plane = np.flatnonzero(truss.nodes_mm[:, 1] == 0)
    ends = draw.permutation(in_plane)[: min(tied, len(in_plane))]
    body = wire(truss, np.zeros((1, *truss.fixed.shape)))
    body["structure"]["nodes_mm"] = nodes.tolist()
    members = body["structure"]["members"]
    members["start"] += ends.tolist()
    members["end"] += [hub] * len(ends)
    members["axial_stiffness_n"] += [6e5] * len(ends)
    answer = answered(post(RUN, body))
    assert answer["result"]["stability"]["mechanisms"] == 1
    assert answer["result"]["stability"]["moving_nodes"] == [hub]
    assert answer["verdict"] == "stop" and answer["result"]["load_cases"] == []
    outside = int(np.flatnonzero(truss.nodes_mm[:, 1] != 0)[5])
    members["start"].append(outside)
    members["end"].append(hub)
    members["axial_stiffness_n"].append(6e5)
    assert answered(post(RUN, body))["result"]["stability"]["mechanisms"] == 0


def in_long_doubles(truss: Truss, load: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Member forces and displacements by Cholesky's method in 80-bit numbers (19 digits)."""
    unit = (truss.nodes_mm[truss.end] - truss.nodes_mm[truss.start]).astype(np.longdouble)
    unit /= np.sqrt((unit**2).sum(axis=1))[:, None]
    stiffness = truss.stiffness_n_per_mm.astype(np.longdouble)
    size = truss.fixed.size
    matrix = np.zeros((size, size), dtype=np.longdouble)
    for a, b, u, k in zip(truss.start, truss.end, unit, stiffness, strict=True):
        block = k * np.outer(u, u)
        for one, other, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            matrix[3 * one : 3 * one + 3, 3 * other : 3 * other + 3] += sign * block
    factor = matrix[np.ix_(truss.free, truss.free)]
    right = load.ravel()[truss.free].astype(np.longdouble)
    count = len(right)
    for k in range(count):
        reach = min(count, k + 40)  # the band of a box beam is narrower
        assert not factor[reach:, k].any()
        factor[k:reach, k] /= np.sqrt(factor[k, k])
        column = factor[k + 1 : reach, k]
        factor[k + 1 : reach, k + 1 : reach] -= np.outer(column, column)
    for k in range(count):
        right[k] = (right[k] - factor[k, :k] @ right[:k]) / factor[k, k]
    for k in reversed(range(count)):
        right[k] = (right[k] - factor[k + 1 :, k] @ right[k + 1 :]) / factor[k, k]
    moved = np.zeros(size, dtype=np.longdouble)
    moved[truss.free] = right
    by_node = moved.reshape(-1, 3)
    return stiffness * ((by_node[truss.end] - by_node[truss.start]) * unit).sum(axis=1), by_node


def test_slender_box_of_forty_bays(post: Post) -> None:
    """Condition number 6e7: soft, not loose. Stable, and right to nine digits and more."""
    truss = beam(40, wide=2.7)
    condition = np.linalg.cond(truss.free_stiffness.toarray())
    assert 5e7 < condition < 7e7
    load = np.zeros(truss.fixed.shape)
    load[-4:] = [0.0, 0.3, -1.0]
    load[40] = [2.0, 0.0, 0.0]
    answer = answered(post(RUN, wire(truss, load[None])))
    assert answer["result"]["stability"]["mechanisms"] == 0
    (case,) = answer["result"]["load_cases"]
    forces, moved = in_long_doubles(truss, load)
    largest = float(np.abs(forces).max())
    assert case["member_force_n"] == pytest.approx(forces.astype(float), abs=1e-9 * largest)
    far = float(np.abs(moved).max())
    ours = np.array(case["displacement_mm"])
    assert np.abs(ours - moved.astype(float)).max() < 1e-8 * far
    assert case["residual_ratio"] <= 1e-11


def test_bar_of_no_length_is_refused(post: Post, assert_problem: Any, faults_of: Any) -> None:
    """Two nodes at one place with a member between them."""
    body = tripod()
    body["structure"]["nodes_mm"].append([300.0, 300.0, 900.0])
    for name, value in (("start", 3), ("end", 4), ("axial_stiffness_n", 6e5)):
        body["structure"]["members"][name].append(value)
    response = post(RUN, body)
    assert_problem(response, 422, "invalid-input")
    assert faults_of(response) == [("/structure/members/end/3", "out-of-range")]


def test_nodes_at_one_place_are_not_one_node(post: Post) -> None:
    """Two nodes at one place and nothing between them: bars that meet there on paper do not
    meet. The loose one is named, and nothing is answered for it."""
    body = tripod()
    body["structure"]["nodes_mm"].append([300.0, 300.0, 900.0])
    body["structure"]["members"]["end"][2] = 4
    answer = answered(post(RUN, body))
    assert answer["verdict"] == "stop" and answer["result"]["load_cases"] == []
    assert set(answer["result"]["stability"]["moving_nodes"]) == {3, 4}


def test_two_structures_that_share_a_place(post: Post) -> None:
    """Each sound by itself: they cross at one place without touching, and are solved apart."""
    body, other = tripod(), tripod()
    given, more = body["structure"], other["structure"]
    given["nodes_mm"] += more["nodes_mm"]
    for name in ("start", "end"):
        given["members"][name] += [k + 4 for k in more["members"][name]]
    given["members"]["axial_stiffness_n"] += more["members"]["axial_stiffness_n"]
    given["supports"] += [{**s, "node": s["node"] + 4} for s in more["supports"]]
    alone = answered(post(RUN, tripod()))["result"]["load_cases"][0]["member_force_n"]
    (case,) = answered(post(RUN, body))["result"]["load_cases"]
    assert case["member_force_n"][:3] == pytest.approx(alone, rel=1e-12)
    assert case["member_force_n"][3:] == [0.0, 0.0, 0.0]


@pytest.mark.parametrize("apart_mm", [1e-3, 1e-5, 3e-6, 1e-7])
def test_nodes_almost_at_one_place(apart_mm: float, post: Post) -> None:
    """A bar of a nanometre beside bars of a metre: solved to the residual, or refused by name."""
    body = tripod()
    given = body["structure"]
    given["nodes_mm"].append([300.0, 300.0, 900.0 + apart_mm])
    for a, b in ((3, 4), (0, 4), (1, 4)):
        given["members"]["start"].append(a)
        given["members"]["end"].append(b)
        given["members"]["axial_stiffness_n"].append(6e5)
    response = post(RUN, body)
    if response.status_code == 200:
        residual_is_met(response.get_json(), given)
    else:
        assert response.status_code == 422
        errors = response.get_json(force=True)["errors"]
        assert errors and all(error["pointer"].startswith("/structure") for error in errors)


@pytest.mark.parametrize("ratio", [1e6, 1e9, 1e12])
def test_stiffness_ratio(ratio: float, post: Post) -> None:
    """Bars a million million times apart in stiffness: as in exact fractions, residual stated."""
    draw = np.random.default_rng(11)
    parts = box_beam(2, cross={0, 1, 2})
    parts["stiffness_n_per_mm"] = ratio ** draw.random(len(parts["start"]))
    fixed = np.zeros(parts["nodes_mm"].shape, dtype=bool)
    fixed[:4] = True
    truss = held(parts, fixed)
    load = np.asarray(draw.standard_normal(fixed.shape))
    (case,) = answered(post(RUN, wire(truss, load[None])))["result"]["load_cases"]
    expected = exact_forces(truss, load)
    size = float(np.abs(expected).max())
    assert case["member_force_n"] == pytest.approx(expected, abs=1e-9 * size)
    assert case["residual_ratio"] <= RESIDUAL


ABSURD: list[tuple[str, Callable[[dict[str, Any]], None]]] = [
    ("/structure/nodes_mm/3/2", lambda s: s["nodes_mm"].__setitem__(3, [0.0, 0.0, 1e308])),
    ("/structure/nodes_mm/0/0", lambda s: s["nodes_mm"].__setitem__(0, [-1e308, 0.0, 0.0])),
    (
        "/structure/load_cases/0/forces/0/n/1",
        lambda s: s["load_cases"][0]["forces"][0].__setitem__("n", [0.0, 1e308, 0.0]),
    ),
    (
        "/structure/members/axial_stiffness_n/1",
        lambda s: s["members"]["axial_stiffness_n"].__setitem__(1, 1e308),
    ),
    (
        "/structure/members/axial_stiffness_n/1",
        lambda s: s["members"]["axial_stiffness_n"].__setitem__(1, 5e-324),
    ),
    (
        "/structure/supports/2/spring_n_per_mm/0",
        lambda s: s["supports"].__setitem__(2, {"node": 2, "spring_n_per_mm": [1e308, 1, 1]}),
    ),
    ("/structure/members/end/2", lambda s: s["members"]["end"].__setitem__(2, 2)),
]


@pytest.mark.parametrize(("pointer", "spoil"), ABSURD)
def test_absurd_numbers_are_refused_by_name(
    pointer: str, spoil: Callable[[dict[str, Any]], None], post: Post, faults_of: Any
) -> None:
    body = tripod()
    spoil(body["structure"])
    response = post(RUN, body)
    assert response.status_code == 422
    assert pointer in [place for place, _ in faults_of(response)]


@pytest.mark.parametrize("force_n", [5e-324, 3e-310, 1e-280, 1e12])
def test_minute_and_huge_loads_keep_their_digits(force_n: float, post: Post) -> None:
    """Forces scale with the load down to the smallest doubles; none gets lost on the way."""
    body = tripod()
    one = answered(post(RUN, body))["result"]["load_cases"][0]["member_force_n"]
    body["structure"]["load_cases"][0]["forces"][0]["n"] = [0.0, 0.0, -force_n]
    (case,) = answered(post(RUN, body))["result"]["load_cases"]
    expected = np.array(one) / 1000.0 * force_n
    assert case["member_force_n"] == pytest.approx(expected, rel=1e-9, abs=1e-323)
    assert case["residual_ratio"] <= RESIDUAL


def test_a_small_load_beside_a_large_one_has_a_residual_of_its_own(post: Post) -> None:
    """Each load case is refined against its own largest load."""
    body = tripod()
    body["structure"]["load_cases"] += [
        {"id": "faint", "forces": [{"node": 3, "n": [1e-9, 0.0, 0.0]}]},
        {"id": "huge", "forces": [{"node": 3, "n": [1e11, 0.0, 0.0]}]},
        {"id": "none", "forces": []},
    ]
    cases = answered(post(RUN, body))["result"]["load_cases"]
    assert all(case["residual_ratio"] <= 1e-11 for case in cases)
    faint, huge = (np.array(case["member_force_n"]) for case in cases[1:3])
    assert faint == pytest.approx(huge * 1e-20, rel=1e-10)
    assert cases[3]["member_force_n"] == [0.0, 0.0, 0.0]


@pytest.mark.parametrize(("stiffness_n", "level"), [(6e5, None), (1e4, "watch"), (1e-6, "stop")])
def test_no_silent_million_metres(stiffness_n: float, level: str | None, post: Post) -> None:
    """Where nodes move by a share of the structure's size that is not small, it is said."""
    body = tripod()
    body["structure"]["members"]["axial_stiffness_n"] = [stiffness_n] * 3
    answer = answered(post(RUN, body))
    found = [f for f in answer["findings"] if f["code"] == "movement-not-small"]
    assert [f["level"] for f in found] == ([] if level is None else [level])
    moved = np.linalg.norm(answer["result"]["load_cases"][0]["displacement_mm"], axis=1).max()
    if found:
        assert found[0]["measure"]["value"] == pytest.approx(moved)
        assert found[0]["at"] == ["/structure/load_cases/0"]


def residual_is_met(answer: dict[str, Any], structure: dict[str, Any]) -> None:
    """Either it stops without a force, or forces balance at every node as the answer says, and
    whatever moves farther than the structure is large is said."""
    result = answer["result"]
    if result["stability"]["mechanisms"]:
        assert answer["verdict"] == "stop" and result["load_cases"] == []
        return
    nodes = np.array(structure["nodes_mm"])
    start = np.array(structure["members"]["start"])
    end = np.array(structure["members"]["end"])
    unit = nodes[end] - nodes[start]
    unit /= np.linalg.norm(unit, axis=1)[:, None]
    held_nodes = [support["node"] for support in structure["supports"]]
    for case, given_case in zip(result["load_cases"], structure["load_cases"], strict=True):
        assert case["residual_ratio"] <= RESIDUAL
        left = np.zeros(nodes.shape)
        for row in given_case["forces"]:
            left[row["node"]] += row["n"]
        largest = float(np.abs(left).max())
        force = np.array(case["member_force_n"])
        np.add.at(left, start, force[:, None] * unit)
        np.add.at(left, end, -force[:, None] * unit)
        np.add.at(left, held_nodes, np.array(case["reaction_n"]))
        allowed = RESIDUAL * largest + 1e-12 * float(np.abs(force).max())
        assert np.abs(left).max() <= allowed
        moved = float(np.linalg.norm(case["displacement_mm"], axis=1).max())
        if moved > float(np.ptp(nodes, axis=0).max()):
            assert "stop" in [f["level"] for f in answer["findings"]]


@pytest.mark.slow
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    seed=st.integers(0, 2**31),
    flatness=st.floats(-14, 0),
    spread=st.floats(0, 14),
    left_out=st.integers(0, 4),
    bays=st.integers(1, 6),
)
def test_near_singular_structures_stop_or_meet_their_residual(
    seed: int, flatness: float, spread: float, left_out: int, bays: int
) -> None:
    """Boxes squashed flat, stiffnesses far apart, bars missing: every one is refused with a
    pointer into the structure, stops without forces, or balances to the residual it states."""
    draw = np.random.default_rng(seed)
    parts = box_beam(bays)
    nodes = parts["nodes_mm"] * [1.0, 1.0, 10.0**flatness]
    nodes += 10.0**flatness * draw.uniform(-5, 5, nodes.shape)
    keep = np.sort(draw.permutation(len(parts["start"]))[left_out:])
    stiffness = 10.0 ** draw.uniform(-spread / 2, spread / 2, len(keep)) * 100
    fixed = np.zeros(nodes.shape, dtype=bool)
    fixed[: draw.integers(2, 5)] = True
    truss = Truss(
        nodes, parts["start"][keep], parts["end"][keep], stiffness, fixed, np.zeros(nodes.shape)
    )
    body = {**wire(truss, draw.standard_normal((2, *nodes.shape))), "seek_remedies": False}
    calculator = TrussCheck()
    try:
        inputs = calculator.load(body)
        result = calculator.calculate(inputs)
    except (CannotCalculate, InvalidInputs) as refused:
        pointers = (
            [refused.pointer]
            if isinstance(refused, CannotCalculate)
            else [pointer for pointer, _ in refused.faults]
        )
        assert all(pointer.startswith("/structure") for pointer in pointers)
        return
    answer = {
        "verdict": result.verdict,
        "result": result.value,
        "findings": [{"level": finding.level} for finding in result.findings],
    }
    residual_is_met(answer, body["structure"])

"""Counts and limits against published theorems, standards and reference trusses."""

import itertools
import math
from typing import Any

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.separation_joints.play import FINGER_GAP_MM, tilt_rad
from baywright_plugins.separation_joints.schemas import SeparationJointsInputs
from baywright_plugins.separation_joints.squareness import plane_racks
from tests.plugins.separation_joints.builds import codes, explicit, finding, machine, run, section

CUBE = list(itertools.product((0, 120), repeat=3))
EDGES = [
    (a, b)
    for a, b in itertools.combinations(range(8), 2)
    if sum(abs(x - y) for x, y in zip(CUBE[a], CUBE[b], strict=True)) == 120
]
FACE_DIAGONALS = [(0, 3), (4, 7), (0, 5), (2, 7), (0, 6), (1, 7)]


@pytest.mark.parametrize("bays", [[1, 1, 1], [6, 1, 1], [1, 1, 4]])
@pytest.mark.parametrize("pattern", ["single", "alternating", "lean-in", "lean-out"])
def test_a_box_with_all_its_faces_braced_is_rigid(
    bays: list[int], pattern: str, published: dict[str, Any]
) -> None:
    """Alexandrov's theorem in Whiteley 1984: whichever way the diagonals run, no cross faces."""
    case = published["alexandrov-closed-box"]
    assert bays in case["inputs"]["bays"] and pattern in case["inputs"]["side_faces"]
    box = section(
        "A", bays[0], bays[1], bays[2],
        side_faces={"default": pattern}, cross_faces={"every": case["inputs"]["cross_faces_every"]},
    )  # fmt: skip
    row = run(machine(box), bare=True).value["sections"][0]
    assert (row["mechanisms_count"], row["rigid"]) == (case["expected"], True)


@pytest.mark.parametrize("ends", [(), ("x_plus",), ("x_minus", "x_plus")])
def test_each_open_end_of_a_box_beam_frees_one_lozenge(
    ends: tuple[str, ...], published: dict[str, Any]
) -> None:
    """Cross faces at both ends, one, none: 0, 1, 2 mechanisms, and each end is named in turn."""
    expected = published["convex-box-one-face-open"]["expected"][len(ends)]
    faces = {"default": "alternating", **dict.fromkeys(ends, "none")}
    result = run(machine(section("A", 6, 1, 1, side_faces=faces, cross_faces={"every": 0})))
    row = result.value["sections"][0]
    assert row["mechanisms_count"] == expected
    stations = row["stations"][0]
    assert stations["near_both_ends"] == (not ends)
    named = {fold["face"][:7] for fold in row["folds"]}
    assert named == {f"face {end[0]}{'+' if 'plus' in end else '-'}" for end in ends}
    assert all("lozenge" in fold["words"] for fold in row["folds"])


def test_a_bare_side_face_is_one_mechanism_and_is_named() -> None:
    """A six-bay box beam with both ends braced and one face of bay 3 bare (counted from 0: 2)."""
    beam = section("A", 6, 1, 1, cross_faces={"every": 0})
    beam["left_out_diagonals"] = [[[2, 0, 0], [3, 0, 1]]]
    result = run(machine(beam))
    row = result.value["sections"][0]
    assert row["mechanisms_count"] == 1
    assert row["folds"][0]["face"] == "face y- of bay (2, 0, 0)"
    proof = finding(result, "section-not-rigid").remedy
    assert proof.patch is not None


@pytest.mark.parametrize("braces", [0, 1, 3, 6])
def test_maxwells_cube(braces: int, published: dict[str, Any]) -> None:
    """Twelve edges leave 3 n - 6 - 12 = 6 ways to fold; each face diagonal takes one away."""
    case = published["maxwell-cube"]
    members = EDGES + FACE_DIAGONALS[:braces]
    row = run(explicit(CUBE, members, ["cube"] * len(members))).value["sections"][0]
    assert len(EDGES) == case["inputs"]["edges"]
    assert row["mechanisms_count"] == case["expected"][0] - braces
    assert row["self_stress_states_count"] == 0


@pytest.mark.parametrize(
    "name",
    ["mechanism_unsupported_tetrahedron", "mechanism_diamond_plan", "mechanism_missing_diagonal",
     "star_dome_24", "tetra_helix_14", "box_crossed_4_faces_3"],
)  # fmt: skip
def test_reference_trusses_by_exact_rank(name: str, truss: Any) -> None:
    """The same geometry without its supports: rank by elimination over a prime field, in whole
    numbers, and Maxwell's rule with Calladine's states of self-stress."""
    case = truss(name)
    nodes = np.rint(np.array(case["nodes"]) * 1e6).astype(object)
    members = [(bar["i"], bar["j"]) for bar in case["members"]]
    rank = _rank_over_a_prime_field(nodes, members)
    free = 3 * len(nodes) - 6 - rank
    result = run(explicit(np.array(case["nodes"]) * 1000, members, ["A"] * len(members)))
    row = result.value["sections"][0]
    assert (row["mechanisms_count"], row["self_stress_states_count"]) == (
        free,
        len(members) - rank,
    )
    if name == "mechanism_unsupported_tetrahedron":
        assert row["mechanisms_count"] == case["expected"]["mechanisms"] - 6
        assert row["self_stress_states_count"] == case["expected"]["self_stress"]


def _rank_over_a_prime_field(nodes: Any, members: list[tuple[int, int]]) -> int:
    prime = 2_147_483_647
    rows = np.zeros((len(members), 3 * len(nodes)), dtype=object)
    for k, (a, b) in enumerate(members):
        away = [int(x) for x in nodes[b] - nodes[a]]
        rows[k, 3 * a : 3 * a + 3], rows[k, 3 * b : 3 * b + 3] = [-x for x in away], away
    table = np.array(rows % prime, dtype=np.int64)
    rank = 0
    for column in range(table.shape[1]):
        pivots = np.flatnonzero(table[rank:, column])
        if not len(pivots):
            continue
        table[[rank, rank + pivots[0]]] = table[[rank + pivots[0], rank]]
        table[rank] = table[rank] * pow(int(table[rank, column]), -1, prime) % prime
        below = table[rank + 1 :, column].copy()
        table[rank + 1 :] = (table[rank + 1 :] - below[:, None] * table[rank]) % prime
        rank += 1
        if rank == len(table):
            break
    return rank


@given(st.integers(1, 4), st.integers(1, 4), st.sets(st.integers(0, 15)))
@settings(deadline=None, derandomize=True, max_examples=40)
def test_a_grid_of_squares_racks_as_its_brace_graph_says(
    rows: int, columns: int, chosen: set[int]
) -> None:
    """Bolker and Crapo: components of the graph of rows and columns joined by braces, less one."""
    node = {(i, j): i * (columns + 1) + j for i in range(rows + 1) for j in range(columns + 1)}
    bars = [(node[i, j], node[i, j + 1]) for i in range(rows + 1) for j in range(columns)]
    bars += [(node[i, j], node[i + 1, j]) for i in range(rows) for j in range(columns + 1)]
    graph: nx.Graph[Any] = nx.Graph()
    graph.add_nodes_from(("row", i) for i in range(rows))
    graph.add_nodes_from(("column", j) for j in range(columns))
    for place in sorted(chosen):
        i, j = divmod(place, 4)
        if i < rows and j < columns:
            graph.add_edge(("row", i), ("column", j))
            bars.append((node[i, j], node[i + 1, j + 1]))
    places = np.array([[120.0 * j, 0.0, 120.0 * i] for i, j in node])
    ends = np.array(bars)
    racks = plane_racks(places, ends[:, 0], ends[:, 1], 1)
    assert racks == nx.number_connected_components(graph) - 1


def test_a_bare_three_by_three_grid(published: dict[str, Any]) -> None:
    """Rows + columns - 1 ways to rack, and as many braces at the least."""
    case = published["grid-bracing"]
    rows, columns = case["inputs"]["rows"], case["inputs"]["columns"]
    assert case["expected"]["unbraced"] == rows + columns - 1
    wall = section("A", columns, 1, rows, side_faces={"default": "single", "y_minus": "none"})
    wall["beams"] = [
        {"at": [0, 0, k], "axis": "x", "bays": columns} for k in range(rows)
    ]  # fmt: skip
    planes = {p["side"]: p for p in run(machine(wall)).value["sections"][0]["planes"]}
    assert planes["y-minus"]["racks_count"] == case["expected"]["unbraced"]
    assert planes["y-plus"]["racks_count"] == 0


@pytest.mark.parametrize(("overhang_mm", "pinches"), [(17.0, False), (17.3, False), (17.5, True)])
def test_fingers_need_the_gap_of_the_standard(
    overhang_mm: float, pinches: bool, published: dict[str, Any]
) -> None:
    """ISO 13854: 25 mm for a finger, with play closed: 60 - 2 x overhang - 0.3."""
    assert published["finger-gap"]["expected"] == FINGER_GAP_MM
    inputs = machine(section("A", 2, 1, 2), section("B", 2, 1, 2))
    inputs["kit"]["hubs"][0]["overhang_mm"] = overhang_mm
    assert ("pinches-fingers" in codes(run(inputs))) == pinches


def test_people_who_pull_are_counted_by_the_published_figure(published: dict[str, Any]) -> None:
    """HSE L23: 150 N each unless stated; twelve seats of 60 N and 0.4 of the weight."""
    case = published["push-pull-start"]["expected"]
    assert SeparationJointsInputs().fields["pull_per_person_n"].load_default == case["women"]
    inputs = machine(section("A", 2, 2, 4), section("B", 2, 2, 4))
    for force in (case["women"], case["men"]):
        result = run({**inputs, "pull_per_person_n": force, "gravity_m_s2": 10.0}, bare=True)
        step = result.value["taking_apart"]["steps"][0]
        by_hand = 60 * 12 + 0.4 * 10 * result.value["sections"][1]["mass_kg"]
        assert result.value["joints"][0]["rods_count"] == 12 == step["rods_count"]
        assert step["force_n"] == pytest.approx(by_hand)
        assert step["people_count"] == math.ceil(by_hand / force)


def test_tilt_is_that_of_face_readings(published: dict[str, Any]) -> None:
    """One thousandth of an inch over one inch, half of it drawn out and half pushed in."""
    case = published["face-readings"]
    half = case["inputs"]["gap_difference_in"] / 2
    angle = math.degrees(tilt_rad(half, case["inputs"]["apart_in"]))
    assert angle == pytest.approx(case["expected"], abs=5e-5)

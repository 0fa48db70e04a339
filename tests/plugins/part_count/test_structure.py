"""Counts of frames against brute force: points and pairs straight from coordinates."""

import math
import time
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.part_count import PartCount
from baywright_plugins.part_count.examples import KIT
from baywright_service.contract import Result

PITCH = {"R60": 60.0, "R85": 84.8, "R120": 120.0, "R170": 169.6}
#: the rod that closes across a square bay of each rod, within 0.3 mm: pitch times root 2
ACROSS = {"R60": "R85", "R85": "R120", "R120": "R170"}
DIAGONALS = {"none": 0, "single": 1, "alternating": 1, "lean-in": 1, "lean-out": 1, "crossed": 2}

Point = tuple[float, float, float]
Pairs = dict[frozenset[Point], str]


def frame_of(*sections: dict[str, Any], joints: Any = ()) -> dict[str, Any]:
    return {"kit": KIT, "frame": {"layout": {"sections": [*sections], "joints": [*joints]}}}


def run(body: dict[str, Any]) -> Result:
    calculator = PartCount()
    return calculator.calculate(calculator.load(body))


def box_cells(bays: tuple[int, int, int]) -> set[tuple[int, int, int]]:
    """Bays on at least two outer layers."""
    return {
        cell
        for cell in product(range(bays[0]), range(bays[1]), range(bays[2]))
        if sum(k in (0, n - 1) for k, n in zip(cell, bays, strict=True)) >= 2
    }


def brute_force(
    rods: list[list[str]],
    cells: set[tuple[int, int, int]],
    pattern: str,
    every: int,
    at: Point = (0.0, 0.0, 0.0),
) -> tuple[set[Point], Pairs]:
    """Points and pairs of one section, from coordinates alone."""
    lines = [
        [round(at[axis] + sum(PITCH[r] for r in rods[axis][:k]), 6) for k in range(len(run) + 1)]
        for axis, run in enumerate(rods)
    ]

    def point(i: int, j: int, k: int) -> Point:
        return lines[0][i], lines[1][j], lines[2][k]

    points: set[Point] = set()
    pairs: Pairs = {}
    owners: dict[tuple[int, tuple[int, int, int]], int] = {}
    for cell in cells:
        corners = [tuple(c + s for c, s in zip(cell, step, strict=True))
                   for step in product((0, 1), repeat=3)]  # fmt: skip
        points |= {point(*c) for c in corners}
        for a, b in product(corners, corners):
            moved = [k for k in range(3) if a[k] != b[k]]
            if len(moved) == 1:
                rod = rods[moved[0]][cell[moved[0]]]
                pairs[frozenset((point(*a), point(*b)))] = rod
        for normal, side in product(range(3), (0, 1)):
            where = list(cell)
            where[normal] += side
            key = (normal, (where[0], where[1], where[2]))
            owners[key] = owners.get(key, 0) + 1
    for (normal, place), count in owners.items():
        u, v = (k for k in range(3) if k != normal)
        if rods[u][place[u]] != rods[v][place[v]] or rods[u][place[u]] not in ACROSS:
            continue
        station, n = place[normal], len(rods[normal])
        braced = every > 0 and ((station - 1) % every == 0 or station == n - 1)
        wanted = DIAGONALS[pattern] if count == 1 else int(braced)
        ends = [list(place) for _ in range(4)]
        ends[1][u] += 1
        ends[2][v] += 1
        ends[3][u] += 1
        ends[3][v] += 1
        for number in range(wanted):
            near, far = ((0, 3), (1, 2))[number]
            pair = frozenset((point(*ends[near]), point(*ends[far])))
            pairs[pair] = ACROSS[rods[u][place[u]]]
    return points, pairs


def section(
    name: str, rods: list[list[str]], pattern: str, every: int, beams: Any = None
) -> dict[str, Any]:
    runs = {
        axis: [{"rod": rod, "count": 1} for rod in run]
        for axis, run in zip("xyz", rods, strict=True)
    }
    spec: dict[str, Any] = {
        "id": name, "rods": runs, "side_faces": {"default": pattern},
        "cross_faces": {"every": every},
    }  # fmt: skip
    if beams is not None:
        spec["beams"] = beams
    return spec


def rods_by_kind(pairs: Pairs) -> dict[str, int]:
    kinds: dict[str, int] = {}
    for rod in pairs.values():
        kinds[rod] = kinds.get(rod, 0) + 1
    return kinds


def counted_rods(result: Result) -> dict[str, int]:
    return {k: n for k, n in result.value["counts"].items() if k in PITCH}


def axis(most: int) -> st.SearchStrategy[list[str]]:
    mixed = st.lists(st.sampled_from(["R60", "R85", "R120"]), min_size=1, max_size=most)
    equal = st.integers(1, most).map(lambda n: ["R120"] * n)
    return st.one_of(equal, mixed)


PATTERN = st.sampled_from(sorted(DIAGONALS))
EVERY = st.integers(0, 3)


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(st.tuples(axis(5), axis(4), axis(6)), PATTERN, EVERY)
def test_boxes_count_as_brute_force_does(
    rods: tuple[list[str], list[str], list[str]], pattern: str, every: int
) -> None:
    """Any box, any pattern, mixed rods: as many hubs as points, as many rods as pairs."""
    runs = list(rods)
    cells = box_cells((len(rods[0]), len(rods[1]), len(rods[2])))
    points, pairs = brute_force(runs, cells, pattern, every)
    result = run(
        {"kit": KIT, "frame": {"layout": {"sections": [section("A", runs, pattern, every)]}}}
    )
    assert result.value["totals"]["hubs_count"] == len(points)
    assert counted_rods(result) == rods_by_kind(pairs)
    assert result.value["totals"]["bays_count"] == len(cells)
    once = result.value["structure"]["counted_once"]
    assert (once["hubs_count"], once["rods_count"]) == (len(points), len(pairs))


@st.composite
def crossings(draw: Any) -> tuple[tuple[int, int, int], list[dict[str, Any]]]:
    """Beams on one grid that may run through, into, beside or past each other."""
    size = (draw(st.integers(2, 6)), draw(st.integers(2, 5)), draw(st.integers(2, 5)))
    beams = []
    for _ in range(draw(st.integers(1, 4))):
        along = draw(st.integers(0, 2))
        at = [draw(st.integers(0, n - 1)) for n in size]
        bays = draw(st.integers(1, size[along] - at[along]))
        beams.append({"at": at, "axis": "xyz"[along], "bays": bays})
    return size, beams


def beam_cells(beam: dict[str, Any]) -> set[tuple[int, int, int]]:
    along = "xyz".index(beam["axis"])
    cells = set()
    for step in range(beam["bays"]):
        cell = list(beam["at"])
        cell[along] += step
        cells.add((cell[0], cell[1], cell[2]))
    return cells


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(crossings(), PATTERN, EVERY)
def test_crossing_beams_count_as_brute_force_does(
    layout: tuple[tuple[int, int, int], list[dict[str, Any]]], pattern: str, every: int
) -> None:
    """T and L crossings, beams side by side, loose beams: counted by points and pairs."""
    size, beams = layout
    runs = [["R120"] * n for n in size]
    cells = set().union(*map(beam_cells, beams))
    points, pairs = brute_force(runs, cells, pattern, every)
    spec = section("A", runs, pattern, every, beams)
    result = run(frame_of(spec))
    assert result.value["totals"]["hubs_count"] == len(points)
    assert counted_rods(result) == rods_by_kind(pairs)
    assert result.value["totals"]["bays_count"] == len(cells)
    assert result.value["totals"]["beams_count"] == len(beams)


@pytest.mark.slow
@settings(max_examples=30, deadline=None)
@given(st.tuples(axis(4), axis(3), axis(3)), PATTERN, EVERY)
def test_explicit_frames_count_the_same(
    rods: tuple[list[str], list[str], list[str]], pattern: str, every: int
) -> None:
    """The same nodes and members given one by one: same hubs, rods and kinds of hub."""
    runs = list(rods)
    laid = run(
        {"kit": KIT, "frame": {"layout": {"sections": [section("A", runs, pattern, every)]}}}
    )
    cells = box_cells((len(rods[0]), len(rods[1]), len(rods[2])))
    points, pairs = brute_force(runs, cells, pattern, every)
    number = {point: k for k, point in enumerate(sorted(points))}
    ends = [sorted(number[p] for p in pair) for pair in pairs]
    given_one_by_one = {
        "nodes_mm": [list(p) for p in sorted(points)],
        "members": {
            "start": [a for a, _ in ends], "end": [b for _, b in ends],
            "rod": list(pairs.values()),
        },
    }  # fmt: skip
    result = run({"kit": KIT, "frame": given_one_by_one})
    assert counted_rods(result) == counted_rods(laid)
    assert result.value["totals"]["hubs_count"] == laid.value["totals"]["hubs_count"]
    if pattern in ("none", "crossed") and every == 0:  # elsewhere directions differ by choice
        assert result.value["hub_kinds"]["kinds"] == [
            {**kind, "by_section": {"frame": kind["used_count"]}}
            for kind in laid.value["hub_kinds"]["kinds"]
        ]


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(st.tuples(st.integers(3, 9), st.integers(3, 9), st.integers(3, 9)))
def test_boxes_follow_the_closed_rule(bays: tuple[int, int, int]) -> None:
    """hubs = sum 4 (n + 1) - 8 (m - 1) per corner, axis rods = sum (8 n + 4) - 12 (m - 1): four
    beams each way, three of them at each of eight corners."""
    runs = [["R120"] * n for n in bays]
    result = run(frame_of(section("A", runs, "none", 0)))
    hubs = sum(4 * 4 * (n + 1) for n in bays) - 8 * 2 * 8
    rods = sum(4 * (8 * n + 4) for n in bays) - 8 * 2 * 12
    structure = result.value["structure"]
    assert structure["counted_once"]["hubs_count"] == hubs
    assert structure["counted_once"]["axis_rods_count"] == rods
    assert structure["beam_rule"] == {"hubs_count": hubs, "axis_rods_count": rods}


def test_nine_by_five_by_twelve() -> None:
    """336 hubs and 688 rods along the edges; counted beam by beam 464 and 880."""
    runs = [["R120"] * n for n in (9, 5, 12)]
    result = run(frame_of(section("A", runs, "none", 0)))
    structure = result.value["structure"]
    assert structure["counted_once"] == {
        "hubs_count": 336, "rods_count": 688, "axis_rods_count": 688,
    }  # fmt: skip
    assert structure["counted_by_beam"]["hubs_count"] == 464
    assert structure["counted_by_beam"]["axis_rods_count"] == 880
    shared = [f for f in result.findings if f.code == "shared-parts"]
    assert "464" in shared[0].message and "336" in shared[0].message


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 4), st.integers(1, 5), st.integers(1, 5), st.sampled_from(["R60", "R85"]))
def test_joints_count_once_between_two_sections(x: int, y: int, z: int, rod: str) -> None:
    """Coupling rods join the hubs of the corner bays that face each other."""
    runs = [["R120"] * n for n in (x, y, z)]
    layout = {
        "sections": [section("A", runs, "single", 1), section("B", runs, "single", 1)],
        "joints": [{"between": ["A", "B"], "axis": "x", "rod": rod}],
    }
    result = run({"kit": KIT, "frame": {"layout": layout}})
    facing = {k for k in range(y + 1) if k < 2 or k > y - 2}
    upward = {k for k in range(z + 1) if k < 2 or k > z - 2}
    row = next(r for r in result.value["parts"] if r["item"] == rod)
    assert row["joints_count"] == len(facing) * len(upward)
    gap = PITCH[rod] + x * 120.0
    own = [
        brute_force(runs, box_cells((x, y, z)), "single", 1, (at, 0.0, 0.0)) for at in (0.0, gap)
    ]
    assert result.value["totals"]["hubs_count"] == sum(len(points) for points, _ in own)
    assert math.isclose(
        result.value["totals"]["rods_count"], sum(len(p) for _, p in own) + row["joints_count"]
    )


def test_a_large_frame_is_counted_in_seconds() -> None:
    """About seven thousand rods: the whole count, graph included, in under three seconds."""
    spec = section("A", [["R120"]] * 3, "crossed", 1)
    spec["rods"] = {
        axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", (40, 30, 60), strict=True)
    }
    body = {"kit": KIT, "frame": {"layout": {"sections": [spec]}}}
    before = time.perf_counter()
    result = run(body)
    assert time.perf_counter() - before < 3.0
    assert result.value["totals"]["rods_count"] > 7000


def test_a_box_of_one_bay() -> None:
    """A single bay: 8 hubs, 12 edges, six faces."""
    result = run(
        {
            "kit": KIT,
            "frame": {"layout": {"sections": [section("A", [["R120"]] * 3, "crossed", 0)]}},
        }
    )
    assert result.value["counts"]["R120"] == 12
    assert result.value["counts"]["R170"] == 12
    assert result.value["totals"]["hubs_count"] == 8
    assert result.value["counts"]["H18"] == 8

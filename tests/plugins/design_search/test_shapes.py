"""Parts counted without building, against frames that are built."""

from collections import Counter
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.design_search.floors import Floors
from baywright_plugins.design_search.machines import Counting, machine_at
from baywright_plugins.design_search.plans import layout_of
from baywright_plugins.design_search.reading import problem_of
from baywright_plugins.design_search.shapes import (
    Drawings,
    Shape,
    bay_count,
    coupling_rods,
    grip_faces,
)
from baywright_plugins.fit_remedies.listed_diagonals import as_loaded
from baywright_plugins.frame import LayoutSchema, build_frame
from baywright_plugins.frame.model import ROLES
from baywright_plugins.part_count.beams import bays_of

Json = dict[str, Any]

bracing = st.fixed_dictionaries(
    {
        "side_faces": st.fixed_dictionaries(
            {
                "default": st.sampled_from(
                    ["single", "alternating", "lean-in", "lean-out", "crossed"]
                )
            }
        ),
        "cross_faces": st.fixed_dictionaries({"every": st.integers(0, 3)}),
        "second_at_grips": st.sampled_from(["none", "below-lower", "around-lower", "around-both"]),
    }
)
bays = st.tuples(st.integers(1, 6), st.integers(1, 5), st.integers(1, 8))


@given(bracing, bays)
@settings(deadline=None, derandomize=True, max_examples=10)
def test_parts_of_a_section_are_those_of_its_frame(
    load: Any, small: Any, how: Json, size: tuple[int, int, int]
) -> None:
    """Hubs, rods of each kind and bays, counted by formula and built hub by hub."""
    problem = problem_of(load(small(bracings=[{"id": "b", **how}])))
    drawings, rod = Drawings(problem), problem.kit.rod_index["R120"]
    shape = Shape((rod, rod, rod), size, 0, (), ())
    layout = {"title": "", "sections": [as_loaded(drawings.spec(shape))], "joints": []}
    frame = build_frame(layout, problem.kit)
    parts = drawings.parts(shape)
    assert parts.hubs == len(frame.nodes_mm)
    assert parts.rods == tuple(np.bincount(frame.rod, minlength=len(problem.kit.rods)).tolist())
    assert bay_count(size) == len(bays_of(frame, 0))
    seconds = int((frame.role == ROLES.index("second-diagonal")).sum())
    crossed = how["side_faces"]["default"] == "crossed"
    if how["cross_faces"]["every"] and not crossed and min(size) > 1:
        assert seconds == len(grip_faces(size, how["second_at_grips"]))


@given(st.lists(bays, min_size=2, max_size=3), st.integers(1, 5))
@settings(deadline=None, derandomize=True, max_examples=8)
def test_coupling_rods_are_those_of_the_frame(
    load: Any, small: Any, sizes: list[tuple[int, int, int]], depth: int
) -> None:
    """Rods across each joint, counted by formula and built."""
    problem = problem_of(load(small()))
    own = [(x, depth, z) for x, _, z in sizes]
    names = [f"S{k}" for k in range(len(own))]
    sections = [
        {
            "id": name,
            "rods": {
                axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", size, strict=True)
            },
        }
        for name, size in zip(names, own, strict=True)
    ]
    joints = [
        {"between": [a, b], "axis": "x", "rod": "R60"}
        for a, b in zip(names[:-1], names[1:], strict=True)
    ]
    layout = LayoutSchema().load({"sections": sections, "joints": joints})
    frame = build_frame(layout, problem.kit)
    joined = frame.role == ROLES.index("joint")
    pairs = Counter(
        zip(
            frame.node_section[frame.start[joined]].tolist(),
            frame.node_section[frame.end[joined]].tolist(),
            strict=True,
        )
    )
    wanted = {(k, k + 1): coupling_rods(own[k], own[k + 1]) for k in range(len(own) - 1)}
    assert dict(pairs) == wanted


def test_contents_are_those_of_the_layout(load: Any, small: Any) -> None:
    """A tower and a tray with a joint: what is counted is what its layout builds."""
    body = small(
        bay_rods=["R120"],
        joint_rod="R60",
        splits=[
            {"id": "two", "sections": [{"id": "A", "height_min_mm": 600}, {"id": "B"}]}
        ],
        envelope={
            "length_max_mm": 900, "width_min_mm": 270, "width_max_mm": 400, "height_max_mm": 640
        },
    )  # fmt: skip
    problem = problem_of(load(body))
    drawings = Drawings(problem)
    counting = Counting(problem, drawings, Floors(problem))
    for looked in problem.space.looked(np.array([0, problem.space.count // 2])):
        machine = machine_at(problem, looked, 0)
        contents = counting.of(machine)
        raw = layout_of(problem, machine, contents.shapes, drawings)
        frame = build_frame(LayoutSchema().load(raw), problem.kit)
        assert contents.hubs == len(frame.nodes_mm)
        counted = np.bincount(frame.rod, minlength=len(problem.kit.rods)).tolist()
        assert list(contents.rods) == counted
        inner = frame.rod[frame.section >= 0]
        assert (
            list(contents.in_sections)
            == np.bincount(inner, minlength=len(problem.kit.rods)).tolist()
        )


@pytest.mark.parametrize(
    ("pair", "fits"),
    [
        ([[0, 0, 0], [0, 1, 1]], True),
        ([[1, 0, 1], [2, 0, 2]], True),
        ([[0, 0, 0], [1, 1, 1]], False),
        ([[0, 0, 0], [0, 0, 1]], False),
        ([[2, 0, 0], [3, 0, 1]], False),
        ([[0, 0, 4], [0, 1, 5]], False),
    ],
)
def test_second_diagonals_one_by_one_need_a_face(
    load: Any, small: Any, pair: Any, fits: bool
) -> None:
    """Of 2 x 2 x 4 bays, a pair across one face goes in; others are told with their places."""
    problem = problem_of(load(small(bracings=[{"id": "b", "second_diagonals": {"S1": [pair]}}])))
    rod = problem.kit.rod_index["R120"]
    seconds = problem.bracings[0].seconds["S1"]
    fault = Drawings(problem).fault(Shape((rod,) * 3, (2, 2, 4), 0, (), seconds))
    assert (fault == "") == fits
    if not fits:
        assert str(pair[0]) in fault

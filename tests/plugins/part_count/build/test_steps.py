"""The order of building: everything once, on what stands, and steady where it can be."""

from typing import Any

import numpy as np
import pytest

from baywright_plugins.frame import Frame
from baywright_plugins.part_count.build.growth import Growth
from baywright_plugins.part_count.build.section_order import section_order
from baywright_plugins.part_count.build.squareness import square_check
from baywright_plugins.part_count.build.steps import SectionSteps, section_steps
from baywright_plugins.part_count.build.words import ladders_of, place_words
from baywright_plugins.truss_check.stability import internal_stability
from tests.plugins.part_count.build.conftest import box


def steps_of(framed: Any, layout: Any, bays_per_step: int = 6) -> tuple[Frame, SectionSteps]:
    frame, _, sections = framed(layout)
    return frame.part(0), section_steps(frame.part(0), sections[0].bays, bays_per_step)


def standing(part: Frame, plan: SectionSteps, upto: int) -> tuple[Any, Any, Any]:
    """The frame after `upto` steps: its places, and its members renumbered."""
    nodes = np.sort([n for step in plan.steps[:upto] for n in step.nodes])
    members = [m for step in plan.steps[:upto] for m in step.members]
    number = np.full(len(part.nodes_mm), -1)
    number[nodes] = np.arange(len(nodes))
    return part.nodes_mm[nodes], number[part.start[members]], number[part.end[members]]


def whole_check(part: Frame, plan: SectionSteps) -> None:
    """Hubs and members once each; every member's hubs stand before it."""
    nodes = [n for step in plan.steps for n in step.nodes]
    members = [m for step in plan.steps for m in step.members]
    assert sorted(nodes) == list(range(len(part.nodes_mm)))
    assert sorted(members) == list(range(len(part.start)))
    up: set[int] = set()
    for step in plan.steps:
        up |= set(step.nodes)
        assert all(int(part.start[m]) in up and int(part.end[m]) in up for m in step.members)


@pytest.mark.parametrize("size", [(1, 1, 1), (1, 1, 7), (4, 3, 5), (2, 2, 2)])
@pytest.mark.parametrize("bays_per_step", [1, 4])
def test_every_part_once_and_on_what_stands(
    framed: Any, size: tuple[int, int, int], bays_per_step: int
) -> None:
    part, plan = steps_of(framed, {"sections": [box("A", *size)]}, bays_per_step)
    whole_check(part, plan)
    assert sum(step.bays for step in plan.steps) == len({c for s in plan.steps for c in s.cells})
    assert plan.steps[0].cells[0] == (0, 0, 0)


@pytest.mark.parametrize("pattern", ["alternating", "lean-in", "none"])
@pytest.mark.parametrize("every", [0, 3])
def test_steady_as_the_rank_of_the_whole_says(framed: Any, pattern: str, every: int) -> None:
    """The mechanisms of what stands after each step, from the whole equilibrium matrix by dense
    linear algebra (numpy's rank), not grown step by step."""
    spec = box("A", 3, 3, 4, side_faces={"default": pattern}, cross_faces={"every": every})
    part, plan = steps_of(framed, {"sections": [spec]}, 3)
    for upto, step in enumerate(plan.steps, start=1):
        nodes, start, end = standing(part, plan, upto)
        columns = np.zeros((len(start), 3 * len(nodes)))
        away = nodes[end] - nodes[start]
        away /= np.linalg.norm(away, axis=1)[:, None]
        for k in range(len(start)):
            columns[k, 3 * start[k] : 3 * start[k] + 3] = -away[k]
            columns[k, 3 * end[k] : 3 * end[k] + 3] = away[k]
        mechanisms = 3 * len(nodes) - 6 - np.linalg.matrix_rank(columns, tol=1e-8)
        assert step.steady == (mechanisms == 0)
        assert step.loose_ways in (mechanisms, None)
    if pattern != "none" and every == 3:
        assert all(step.steady for step in plan.steps)


def test_a_bare_frame_sways_at_every_step(framed: Any) -> None:
    spec = box("A", 2, 2, 3, side_faces={"default": "none"}, cross_faces={"every": 0})
    part, plan = steps_of(framed, {"sections": [spec]}, 2)
    whole_check(part, plan)
    assert not any(step.steady for step in plan.steps)
    first = plan.steps[0]
    nodes, start, end = standing(part, plan, 1)
    assert first.loose_ways == internal_stability(nodes, start, end).mechanisms


def test_a_run_goes_on_to_the_next_braced_face(framed: Any) -> None:
    """A column of 7 bays with diaphragms after bay 1, 4 and 6 that can wait for no fewer: with
    steps of two bays none ends while the part sways, unless it is twice as long."""
    part, plan = steps_of(framed, {"sections": [box("A", 1, 1, 7)]}, 2)
    for step in plan.steps[:-1]:
        assert step.steady or step.bays >= 4


def test_steps_wait_for_what_they_touch_and_columns_only_for_the_ring(framed: Any) -> None:
    """4 x 4 x 5: the four columns rise side by side on the ring below."""
    part, plan = steps_of(framed, {"sections": [box("A", 4, 4, 5)]}, 4)
    step_of = {n: k for k, step in enumerate(plan.steps) for n in step.nodes}
    columns = [
        k
        for k, step in enumerate(plan.steps)
        if step.cells and all(cell[2] > 0 for cell in step.cells) and step.cells[0][2] == 1
    ]
    assert len(columns) == 4
    for column in columns:
        assert not set(plan.needs.predecessors(column)) & set(columns)
    for k, step in enumerate(plan.steps):
        for member in step.members:
            for end in (part.start, part.end):
                other = step_of[int(end[member])]
                assert other == k or plan_reaches(plan, other, k)


def plan_reaches(plan: SectionSteps, early: int, late: int) -> bool:
    import networkx as nx

    return bool(nx.has_path(plan.needs, early, late))


def test_a_frame_without_bays_is_built_hub_by_hub_from_below() -> None:
    """A tetrahedron and a fifth hub on it: steady as soon as the fourth hub stands."""
    nodes = np.array(
        [[0, 0, 0], [120, 0, 0], [0, 120, 0], [0, 0, 120], [120, 120, 120]], dtype=float
    )
    start = np.array([0, 0, 0, 1, 1, 2, 3, 1, 2])
    end = np.array([1, 2, 3, 2, 3, 3, 4, 4, 4])
    ones = np.zeros(9, dtype=np.int64)
    part = Frame(
        nodes, np.full((5, 3), -1), np.zeros(5, dtype=np.int64), start, end, ones, ones, ones, ()
    )
    plan = section_steps(part, (), 1)
    whole_check(part, plan)
    assert [len(step.nodes) for step in plan.steps] == [4, 1]
    assert [step.loose_ways for step in plan.steps] == [0, 0]
    assert plan.steps[0].nodes == [0, 1, 2, 3]
    assert place_words(plan.steps[0], None).startswith("4 hubs")


def test_growth_leaves_open_what_is_too_loose_to_say() -> None:
    """Seventy hubs without a rod: that they sway is said, in how many ways is not."""
    nodes = np.arange(210, dtype=float).reshape(-1, 3) ** 1.5
    none = np.zeros(0, dtype=np.int64)
    part = Frame(nodes, np.full((70, 3), -1), np.zeros(70, dtype=np.int64), none, none, none, none,
                 none, ())  # fmt: skip
    growth = Growth(part)
    growth.add(range(70), ())
    assert growth.is_steady() is False
    assert growth.loose_ways() is None


def test_twins_follow_one_another_and_what_carries_comes_first(framed: Any) -> None:
    """Left to right A B A' with B above C: A A' together, C before B."""
    sections = [box("A", 1, 1, 2), box("B", 2, 1, 1), box("A2", 1, 1, 2), box("C", 2, 1, 1)]
    sections[3]["side_faces"] = {"default": "lean-in"}
    layout = {
        "sections": sections,
        "joints": [
            {"between": ["A", "A2"], "axis": "x", "rod": "R60"},
            {"between": ["C", "B"], "axis": "z", "rod": "R60"},
        ],
    }
    frame, _, _ = framed(layout)
    found = section_order(frame, [frame.part(k) for k in range(4)])
    assert found.twin_of[:3] == (0, 1, 0)
    order = list(found.order)
    assert order.index(2) == order.index(0) + 1
    assert order.index(3) < order.index(1) or found.twin_of[3] == 1


def test_ladders_and_words_of_a_beam(framed: Any) -> None:
    """One beam of three bays by hand: two flat ladders of 10 rods and 3 diagonals; uprights 8,
    diagonals between 6 and at the ends and diaphragms the rest."""
    part, plan = steps_of(framed, {"sections": [box("A", 3, 1, 1)]}, 3)
    (step,) = plan.steps
    ladders = ladders_of(step, part)
    assert ladders.count == 2
    assert ladders.rods == 2 * (10 + 3)
    assert ladders.rods + ladders.joining == len(part.start)
    assert place_words(step, (3, 1, 1)) == "level 1, front, bays 1 to 3 from the left"


def test_play_parts_the_diagonals_of_a_leaning_plane() -> None:
    """By geometry: lean every bay as far as its diagonal's play lets it, and measure."""
    width, height, play = 1080.0, 600.0, 0.15
    allowed = square_check(width, height, [(120.0, 120.0)], play)
    # the corner slides sideways until the diagonal of one bay is longer by both seats' play
    shift = np.sqrt((np.hypot(120.0, 120.0) + 2 * play) ** 2 - 120.0**2) - 120.0
    lean = shift / 120.0 * height
    apart = np.hypot(width + lean, height) - np.hypot(width - lean, height)
    assert allowed.diagonal_mm == pytest.approx(np.hypot(width, height))
    assert allowed.equal_within_mm == pytest.approx(apart, rel=3e-3)

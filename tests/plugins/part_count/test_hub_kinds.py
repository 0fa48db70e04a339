"""Which hub can stand where, and which is taken when the shelf is bounded."""

from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.kit import Hub, Kit, KitSchema
from baywright_plugins.part_count.examples import KIT
from baywright_plugins.part_count.hub_choice import choose_hubs
from baywright_plugins.part_count.hub_kinds import (
    DIRECTIONS,
    can_stand,
    rotations,
    turned,
    used_ports,
)

BODY = Kit.from_inputs(KitSchema().load(KIT))
ONE_PIECE, TWO_PART, _ = BODY.hubs
BIT = {direction: 1 << place for place, direction in enumerate(DIRECTIONS)}
X, Y, Z = (1, 0, 0), (0, 1, 0), (0, 0, 1)
EIGHTEEN = [d for d in DIRECTIONS if sum(map(abs, d)) < 3]


def bits(*directions: tuple[int, int, int]) -> int:
    return sum(BIT[d] for d in set(directions))


def planes(directions: list[tuple[int, int, int]]) -> set[tuple[bool, ...]]:
    return {tuple(x != 0 for x in d) for d in directions if sum(map(abs, d)) == 2}


def test_there_are_24_rotations_and_they_form_a_group() -> None:
    """Each is a rotation (right-handed, length kept); two in a row are another one."""
    matrices = [np.array(r) for r in rotations()]
    keys = {m.tobytes() for m in matrices}
    assert len(keys) == 24
    for a, b in product(matrices, matrices):
        assert (a @ b).tobytes() in keys
        assert round(float(np.linalg.det(a))) == 1


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from(EIGHTEEN), min_size=1, max_size=12, unique=True))
def test_two_halves_take_diagonals_in_one_or_two_planes(
    directions: list[tuple[int, int, int]],
) -> None:
    """Fourteen ports: both planes that share the sliding axis. So diagonals in three planes need
    one piece, and no diagonal locks nothing."""
    used = bits(*directions)
    assert can_stand(used, ONE_PIECE)
    assert can_stand(used, TWO_PART) == (len(planes(directions)) in (1, 2))


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.sampled_from(DIRECTIONS), min_size=1, max_size=8, unique=True),
    st.sampled_from(rotations()),
)
def test_turning_a_node_changes_nothing(directions: list[Any], rotation: Any) -> None:
    moved = [turned(d, rotation) for d in directions]
    for hub in (ONE_PIECE, TWO_PART):
        assert can_stand(bits(*directions), hub) == can_stand(bits(*moved), hub)


def test_a_mirror_image_is_not_a_rotation() -> None:
    """A left-handed hub cannot stand where a right-handed one is needed."""
    handed = (X, Y, (0, 1, 1), (1, 0, 1), (1, 1, 1), (-1, 1, 0))
    hub = Hub("odd", "", handed, 1, 1, None, False, None, "frame", ONE_PIECE.seat)
    mirrored = [(-x, y, z) for x, y, z in handed]
    assert can_stand(bits(*handed), hub)
    assert not can_stand(bits(*mirrored), hub)


def test_ports_are_read_from_coordinates_within_a_tolerance() -> None:
    """A rod 1 degree off its port is seated, one 5 degrees off misses it."""
    nodes = np.array([[0, 0, 0], [100, 0, 0], [0, 100, 100], [100, 1.7, 0], [100, 8.7, 0]], float)
    start, end = np.zeros(2, dtype=np.int64), np.array([1, 2])
    ports = used_ports(nodes, start, end, tolerance_deg=2.0)
    assert ports.used[0] == bits(X, (0, 1, 1))
    assert ports.used[1] == bits((-1, 0, 0))
    near = used_ports(nodes, np.array([0]), np.array([3]), tolerance_deg=2.0)
    assert near.missed.sum() == 0
    far = used_ports(nodes, np.array([0]), np.array([4]), tolerance_deg=2.0)
    assert far.missed.tolist() == [1, 0, 0, 0, 1]
    twice = used_ports(nodes, np.array([0, 0]), np.array([1, 3]), tolerance_deg=2.0)
    assert twice.doubled.tolist() == [1, 0, 0, 0, 0]


@settings(max_examples=80, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 4), st.sets(st.integers(0, 2), min_size=1)),
        min_size=1,
        max_size=3,
    ),
    st.tuples(*[st.integers(0, 6)] * 3),
)
def test_the_shelf_is_never_used_better(classes: Any, shelf: tuple[int, int, int]) -> None:
    """Against every way to spread the nodes of each class over the kinds that fit."""
    demand = [nodes for nodes, _ in classes]
    fits = [sorted(kinds) for _, kinds in classes]
    choice = choose_hubs(demand, fits, [2, 0, 1], dict(enumerate(shelf)))
    for number, nodes in enumerate(demand):
        assert sum(choice.placed[number]) == nodes
        assert all(k in fits[number] for k in range(3) if choice.placed[number][k])

    def spreads(nodes: int, kinds: list[int]) -> list[list[int]]:
        every = product(range(nodes + 1), repeat=3)
        return [
            list(s) for s in every if sum(s) == nodes and all(k in kinds for k in range(3) if s[k])
        ]

    least = min(
        sum(max(sum(s[k] for s in spread) - shelf[k], 0) for k in range(3))
        for spread in product(*(spreads(n, k) for n, k in zip(demand, fits, strict=True)))
    )
    assert sum(choice.to_buy) == least


def test_without_a_shelf_the_hub_with_fewest_ports_is_taken(count: Any) -> None:
    box = {"id": "A", "rods": {a: [{"rod": "R120", "count": 4}] for a in "xyz"}}
    result = count({"kit": KIT, "frame": {"layout": {"sections": [box]}}})
    kinds = {kind["hub"]: kind for kind in result.value["hub_kinds"]["kinds"]}
    assert kinds["H2P"]["used_count"] == result.value["hub_kinds"]["two_part_possible_count"]
    assert kinds["H18"]["used_count"] == result.value["hub_kinds"]["one_piece_needed_count"]
    assert kinds["H18"]["can_stand_count"] == result.value["totals"]["hubs_count"]


@pytest.mark.parametrize(
    ("nodes", "code"),
    [
        ([[0, 0, 0], [120, 0, 0], [102, 63, 0]], "no-hub-fits"),
        ([[0, 0, 0], [120, 0, 0], [120, 1, 0]], "port-used-twice"),
    ],
)
def test_what_no_hub_can_hold_is_a_stop(count: Any, nodes: Any, code: str) -> None:
    members = {"start": [0, 0], "end": [1, 2], "rod": ["R120", "R120"]}
    result = count({"kit": KIT, "frame": {"nodes_mm": nodes, "members": members}})
    assert (code, "stop") in [(f.code, f.level) for f in result.findings]
    assert result.value["hub_kinds"]["no_kind_count"] > 0


def test_ports_that_no_hub_has_together_are_a_stop(count: Any) -> None:
    """A kit with the two-part hub alone cannot build a box whose corners need three planes."""
    kit = {**KIT, "hubs": KIT["hubs"][1:]}
    box = {"id": "A", "rods": {a: [{"rod": "R120", "count": 4}] for a in "xyz"}}
    result = count({"kit": kit, "frame": {"layout": {"sections": [box]}}})
    (fault,) = [f for f in result.findings if f.code == "no-hub-fits"]
    assert fault.level == "stop" and fault.at == ("/kit/hubs",)

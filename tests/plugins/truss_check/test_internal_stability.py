"""Mechanisms of a section against the rank of its directions, worked out densely."""

from typing import Any

import numpy as np
import pytest

from baywright_plugins.frame import build_frame
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.grid_fit.examples import KIT
from baywright_plugins.kit import Kit, KitSchema
from baywright_plugins.truss_check.stability import internal_stability

BARE = [("R120", 6)], [("R120", 1)], [("R120", 1)]


def section(every: int, left_out: list[Any], pattern: str = "alternating") -> Any:
    axes = {
        axis: [{"rod": rod, "count": n} for rod, n in runs]
        for axis, runs in zip("xyz", BARE, strict=True)
    }
    spec = {
        "id": "beam",
        "rods": axes,
        "side_faces": {"default": pattern},
        "cross_faces": {"every": every},
        "left_out_diagonals": left_out,
    }
    kit = Kit.from_inputs(KitSchema().load(KIT))
    return build_frame(LayoutSchema().load({"sections": [spec]}), kit)


def by_rank(frame: Any) -> int:
    along = frame.nodes_mm[frame.end] - frame.nodes_mm[frame.start]
    along = along / frame.length_mm[:, None]
    directions = np.zeros((3 * len(frame.nodes_mm), len(frame.start)))
    for member, (start, end) in enumerate(zip(frame.start, frame.end, strict=True)):
        directions[3 * start : 3 * start + 3, member] = -along[member]
        directions[3 * end : 3 * end + 3, member] = along[member]
    return int(3 * len(frame.nodes_mm) - 6 - np.linalg.matrix_rank(directions))


@pytest.mark.parametrize("pattern", ["alternating", "single", "none", "crossed", "lean-in"])
@pytest.mark.parametrize("every", [0, 1, 3])
def test_count_equals_rank(pattern: str, every: int) -> None:
    """3 n - 6 - rank(B), the rank from a singular value decomposition."""
    frame = section(every, [], pattern)
    assert internal_stability(frame.nodes_mm, frame.start, frame.end).mechanisms == by_rank(frame)


@pytest.mark.parametrize(("bare_ends", "expected"), [(2, 2), (1, 1), (0, 0)])
def test_a_box_beam_without_end_diagonals(bare_ends: int, expected: int) -> None:
    """A 6-bay box beam: end faces braced at neither end, one, both give 2, 1, 0 mechanisms
    (an independent program)."""
    whole = section(0, [])
    ends = [face for face in whole.faces if face.normal == 0 and face.station in (0, 6)]
    diagonals = [
        [whole.lattice[a].tolist(), whole.lattice[b].tolist()]
        for a, b, role in zip(whole.start, whole.end, whole.role, strict=True)
        if role == 1 and whole.lattice[a][0] == whole.lattice[b][0]
    ]
    assert len(ends) == len(diagonals) == 2
    frame = section(0, diagonals[:bare_ends])
    assert (
        internal_stability(frame.nodes_mm, frame.start, frame.end).mechanisms
        == by_rank(frame)
        == expected
    )

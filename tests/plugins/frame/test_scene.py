"""A frame in space: what it says of itself, and the way its sections come apart."""

from typing import Any

import numpy as np
import pytest

from baywright_plugins.frame import frame_of, frame_scene, over_hub_ends
from baywright_plugins.frame.scene import KINDS, apart_steps
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.grid_fit.examples import EXAMPLES
from baywright_plugins.kit import Kit, KitSchema

KIT = Kit.from_inputs(KitSchema().load(dict(EXAMPLES[1].inputs["kit"])))


def section(id: str, **axes: int) -> dict[str, Any]:
    counts = {"x": 2, "y": 2, "z": 2, **axes}
    return {"id": id, "rods": {a: [{"rod": "R120", "count": n}] for a, n in counts.items()}}


def frame(sections: list[dict[str, Any]], joints: list[dict[str, Any]]) -> Any:
    layout = LayoutSchema().load({"sections": sections, "joints": joints})
    return frame_of({"layout": layout}, KIT)


def joint(a: str, b: str, axis: str = "x") -> dict[str, Any]:
    return {"between": [a, b], "axis": axis, "rod": "R60"}


def test_sections_in_a_row_come_apart_along_their_joints() -> None:
    row = frame([section("a"), section("b"), section("c")], [joint("a", "b"), joint("b", "c")])
    assert apart_steps(row) == [(0, 0, 0), (1, 0, 0), (2, 0, 0)]


def test_a_tower_on_a_row_goes_up_and_back_is_the_other_way() -> None:
    found = frame(
        [section("a"), section("b"), section("c")], [joint("a", "b"), joint("b", "c", "z")]
    )
    assert apart_steps(found) == [(0, 0, 0), (1, 0, 0), (1, 0, 1)]


def test_what_no_joint_ties_steps_aside() -> None:
    found = frame([section("a"), {**section("b"), "at_mm": [2000, 0, 0]}], [])
    assert apart_steps(found) == [(0, 0, 0), (0, 1, 0)]


@pytest.mark.parametrize("share", [0.0, 0.3, 2.0])
def test_no_coupling_rod_gets_shorter(share: float) -> None:
    row = frame([section("a"), section("b"), section("c")], [joint("a", "b"), joint("b", "c")])
    places = row.nodes_mm + 500 * share * np.array(apart_steps(row))[row.node_section]
    away = np.linalg.norm(places[row.end] - places[row.start], axis=1)
    inside = row.section >= 0
    assert away[inside] == pytest.approx(row.length_mm[inside])
    assert (away[~inside] >= row.length_mm[~inside] - 1e-9).all()


def test_the_scene_tells_counts_and_size() -> None:
    row = frame([section("a"), section("b")], [joint("a", "b")])
    scene = frame_scene(row, KIT, title="Two")
    assert len(KINDS) == len(scene.kinds) > int(row.role.max())
    assert f"2 sections of {len(row.nodes_mm)} hubs and {len(row.start)} rods" in scene.words
    overhang = KIT.frame_hub.overhang_mm
    # Two sections of 2 x R120 and a gap of R60 between their hubs: by hand.
    outside = [540 + 2 * overhang, 240 + 2 * overhang, 240 + 2 * overhang]
    assert scene.size_mm == pytest.approx(outside)
    assert over_hub_ends(row.nodes_mm, 0.0) == pytest.approx((540, 240, 240))

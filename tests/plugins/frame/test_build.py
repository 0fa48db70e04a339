"""Frames: counts against closed formulas and an independent program, and every fault by name."""

import json
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.frame import (
    ROLES,
    Frame,
    FrameField,
    build_frame,
    centre_of_mass_mm,
    frame_of,
    node_masses_kg,
)
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.kit import Kit, KitSchema
from baywright_service.contract import InvalidInputs

DESK = Path(__file__).parents[2] / "data" / "returns-desk"
FIRST_NODE_PLANE_MM = 42  # above the hall floor, feet included


def read(name: str) -> Any:
    return json.loads((DESK / f"{name}.json").read_text("utf-8"))


KIT = Kit.from_inputs(KitSchema().load(read("kit")))
EXPECTED = read("expected")


def box(nx: int, ny: int, nz: int, **more: Any) -> dict[str, Any]:
    rods = {
        axis: [{"rod": "R120", "count": count}]
        for axis, count in zip("xyz", (nx, ny, nz), strict=True)
    }
    return {"id": "A", "rods": rods, **more}


def built(*sections: dict[str, Any], joints: list[Any] | None = None) -> Frame:
    layout = {"sections": list(sections), "joints": joints or []}
    return build_frame(LayoutSchema().load(layout), KIT)


def roles(frame: Frame) -> Counter[str]:
    return Counter(ROLES[role] for role in frame.role.tolist())


@pytest.mark.parametrize(
    ("plan", "rows"), [("planned", "plan_sections"), ("changed", "changed_sections")]
)
def test_demo_sections_agree_with_an_independent_program(plan: str, rows: str) -> None:
    """Hubs, rods, mass and centre of mass of every section of the demo machine."""
    frame = build_frame(LayoutSchema().load(read(plan)), KIT)
    for number, row in enumerate(EXPECTED[rows]):
        part = frame.part(number)
        rods = Counter(KIT.rods[rod].id for rod in part.rod.tolist())
        masses = node_masses_kg(part, KIT)
        height = centre_of_mass_mm(part, masses)[2] + FIRST_NODE_PLANE_MM
        assert len(part.nodes_mm) == row["hubs"]
        assert (rods["R120"], rods["R170"]) == (row["R120"], row["R170"])
        assert masses.sum() == pytest.approx(row["mass_kg"], abs=0.05)
        assert height == pytest.approx(row["com_above_hall_floor_mm"], abs=0.6)


def test_corners_are_shared_once() -> None:
    """Box frame of 9 x 5 x 12 bays by hand: twelve beams give 464 hubs and 880 axis rods before
    their eight shared corners are counted once, 336 and 688 after."""
    frame = built(box(9, 5, 12))
    beams = [9] * 4 + [5] * 4 + [12] * 4
    assert sum(4 * (n + 1) for n in beams) == 464 and sum(8 * n + 4 for n in beams) == 880
    assert len(frame.nodes_mm) == 464 - 8 * 8 * 2
    assert roles(frame)["axis"] == 880 - 8 * 12 * 2


@given(n=st.integers(1, 12))
@settings(max_examples=12, deadline=None)
def test_one_beam_follows_maxwell(n: int) -> None:
    """Box truss of n bays: 4(n+1) joints and 8n+4 edges, so 4n+2 diagonals make it just rigid
    (Maxwell's rule, 3 j - 6): one on each side face and one on each end, no diaphragm."""
    frame = built(box(n, 1, 1, cross_faces={"every": 0}, side_faces={"default": "single"}))
    count = roles(frame)
    assert len(frame.nodes_mm) == 4 * (n + 1)
    assert count["axis"] == 8 * n + 4
    assert count["side-diagonal"] == 4 * n + 2
    assert len(frame.start) == 3 * len(frame.nodes_mm) - 6


def test_patterns_make_what_they_say() -> None:
    """One beam of 4 bays: counts of diagonals for each pattern, and the mirror of lean-in."""
    found = {}
    for pattern in ("none", "single", "alternating", "lean-in", "lean-out", "crossed"):
        frame = built(box(4, 1, 1, cross_faces={"every": 0}, side_faces={"default": pattern}))
        found[pattern] = roles(frame)["side-diagonal"]
    assert found == {
        "none": 0, "single": 18, "alternating": 18, "lean-in": 18, "lean-out": 18, "crossed": 36,
    }  # fmt: skip


def vertical_diagonals(pattern: str) -> set[tuple[tuple[int, ...], tuple[int, ...]]]:
    frame = built(box(4, 1, 1, cross_faces={"every": 0}, side_faces={"default": pattern}))
    mine = [k for k in range(len(frame.start)) if ROLES[frame.role[k]] == "side-diagonal"]
    ends = [(frame.lattice[frame.start[k]], frame.lattice[frame.end[k]]) for k in mine]
    return {
        (tuple(a.tolist()), tuple(b.tolist()))
        for a, b in ends
        if a[1] == b[1] == 0  # the front face
    }


def test_lean_in_rises_toward_the_middle() -> None:
    """On the front of a beam of 4 bays the two left diagonals rise to the right and the two
    right ones to the left (common practice, no source)."""
    lean_in = vertical_diagonals("lean-in")
    assert lean_in == {
        ((0, 0, 0), (1, 0, 1)), ((1, 0, 0), (2, 0, 1)),
        ((2, 0, 1), (3, 0, 0)), ((3, 0, 1), (4, 0, 0)),
    }  # fmt: skip
    assert not lean_in & vertical_diagonals("lean-out")


def test_beams_that_cross_share_their_bay() -> None:
    """A T of two beams of 5 and 3 bays whose first bay is the other's middle one: counted by
    hand, (6 + 4) x 4 - 8 hubs and (44 + 28) - 12 axis rods."""
    section = box(5, 4, 1)
    section["beams"] = [
        {"at": [0, 0, 0], "axis": "x", "bays": 5},
        {"at": [2, 0, 0], "axis": "y", "bays": 3},
    ]
    frame = built(section)
    assert len(frame.nodes_mm) == 24 + 16 - 8
    assert roles(frame)["axis"] == 44 + 28 - 12


def test_a_beams_own_faces_win_and_the_stronger_pattern_stands() -> None:
    """Where two beams claim one face, crossed beats single; elsewhere each keeps its own."""
    section = box(3, 3, 1, cross_faces={"every": 0}, side_faces={"default": "none"})
    section["beams"] = [
        {"at": [0, 0, 0], "axis": "x", "bays": 3, "side_faces": {"default": "single"}},
        {"at": [0, 0, 0], "axis": "y", "bays": 3, "side_faces": {"default": "crossed"}},
    ]
    frame = built(section)
    counts = {
        (face.normal, face.station, face.place): face.diagonals
        for face in frame.faces
        if face.kind == "side"
    }
    assert counts[(2, 1, (0, 0))] == 2  # the shared corner bay
    assert counts[(2, 1, (2, 0))] == 1
    assert counts[(2, 1, (0, 2))] == 2


def test_second_and_left_out_diagonals() -> None:
    """A second diagonal is added once; a diagonal left out leaves its face bare."""
    plain = built(box(2, 1, 1))
    more = built(
        box(2, 1, 1, second_diagonals=[[[1, 0, 0], [0, 0, 1]]],
            left_out_diagonals=[[[1, 0, 1], [2, 0, 0]]])
    )  # fmt: skip
    assert roles(more)["second-diagonal"] == 1
    assert roles(more)["side-diagonal"] == roles(plain)["side-diagonal"] - 1
    bare = [face for face in more.faces if face.kind == "side" and face.diagonals == 0]
    assert [(face.normal, face.place) for face in bare] == [(1, (1, 0))]


def test_oblong_bays_stay_bare() -> None:
    """A bay of 120 x 84.8 needs a diagonal of 146.94 mm; no rod of the kit is near it."""
    section = box(3, 1, 1)
    section["rods"]["y"] = [{"rod": "R85", "count": 1}]
    frame = built(section)
    bare = {face.normal for face in frame.faces if face.diagonals == 0 and face.kind == "side"}
    assert bare == {0, 2}


def test_joint_couples_the_corner_bays() -> None:
    """Sections of unlike height meet in sixteen coupling rods, each straight across the gap."""
    tall, low = box(5, 6, 15), {**box(9, 6, 12), "id": "B"}
    frame = built(tall, low, joints=[{"between": ["A", "B"], "axis": "x", "rod": "R60"}])
    joint = frame.section == -1
    away = frame.nodes_mm[frame.end[joint]] - frame.nodes_mm[frame.start[joint]]
    assert joint.sum() == 16
    assert np.allclose(away, [60.0, 0.0, 0.0])


@pytest.mark.parametrize("plan", ["planned", "changed"])
def test_every_rod_fits_its_span(plan: str) -> None:
    """No rod is forced by more than the play of its two seats."""
    frame = build_frame(LayoutSchema().load(read(plan)), KIT)
    pitch = np.array([rod.pitch_mm for rod in KIT.rods])[frame.rod]
    assert np.abs(frame.length_mm - pitch).max() <= 2 * KIT.frame_hub.seat.play_mm


FAULTS: list[tuple[str, str, Any]] = [
    ("/frame/layout/sections/0/rods/x/0/rod", "unknown-reference",
     lambda f: f["sections"][0]["rods"]["x"][0].update(rod="R99")),
    ("/frame/layout/joints/0/between/1", "unknown-reference",
     lambda f: f.update(joints=[{"between": ["A", "Z"], "rod": "R60"}])),
    ("/frame/layout/joints/0/rod", "unknown-reference",
     lambda f: f.update(joints=[{"between": ["A", "A"], "rod": "R61"}])),
    ("/frame/layout/sections/0/second_diagonals/0", "unknown-reference",
     lambda f: f["sections"][0].update(second_diagonals=[[[0, 0, 0], [2, 0, 1]]])),
    ("/frame/layout/sections/0/second_diagonals/0/1", "unknown-reference",
     lambda f: f["sections"][0].update(second_diagonals=[[[0, 0, 0], [9, 0, 1]]])),
    ("/frame/layout/sections/0/rods", "too-many",
     lambda f: f["sections"][0].update(rods={a: [{"rod": "R120", "count": 200}] for a in "xyz"})),
    ("/frame/layout/sections/0/beams/0", "out-of-range",
     lambda f: f["sections"][0].update(beams=[{"at": [1, 0, 0], "axis": "x", "bays": 3}])),
]  # fmt: skip


@pytest.mark.parametrize(("pointer", "code", "spoil"), FAULTS)
def test_fault_is_named(pointer: str, code: str, spoil: Any) -> None:
    """What the schema cannot see is refused with its place."""
    layout: dict[str, Any] = {"sections": [box(3, 1, 1)]}
    spoil(layout)
    frame = FrameField().deserialize({"layout": layout})
    with pytest.raises(InvalidInputs) as refused:
        frame_of(frame, KIT)
    assert [(at, fault.code) for at, fault in refused.value.faults] == [(pointer, code)]


def explicit(**members: Any) -> Any:
    nodes = [[0, 0, 0], [120, 0, 0], [0, 120, 0]]
    columns = {"start": [0, 1], "end": [1, 2], "rod": ["R120", "R170"], **members}
    return FrameField().deserialize({"nodes_mm": nodes, "members": columns})


def test_explicit_frames() -> None:
    """Nodes and members given one by one make the same kind of frame."""
    frame = frame_of(explicit(section=["A", "B"], role=["axis", "other"]), KIT)
    assert frame.length_mm.tolist() == pytest.approx([120.0, 120.0 * 2**0.5])
    assert [section.id for section in frame.sections] == ["A", "B"]
    assert frame.node_section.tolist() == [0, 0, 1]


@pytest.mark.parametrize(
    ("pointer", "members"),
    [
        ("/frame/members/end", {"end": [1]}),
        ("/frame/members/end/1", {"end": [1, 3]}),
        ("/frame/members/end/0", {"end": [0, 2]}),
        ("/frame/members/start/1", {"start": [0, 1], "end": [1, 0]}),
        ("/frame/members/rod/1", {"rod": ["R120", "R999"]}),
        ("/frame/members/role/0", {"role": ["beam", "axis"]}),
    ],
)
def test_explicit_faults(pointer: str, members: dict[str, Any]) -> None:
    """Columns that do not fit one another, and members that make no sense, are named."""
    with pytest.raises(InvalidInputs) as refused:
        frame_of(explicit(**members), KIT)
    assert refused.value.faults[0][0] == pointer

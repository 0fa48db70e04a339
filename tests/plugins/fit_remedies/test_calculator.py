"""Moved joints, cuts, wishes and refusals, with parts counted in the frames that are built."""

from collections import Counter
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from baywright_plugins.fit_remedies import FitRemedies
from baywright_plugins.frame import Frame, LayoutSchema, build_frame
from baywright_plugins.kit import Kit, KitSchema
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, merge_patch

Json = dict[str, Any]
Run = Callable[[Json], Result]
Small = Callable[..., Json]


def frame_of_body(body: Json) -> Frame:
    kit = Kit.from_inputs(KitSchema().load(body["kit"]))
    return build_frame(LayoutSchema().load(body["frame"]["layout"]), kit)


def counted(body: Json) -> dict[str, Counter[str]]:
    """Hubs, rods and coupling rods of each section (and of joints) of the frame that is built."""
    kit = Kit.from_inputs(KitSchema().load(body["kit"]))
    frame = frame_of_body(body)
    names = [section.id for section in frame.sections]
    found = {name: Counter[str]() for name in [*names, "joints"]}
    for section in frame.node_section.tolist():
        found[names[section]]["hubs"] += 1
    for section, rod in zip(frame.section.tolist(), frame.rod.tolist(), strict=True):
        found[names[section] if section >= 0 else "joints"][kit.rods[rod].id] += 1
    return found


def after(body: Json, way: Any) -> Json:
    patched: Json = merge_patch(body, way["patch"])
    return patched


def rows_of(body: Json, section: str, axis: str) -> list[str]:
    spec = next(s for s in body["frame"]["layout"]["sections"] if s["id"] == section)
    return [run["rod"] for run in spec["rods"][axis] for _ in range(run["count"])]


def test_nothing_to_do(small: Small, run: Run) -> None:
    """Where all passes, nothing is looked for and the frame goes on as it is."""
    body = small((3, 3, 3), (3, 3, 3), width_mm=900)
    result = run(body)
    assert result.value["passes"] and result.value["ways"] == []
    assert "search" not in result.value
    assert result.value["frame_after"]["layout"] == body["frame"]["layout"]
    assert [finding.code for finding in result.findings] == ["all-sections-pass"]


def test_a_moved_joint(small: Small, run: Run) -> None:
    """The long section hands a bay over; the parts it loses are those the short one gains."""
    body = small((7, 4, 4), (4, 4, 4), width_mm=620, height_mm=620, allow=["joint-moved"])
    body["passages"][0]["depth_mm"] = 800
    best = run(body).value["ways"][0]
    assert best["message"] == "Move the joint between S1 and S2 by one bay: S1 hands it to S2."
    new = after(body, best)
    assert (len(rows_of(new, "S1", "x")), len(rows_of(new, "S2", "x"))) == (6, 5)
    was, now = counted(body), counted(new)
    given = was["S1"] - now["S1"]
    assert given == now["S2"] - was["S2"]
    assert (given["hubs"], given["R120"]) == (16, 32)
    assert now["joints"] == was["joints"]
    assert best["parts_changed_count"] == 2 * sum(given.values())
    assert best["hubs_saved_count"] == 0 and best["rods_saved"] == []
    assert best["size_lost_mm"] == {"x": 0.0, "y": 0.0, "z": 0.0}
    assert any("separation joints" in line for line in best["stale"])


def test_bays_handed_on_along_a_row(small: Small, run: Run) -> None:
    """The middle section may grow no longer: what it takes it hands on."""
    body = small((5, 4, 4), (4, 4, 4), (3, 4, 4), width_mm=560, height_mm=560)
    body["passages"][0]["depth_mm"] = 540
    body |= {"allow": ["joint-moved"], "fewest_bays": 2}
    best = run(body).value["ways"][0]
    new = after(body, best)
    assert [len(rows_of(new, name, "x")) for name in ("S1", "S2", "S3")] == [4, 4, 4]
    assert [step["kind"] for step in best["changes"]] == ["joint-moved"] * 2


def test_a_section_cut_in_two(small: Small, run: Run) -> None:
    """The cut plane is doubled: its hubs and rods are added, and sixteen coupling rods."""
    body = small((8, 4, 5), width_mm=640, height_mm=620, allow=["split"], fewest_bays=3)
    body["passages"][0]["depth_mm"] = 700
    body["protrusions"] = [
        {"side": "x-plus", "mm": 20, "title": "bracket"},
        {"side": "z-minus", "mm": 25, "title": "feet"},
    ]
    best = run(body).value["ways"][0]
    assert best["message"] == "Cut S1 in two along the width, 4 and 4 bays, coupled by R60."
    new = after(body, best)
    was, now = counted(body), counted(new)
    both = now["S1a"] + now["S1b"]
    ring, inner = 5 * 6 - 2, 16  # hubs of a plane at an end, and between the ends
    assert both["hubs"] - was["S1"]["hubs"] == 4 * ring - 3 * inner == -best["hubs_saved_count"]
    assert now["joints"] == Counter({"R60": 16})
    changed = sum((both - was["S1"]).values()) + sum((was["S1"] - both).values()) + 16
    assert best["parts_changed_count"] == changed
    parts = {part["title"]: part["sections"] for part in new["protrusions"]}
    assert parts == {"bracket": ["S1b"], "feet": ["S1a", "S1b"]}
    sizes = {one["id"]: one["outside_mm"]["x"] for one in best["sections"]}
    assert sizes == {"S1a": 514, "S1b": 534}
    assert [one["of_section"] for one in best["sections"]] == ["S1", "S1"]
    assert best["size_lost_mm"]["x"] == -60


def test_a_cut_through_a_row_of_sections(small: Small, run: Run) -> None:
    """Coupled sections are cut at one plane, all of them, and coupled piece by piece."""
    body = small((3, 6, 3), (4, 6, 3), width_mm=460, height_mm=450, allow=["split"])
    body["passages"][0]["depth_mm"] = 600
    best = run(body).value["ways"][0]
    new = after(body, best)
    joints = {tuple(j["between"]): j["axis"] for j in new["frame"]["layout"]["joints"]}
    assert joints == {
        ("S1a", "S2a"): "x",
        ("S1b", "S2b"): "x",
        ("S1a", "S1b"): "y",
        ("S2a", "S2b"): "y",
    }
    assert best["coupling_faces_match"]
    assert all(j["matches"] for j in run(new).value["joints"])


def test_length_kept_by_bays_put_in(small: Small, run: Run) -> None:
    """A bay out of one section, one into the next: the machine is as long as before."""
    body = small((6, 3, 3), (3, 3, 3), width_mm=420, height_mm=420)
    body["passages"][0]["depth_mm"] = 700
    body |= {"allow": ["bay-out", "bay-in"], "keep_length": ["x"]}
    best = run(body).value["ways"][0]
    assert best["size_lost_mm"]["x"] == 0
    assert {step["kind"] for step in best["changes"]} == {"bay-out", "bay-in"}
    free = run(body | {"keep_length": []}).value["ways"][0]
    assert free["size_lost_mm"]["x"] == 120
    assert free["parts_changed_count"] < best["parts_changed_count"]


def test_twins_and_what_keeping_them_costs(small: Small, run: Run) -> None:
    """One twin sticks by its handle: changing it alone is cheaper, and the answer says by what."""
    body = small((3, 3, 5), (3, 3, 5), width_mm=420, height_mm=700, allow=["bay-out"])
    body["frame"]["layout"]["joints"] = []
    body["frame"]["layout"]["sections"][1]["at_mm"] = [1000, 0, 0]
    body["protrusions"] = [{"sections": ["S2"], "side": "z-plus", "mm": 60, "removable": False}]
    body["passages"][0]["depth_mm"] = 420
    result = run(body | {"weights": {"identity_broken": 10}})
    best, identity = result.value["ways"][0], result.value["identity"]
    assert best["twins_broken"] == ["S2"] and not best["identity_kept"]
    assert identity["free_parts_changed_count"] == best["parts_changed_count"]
    assert identity["extra_parts_count"] == best["parts_changed_count"]  # the same once more
    assert best["cost"] == best["parts_changed_count"] + 10
    assert "twins-broken" in {finding.code for finding in result.findings}
    kept = run(body | {"keep_identity": True}).value["ways"][0]
    assert kept["identity_kept"]
    assert kept["parts_changed_count"] == identity["kept_parts_changed_count"]
    dear = run(body | {"weights": {"identity_broken": 500}}).value["ways"][0]
    assert dear["identity_kept"]


def test_sections_whose_place_is_stated_move_up(small: Small, run: Run) -> None:
    """What stands behind a section that is shortened, or cut, moves with its end."""
    body = small((5, 3, 3), (3, 3, 3), width_mm=440, height_mm=460, allow=["bay-out"])
    body["passages"][0]["depth_mm"] = 560
    body["frame"]["layout"]["sections"][1]["at_mm"] = [660, 0, 0]
    new = after(body, run(body).value["ways"][0])
    assert new["frame"]["layout"]["sections"][1]["at_mm"] == [540, 0, 0]
    body["allow"] = ["split"]
    cut = after(body, run(body).value["ways"][0])
    specs = {s["id"]: s for s in cut["frame"]["layout"]["sections"]}
    assert specs["S2"]["at_mm"] == [720, 0, 0] and "at_mm" not in specs["S1b"]


def test_beams_given_one_by_one(small: Small, run: Run) -> None:
    """A portal of three beams loses a bay of its width; its beam across is shortened."""
    body = small((5, 1, 4), width_mm=800, height_mm=560, allow=["bay-out", "split", "joint-moved"])
    body["passages"][0]["width_mm"] = 560
    body["frame"]["layout"]["sections"][0]["beams"] = [
        {"at": [0, 0, 0], "axis": "z", "bays": 4},
        {"at": [4, 0, 0], "axis": "z", "bays": 4},
        {"at": [0, 0, 3], "axis": "x", "bays": 5},
    ]
    body["passages"][0]["depth_mm"] = 560
    best = run(body).value["ways"][0]
    spec = after(body, best)["frame"]["layout"]["sections"][0]
    assert [step["kind"] for step in best["changes"]] == ["bay-out"]
    assert spec["beams"][2]["bays"] == 4 and [int(x) for x in spec["beams"][1]["at"]] == [3, 0, 0]
    was, now = counted(body)["S1"], counted(after(body, best))["S1"]
    assert best["parts_changed_count"] == sum((was - now).values())


def test_diagonals_given_one_by_one_go_along(small: Small, run: Run) -> None:
    """Faces that carry both diagonals still do once a bay is out; those that go are named."""
    body = small((3, 6, 3), width_mm=420, height_mm=640, allow=["bay-out"], most_bays=1)
    body["passages"][0]["depth_mm"] = 660
    spec = body["frame"]["layout"]["sections"][0]
    frame = frame_of_body(body)
    crossed = []
    for face in frame.faces:
        if face.normal == 0 and face.station == 0 and face.place[0] in (0, 3, 5):
            a, b, c, d = (frame.lattice[k].tolist() for k in face.corners)
            there = {(int(p), int(q)) for p, q in zip(frame.start, frame.end, strict=True)}
            rising = (face.corners[0], face.corners[3]) in there
            crossed.append([b, c] if rising else [a, d])
    spec["second_diagonals"] = crossed
    best = run(body).value["ways"][0]
    new = after(body, best)
    gone = sum(1 for pair in crossed if {p[1] for p in pair} == {3, 4})
    left = new["frame"]["layout"]["sections"][0]["second_diagonals"]
    assert len(left) == len(crossed) - gone
    assert any(f"{gone} diagonal" in note for note in best["notes"])
    both = [f for f in frame_of_body(new).faces if f.diagonals == 2]
    assert len(both) == len(left)


def test_two_rods_in_line_on_a_mid_hub(small: Small, run: Run) -> None:
    """A bay that only a pair in line closes is refused, unless pairs are allowed; then the pairs
    are counted and named."""
    body = small((3, 3, 3), width_mm=400, height_mm=2000, most_bays=1, allow=["rod-exchanged"])
    body["kit"] = {
        **body["kit"],
        "rods": [*body["kit"]["rods"], {**body["kit"]["rods"][0], "id": "R73", "pitch_mm": 73.45}],
        "hubs": [
            *body["kit"]["hubs"],
            {**body["kit"]["hubs"][0], "id": "MID", "role": "middle", "mass_g": 6},
        ],
    }
    body["passages"][0]["width_mm"] = 380
    body |= {"rods": ["R85"]}
    assert run(body).value["ways"] == []
    best = run(body | {"allow_in_line": True}).value["ways"][0]
    assert best["braced_by"] == "two-in-line"
    assert best["in_line_faces_count"] == 16
    assert best["left_without_diagonal"] == []
    assert any("mid-hub" in note for note in best["notes"])


def test_two_things_together_where_none_serves_alone(small: Small, run: Run) -> None:
    """A leaf at each of two doors: only both off bring the section through."""
    body = small((4, 4, 4), width_mm=520, height_mm=4000, allow=["bay-in"])
    body["passages"] = [
        {"id": name, "width_mm": 500, "height_mm": 600, "depth_mm": 560, "leaf_off_width_mm": 560}
        for name in ("front", "back")
    ]
    result = run(body)
    first = result.value["alternatives"][0]
    assert first["kinds"] == ["leaf-off", "leaf-off"] and first["passes"] and first["proven"]
    assert run(merge_patch(body, first["patch"])).value["passes"]
    assert "passes-unchanged" in {finding.code for finding in result.findings}


def test_a_part_off(small: Small, run: Run) -> None:
    """A bracket that can come off, against one that cannot."""
    body = small((4, 4, 4), width_mm=560, height_mm=560)
    body["passages"][0]["depth_mm"] = 540
    body["protrusions"] = [{"side": "x-plus", "mm": 40, "title": "bracket"}]
    body["protrusions"].append({"side": "y-plus", "mm": 40, "title": "rail"})
    body["protrusions"].append({"side": "z-plus", "mm": 40, "title": "sprocket"})
    found = run(body).value["alternatives"]
    assert {kind for one in found for kind in one["kinds"]} == {"part-off", "flush-hubs"}
    body["protrusions"] = [{**part, "removable": False} for part in body["protrusions"]]
    found = run(body).value["alternatives"]
    assert {kind for one in found for kind in one["kinds"]} == {"flush-hubs"}


def test_nodes_one_by_one_cannot_be_edited(small: Small, run: Run) -> None:
    body = small((3, 3, 3), width_mm=420)
    body["frame"] = {
        "nodes_mm": [[0, 0, 0], [120, 0, 0]],
        "members": {"start": [0], "end": [1], "rod": ["R120"]},
    }
    with pytest.raises(CannotCalculate) as refusal:
        run(body)
    assert refusal.value.pointer == "/frame/nodes_mm"


def test_too_large_a_frame_is_refused_before_it_is_built(small: Small, run: Run) -> None:
    body = small((3, 3, 3), width_mm=420)
    sections = [
        {"id": f"S{k}", "rods": {a: [{"rod": "R120", "count": 400}] for a in "xyz"}}
        for k in range(5)
    ]
    body["frame"]["layout"] = {"sections": sections}
    with pytest.raises(CannotCalculate) as refusal:
        run(body)
    assert refusal.value.pointer == "/frame/layout"


@pytest.mark.parametrize(
    ("pointer", "code", "spoil"),
    [
        ("/protrusions/0/sections/0", "unknown-reference",
         {"protrusions": [{"side": "z-plus", "mm": 5, "sections": ["S9"]}]}),
        ("/fixed_sections/0", "unknown-reference", {"fixed_sections": ["S9"]}),
        ("/rods/1", "unknown-reference", {"rods": ["R85", "R9"]}),
        ("/split_rod", "unknown-reference", {"split_rod": "R9"}),
        ("/allow/0", "out-of-range", {"allow": ["bays-out"]}),
        ("/allow", "not-unique", {"allow": ["split", "split"]}),
        ("/most_bays", "out-of-range", {"most_bays": 0}),
        ("/weights/hub_in", "out-of-range", {"weights": {"hub_in": -1}}),
        ("/passages", "out-of-range", {"passages": []}),
    ],
)  # fmt: skip
def test_a_fault_is_named(small: Small, pointer: str, code: str, spoil: Json) -> None:
    """One change to a valid body, one fault."""
    calculator = FitRemedies()
    with pytest.raises(InvalidInputs) as refusal:
        calculator.calculate(calculator.load(small((3, 3, 3), width_mm=420) | spoil))
    assert [(where, fault.code) for where, fault in refusal.value.faults] == [(pointer, code)]


def test_equal_requests_get_equal_answers(small: Small, run: Run) -> None:
    body = small((4, 5, 3), (3, 5, 3), width_mm=400, height_mm=500, most_ways=2)
    first, second = run(body), run(body)
    assert repr(first.value) == repr(second.value)
    assert first.findings == second.findings and np.isfinite(first.value["ways"][0]["cost"])

"""What a builder asks and gets: bridges, cuts, remedies, refusals."""

from copy import deepcopy
from typing import Any

import pytest

from baywright_service.contract import CannotCalculate, InvalidInputs, merge_patch
from baywright_service.envelope import envelope
from tests.plugins.separation_joints.builds import (
    CALCULATOR,
    Json,
    codes,
    explicit,
    finding,
    machine,
    run,
    section,
)


def pair(**more: Any) -> Json:
    return machine(section("A", 2, 1, 3), section("B", 2, 1, 2), **more)


def test_a_face_that_only_the_neighbour_would_brace_is_named_and_mended() -> None:
    """The end of A is bare: alone it folds there; the proven patch makes it and its twin rigid."""
    bare = {"default": "alternating", "x_plus": "none"}
    inputs = machine(
        section("A", 3, 1, 1, side_faces=bare, cross_faces={"every": 0}),
        section("B", 3, 1, 1, side_faces=bare, cross_faces={"every": 0}),
    )
    result = run(inputs)
    found = finding(result, "section-not-rigid")
    assert "A and B are not rigid" in found.message and "ace x+ of bay (2, 0, 0)" in found.message
    assert found.measure.value == 1
    assert run(merge_patch(inputs, found.remedy.patch)).value["machine"]["all_sections_rigid"]
    plane = {p["side"]: p for p in result.value["sections"][0]["planes"]}["x-plus"]
    assert (plane["square"], plane["at_joints"], plane["braced_count"]) == (False, [0], 0)


def test_a_frame_that_only_the_floor_holds_is_told_apart() -> None:
    """An open bottom: the four feet hold it square, carried it folds."""
    faces = {"default": "alternating", "z_minus": "none"}
    result = run(machine(section("A", 1, 1, 3, side_faces=faces, cross_faces={"every": 0})))
    row = result.value["sections"][0]
    assert (row["mechanisms_count"], row["standing_mechanisms_count"]) == (1, 0)
    assert "folds as soon as it is lifted" in finding(result, "section-not-rigid").message


def test_the_diagonals_of_a_piece_become_part_of_the_layout() -> None:
    """A section that is cut and folds: the patch makes cut and diagonals at once."""
    bare = {"default": "single", "y_minus": "none"}
    inputs = machine(section("A", 4, 1, 1, side_faces=bare, cross_faces={"every": 0}))
    inputs["cuts"] = [{"section": "A", "after_bay": 2, "rod": "R60"}]
    remedy = finding(run(inputs), "section-not-rigid").remedy
    patched = run(merge_patch(inputs, remedy.patch))
    assert [row["id"] for row in patched.value["sections"]] == ["A-a", "A-b"]
    assert patched.value["machine"]["all_sections_rigid"]


def test_faces_that_do_not_match() -> None:
    """A deeper neighbour out of step: hubs without a partner are listed by place."""
    inputs = pair()
    inputs["frame"]["layout"]["sections"][1]["rods"]["z"] = [
        {"rod": "R120", "count": 1}, {"rod": "R85", "count": 1},
    ]  # fmt: skip
    result = run(inputs)
    joint = result.value["joints"][0]
    assert (joint["matches"], joint["rods_count"], joint["possible_count"]) == (False, 4, 6)
    assert joint["alone_second"] == [[0, 0, 2], [0, 1, 2]]
    assert finding(result, "faces-do-not-match").level == "watch"


def test_a_gap_that_its_rod_does_not_close() -> None:
    """A section placed by hand 62 mm away from the next hub: R60 is 2 mm too short."""
    inputs = pair()
    sections = inputs["frame"]["layout"]["sections"]
    sections[0]["at_mm"], sections[1]["at_mm"] = [0, 0, 0], [302, 0, 0]
    result = run(inputs)
    assert result.value["joints"][0]["rod_misfit_mm"] == pytest.approx(2.0)
    assert "R60 is 2 mm too short" in finding(result, "rod-does-not-close").message


def test_hub_ends_that_meet() -> None:
    inputs = pair()
    inputs["kit"]["hubs"][0]["overhang_mm"] = 30.0
    assert "hub-ends-touch" in codes(run(inputs), "stop")


@pytest.mark.parametrize(
    ("piece", "code", "length_mm"),
    [
        ({"how": "over", "length_mm": 64}, "bridge-too-short", 70.5),
        ({"how": "in", "rests_on": "hub-ends", "length_mm": 26}, "bridge-binds", 25.5),
        ({"how": "in", "rests_on": "hub-ends", "length_mm": 20}, "bridge-leaves-slit", 25.5),
        ({"how": "loose", "tolerance_mm": 8, "length_mm": 62}, "bridge-too-short", 68.5),
    ],
)
def test_pieces_that_do_not_fit_and_the_length_that_does(
    piece: Json, code: str, length_mm: float
) -> None:
    """Span 60 (or 26 between hub ends), play 0.3, bearing 5 a side, tolerance 1."""
    inputs = pair(bridges=[{"id": "piece", **piece}])
    found = finding(run(inputs), code)
    assert found.remedy.patch["bridges"][0]["length_mm"] == length_mm
    again = run(merge_patch(inputs, found.remedy.patch))
    assert again.value["bridges"][0]["fits"] and code not in codes(again)


def test_a_piece_high_above_the_rods_feels_the_tilt() -> None:
    """Rods from 0 to 240; at 360 the gap changes by 0.3 (1 + 2 x 120/240) = 0.6 each way."""
    bridge = {"id": "rail", "length_mm": 90, "height_mm": 360, "tolerance_mm": 1}
    result = run(pair(bridges=[bridge]))
    assert result.value["bridges"][0]["moves_mm"] == pytest.approx(1.2)
    assert "bridge-moves-too-much" in codes(result, "watch")


def test_plates_fastened_to_both_sides_brace_the_joint() -> None:
    """One flat plate and two upright ones: nothing moves; the flat one alone leaves two ways."""
    flat = {"id": "floor", "length_mm": 90, "fastened": True}
    upright = {"id": "cheeks", "length_mm": 90, "count": 2, "fastened": True, "lies": "upright"}
    one = run(pair(bridges=[flat])).value["joints"][0]
    both = run(pair(bridges=[flat, upright])).value["joints"][0]
    assert (one["rods_only_mechanisms_count"], one["mechanisms_count"]) == (3, 2)
    assert both["mechanisms_count"] == 0
    assert "joint-braced" in codes(run(pair(bridges=[flat, upright])))


def test_a_wanted_gap_picks_the_rod() -> None:
    """At least 80 clear: R120 leaves 86."""
    inputs = pair(wanted={"clear_gap_min_mm": 80, "clear_gap_max_mm": 100})
    found = finding(run(inputs), "gap-out-of-range")
    assert found.remedy.patch["frame"]["layout"]["joints"][0]["rod"] == "R120"
    assert codes(run(merge_patch(inputs, found.remedy.patch)), "stop") == []


def test_alignment_wanted_and_not_held() -> None:
    """The rods alone let it slide 6 mm; 2 mm is wanted."""
    found = finding(run(pair(wanted={"alignment_mm": 2.0})), "out-of-line")
    assert found.measure.value == pytest.approx((60.3**2 - 60**2) ** 0.5)
    assert "out-of-line" not in codes(run(pair(wanted={"alignment_mm": 6.1})))


def test_a_cut_as_if_made() -> None:
    """Six bays cut after four: two rigid pieces, the joint marked with its cut, a layout to use."""
    inputs = machine(section("A", 6, 2, 2), section("B", 2, 2, 2))
    inputs["cuts"] = [{"section": "A", "after_bay": 4, "rod": "R60"}]
    value = run(inputs).value
    assert [(s["id"], s.get("cut_from")) for s in value["sections"]] == [
        ("A-a", "A"), ("A-b", "A"), ("B", None),
    ]  # fmt: skip
    assert [s["bays"]["x"] for s in value["sections"]] == [4, 2, 2]
    assert [j["between"] for j in value["joints"]] == [["A-b", "B"], ["A-a", "A-b"]]
    assert [j.get("from_cut") for j in value["joints"]] == [None, 0]
    assert value["machine"]["outside_mm"]["x"] == 8 * 120 + 2 * 60 + 34
    again = run({"kit": inputs["kit"], "frame": value["frame"]}).value
    assert again["machine"] == value["machine"]


def test_two_cuts_of_one_section_and_its_second_neighbour() -> None:
    """Cuts count bays of the section as given, in any order."""
    inputs = machine(section("A", 6, 1, 2))
    inputs["cuts"] = [
        {"section": "A", "after_bay": 4, "rod": "R60"},
        {"section": "A", "after_bay": 2, "rod": "R60"},
    ]
    value = run(inputs).value
    assert [s["bays"]["x"] for s in value["sections"]] == [2, 2, 2]
    assert [j["from_cut"] for j in value["joints"]] == [0, 1]
    assert value["machine"]["mechanisms_count"] == 6


def test_a_piece_that_no_longer_faces_its_neighbour_is_told() -> None:
    """A tower cut at half height: the upper half moves up by the gap and lets go of B."""
    inputs = machine(section("A", 2, 1, 4), section("B", 2, 1, 4))
    inputs["cuts"] = [{"section": "A", "axis": "z", "after_bay": 2, "rod": "R60"}]
    result = run(inputs, bare=True)
    assert [j["between"] for j in result.value["joints"]] == [["A-a", "B"], ["A-a", "A-b"]]
    assert [j.get("from_cut") for j in result.value["joints"]] == [None, 0]
    assert "A-b–B" in finding(result, "cut-uncouples").message
    steps = result.value["taking_apart"]["steps"]
    assert ("A-b", "+z") in [(step["sections"][0], step["direction"]) for step in steps]


def test_neighbours_cut_at_one_height_stay_coupled() -> None:
    """Both cut: upper half to upper half, lower half to lower half, and a machine that holds."""
    inputs = machine(section("A", 2, 1, 4), section("B", 2, 1, 4))
    inputs["cuts"] = [
        {"section": name, "axis": "z", "after_bay": 2, "rod": "R60"} for name in ("A", "B")
    ]
    result = run(inputs, bare=True)
    value = result.value
    assert "cut-uncouples" not in codes(result)
    pairs = [joint["between"] for joint in value["joints"]]
    assert pairs == [["A-a", "B-a"], ["A-a", "A-b"], ["B-a", "B-b"], ["A-b", "B-b"]]
    assert value["machine"]["outside_mm"] == {"x": 574.0, "y": 154.0, "z": 574.0}


def test_where_to_cut_a_heavy_section() -> None:
    """Every inner plane tried; the middle one gives twins; the patch makes it light enough."""
    inputs = machine(section("A", 6, 1, 1), wanted={"section_mass_max_kg": 0.5})
    result = run(inputs)
    asked = result.value["cut_places"][0]
    assert (asked["tried_count"], asked["best_after_bay"], asked["axis"]) == (5, 3, "x")
    best = next(p for p in asked["places"] if p["rank"] == 1)
    assert best["alike"] and best["rigid"] and best["light_enough"]
    assert (best["extra_hubs_count"], best["coupling_rods_count"]) == (4, 4)
    extra = {row["rod"]: row["count"] for row in best["extra_rods"]}
    end_faces, cross_faces = 2, 2 * len((1, 2)) - len((1, 4, 5))
    assert extra == {"R60": 4, "R120": 4, "R170": end_faces + cross_faces}
    remedy = finding(result, "section-too-heavy").remedy
    patched = run(merge_patch(inputs, remedy.patch))
    assert max(s["mass_kg"] for s in patched.value["sections"]) <= 0.5
    assert {s.get("cut_from") for s in patched.value["sections"]} == {"A"}


def test_rods_across_the_gap_given_by_the_builder() -> None:
    """With R120 in the gap a diagonal is an R170; one takes one way of moving away."""
    inputs = pair(
        joint_diagonals=[{"between": ["B", "A"], "ends": [[0, 1, 0], [2, 0, 0]]}],
    )
    inputs["frame"]["layout"]["joints"][0]["rod"] = "R120"
    joint = run(inputs).value["joints"][0]
    assert (joint["mechanisms_count"], joint["diagonals_count"]) == (2, 1)
    assert {p["item"]: p["count"] for p in joint["loose_parts"]}["R170"] == 1


def test_a_frame_rod_by_rod_may_name_its_joint_rods() -> None:
    """Rods between the two cubes are the joint, whatever section they are said to be of."""
    value = run(dict(CALCULATOR.examples[3].inputs)).value
    assert [s["id"] for s in value["sections"]] == ["one", "two"]
    joint = value["joints"][0]
    assert (joint["rods_count"], joint["rod"], joint["gap_mm"]) == (4, "R60", 60.0)
    assert joint["mechanisms_count"] == 3 and "frame" not in value


def test_oblique_rods_of_a_frame_rod_by_rod_are_rods_across_the_gap() -> None:
    """One rod more, from a hub to its partner's neighbour: one way of moving less."""
    inputs = deepcopy(dict(CALCULATOR.examples[3].inputs))
    members = inputs["frame"]["members"]
    members["start"].append(4)
    members["end"].append(9)
    members["rod"].append("R120")
    members["section"].append("joint")
    joint = run(inputs).value["joints"][0]
    assert (joint["rods_count"], joint["diagonals_count"], joint["mechanisms_count"]) == (4, 1, 2)


def test_rods_that_run_along_no_axis_still_couple() -> None:
    """Two tetrahedra far apart, two slanting rods between: six motions less two."""
    corners = [[0, 0, 0], [100, 0, 0], [0, 100, 0], [0, 0, 100]]
    nodes = [*corners, *([x + 300, y + 90, z + 70] for x, y, z in corners)]
    edges = [(a, b) for a in range(4) for b in range(a + 1, 4)]
    members = [*edges, *((a + 4, b + 4) for a, b in edges), (1, 4), (3, 7)]
    result = run(explicit(nodes, members, ["A"] * 6 + ["B"] * 6 + ["joint"] * 2))
    joint = result.value["joints"][0]
    assert (joint["rods_count"], joint["mechanisms_count"]) == (2, 4)
    assert result.value["machine"]["mechanisms_count"] == 4


def test_sections_that_nothing_couples() -> None:
    inputs = pair()
    inputs["frame"]["layout"]["joints"] = []
    inputs["frame"]["layout"]["sections"][1]["at_mm"] = [500, 0, 0]
    result = run(inputs)
    assert "not-coupled" in codes(result, "watch")
    assert result.value["machine"]["mechanisms_count"] == 0


FAULTS = [
    ({"cuts": [{"section": "C", "after_bay": 1, "rod": "R60"}]}, "/cuts/0/section"),
    ({"cuts": [{"section": "A", "after_bay": 2, "rod": "R60"}]}, "/cuts/0/after_bay"),
    ({"cuts": [{"section": "A", "after_bay": 1, "rod": "R1"}]}, "/cuts/0/rod"),
    ({"look_for_cuts": [{"section": "C"}]}, "/look_for_cuts/0/section"),
    ({"look_for_cuts": [{"section": "A", "rod": "R1"}]}, "/look_for_cuts/0/rod"),
    ({"bridges": [{"id": "x", "length_mm": 9, "between": ["A", "C"]}]}, "/bridges/0/between"),
    (
        {"joint_diagonals": [{"between": ["A", "C"], "ends": [[0, 0, 0], [0, 0, 0]]}]},
        "/joint_diagonals/0/between",
    ),
    (
        {"joint_diagonals": [{"between": ["A", "B"], "ends": [[9, 0, 0], [0, 0, 0]]}]},
        "/joint_diagonals/0/ends/0",
    ),
    (
        {"joint_diagonals": [{"between": ["A", "B"], "ends": [[2, 0, 0], [0, 1, 0]]}]},
        "/joint_diagonals/0/ends",
    ),
    (
        {"wanted": {"clear_gap_min_mm": 9, "clear_gap_max_mm": 8}},
        "/wanted/clear_gap_max_mm",
    ),
]


@pytest.mark.parametrize(("change", "pointer"), FAULTS)
def test_faults_name_their_place(change: Json, pointer: str) -> None:
    with pytest.raises(InvalidInputs) as raised:
        run(pair(**change))
    assert [where for where, _ in raised.value.faults] == [pointer]


def test_what_cannot_be_calculated_is_refused_by_name() -> None:
    """Sections that overlap, cuts of explicit frames, a hub that hangs alone in line."""
    inputs = pair()
    for spec in inputs["frame"]["layout"]["sections"]:
        spec["at_mm"] = [0, 0, 0]
    cube = dict(CALCULATOR.examples[3].inputs)
    cases: list[tuple[Json, str]] = [
        (inputs, "/frame/layout/joints/0"),
        ({**cube, "cuts": [{"section": "one", "after_bay": 1, "rod": "R60"}]}, "/cuts"),
        (explicit([[0, 0, 0], [1e-4, 0, 0]], [(0, 1)], ["A"]), "/frame/members/end/0"),
        (explicit([[0, 0, 0], [120, 0, 0]], [(0, 1)], ["A"]), "/frame/members/section"),
    ]
    for body, pointer in cases:
        with pytest.raises(CannotCalculate) as raised:
            run(body)
        assert raised.value.pointer == pointer


def test_a_heavy_section_brings_what_lifting_it_calls_for() -> None:
    """HSE INDG143, Figure 1: 16 kg for women close to the body; with its source in the answer."""

    def told(kilograms: float) -> tuple[bool, bool]:
        inputs = machine(
            section(
                "A", 1, 1, 1, fittings=[{"title": "Motor", "mass_kg": kilograms, "levels": [0]}]
            )
        )
        answer = envelope(CALCULATOR, run(inputs), ())
        sources = [source["title"] for source in answer["sources"]]
        said = any(" 16 kg for women" in caution for caution in answer["cautions"])
        return said, any("INDG143" in title for title in sources)

    assert told(0.5) == (False, False) and told(20) == (True, True)

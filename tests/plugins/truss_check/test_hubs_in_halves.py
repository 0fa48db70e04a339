"""Two-part hubs through the calculator: the trade's brace patterns, open ends, what is refused."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.truss_check import TrussCheck
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, merge_patch
from tests.plugins.truss_check.wire import desk

Check = Callable[[Any], Result]
#: Faces across y, faces across z: the three classic patterns of a beam.
PATTERNS = {
    "single": ("alternating", "alternating"),
    "two": ("crossed", "alternating"),
    "four": ("crossed", "crossed"),
}
BAYS = 9
SIDES = {"down": (0, 0, -1), "up": (0, 0, 1), "front": (0, -1, 0), "back": (0, 1, 0),
         "pulled": (1, 0, 0), "pushed": (-1, 0, 0)}  # fmt: skip


def beam(xz: str, xy: str, hubs: dict[str, Any] | None, bays: int = BAYS) -> dict[str, Any]:
    """A cantilever along x under 1 N at its tip, from six sides."""
    faces = {"default": "single", "y_minus": xz, "y_plus": xz, "z_minus": xy, "z_plus": xy}
    counts = {"x": bays, "y": 1, "z": 1}
    spec = {
        "id": "A",
        "rods": {axis: [{"rod": "R120", "count": n}] for axis, n in counts.items()},
        "side_faces": faces,
        "cross_faces": {"every": 0},
    }
    corners = [(y, z) for y in (0, 1) for z in (0, 1)]
    body: dict[str, Any] = {
        "kit": desk("kit"),
        "frame": {"layout": {"sections": [spec]}},
        "handling": {"cases": ["stand"]},
        "load_cases": [
            {
                "id": side, "section": "A", "weight_factor": 0,
                "supports": [{"at": [0, y, z], "fixed": ["x", "y", "z"]} for y, z in corners],
                "forces": [{"at": [bays, y, z], "n": [w / 4 for w in way]} for y, z in corners],
            }
            for side, way in SIDES.items()
        ],
        "analyses": ["linear"],
    }  # fmt: skip
    if hubs is not None:
        body["two_part_hubs"] = {"axis": "x", **hubs}
    return body


def factors(result: Result) -> dict[str, float]:
    [section] = result.value["sections"]
    return {case["id"]: case["first_slip_factor"] for case in section["cases"]}


def test_the_three_patterns_come_out_in_the_order_of_the_trade(check: Check) -> None:
    """Single diagonals carry compression well and fail in tension; crosses on two opposite faces
    resist every side fairly; crosses on four resist from every side (common practice, no
    source)."""
    found, hubs = {}, {}
    for name, (xz, xy) in PATTERNS.items():
        result = check(beam(xz, xy, {"moving": "first"}))
        found[name] = factors(result)
        hubs[name] = result.value["sections"][0]["two_part_hubs"]
    for side in ("down", "up", "front", "back"):
        assert 2 * found["single"][side] < found["two"][side] < found["four"][side]
    assert [hubs[name]["two_part_count"] for name in PATTERNS] == [36, 36, 36]
    assert [hubs[name]["loose_count"] for name in PATTERNS] == [18, 0, 0]
    # pulled along, each chord of single diagonals has a loose end; pushed, bearing decides
    assert found["single"]["pulled"] == pytest.approx(4 * 24.0, rel=1e-6)
    assert found["single"]["pushed"] == pytest.approx(4 * 300.0, rel=1e-6)
    assert found["single"]["pushed"] > 10 * found["single"]["pulled"]


def test_left_out_nothing_changes(check: Check) -> None:
    """Without `two_part_hubs` the frame's hub in one piece holds, as before."""
    result = check(beam("alternating", "alternating", None))
    assert "two_part_hubs" not in result.value["sections"][0]
    assert factors(result)["pulled"] == pytest.approx(4 * 60.0, rel=1e-6)


def test_open_ends_the_same_way_lock_nothing_and_turning_them_is_proven(
    check: Check, calculator: TrussCheck
) -> None:
    body = beam("crossed", "crossed", {"rule": "same-way", "moving": "first"})
    result = check(body)
    hubs = result.value["sections"][0]["two_part_hubs"]
    assert hubs["loose_count"] == hubs["two_part_count"] == 36
    [finding] = [f for f in result.findings if f.code == "hubs-slide-apart"]
    assert finding.level == "watch" and "same way" in finding.message
    assert finding.measure is not None and finding.measure.value == 36
    assert finding.remedy is not None and finding.remedy.patch is not None
    assert finding.remedy.patch["two_part_hubs"] == {"rule": "alternate"}
    mended = check(merge_patch(body, finding.remedy.patch))
    assert mended.value["sections"][0]["two_part_hubs"]["loose_count"] == 0
    assert "hubs-locked" in [f.code for f in mended.findings]
    assert factors(mended)["down"] > 2 * factors(result)["down"]


def test_not_minding_which_half_moves_counts_as_loose(check: Check) -> None:
    """Crosses on two faces lock hubs put in one way round only; the finding says which."""
    body = beam("crossed", "alternating", {})
    result = check(body)
    hubs = result.value["sections"][0]["two_part_hubs"]
    assert hubs["loose_count"] == 18 and all(one["turnable"] for one in hubs["loose"])
    [finding] = [f for f in result.findings if f.code == "hubs-slide-apart"]
    assert finding.remedy is not None and finding.remedy.patch is not None
    assert finding.remedy.patch["two_part_hubs"] == {"moving": "first"}
    minded = check(merge_patch(body, finding.remedy.patch))
    assert minded.value["sections"][0]["two_part_hubs"]["loose_count"] == 0


def test_crosses_are_the_remedy_where_no_turning_helps(check: Check) -> None:
    """Single diagonals: the faces at loose hubs are named, and crossing them locks all."""
    body = beam("alternating", "alternating", {"moving": "first"}, bays=4)
    result = check(body)
    assert result.value["sections"][0]["two_part_hubs"]["loose_count"] > 0
    [finding] = [f for f in result.findings if f.code == "hubs-slide-apart"]
    assert finding.remedy is not None and finding.remedy.patch is not None
    added = finding.remedy.patch["added_diagonals"]["A"]
    assert 0 < len(added) <= 8
    mended = check(merge_patch(body, finding.remedy.patch))
    assert mended.value["sections"][0]["two_part_hubs"]["loose_count"] == 0


def test_capacities_are_those_of_the_weaker_seat(check: Check) -> None:
    """Members with a loose hub at an end count with 24 N; governing bars give at that force."""
    result = check(beam("alternating", "alternating", {"moving": "first"}))
    [section] = result.value["sections"]
    hubs = section["two_part_hubs"]
    assert (hubs["tension_held_n"], hubs["tension_free_n"]) == (60.0, 24.0)
    assert (
        hubs["members_held_count"] + hubs["members_free_count"] == section["stability"]["members"]
    )
    for case in section["cases"]:
        if case["governing"]["mode"] == "tension":
            full = abs(case["governing"]["force_n"]) * case["first_slip_factor"]
            assert full == pytest.approx(24.0) or full == pytest.approx(60.0)


def test_single_hubs_may_be_put_in_otherwise(check: Check) -> None:
    body = beam("crossed", "crossed", {"moving": "first"})
    whole = check(body).value["sections"][0]["two_part_hubs"]
    body["two_part_hubs"]["nodes"] = {
        "A": [{"at": [4, 0, 0], "opens": "-"}, {"at": [5, 1, 1], "one_piece": True}]
    }
    found = check(body).value["sections"][0]["two_part_hubs"]
    assert found["one_piece_count"] == whole["one_piece_count"] + 1
    assert found["loose_count"] >= whole["loose_count"]


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"hub": "H18"}, "/two_part_hubs/hub"),
        ({"nodes": {"A": [{"at": [40, 0, 0]}]}}, "/two_part_hubs/nodes/A/0"),
        ({"nodes": {"A": [{"at": [4, 0, 0], "plane": "x"}]}}, "/two_part_hubs/nodes/A/0"),
    ],
)
def test_what_cannot_be_is_named(change: Any, pointer: str, check: Check) -> None:
    with pytest.raises(InvalidInputs) as fault:
        check(beam("crossed", "crossed", change))
    assert [at for at, _ in fault.value.faults] == [pointer]


def test_a_frame_without_grid_is_refused(check: Check) -> None:
    body = beam("crossed", "crossed", {})
    del body["load_cases"], body["handling"]
    body["frame"] = {
        "nodes_mm": [[0, 0, 0], [120, 0, 0], [0, 120, 0]],
        "members": {"start": [0, 1, 0], "end": [1, 2, 2], "rod": ["R120", "R170", "R120"]},
    }
    with pytest.raises(CannotCalculate) as fault:
        check(body)
    assert fault.value.pointer == "/two_part_hubs"


def test_the_picture_shows_open_ends(check: Check, calculator: TrussCheck) -> None:
    inputs = calculator.load(beam("crossed", "alternating", {}))
    drawing = calculator.draw(inputs, calculator.calculate(inputs), "two-part-hubs")
    assert drawing.title == "A: Two-part hubs: 18 loose" and drawing.shapes
    plain = calculator.load(beam("crossed", "alternating", None))
    assert not calculator.draw(plain, calculator.calculate(plain), "two-part-hubs").shapes


def test_twins_put_in_otherwise_are_no_twins(check: Check) -> None:
    """Sections built alike whose hubs go in otherwise are checked each by itself."""
    body = beam("crossed", "crossed", {"moving": "first"})
    first = body["frame"]["layout"]["sections"][0]
    body["frame"]["layout"]["sections"] = [first, {**first, "id": "B", "at_mm": [0, 500, 0]}]
    assert check(body).value["sections"][1].get("same_as") is None  # B has no cases of its own
    body["load_cases"] = []
    del body["handling"]
    assert check(body).value["sections"][1]["same_as"] == "A"
    body["two_part_hubs"]["nodes"] = {
        "B": [{"at": [i, 0, 0], "opens": "-"} for i in range(1, BAYS)]
    }
    sections = check(body).value["sections"]
    assert "same_as" not in sections[1]
    counts = [section["two_part_hubs"]["loose_count"] for section in sections]
    assert counts[0] == 0 < counts[1]


def test_the_demo_machine_is_locked_hub_by_hub(check: Check) -> None:
    """Which half moves is chosen for each hub, hubs in one piece stand where none would lock; all
    patches together lock every section, and the factors are those of hubs in one piece again."""
    body = {
        "kit": desk("kit"), "frame": {"layout": desk("changed")}, "gravity_m_s2": 9.81,
        "analyses": ["linear"], "two_part_hubs": {},
    }  # fmt: skip
    result = check(body)
    mended: Any = body
    for finding in result.findings:
        if finding.code == "hubs-slide-apart":
            assert finding.remedy is not None and finding.remedy.patch is not None
            assert "all are locked then" in finding.remedy.message
            mended = merge_patch(mended, finding.remedy.patch)
    locked = check({**mended, "seek_remedies": False})
    counts = [section["two_part_hubs"]["loose_count"] for section in locked.value["sections"]]
    assert counts == [0, 0, 0, 0]
    assert all(s["two_part_hubs"]["two_part_count"] > 50 for s in locked.value["sections"])
    assert locked.value["first_slip_factor"] == pytest.approx(1.77, abs=0.011)
    assert result.value["first_slip_factor"] < 0.8

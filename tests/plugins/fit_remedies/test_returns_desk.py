"""The demo machine at its three venues, against what an independent program found."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.fit_remedies import FitRemedies
from baywright_service.contract import Result, merge_patch

Json = dict[str, Any]
Desk = Callable[..., Json]
Run = Callable[[Json], Result]


@pytest.fixture(scope="module")
def planned(desk: Desk, run: Run) -> Any:
    return run(desk())


@pytest.fixture(scope="module")
def stripped(desk: Desk, run: Run) -> Any:
    """With faces allowed to go without a diagonal, and one rod exchanged at most."""
    more = {"allow": ["rod-exchanged"], "most_bays": 1, "allow_unbraced": True}
    return run(desk(rods=["R85"], **more))


def option(expected: Any, words: str) -> Any:
    return next(row for row in expected["options"] if words in row["do"])


def outside(way: Any) -> dict[str, list[float]]:
    return {one["id"]: [one["outside_mm"][axis] for axis in "xyz"] for one in way["sections"]}


def test_three_sections_stick(planned: Result) -> None:
    """S2, S3 and S4 are 25 mm too deep for Old Chapel; the tower has 12 mm."""
    found = {one["id"]: one for one in planned.value["sections"]}
    assert [one["passes"] for one in found.values()] == [True, False, False, False]
    assert found["S1"]["spare_mm"] == 12
    for name in ("S2", "S3", "S4"):
        assert (found[name]["passage"], found[name]["spare_mm"]) == ("old-chapel", -25)
        assert found[name]["sticks_at"] == ["old-chapel"]
    assert planned.verdict == "stop"


def test_one_depth_bay_out_of_all_four(planned: Result, expected: Any) -> None:
    """634 deep, 64 hubs and 128 R120 saved, twins and coupling kept, proven the cheapest."""
    wanted = option(expected, "one depth bay")
    best = planned.value["ways"][0]
    assert best["message"] == "Take one bay (R120) out of the depth of all four sections."
    assert {size[1] for size in outside(best).values()} == {wanted["outside_depth_mm"]}
    assert best["hubs_saved_count"] == wanted["hubs_saved"]
    saved = {row["rod"]: row["count"] for row in best["rods_saved"]}
    assert saved["R120"] == wanted["R120_saved"]
    assert best["identity_kept"] == wanted["S2_and_S3_stay_identical"]
    assert best["coupling_faces_match"] == wanted["coupling_faces_still_match"]
    assert [one.get("twin_of") for one in best["sections"]] == [None, None, "S2", None]
    assert best["proven_best"] and best["gap_ratio"] == 0.0 and best["braced_by"] == "one-rod"
    assert best["cleared_spare_mm"] == 95  # 729 - 634
    assert best["parts_changed_count"] == best["cost"] == 64 + sum(saved.values())
    assert any("S2 and S3 now 1080 x 600 mm" in line for line in best["stale"])
    assert planned.value["identity"]["extra_parts_count"] == 0


def test_other_ways_cut_sections_and_cost_more(planned: Result) -> None:
    """Each further way does something else, costs no less, and every way is proven."""
    ways = planned.value["ways"]
    costs = [way["cost"] for way in ways]
    assert costs == sorted(costs) and len(ways) > 2
    assert all(way["proven_best"] and way["proven"] for way in ways)
    assert planned.value["search"]["exhausted"] and planned.value["search"]["proven"]
    assert {step["kind"] for way in ways[1:] for step in way["changes"]} == {"split", "bay-out"}
    cut = next(way for way in ways if way["message"].startswith("Cut S2 and S3"))
    assert {"S2a", "S2b", "S3a", "S3b"} <= {one["id"] for one in cut["sections"]}
    assert cut["hubs_saved_count"] < 0 and cut["outdone_by"] == 1


@pytest.mark.slow
def test_every_patch_brings_all_through(planned: Result, desk: Desk) -> None:
    """Merged into the inputs, each way and each alternative that serves passes when run again."""
    calculator, body = FitRemedies(), desk()
    patches = [way["patch"] for way in planned.value["ways"]]
    patches += [one["patch"] for one in planned.value["alternatives"] if one["passes"]]
    for patch in patches:
        again = calculator.load(merge_patch(body, patch), proving=True)
        assert calculator.calculate(again).value["passes"]
    finding = next(f for f in planned.findings if f.code == "sections-stick")
    assert finding.remedy is not None and finding.remedy.patch == patches[0]
    assert (
        planned.value["frame_after"]["layout"]["sections"]
        == (merge_patch(body, patches[0])["frame"]["layout"]["sections"])
    )


def test_one_rod_exchanged_leaves_faces_bare(stripped: Result, expected: Any) -> None:
    """R120 for R85: 718.8 passes, 16 faces of S2 lose their diagonal, three mechanisms."""
    wanted = option(expected, "for R85")
    best = stripped.value["ways"][0]
    assert best["message"] == "Exchange one R120 for R85 in the depth of all four sections."
    assert outside(best)["S2"][1] == pytest.approx(wanted["outside_depth_mm"])
    bare = {row["section"]: row for row in best["left_without_diagonal"]}
    assert bare["S2"]["faces_count"] == wanted["faces_left_without_a_diagonal_in_S2"]
    assert bare["S2"]["mechanisms_count"] == wanted["mechanisms_in_S2"]
    assert best["braced_by"] == "not"
    assert "bays-unbraced" in {finding.code for finding in stripped.findings}


def test_without_leave_no_rod_is_exchanged(desk: Desk, run: Run) -> None:
    """The same exchange is refused where every face must keep its diagonal: nothing is left."""
    result = run(desk(allow=["rod-exchanged"], rods=["R85"]))
    assert result.value["ways"] == []
    assert result.value["search"]["hopeless_sections"] == ["S2", "S3", "S4"]
    assert "no-way-found" in {finding.code for finding in result.findings}


def test_leaf_off_and_flush_hubs(planned: Result, expected: Any) -> None:
    """The leaf off leaves 10 mm; flush hubs across the depth make 738, 9 too much."""
    found = {one["message"]: one for one in planned.value["alternatives"]}
    leaf = next(one for words, one in found.items() if "leaf" in words)
    wanted = option(expected, "leaf")
    assert (leaf["passes"], leaf["spare_mm"]) == (wanted["passes"], wanted["spare_mm"])
    assert leaf["proven"] and leaf["asks_the_venue"]
    flush = next(one for words, one in found.items() if "depth" in words)
    wanted = option(expected, "flush")
    assert flush["outside_mm"]["y"] == wanted["outside_depth_mm"]
    assert (flush["passes"], flush["over_mm"]) == (wanted["passes"], wanted["over_mm"])
    assert planned.value["alternatives"][0] == leaf


def test_the_shelf_rules_out_more_hubs(desk: Desk, run: Run, planned: Result) -> None:
    """With as many hubs as the machine has now no section can be cut; one way is left."""
    need = {row["rod"]: row["count"] for row in planned.value["parts"]["rods"]}
    counts = [{"item": rod, "on_hand_count": n} for rod, n in need.items()]
    counts.append({"item": "H18", "on_hand_count": planned.value["parts"]["hubs_count"]})
    result = run(desk(stock={"counts": counts}))
    assert [way["message"] for way in result.value["ways"]] == [
        "Take one bay (R120) out of the depth of all four sections."
    ]
    assert result.value["search"]["exhausted"] and result.value["ways"][0]["short"] == []


def test_only_what_sticks(desk: Desk, run: Run) -> None:
    """With the tower left alone and joints allowed to part, its joint to S2 is the price."""
    more = {"fixed_sections": ["S1"], "allow": ["bay-out"], "most_bays": 1}
    assert run(desk(**more)).value["ways"] == []
    best = run(desk(**more, allow_uncoupled=True)).value["ways"][0]
    assert best["message"] == "Take one bay (R120) out of the depth of S2, S3 and S4."
    assert not best["coupling_faces_match"] and best["coupling_faces_mismatched_count"] == 1
    assert best["cost"] == best["parts_changed_count"] + 100

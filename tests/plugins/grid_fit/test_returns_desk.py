"""The demo machine, as planned and as changed, against what an independent program found."""

import copy
from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.grid_fit import GridFit
from baywright_service.contract import Result, merge_patch

Json = dict[str, Any]
Desk = Callable[[str], Json]
Run = Callable[[Json], Result]


@pytest.fixture(scope="module")
def planned(desk: Desk, run: Run) -> Any:
    return run(desk("planned"))


@pytest.fixture(scope="module")
def changed(desk: Desk, run: Run) -> Any:
    return run(desk("changed"))


def rows(result: Result) -> dict[tuple[str, str], Any]:
    return {(row["section"], row["passage"]): row for row in result.value["passages"]}


def change(result: Result, kind: str) -> Any:
    """The first change of a kind that touches every section, or none in particular."""
    return next(
        c for c in result.value["changes"] if c["kind"] == kind and len(c["sections"]) in (0, 4)
    )


def corner(result: Result, section: str, attitude: str, carried: str) -> Any:
    return next(
        row
        for row in result.value["corners"]
        if (row["section"], row["attitude"], row["carried"]) == (section, attitude, carried)
    )


def test_spans(grid: Any, desk: Desk, run: Run) -> None:
    """1080 closes in 16 ways; 699.2 is nearest to 700; 688.8 is the longest within 695."""
    expected = grid["expected"]
    body = {"kit": desk("planned")["kit"], "spans": grid["spans"]}
    many, forced, within = run(body).value["spans"]
    assert many["ways_count"] == expected["ways_1080"]
    best = forced["rows"][0]
    assert best["length_mm"] == expected["span_700"]["length_mm"]
    assert best["misfit_mm"] == -expected["span_700"]["short_mm"]
    assert {r["rod"]: r["count"] for r in best["rods"]} == expected["span_700"]["rods"]
    assert round(best["play_used_ratio"], 2) == expected["span_700"]["play_used_ratio"]
    assert within["rows"][0]["length_mm"] == expected["longest_within_695_mm"]
    codes = [finding.code for finding in run(body).findings]
    assert codes == ["span-closes", "span-forced", "span-closes"]


def test_bays(grid: Any, desk: Desk, run: Run) -> None:
    """120 x 120 takes R170; 120 x 84.8 takes nothing."""
    square, oblong = run({"kit": desk("planned")["kit"], "bays": grid["bays"]}).value["bays"]
    expected = grid["expected"]
    assert (square["rod"], square["closes"]) == (expected["bay_120_120"]["rod"], True)
    assert round(square["needed_mm"], 2) == expected["bay_120_120"]["needed_mm"]
    assert round(square["misfit_mm"], 2) == expected["bay_120_120"]["misfit_mm"]
    assert oblong["closes"] is False and "rod" not in oblong
    assert round(oblong["needed_mm"], 2) == expected["bay_120_84_8"]["needed_mm"]
    assert round(oblong["nearest_misfit_mm"], 2) == expected["bay_120_84_8"]["nearest_misfit_mm"]


@pytest.mark.parametrize("which", ["planned", "changed"])
def test_outside_sizes(which: str, grid: Any, request: pytest.FixtureRequest) -> None:
    """Hub overhang counts at both ends, feet and sprocket where they stand out."""
    result = request.getfixturevalue(which)
    for section in result.value["sections"]:
        found = [section["outside_mm"][axis] for axis in "xyz"]
        assert found == grid["expected"]["outside_mm"][which][section["id"]]
    assert result.value["overall_outside_mm"]["x"] == grid["expected"]["coupled_length_mm"]
    assert [s.get("twin_of") for s in result.value["sections"]] == [None, None, "S2", None]


def test_doors_as_planned(planned: Result, grid: Any) -> None:
    """Two venues let all through upright; Old Chapel only the tower, with 12 mm to spare."""
    expected = grid["expected"]["old_chapel_planned"]
    found = rows(planned)
    for (section, passage), row in found.items():
        if passage != "old-chapel":
            assert row["passes"] and row["upright"] and row["attitude"] == "upright"
        elif section == "S1":
            assert row["passes"] and row["upright"]
            assert (row["spare_mm"], row["tight_side"]) == (expected["S1_spare_mm"], "height")
        else:
            assert not row["passes"] and not row["turning_helps"]
            assert row["needed_mm"] == expected["smallest_mm"]
            assert row["allowed_mm"] == expected["allowed_mm"]
            assert row["spare_mm"] == -expected["over_mm"]
    assert planned.verdict == "stop"
    wide = [f for f in planned.findings if f.code == "section-too-wide"]
    assert [f.at for f in wide] == [
        ("/layout/sections/1", "/layout/sections/2", "/result/passages/9", "/result/passages/10"),
        ("/layout/sections/3", "/result/passages/11"),
    ]
    assert wide[0].message.startswith(
        "Section S2 (and its twin S3) is 754 mm deep over its hub ends; Old Chapel branch leaves "
        "729 mm"
    )


def test_doors_as_changed(changed: Result) -> None:
    """Everything passes upright everywhere; the tower's 12 mm are named."""
    assert all(row["passes"] and row["upright"] for row in changed.value["passages"])
    codes = [finding.code for finding in changed.findings]
    assert "all-sections-pass" in codes and "passes-with-little-to-spare" in codes
    assert changed.verdict == "watch"
    assert "changes" not in changed.value


def test_the_best_change_takes_a_bay_out_of_the_depth(planned: Result, grid: Any) -> None:
    """One bay out of all four sections: 634 deep, 64 hubs and 128 R120 saved, twins kept."""
    expected = grid["expected"]["bay_out"]
    best = planned.value["changes"][0]
    assert best["message"] == "Take one bay out of the depth of all four sections."
    assert best["passes"] and best["proven"]
    assert best["outside_mm"] == expected["outside_mm"]
    assert best["hubs_saved_count"] == expected["hubs_saved"]
    saved = {row["rod"]: row["count"] for row in best["rods_saved"]}
    assert saved["R120"] == expected["r120_saved"]
    assert best["twins_kept"] and best["coupling_faces_match"]
    assert not best["leaves_bays_unbraced"]
    assert any("floor" in line and "1080 x 600" not in line for line in best["stale"])


def test_its_patch_clears_the_finding(desk: Desk, run: Run, planned: Result) -> None:
    """The remedy, merged into the inputs, lets every section through; the twins stay alike."""
    remedy = next(f.remedy for f in planned.findings if f.code == "section-too-wide")
    assert remedy is not None and remedy.patch is not None
    after = run(merge_patch(desk("planned"), remedy.patch))
    assert all(row["passes"] for row in after.value["passages"])
    assert "section-too-wide" not in {f.code for f in after.findings}
    assert [s["outside_mm"]["y"] for s in after.value["sections"]] == [634.0] * 4
    assert [s.get("twin_of") for s in after.value["sections"]] == [None, None, "S2", None]


def test_exchanging_a_rod_leaves_bays_bare(planned: Result, grid: Any) -> None:
    """R120 for R85: 718.8 passes, but 16 faces of S2 lose their diagonal: three mechanisms."""
    expected = grid["expected"]["r85_exchange"]
    found = change(planned, "rod-exchanged")
    assert found["passes"] and found["leaves_bays_unbraced"]
    assert found["outside_mm"] == pytest.approx(expected["outside_mm"])
    bare = {row["section"]: row for row in found["left_without_diagonal"]}
    assert bare["S2"]["faces_count"] == expected["faces_bare_in_S2"]
    assert bare["S2"]["mechanisms_count"] == expected["mechanisms_in_S2"]
    order = [c["kind"] for c in planned.value["changes"] if c["passes"]]
    assert order[-1] == "rod-exchanged"


def test_leaf_off_and_flush_hubs(planned: Result, grid: Any) -> None:
    """The leaf off leaves 10 mm; flush hubs make 738, still 9 too much."""
    leaf = change(planned, "leaf-off")
    assert leaf["passes"] and leaf["spare_mm"] == grid["expected"]["leaf_off_spare_mm"]
    assert leaf["asks_the_venue"]
    flush = change(planned, "flush-hubs")
    assert not flush["passes"]
    assert flush["outside_mm"] == grid["expected"]["flush"]["outside_mm"]
    assert flush["over_mm"] == grid["expected"]["flush"]["over_mm"]
    assert planned.value["changes"][-1] == flush


def test_changing_only_what_sticks_breaks_the_coupling(planned: Result) -> None:
    """S2, S3 and S4 alone would pass too, but S1 and S2 would no longer match."""
    found = next(c for c in planned.value["changes"] if c["sections"] == ["S2", "S3", "S4"])
    assert found["passes"] and not found["coupling_faces_match"]
    assert found["coupling_faces_mismatched_count"] == 1


def test_round_the_corner(planned: Result, changed: Result, grid: Any) -> None:
    """Corner of 1200 and 1200, carriers of 350 at each end."""
    expected = grid["expected"]["corner_1200_1200_mm"]
    found = {
        "S2_planned": corner(planned, "S2", "upright", "by-hand"),
        "S2_changed": corner(changed, "S2", "upright", "by-hand"),
        "S1_lying_by_hand": corner(changed, "S1", "on-back", "by-hand"),
        "S1_lying_on_skid": corner(changed, "S1", "on-back", "on-skid"),
    }
    assert {name: round(row["spare_mm"]) for name, row in found.items()} == expected


def test_shortages(planned: Result, changed: Result, grid: Any) -> None:
    """R170 and hubs as the parts list has them."""
    for result, which in ((planned, "planned"), (changed, "changed")):
        short = {row["item"]: row["short_count"] for row in result.value["shortages"]}
        if "H18 and H2P" in short:
            short["hubs"] = short.pop("H18 and H2P")
        assert short == grid["expected"]["shortages"][which]


def test_the_frame_goes_on_to_other_calculators(planned: Result, desk: Desk) -> None:
    """The frame in the result is what a frame input takes."""
    body = desk("planned")
    assert planned.value["frame"] == {"layout": body["layout"]}
    again = GridFit().load({"kit": body["kit"], "layout": planned.value["frame"]["layout"]})
    assert len(again["layout"]["sections"]) == 4


def test_second_diagonals_that_crossed_the_bay_are_named(desk: Desk, run: Run) -> None:
    """A bay less in depth keeps the rings' second diagonals and says what it drops."""
    body = desk("changed")
    # a narrower door, so that the changed machine sticks too
    body["passages"][2]["width_mm"] = 620
    body["passages"][2].pop("leaf_off_width_mm")
    result = run(body)
    best = result.value["changes"][0]
    assert best["kind"] == "bay-out" and best["passes"]
    sections = best["patch"]["layout"]["sections"]
    assert [len(s["second_diagonals"]) for s in sections] == [16, 20, 20, 16]
    body["layout"]["sections"][0]["second_diagonals"] = [[[0, 2, 0], [0, 3, 1]]]
    crossing = run(copy.deepcopy(body)).value["changes"][0]
    assert crossing["notes"] == ["1 diagonal given one by one crossed the bay and is dropped."]

"""From an envelope to a layout that builds, closes and braces."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.frame import build_frame
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.grid_fit.envelope import in_line, split_in_sections
from baywright_plugins.grid_fit.examples import KIT
from baywright_plugins.kit import Kit, KitSchema
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, merge_patch

Json = dict[str, Any]
Run = Callable[[Json], Result]
KIT_HERE = Kit.from_inputs(KitSchema().load(KIT))


def envelope(**changes: Any) -> Json:
    wanted = {
        "size_mm": {"x": 2254, "y": 754, "z": 1474},
        "sections": {"x": 2},
        "joint_rod": "R60",
    }
    return {"kit": KIT, "envelope": merge_patch(wanted, changes)}


def test_an_exact_envelope(run: Run) -> None:
    """2254 over the hub ends is 34 + 2 x 1080 + 60: two alike sections of 9 x 6 x 12 bays."""
    result = run(envelope())
    best = result.value["solutions"][0]
    assert best["outside_mm"] == {"x": 2254.0, "y": 754.0, "z": 1474.0}
    assert best["identical"] and best["unbraceable_pairs_count"] == 0
    assert [s["bays"] for s in result.value["sections"]] == [{"x": 9, "y": 6, "z": 12}] * 2
    assert [s.get("twin_of") for s in result.value["sections"]] == [None, "S1"]
    assert result.value["overall_outside_mm"] == best["outside_mm"]
    assert all(bay["closes"] for bay in result.value["bays"])
    assert result.verdict == "ok"


def test_the_same_between_node_centres(run: Run) -> None:
    """Measured between node centres the hub ends are not taken off."""
    body = envelope(measured="centreline", size_mm={"x": 2220, "y": 720, "z": 1440})
    assert run(body).value["solutions"] == run(envelope()).value["solutions"]


def test_every_solution_adds_up(run: Run) -> None:
    """Sections, joints and hub ends add up to the outside size, to the micrometre."""
    body = envelope(tolerance_mm=40)
    pitch = {rod["id"]: rod["pitch_mm"] for rod in KIT["rods"]}
    solutions = run({**body, "most_results": 20}).value["solutions"]
    assert len(solutions) > 5
    for solution in solutions:
        for axis, joints in zip(solution["axes"], (60.0, 0.0, 0.0), strict=True):
            runs = [run_ for section in axis["sections"] for run_ in section]
            length = sum(pitch[r["rod"]] * r["count"] for r in runs) + joints + 34
            assert length == pytest.approx(solution["outside_mm"][axis["axis"]], abs=1e-6)
            wanted = body["envelope"]["size_mm"][axis["axis"]]
            assert abs(length - wanted) <= 40 + 1e-6
    ranks = [
        (s["unbraceable_pairs_count"], s["in_line_pairs_count"], s["kind_count"]) for s in solutions
    ]
    assert ranks == sorted(ranks)


def test_the_layout_builds_with_sections_every_way(run: Run) -> None:
    """Two by two by two sections: twelve joints, each with matching faces."""
    size = {"x": 34 + 60 + 720, "y": 34 + 60 + 720, "z": 34 + 60 + 720}
    result = run(envelope(size_mm=size, sections={"x": 2, "y": 2, "z": 2}))
    layout = result.value["frame"]["layout"]
    assert len(layout["sections"]) == 8 and len(layout["joints"]) == 12
    assert all(joint["matches"] for joint in result.value["joints"])
    frame = build_frame(LayoutSchema().load(layout), KIT_HERE)
    assert result.value["parts"]["hubs_count"] == len(frame.nodes_mm)
    assert result.value["overall_outside_mm"] == {axis: float(size[axis]) for axis in "xyz"}


def test_an_envelope_that_does_not_close_says_what_would(run: Run) -> None:
    """No frame, a stop for the axis, and a tolerance that is proven to do."""
    body = envelope(size_mm={"y": 790}, rods=["R120", "R85"])
    result = run(body)
    finding = next(f for f in result.findings if f.code == "span-does-not-close")
    assert "frame" not in result.value and result.verdict == "stop"
    assert finding.at == ("/result/axes/1",)
    assert finding.remedy is not None and finding.remedy.patch is not None
    after = run(dict(merge_patch(body, finding.remedy.patch)))
    assert after.value["frame"]["layout"]["sections"]
    assert after.value["solutions"][0]["unbraceable_pairs_count"] == 0


def test_an_envelope_that_closes_only_unbraced(run: Run) -> None:
    """Mixed rods close on 790 exactly, but their bays take no diagonal: said, with the way out."""
    body = envelope(size_mm={"y": 790})
    result = run(body)
    assert result.value["solutions"][0]["unbraceable_pairs_count"] > 0
    finding = next(f for f in result.findings if f.code == "envelope-not-braceable")
    assert finding.remedy is not None and finding.remedy.patch is not None
    after = run(dict(merge_patch(body, finding.remedy.patch)))
    assert after.value["solutions"][0]["unbraceable_pairs_count"] == 0


def test_what_passes_the_route_goes_first(run: Run) -> None:
    """A door that lets only the smaller of two depths through decides between solutions."""
    wide = envelope(tolerance_mm=65, rods=["R120"])
    narrow = {**wide, "passages": [{"id": "d", "width_mm": 655, "height_mm": 2000}]}
    assert run(wide).value["sections"][0]["outside_mm"]["y"] == 754
    body = envelope(tolerance_mm=125, rods=["R120"])
    narrow["envelope"] = body["envelope"]
    result = run(narrow)
    assert result.value["solutions"][0]["passes_route"]
    assert result.value["sections"][0]["outside_mm"]["y"] == 634
    assert all(row["passes"] for row in result.value["passages"])


def test_the_stock_bounds_the_rows(run: Run) -> None:
    """With no R120 on the shelf the rows do without it."""
    shelf = {"counts": [{"item": rod, "on_hand_count": 5000} for rod in ("R60", "R85", "R170")]}
    result = run({**envelope(tolerance_mm=60), "stock": shelf})
    for solution in result.value["solutions"]:
        for axis in solution["axes"]:
            assert {run_["rod"] for run_ in axis["row"]["rods"]} <= {"R60", "R85", "R170"}


def test_too_small_for_its_hubs(run: Run) -> None:
    """Hub ends and joints alone exceed the size: refused by name."""
    with pytest.raises(CannotCalculate) as refused:
        run(envelope(size_mm={"x": 90}))
    assert refused.value.pointer == "/envelope/size_mm/x"


def test_sections_need_a_joint_rod(run: Run) -> None:
    """Two sections without a coupling rod are refused before anything runs."""
    with pytest.raises(InvalidInputs) as refused:
        run(envelope(joint_rod=None))
    assert [pointer for pointer, _ in refused.value.faults] == ["/envelope/joint_rod"]


@settings(deadline=None)
@given(st.lists(st.integers(0, 9), min_size=3, max_size=3), st.integers(1, 4))
def test_sections_share_out_every_rod(counts: list[int], sections: int) -> None:
    """Nothing is lost or added, and equal shares where every count divides."""
    ids = ["a", "b", "c"]
    parts = split_in_sections(counts, ids, [60_000, 85_000, 120_000], sections)
    assert len(parts) == sections
    for rod, count in zip(ids, counts, strict=True):
        assert sum(part.count(rod) for part in parts) == count
    if all(count % sections == 0 for count in counts):
        assert len(set(parts)) == 1


@given(st.lists(st.integers(0, 9), min_size=3, max_size=3))
def test_the_rare_rods_stand_in_the_middle(counts: list[int]) -> None:
    """The most frequent rod stands at both ends where it comes at least twice."""
    ids = ["a", "b", "c"]
    row = in_line(counts, ids)
    assert sorted(row) == sorted(r for r, n in zip(ids, counts, strict=True) for _ in range(n))
    if max(counts) >= 2:
        assert row[0] == row[-1] == ids[counts.index(max(counts))]

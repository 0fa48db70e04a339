"""The demo machine, as planned and as changed, against what an independent program found."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from baywright_service.contract import Result, merge_patch

Json = dict[str, Any]
Desk = Callable[[str], Json]
Run = Callable[[Json], Result]


@pytest.fixture(scope="module")
def planned(desk: Desk, run: Run) -> Result:
    return run(desk("planned"))


@pytest.fixture(scope="module")
def changed(desk: Desk, run: Run) -> Result:
    return run(desk("changed"))


def rows(result: Result) -> dict[tuple[str, str], Any]:
    return {(row["section"], row["passage"]): row for row in result.value["passages"]}


def numbers(text: str) -> list[float]:
    return [float(word) for word in re.findall(r"\d+(?:\.\d+)?", text)]


def test_two_venues_let_all_through(planned: Result, expected: Any) -> None:
    """Harbour and Mill Lane: everything passes, upright."""
    found = rows(planned)
    for passage, venue in (("harbour", "Harbour branch"), ("mill-lane", "Mill Lane branch")):
        assert expected["plan"][venue] == "all pass"
        assert all(found[s, passage]["upright"] for s in ("S1", "S2", "S3", "S4"))


def test_old_chapel_as_planned(planned: Result, expected: Any) -> None:
    """The tower passes upright with 12 mm; S2, S3 and S4 are 25 over, and no turning helps."""
    words = expected["plan"]["Old Chapel branch"]
    found = rows(planned)
    tower = found["S1", "old-chapel"]
    assert (tower["upright"], tower["governs"]) == (True, "height")
    assert [tower["spare_mm"]] == numbers(words["S1"])[:1]
    smallest, allowed, over = numbers(words["S2"])
    for section in ("S2", "S3", "S4"):
        row = found[section, "old-chapel"]
        assert (row["needed_mm"], row["allowed_mm"]) == (smallest, allowed)
        assert (row["passes"], row["spare_mm"]) == (False, -over)
    assert planned.value["governing"]["passage"] == "old-chapel"
    assert planned.value["governing"]["spare_mm"] == -over
    stuck = [f for f in planned.findings if f.level == "stop"]
    assert [f.code for f in stuck] == ["section-too-wide"] * 2
    assert "no turning helps" in stuck[0].message and "twin S3" in stuck[0].message


def test_the_leaf_off(planned: Result, desk: Desk, run: Run, expected: Any) -> None:
    """780 clear with the leaf off leaves 10 mm; the patch proves it."""
    option = next(o for o in expected["options"] if "leaf" in o["do"])
    change = planned.value["changes"][0]
    assert (change["kind"], change["sticking_count"]) == ("leaf-off", 0)
    after = run(merge_patch(desk("planned"), change["patch"]))
    assert rows(after)["S2", "old-chapel"]["spare_mm"] == option["spare_mm"]
    assert all(row["passes"] for row in after.value["passages"])
    remedy = next(f.remedy for f in planned.findings if f.code == "section-too-wide")
    assert remedy is not None and remedy.patch == change["patch"]


def test_flush_hubs_are_not_enough(desk: Desk, run: Run, expected: Any) -> None:
    """Flush outer hubs make 738, 9 over still."""
    option = next(o for o in expected["options"] if "flush" in o["do"])
    row = rows(run({**desk("planned"), "flush_axes": ["y"]}))["S2", "old-chapel"]
    assert row["needed_mm"] == option["outside_depth_mm"]
    assert -row["spare_mm"] == option["over_mm"]


def test_as_changed_everything_passes_upright(changed: Result, expected: Any) -> None:
    """One bay less in depth: 634 over the hub ends; the tower's 12 mm govern."""
    option = expected["options"][0]
    assert {s["over_hubs_mm"]["y"] for s in changed.value["sections"]} == {
        option["outside_depth_mm"]
    }
    assert all(row["upright"] for row in changed.value["passages"])
    governing = changed.value["governing"]
    assert (governing["section"], governing["passage"]) == ("S1", "old-chapel")
    assert governing["spare_mm"] == 12.0
    assert changed.verdict == "watch" and changed.value["turnings"] == []


def test_round_the_corner(planned: Result, changed: Result, expected: Any) -> None:
    """Corner of 1200 and 1200: 36, 156, -238 and 112 mm."""

    def corner(result: Result, section: str, attitude: str, carried: str) -> int:
        row = rows(result)[section, "mill-lane"]
        way = next(
            w
            for w in row["others"]
            if (w["obstacle"], w["attitude"], w["carried"]) == ("corner-1", attitude, carried)
        )
        return int(round(way["spare_mm"]))

    assert {
        "S2_plan_spare_mm_with_carriers": corner(planned, "S2", "upright", "by-hand"),
        "S2_changed_spare_mm": corner(changed, "S2", "upright", "by-hand"),
        "S1_lying_with_carriers": corner(changed, "S1", "on-back", "by-hand"),
        "S1_lying_on_skid": corner(changed, "S1", "on-back", "on-skid"),
    } == expected["corner_1200_1200"]

"""Rules for warnings against the printed values of standards and regulations."""

import json
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.cautions import (
    CHILD,
    GROWN,
    REACH_HIGH_MM,
    REACH_LOW_MM,
    SMALL_BALL_MM,
    DriveGuard,
    ball_cautions,
    crushing_gap_mm,
    drive_cautions,
    is_small_ball,
    is_small_part,
    lifting_cautions,
    pinches,
    reach_cautions,
    reach_through_mm,
    section_cautions,
    snapping_cautions,
    within_reach,
)

DATA = Path(__file__).parents[2] / "data" / "published" / "cautions.json"
PUBLISHED: list[dict[str, Any]] = json.loads(DATA.read_text())


def cases(quantity: str) -> list[Any]:
    """The published cases of one quantity."""
    found = [pytest.param(c, id=c["id"]) for c in PUBLISHED if c["quantity"] == quantity]
    assert found
    return found


def test_the_gauge_for_small_balls() -> None:
    """16 CFR 1117.2(b): a hole of 1.75 in; the inch governs."""
    (gauge,) = (c for c in PUBLISHED if c["quantity"] == "small_ball_gauge")
    assert pytest.approx(gauge["expected"]["hole_mm"]) == SMALL_BALL_MM


@pytest.mark.parametrize("case", cases("small_ball_class"))
def test_small_balls(case: dict[str, Any]) -> None:
    """16 CFR 1500.18(a)(17)."""
    diameter = case["inputs"]["ball_diameter_mm"]
    assert is_small_ball(diameter) is case["expected"]["small_ball"]
    warned = any("choke" in caution.text for caution in ball_cautions(diameter))
    assert warned is case["expected"]["small_ball"]


def test_a_ball_of_exactly_the_gauge_is_small() -> None:
    """15 U.S.C. 1278(b): 1.75 in or less."""
    assert is_small_ball(1.75 * 25.4) and not is_small_ball(1.75 * 25.4 + 0.01)


@pytest.mark.parametrize("case", cases("small_part_sphere"))
def test_small_parts(case: dict[str, Any]) -> None:
    """16 CFR 1501.4, Figure 1."""
    diameter = case["inputs"]["sphere_diameter_mm"]
    assert is_small_part(diameter) is case["expected"]["small_part"]


@pytest.mark.parametrize("case", cases("reach_through_distance_mm"))
def test_reaching_through_an_opening(case: dict[str, Any]) -> None:
    """ISO 13857:2019, Table 4."""
    asked = case["inputs"]
    found = reach_through_mm(
        asked["opening"],
        asked["size_mm"],
        slot_length_mm=asked.get("slot_length_mm"),
        from_age=GROWN,
    )
    assert found == case["expected"]["safety_distance_mm"]


def test_children_never_reach_less_far_through_the_same_opening() -> None:
    for shape in ("slot", "square", "round"):
        for size in range(1, 121):
            grown = reach_through_mm(shape, size, from_age=GROWN)
            child = reach_through_mm(shape, size, from_age=CHILD)
            assert grown is not None and (child is None or child >= grown)


def test_an_opening_too_wide_for_any_distance() -> None:
    """ISO 13857:2019, Table 4 ends at 120 mm."""
    assert reach_through_mm("square", 120, from_age=GROWN) == 850
    assert reach_through_mm("square", 121, from_age=GROWN) is None
    words = [c.text for c in drive_cautions(DriveGuard(1000, "square", 130, 50))]
    assert any("close it" in text for text in words)


@pytest.mark.parametrize("case", cases("minimum_gap_mm"))
def test_gaps_that_do_not_crush(case: dict[str, Any]) -> None:
    """ISO 13854:2017."""
    part, gap = case["inputs"]["part"], case["expected"]
    assert crushing_gap_mm(part) == gap
    assert not pinches(gap, part) and pinches(gap - 1, part) and not pinches(3.9, part)


def test_drives_in_reach_must_be_covered() -> None:
    """29 CFR 1910.219: within 7 ft of the floor."""
    low, high = (drive_cautions(DriveGuard(feet * 304.8)) for feet in (6.5, 7.5))
    assert any("Cover" in c.text for c in low) and not any("Cover" in c.text for c in high)
    assert all(c.source is not None for c in low)


def test_what_a_guard_lets_through_is_said_for_children_and_grown_ups() -> None:
    words = [c.text for c in drive_cautions(DriveGuard(500, "square", 10, 40))]
    assert any("From 3 years" in text and "60 mm" in text for text in words)
    assert any("From 14 years" in text and "25 mm" in text for text in words)
    assert any("lies 40 mm behind" in text for text in words)


def test_reach_from_a_wheelchair() -> None:
    """2010 ADA Standards, 308.2.1: 15 to 48 in."""
    (case,) = (c for c in PUBLISHED if c["quantity"] == "reach_range_in")
    low, high = case["expected"]["min_in"] * 25.4, case["expected"]["max_in"] * 25.4
    assert (low, high) == (pytest.approx(REACH_LOW_MM), pytest.approx(REACH_HIGH_MM))
    assert within_reach(low) and within_reach(high)
    assert not within_reach(low - 1) and not within_reach(high + 1)
    assert not reach_cautions(1000) and "1300 mm" in reach_cautions(1300)[0].text


def test_people_who_lift_together() -> None:
    """HSE L23: two thirds for two, half for three; more than four is not supported."""
    assert any("two thirds" in c.text for c in lifting_cautions(20, 2))
    assert any("half" in c.text for c in lifting_cautions(30, 3))
    assert not any("four" in c.text for c in lifting_cautions(30, 4))
    assert any("four" in c.text for c in lifting_cautions(60, 5))
    assert len(lifting_cautions(10, 1)) == 1


def test_sections_that_anybody_lifts_alone_call_for_nothing() -> None:
    """HSE INDG143, Figure 1: 16 kg for women close to the body; the heaviest counts."""
    assert not section_cautions([]) and not section_cautions([3.0, 16.0])
    assert section_cautions([3.0, 16.1]) == lifting_cautions(16.1, 2)


def test_snaps_by_the_thousand() -> None:
    assert not snapping_cautions(100) and "8638 snaps" in snapping_cautions(8638)[0].text

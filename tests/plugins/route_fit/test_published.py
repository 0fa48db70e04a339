"""Published openings, corners and leans, each with its source in the data file."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from baywright_plugins.route_fit.corridor import through_corridors
from baywright_plugins.route_fit.journey import turnings
from baywright_plugins.route_fit.passing import (
    Carried,
    Doorway,
    RouteClearances,
    RoutePassage,
    cross,
)
from baywright_plugins.route_fit.published_openings import EN_13698_1, OPENINGS, with_library

BARE = RouteClearances(each_side_mm=0, above_mm=0, lifted_mm=0, carrier_each_end_mm=0)
CORNERS = ("corner-9-6", "corner-wrong", "rect-1200-1200-600", "rect-1000-1500-400",
           "rect-1100-1400-700")  # fmt: skip


def corner_case(case: Any) -> tuple[float, float, float, float]:
    """Corridors, width of the box, longest length; feet and mm alike."""
    given = case["inputs"]
    a, b = (given["a"], given["b"]) if "a" in given else (given["a_mm"], given["b_mm"])
    return a, b, given.get("width_mm", 0.0), case["expected"]


@pytest.mark.parametrize("name", CORNERS)
def test_longest_box_round_a_corner(name: str, published: Any) -> None:
    """The published length just turns (Stewart, Calculus, and the form with a width)."""
    a, b, width, longest = corner_case(published[name])
    step = 2 * published[name]["tolerance"]["abs"]
    room = [through_corridors(longest + d, width, (a, b), ()).spare_mm for d in (-step, step)]
    assert room[0] > 0 > room[1]


@pytest.mark.parametrize("name", CORNERS)
def test_the_corner_against_a_dense_sweep(name: str, published: Any) -> None:
    """300,001 angles, none of our formulas: the least room is where we say."""
    a, b, width, longest = corner_case(published[name])
    t = np.linspace(0.0, np.pi / 2, 300_001)
    for length in (0.9 * longest, longest, 1.1 * longest):
        swept = float((a * np.sin(t) + b * np.cos(t) - length * np.sin(t) * np.cos(t)).min())
        sliding = max(min(a - width, b - length), min(a - length, b - width))
        found = through_corridors(length, width, (a, b), ())
        assert found.spare_mm == pytest.approx(max(swept - width, sliding), abs=1e-6 * longest)


def test_a_wrong_answer_in_public(published: Any) -> None:
    """A page prints 20.97 for corridors of 5.8 and 8.73; a rod of that length sticks."""
    a, b, _, longest = corner_case(published["corner-wrong"])
    assert through_corridors(20.97, 0.0, (a, b), ()).spare_mm < 0
    assert through_corridors(longest - 0.01, 0.0, (a, b), ()).spare_mm > 0


@pytest.mark.parametrize("name", ["tilt-2100-100-2000-800", "tilt-2150-500-2000-800"])
def test_leaning(name: str, published: Any) -> None:
    """Carver's problem: neither cross-section goes through, leaning or not; a bit more does."""
    case = published[name]
    (p, q), (a, b) = case["inputs"]["object_mm"], case["inputs"]["opening_mm"]

    def goes(width: float) -> bool:
        door = RoutePassage("door", "Door", doorway=Doorway(float(a), width))
        return cross(Carried("x", (p, q, 9e4), led_along="z"), [door], BARE)[0].passes

    assert goes(b) is case["expected"]["fits"] is False
    t = np.linspace(0.0, np.pi / 2, 90_001)
    wide = p * np.cos(t) + q * np.sin(t) <= a
    least = float((p * np.sin(t) + q * np.cos(t))[wide].min())
    assert not goes(least - 0.2) and goes(least + 0.2)


def test_tipping_up_takes_the_diagonal(published: Any) -> None:
    """The cabinet-maker's rule: a box laid on its back stands up under its side diagonal."""
    case = published["ceiling-2300"]
    height, depth = case["inputs"]["height_mm"], case["inputs"]["depth_mm"]
    box = Carried("case", (500.0, depth, height))
    low = RoutePassage("low", "Low door", doorway=Doorway(900.0, 1000.0))
    crossing = cross(box, [low], BARE)
    found = turnings(box, [low], crossing, 0.0)
    assert crossing[0].attitude == "on-back" and len(found) == 2
    assert found[0].height_needed_mm == pytest.approx(case["expected"], abs=0.01)
    ceiling = replace(low, ceiling_mm=2376.0)
    assert [t.fits for t in turnings(box, [ceiling], crossing, 0.0)] == [False, False]


def test_ada(published: Any) -> None:
    """ADA 2010, 404.2.3 and 307.4: 32 in (815 mm) by 80 in; projections up to 4 in above 34."""
    door = OPENINGS["ada-clear-door"]
    assert door.width_mm == published["ada-clear"]["expected"]["clear_width_mm"]
    height = published["ada-height"]["expected"]["clear_height_in"] * 25.4
    assert door.height_mm is not None and 0 <= height - door.height_mm <= 2.0
    assert f"{published['ada-projection']['expected']['max_projection_in']} in" in door.note


@pytest.mark.parametrize(
    ("name", "case", "key"),
    [
        ("adm-home-750-head-on", "adm-dw-750-900", "clear_opening_mm"),
        ("adm-home-775", "adm-dw-775-1050", "clear_opening_mm"),
        ("adm-new-800", "adm-nd-straight-on-800", "new_mm"),
        ("adm-existing-750", "adm-nd-straight-on-800", "existing_mm"),
        ("adm-public-1000", "adm-nd-external-doors-used-by-the-general-public-1000", "new_mm"),
        (
            "adm-public-existing-775",
            "adm-nd-external-doors-used-by-the-general-public-1000",
            "existing_mm",
        ),
        ("din-635", "din-635", "unrebated_leaf_mm"),
        ("din-885", "din-885", "unrebated_leaf_mm"),
        ("din-1135", "din-1135", "unrebated_leaf_mm"),
        ("iso-container-20", "iso-door", "door_width_mm"),
        ("lift-630", "lift-630", "door_width_mm"),
        ("lift-1000", "lift-1000", "door_width_mm"),
    ],
)
def test_published_widths(name: str, case: str, key: str, published: Any) -> None:
    """Approved Document M, DIN 18101, ISO 668/1496-1, ISO 8100-30: as in the data file."""
    assert OPENINGS[name].width_mm == published[case]["expected"][key]


def test_published_insides_and_heights(published: Any) -> None:
    """Container, lift cars, leaf heights, the passage in front, stairs, pallet."""
    box = OPENINGS["iso-container-20"]
    assert box.height_mm == published["iso-door"]["expected"]["door_height_mm"]
    assert box.inside_width_mm == published["iso-width"]["expected"]
    assert box.depth_mm == published["iso-20-len"]["expected"]
    for name in ("lift-630", "lift-1000"):
        car = published[name]["expected"]
        assert OPENINGS[name].inside_width_mm == car["car_width_mm"]
        assert OPENINGS[name].depth_mm == car["car_depth_mm"]
    leaf = published["din-h-1985"]["expected"]["unrebated_leaf_mm"]
    assert {OPENINGS[f"din-{w}"].height_mm for w in (635, 885, 1135)} == {leaf}
    assert (
        OPENINGS["adm-home-775"].before_mm == published["adm-dw-775-1050"]["inputs"]["passage_mm"]
    )
    stairs = published["stair-osha"]["expected"]["min_width_in"] * 25.4
    assert OPENINGS["osha-stairs"].flight_width_mm == pytest.approx(stairs)
    pallet = published["epal"]["expected"]
    assert (EN_13698_1.length_mm, EN_13698_1.width_mm, EN_13698_1.height_mm) == (
        pallet["length_mm"], pallet["width_mm"], pallet["height_mm"]
    )  # fmt: skip


def test_what_is_measured_stands() -> None:
    """The library fills gaps only; heights it does not print stay missing."""
    filled = with_library({"id": "d", "library": "ada-clear-door", "width_mm": 790.0})
    assert (filled["width_mm"], filled["height_mm"]) == (790.0, 2030.0)
    assert "height_mm" not in with_library({"id": "d", "library": "adm-new-800"})
    for entry in OPENINGS.values():
        assert entry.source and entry.clause and entry.status in ("read", "from memory")

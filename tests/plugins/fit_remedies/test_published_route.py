"""The route that ways are held against: published openings and corners."""

from typing import Any

import pytest

from baywright_plugins.fit_remedies.journey import Journey
from baywright_plugins.route_fit.passing import (
    Carried,
    Doorway,
    RouteClearances,
    RoutePassage,
    passes,
)

Cases = dict[str, Any]
BARE = RouteClearances(each_side_mm=0, above_mm=0, lifted_mm=0, carrier_each_end_mm=0)


def doorway(width_mm: float, height_mm: float) -> Journey:
    return Journey([RoutePassage("door", "Door", doorway=Doorway(width_mm, height_mm))], BARE)


def test_a_leaning_section_needs_what_carver_says(published: Cases) -> None:
    """Carver 1957, Wetzel 2000: 2100 x 100 needs 835.2 beside 2000."""
    case = published["tilt-2100-100-2000-800"]
    p, q = case["inputs"]["object_mm"]
    a, b = case["inputs"]["opening_mm"]
    needed = case["expected"]["short_side_needed_mm"]
    long = 3000.0  # too long to be led end first through the opening on any other face
    assert not doorway(a, b).passes((long, p, q))
    assert not doorway(a, needed - 0.1).passes((long, p, q))
    assert doorway(a, needed + 0.1).passes((long, p, q))


def test_a_thick_section_sticks(published: Cases) -> None:
    """Carver 1957: 2150 x 500 does not go through 2000 x 800."""
    case = published["tilt-2150-500-2000-800"]["inputs"]
    assert not doorway(*case["opening_mm"]).passes((3000.0, *case["object_mm"]))


@pytest.mark.parametrize("name", ["rect-1200-1200-600", "rect-1000-1500-400"])
def test_a_box_round_a_corner(published: Cases, name: str) -> None:
    """Stewart's ladder with a width: a hair shorter goes round, a hair longer sticks."""
    case = published[name]
    a, b, width = (case["inputs"][k] for k in ("a_mm", "b_mm", "width_mm"))
    corner = RoutePassage("corner", "Corner", corridors_mm=(a, b), ceiling_mm=width + 1.0)
    journey = Journey([corner], BARE)
    longest = case["expected"]
    assert journey.passes((longest - 0.1, width, width))
    assert not journey.passes((longest + 0.1, width, width))


def test_remembered_sizes_answer_as_a_fresh_look_does() -> None:
    """Whatever the order of questions: the memory of sizes that pass changes no answer."""
    passages = [
        RoutePassage("door", "Door", doorway=Doorway(745.0, 1960.0, 20.0)),
        RoutePassage("corner", "Corner", corridors_mm=(1200.0, 1100.0)),
    ]
    clear = RouteClearances()
    journey = Journey(passages, clear)
    sizes = [
        (float(x), float(y), float(z))
        for x in range(400, 2000, 230)
        for y in range(500, 900, 90)
        for z in range(700, 2100, 280)
    ]
    for size in sizes[::2] + sizes[1::2]:
        assert journey.passes(size) == passes(Carried("", size), passages, clear)

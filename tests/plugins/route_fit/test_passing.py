"""What a search relies on: smaller passes where larger does, nothing passes for want of ways."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.schemas import PassageSchema
from baywright_plugins.route_fit.journey import turnings
from baywright_plugins.route_fit.passing import (
    Carried,
    Doorway,
    RouteClearances,
    RoutePassage,
    clearances_from_inputs,
    cross,
    passages_from_inputs,
    passes,
)
from baywright_plugins.route_fit.route_schemas import RouteClearancesSchema, RoutePassageSchema

HARD = settings(deadline=None, derandomize=True, max_examples=15)

ROUTE: list[dict[str, Any]] = [
    {"id": "door", "width_mm": 900, "height_mm": 2000, "threshold_mm": 20},
    {"id": "bar", "width_mm": 950, "height_mm": 2000,
     "hardware": [{"side": "left", "projects_mm": 100, "from_mm": 900, "to_mm": 1000}]},
    {"id": "side", "width_mm": 950, "height_mm": 2050, "before_mm": 1500, "behind_mm": 1700},
    {"id": "corner", "corner_mm": [1300, 1200], "ceiling_mm": 2400},
    {"id": "zigzag", "corridors_mm": [1200, 1500, 1100], "legs_mm": [2200]},
    {"id": "lift", "kind": "lift", "width_mm": 1000, "height_mm": 2050, "depth_mm": 1400,
     "inside_width_mm": 1200, "inside_height_mm": 2200},
    {"id": "stairs", "kind": "stairs",
     "flight": {"going_mm": 280, "rise_mm": 170, "width_mm": 1100, "headroom_mm": 2200},
     "landings": [{"turn": "quarter", "length_mm": 1100},
                  {"turn": "half", "length_mm": 1300, "width_mm": 2400}, {"length_mm": 1200}]},
]  # fmt: skip
PASSAGES = passages_from_inputs([RoutePassageSchema().load(p) for p in ROUTE])
side = st.floats(50, 2600)


@HARD
@given(
    st.tuples(side, side, side), st.tuples(*[st.floats(0.3, 1.0)] * 3), st.booleans(),
    st.sampled_from([None, "x", "y"]),
)  # fmt: skip
def test_smaller_passes_where_larger_does(
    size: tuple[float, float, float],
    shrink: tuple[float, float, float],
    upright: bool,
    led: str | None,
) -> None:
    """At every kind of passage, for boxes smaller in all three sizes."""
    less = tuple(a * b for a, b in zip(size, shrink, strict=True))
    room = RouteClearances()
    large = cross(Carried("a", size, (), led, upright), PASSAGES, room)
    small = cross(Carried("b", less, (), led, upright), PASSAGES, room)  # type: ignore[arg-type]
    for one, other in zip(large, small, strict=True):
        assert other.passes or not one.passes, (one.passage, one.governs, other.governs)


@HARD
@given(st.tuples(side, side, side))
def test_the_short_question_agrees(size: tuple[float, float, float]) -> None:
    """`passes` says what `cross` says, and each crossing is as good as its tightest way."""
    room = RouteClearances()
    crossings = cross(Carried("a", size), PASSAGES, room)
    assert passes(Carried("a", size), PASSAGES, room) == all(c.passes for c in crossings)
    for crossing in crossings:
        assert crossing.passes == all(way.passes for way in crossing.ways)
        assert crossing.spare_mm == min(way.spare_mm for way in crossing.ways)
        assert crossing.governs in crossing.ways
        assert len(crossing.ways) == len(crossing.tried) > 0


numbers = {
    name: st.floats(1, 5000)
    for name in ("width_mm", "height_mm", "leaf_off_width_mm", "depth_mm", "threshold_mm")
}


@HARD
@given(st.fixed_dictionaries({"id": st.just("p")}, optional={
    **numbers, "corner_mm": st.lists(st.floats(1, 5000), min_size=2, max_size=2),
    "kind": st.sampled_from(["door", "lift", "corridor-corner", "stairs", "van", "other"]),
    "leaf_off": st.booleans(),
}))  # fmt: skip
def test_what_grid_fit_takes_is_taken_here(body: dict[str, Any]) -> None:
    """Every passage that is valid there is valid here, and makes the same opening and corner."""
    if PassageSchema().validate(body):
        return
    assert RoutePassageSchema().validate(body) == {}
    passage = passages_from_inputs([RoutePassageSchema().load(body)])[0]
    assert (passage.doorway is None) == ("width_mm" not in body)
    assert len(passage.corridors_mm) == (2 if "corner_mm" in body else 0)
    assert passages_from_inputs([PassageSchema().load(body)])[0] == passage


def test_clearances_left_out_are_the_same_as_given() -> None:
    """The schema's defaults are those of the plain values."""
    assert clearances_from_inputs(RouteClearancesSchema().load({})) == RouteClearances()
    assert clearances_from_inputs(None) == RouteClearances()


def test_one_attitude_for_door_and_corner() -> None:
    """A passage that can be taken in one attitude throughout is; by hand rather than on a skid."""
    both = RoutePassage("p", "P", doorway=Doorway(900.0, 2000.0), corridors_mm=(1200.0, 1200.0))
    found = cross(Carried("b", (1114.0, 634.0, 1499.0)), [both], RouteClearances())[0]
    assert {way.attitude for way in found.ways} == {"upright"}
    assert {way.carried for way in found.ways} == {"by-hand"}
    skid = cross(Carried("b", (1700.0, 634.0, 1600.0)), [both], RouteClearances())[0]
    assert skid.passes and skid.ways[1].carried == "on-skid"


def test_no_attitude_at_all_is_refused() -> None:
    """Upright only, and led along its upright axis: a contradiction, not a pass."""
    with pytest.raises(ValueError, match="kept upright"):
        Carried("b", (1.0, 1.0, 1.0), led_along="z", keep_upright=True)


def test_fewest_turnings() -> None:
    """Lying at the first and third passage, it stays lying between; two turnings in all."""
    low = RoutePassage("low", "Low", doorway=Doorway(900.0, 1200.0), ceiling_mm=2000.0)
    high = RoutePassage("high", "High", doorway=Doorway(900.0, 2100.0))
    low2 = RoutePassage("low2", "Low 2", doorway=Doorway(900.0, 1200.0))
    box = Carried("b", (700.0, 800.0, 1900.0))
    route = [low, high, low2, high]
    found = turnings(box, route, cross(box, route, RouteClearances()), 15.0)
    assert [(t.after, t.before, t.to_attitude) for t in found] == [
        (None, "low", found[0].to_attitude),
        ("low2", "high", "upright"),
    ]
    assert found[0].ceiling_mm == 2000.0 and found[0].fits is False and found[1].fits is None


def test_twins_share_what_is_worked_out() -> None:
    """The name of a thing does not matter: its twin's crossing is the very same object."""
    room = RouteClearances(each_side_mm=3.25)
    one, other = (cross(Carried(name, (500.0, 500.0, 500.0)), PASSAGES[:1], room) for name in "ab")
    assert one[0] is other[0]

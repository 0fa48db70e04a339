"""What is asked and said: faults, doors, gaps, limits, payload, and searches that give up."""

import json
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from baywright_plugins.route_fit.vehicle import (
    Cargo,
    VehicleOut,
    VehicleSchema,
    draw_vehicle,
    solve,
    vehicle_answers,
)
from baywright_service.contract import CannotCalculate, InvalidInputs, svg_text
from baywright_service.fields import flatten_faults
from baywright_service.json_writer import plain
from baywright_service.schemas import json_schema

from .packings import judge, load

BAY = {"length_mm": 2000, "width_mm": 1000, "height_mm": 1000}


def faults_of(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    _, faults = flatten_faults(VehicleSchema(), {**BAY, **body})
    return [(pointer, fault.code) for pointer, fault in faults]


def codes(findings: Any) -> list[tuple[str, str]]:
    return [(finding.code, finding.level) for finding in findings]


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ({"length_mm": 0}, [("/length_mm", "out-of-range")]),
        ({"aim": "free-lenght"}, [("/aim", "out-of-range")]),
        ({"blocked": [{"at_mm": [0, 0]}]}, [("/blocked/0/size_mm", "missing")]),
        ({"items": [{"id": "a"}, {"id": "a"}]}, [("/items/1/id", "not-unique")]),
        (
            {"items": [{"id": "a", "this_side_up": True, "may_lie_on": ["x"]}]},
            [("/items/0/may_lie_on", "out-of-range")],
        ),
        (
            {"items": [{"id": "a", "this_side_up": True, "led_along": "z"}]},
            [("/items/0/led_along", "out-of-range")],
        ),
        (
            {"boxes": [{"id": "a", "size_mm": {"x": 1, "y": 0, "z": 1}}]},
            [("/boxes/0/size_mm/y", "out-of-range")],
        ),
        ({"gap": 3}, [("/gap", "unknown-field")]),
    ],
)
def test_faults_are_named(body: dict[str, Any], expected: list[tuple[str, str]]) -> None:
    """One change to a valid body, one fault with its place."""
    assert faults_of({}) == []
    assert faults_of(body) == expected


@pytest.mark.parametrize(
    ("options", "expected"),
    [
        ({"items": [{"id": "b"}]}, [("/vehicle/items/0/id", "unknown-reference")]),
        (
            {"boxes": [{"id": "a", "size_mm": {"x": 1, "y": 1, "z": 1}}]},
            [("/vehicle/boxes/0/id", "not-unique")],
        ),
        (
            {"blocked": [{"at_mm": [1900, 0], "size_mm": [200, 100, 100]}]},
            [("/vehicle/blocked/0/size_mm", "out-of-range")],
        ),
        (
            {
                "blocked": [
                    {"at_mm": [0, 0], "size_mm": [200, 100, 100]},
                    {"at_mm": [100, 50], "size_mm": [200, 100, 100]},
                ]
            },
            [("/vehicle/blocked/1/at_mm", "out-of-range")],
        ),
    ],
)
def test_faults_between_parts(options: dict[str, Any], expected: list[tuple[str, str]]) -> None:
    """Names that lead nowhere or stand twice, and blocks where none can be."""
    with pytest.raises(InvalidInputs) as caught:
        vehicle_answers(
            VehicleSchema().load({**BAY, **options}), [Cargo("a", "", (100.0, 100.0, 100.0))]
        )
    assert [(pointer, fault.code) for pointer, fault in caught.value.faults] == expected


def test_nothing_and_too_much_are_refused() -> None:
    """Rather than packed badly."""
    with pytest.raises(InvalidInputs, match="nothing to load"):
        load({}, (2000, 1000, 1000))
    boxes = {f"b{k}": (10.0, 10.0, 10.0) for k in range(25)}
    with pytest.raises(CannotCalculate, match="at most 24"):
        load(boxes, (2000, 1000, 1000))


def test_the_door_decides_how_a_thing_may_travel() -> None:
    """900 high does not pass a door of 800 less 10 of room, so it lies; 1000 by 1000 never does."""
    door: dict[str, Any] = {"door_width_mm": 900, "door_height_mm": 800}
    record, findings = load({"tall": (300, 300, 900)}, (2000, 1000, 1000), **door)
    assert record["placements"][0]["attitude"] == "on-back"
    record, findings = load({"slab": (1000, 1000, 850)}, (2000, 1000, 1000), **door)
    assert codes(findings) == [("does-not-pass-vehicle-door", "stop")]
    measure = findings[0].measure
    assert measure is not None and (measure.value, measure.limit) == (1000, 880)
    assert "120 mm too little" in findings[0].message
    record, findings = load({"long": (2100, 300, 300)}, (2000, 1000, 1000))
    assert codes(findings) == [("too-large-for-vehicle", "stop")]
    assert "100 mm too little" in findings[0].message


def test_gaps_are_kept() -> None:
    """Three boxes of 600 in 2000: with 50 between and 20 to the walls 1940; with 150 not at all."""
    boxes = {name: (600.0, 900.0, 900.0) for name in "abc"}
    bay = (2000.0, 1000.0, 1000.0)
    upright: dict[str, Any] = {
        "items": [{"id": n, "this_side_up": True, "do_not_stack": True} for n in boxes]
    }
    gaps: dict[str, Any] = {"gap_between_mm": 50, "gap_walls_mm": 20}
    record, _ = load(boxes, bay, **upright, **gaps)
    judge(record, boxes, **gaps)
    assert record["used_length_mm"] == 20 + 3 * 600 + 2 * 50
    assert record["free_length_mm"] == 80
    record, findings = load(boxes, bay, **upright, gap_between_mm=150, gap_walls_mm=20)
    assert record["answer"] == "does-not-fit"
    assert record["least_mm"] == pytest.approx(20 + 1800 + 300, rel=0.001)
    assert {"change": "leave-out", "id": "a"} in record["would_help"]
    assert "on another trip" in findings[0].message


def test_limits_on_what_may_stand_on_a_thing() -> None:
    """20 kg may stand on the case: one of two crates does; of unknown mass neither may."""
    crate = (400.0, 400.0, 400.0)
    boxes = {"case": (1000.0, 1000.0, 300.0), "one": crate, "two": crate}
    item = {"id": "case", "load_on_top_kg_max": 20, "this_side_up": True}
    masses = {"case": 10.0, "one": 15.0, "two": 15.0}
    record, _ = load(boxes, (1400, 1000, 800), masses=masses, items=[item])
    judge(record, boxes)
    on_case = [row for row in record["placements"] if row["on"] == ["case"]]
    assert len(on_case) <= 1
    assert next(r for r in record["placements"] if r["id"] == "case")["load_on_top_kg"] <= 20
    record, _ = load(boxes, (1000, 1000, 800), masses=masses, items=[item])
    assert record["answer"] == "does-not-fit", "both would have to stand on it"
    record, _ = load(boxes, (1000, 1000, 800), masses=masses)
    assert record["answer"] == "fits"
    record, _ = load(boxes, (1000, 1000, 800), items=[item])
    assert record["answer"] == "does-not-fit"


def test_do_not_stack_is_what_stops_it_and_is_said() -> None:
    """Two crates fit on one another only; the finding says so."""
    boxes = {"one": (900.0, 900.0, 400.0), "two": (900.0, 900.0, 400.0)}
    items = [{"id": name, "do_not_stack": True, "this_side_up": True} for name in boxes]
    record, findings = load(boxes, (1000, 1000, 1000), items=items)
    assert codes(findings) == [("vehicle-too-small", "stop")]
    assert {"change": "stack"} in record["would_help"]
    assert "let things stand on one another" in findings[0].message


def test_payload_and_centre_of_mass() -> None:
    """60 kg against 50; 40 and 20 kg in a row balance a third of the way between them."""
    boxes = {"heavy": (1000.0, 1000.0, 500.0), "light": (1000.0, 1000.0, 500.0)}
    masses = {"heavy": 40.0, "light": 20.0}
    items = [{"id": name, "do_not_stack": True, "this_side_up": True} for name in boxes]
    record, findings = load(
        boxes, (2000, 1000, 1000), masses=masses, items=items, max_payload_kg=50
    )
    assert ("payload-exceeded", "stop") in codes(findings)
    places = {row["id"]: row["at_mm"][0] + 500 for row in record["placements"]}
    expected = (40 * places["heavy"] + 20 * places["light"]) / 60
    assert record["centre_of_mass_mm"] == pytest.approx([expected, 500, 250])
    _, findings = load(
        boxes, (2000, 1000, 1000), masses={"heavy": 40.0}, items=items, max_payload_kg=50
    )
    assert ("mass-not-known", "watch") in codes(findings)


def test_a_stack_tips_as_one() -> None:
    """Two crates 400 wide and 500 high, 10 kg under 30: the common centre is (10 x 250 + 30 x 750)
    / 40 = 625 up, half the base 200: 0.32. Each alone has 200/250 = 0.8."""
    boxes = {"low": (400.0, 400.0, 500.0), "top": (400.0, 400.0, 500.0)}
    items = [{"id": name, "this_side_up": True} for name in boxes]
    items[1]["do_not_stack"] = True
    record, findings = load(boxes, (400, 400, 1000), masses={"low": 10.0, "top": 30.0}, items=items)
    low = record["placements"][0]
    assert low["stack_across_ratio"] == pytest.approx(0.32)
    assert low["tips_across_ratio"] == pytest.approx(0.8)
    assert ("stack-would-tip-in-a-bend", "watch") in codes(findings)


def test_a_search_that_gives_up_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Watch, not stop: nothing was found and nothing ruled out."""
    boxes = {f"q{side}": (side, side, 1.0) for side in (18, 15, 14, 10, 9, 8, 7, 4, 1)}
    monkeypatch.setattr(solve, "most_nodes", lambda count: 30)
    record, findings = load(boxes, (33, 32, 1))
    assert record["answer"] == "not-decided"
    assert codes(findings) == [("vehicle-not-decided", "watch")]
    assert record["nodes_searched_count"] == 30
    assert draw_vehicle(record).shapes == []


def test_wheel_arches_are_kept_clear_of() -> None:
    """Two crates go between and behind the arches; with arches that bear, one stands on one."""
    arches = [
        {"at_mm": [800, 0], "size_mm": [500, 200, 300]},
        {"at_mm": [800, 800], "size_mm": [500, 200, 300]},
    ]
    boxes = {"a": (800.0, 900.0, 600.0), "b": (600.0, 600.0, 600.0), "c": (150.0, 450.0, 100.0)}
    record, _ = load(boxes, (2000, 1000, 1000), blocked=arches)
    judge(record, boxes)
    bearing = [{**arch, "bears": True} for arch in arches]
    record, _ = load({"c": (480.0, 180.0, 100.0), "a": (1990.0, 580.0, 900.0)}, (2000, 1000, 1000),
                     blocked=bearing, items=[{"id": "a", "do_not_stack": True}])  # fmt: skip
    assert record["answer"] == "fits"


def test_equal_requests_give_equal_answers() -> None:
    """Byte for byte."""
    boxes = {f"b{k}": (300.0 + 41 * k, 700.0 - 37 * k, 250.0 + 29 * k) for k in range(5)}
    answers = [
        json.dumps(plain(load(boxes, (2000, 1000, 1000))[0]), sort_keys=True) for _ in range(2)
    ]
    assert answers[0] == answers[1]


LENGTHS = st.one_of(
    st.sampled_from([1.0, 100_000.0, 999.9999, 0.5]), st.floats(1, 3000), st.integers(1, 2000)
)
SIZE: st.SearchStrategy[dict[str, float]] = st.builds(dict, x=LENGTHS, y=LENGTHS, z=LENGTHS)
BOX = st.builds(
    lambda size, mass: {"size_mm": size} | ({} if mass is None else {"mass_kg": mass}),
    SIZE,
    st.none() | st.sampled_from([0.0, 1e-9, 12.5, 100_000.0]),
)
ITEM = st.fixed_dictionaries(
    {},
    optional={
        "this_side_up": st.booleans(),
        "do_not_stack": st.booleans(),
        "load_on_top_kg_max": st.sampled_from([0.0, 10.0]),
        "centre_height_mm": st.sampled_from([1e-9, 50.0, 100_000.0]),
        "base_mm": st.just([1.0, 100_000.0]),
    },
)
VEHICLE = st.fixed_dictionaries(
    {
        "length_mm": st.sampled_from([1, 2900, 100_000]),
        "width_mm": st.sampled_from([1, 1700, 100_000]),
        "height_mm": st.sampled_from([1, 1750, 100_000]),
    },
    optional={
        "gap_between_mm": st.sampled_from([0.001, 33.3, 1000]),
        "gap_walls_mm": st.sampled_from([0.001, 33.3, 1000]),
        "gap_door_mm": st.sampled_from([0, 1000]),
        "door_width_mm": st.sampled_from([1, 1500, 100_000]),
        "door_height_mm": st.sampled_from([1, 1500, 100_000]),
        "max_payload_kg": st.sampled_from([0.001, 500.0]),
        "rear_only": st.booleans(),
        "aim": st.sampled_from(["free-length", "free-width"]),
        "blocked": st.sampled_from(
            [[{"at_mm": [0, 0], "size_mm": [1, 1, 1], "bears": True}]]
        ),
    },
)  # fmt: skip


@settings(deadline=None, derandomize=True, max_examples=40)
@given(VEHICLE, st.lists(st.tuples(BOX, ITEM), min_size=1, max_size=4))
def test_any_valid_input_gets_an_answer(
    vehicle: dict[str, Any], boxes: list[tuple[dict[str, Any], dict[str, Any]]]
) -> None:
    """Extreme sizes too: an answer that follows its schema, obeys the rules and can be drawn."""
    body = {
        **vehicle,
        "boxes": [{"id": f"b{k}", **box} for k, (box, _) in enumerate(boxes)],
        "items": [{"id": f"b{k}", **item} for k, (_, item) in enumerate(boxes)],
    }
    loaded, faults = flatten_faults(VehicleSchema(), body)
    assert faults == []
    record, findings = vehicle_answers(loaded, [])
    answer = plain(record)
    json.dumps(answer, allow_nan=False)
    Draft202012Validator(json_schema(VehicleOut)).validate(answer)
    assert svg_text(draw_vehicle(record))
    if record["answer"] == "fits" and not body.get("blocked"):
        sizes = {b["id"]: tuple(max(b["size_mm"][a], 0.001) for a in "xyz") for b in body["boxes"]}
        rounded = {k: tuple(round(v, 3) for v in size) for k, size in sizes.items()}
        judge(record, rounded, **body)
    assert all(finding.message for finding in findings)


def test_cargo_of_the_route_keeps_its_place_in_the_inputs() -> None:
    """What does not go in points to the box it came from."""
    cargo = [Cargo("beam", "Beam", (5000.0, 10.0, 10.0), 3.0, "/boxes/7")]
    _, findings = vehicle_answers(VehicleSchema().load(BAY), cargo)
    assert findings[0].at == ("/boxes/7",)

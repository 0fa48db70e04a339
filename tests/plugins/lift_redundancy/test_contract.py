"""Inputs refused by name, examples, drawings, table, and the same through HTTP."""

import copy
import doctest
import importlib
import pkgutil
from collections.abc import Callable, Mapping
from typing import Any
from xml.etree import ElementTree

import pytest

import baywright_plugins.lift_redundancy as package
from baywright_plugins.lift_redundancy import LiftRedundancy
from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    InvalidInputs,
    Label,
    Polygon,
    Result,
    merge_patch,
    svg_text,
)

CALCULATOR = LiftRedundancy()
PLANNED, CHANGED, CHAIN_ALONE, UNLIKE, BRIDGE, _ = (dict(e.inputs) for e in CALCULATOR.examples)


def run(body: Mapping[str, Any]) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(body))


def faults(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInputs) as caught:
        CALCULATOR.load(body)
    return [(pointer, fault.code) for pointer, fault in caught.value.faults]


@pytest.mark.parametrize("example", CALCULATOR.examples, ids=lambda e: e.title)
def test_examples_hold_to_the_published_schemas(
    example: Any, assert_example_holds: Callable[[Calculator, Mapping[str, Any]], None]
) -> None:
    assert_example_holds(CALCULATOR, example.inputs)


@pytest.mark.parametrize("example", CALCULATOR.examples, ids=lambda e: e.title)
@pytest.mark.parametrize("view", CALCULATOR.views)
def test_every_view_of_every_example_is_drawn(example: Any, view: str) -> None:
    inputs = CALCULATOR.load(example.inputs)
    drawing = CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), view)
    text = svg_text(drawing)
    assert "nan" not in text.lower().split("<desc")[0]
    ElementTree.fromstring(text)
    again = CALCULATOR.load(example.inputs)
    assert svg_text(CALCULATOR.draw(again, CALCULATOR.calculate(again), view)) == text


def test_network_marks_the_bottleneck_by_a_second_outline_and_a_word() -> None:
    inputs = CALCULATOR.load(PLANNED)
    drawing = CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), "network")
    words = [shape.text for shape in drawing.shapes if isinstance(shape, Label)]
    assert words.count("18 / min, limit") == 4
    hatched = [s for s in drawing.shapes if isinstance(s, Polygon) and s.ink.hatched]
    assert len(hatched) == 9  # five stations and four lifts stop the flow alone


def test_table_has_a_row_for_each_state() -> None:
    inputs = CALCULATOR.load(PLANNED)
    table = CALCULATOR.table(inputs, CALCULATOR.calculate(inputs))
    assert len(table.rows) == 5
    assert [row[0] for row in table.rows[:3]] == ["none", "lift-1", "lift-1 lift-2"]
    flow = table.columns.index("flow_per_min")
    assert [row[flow] for row in table.rows] == [60, 54, 36, 18, 0]
    assert all(len(row) == len(table.columns) for row in table.rows)


FAULTS: list[tuple[str, str, dict[str, Any], Any]] = [
    ("", "missing", {"lifts": None, "chain": None, "stations": None}, PLANNED),
    ("/required_balls_per_min", "missing", {"required_balls_per_min": None}, PLANNED),
    ("/lifts/0/capacity_per_min", "missing", {"chain": None}, PLANNED),
    ("/lifts", "too-many", {"lifts": [{"id": "a", "count": 7}, {"id": "b", "count": 6}]}, PLANNED),
    ("/lifts/0/mttr_h", "missing", {"lifts": [{"id": "a", "mtbf_h": 3}]}, PLANNED),
    (
        "/lifts/0/availability_ratio",
        "not-unique",
        {"lifts": [{"id": "a", "mtbf_h": 3, "mttr_h": 1, "availability_ratio": 0.5}]},
        PLANNED,
    ),
    (
        "/lifts/0/hooks_per_min",
        "not-unique",
        {"lifts": [{"id": "a", "capacity_per_min": 3, "hooks_per_min": 3}]},
        PLANNED,
    ),
    ("/lifts/0/id", "not-unique", {"lifts": [{"id": "floor"}]}, PLANNED),
    ("/lifts/1/id", "not-unique", {"lifts": [{"id": "a"}, {"id": "a"}]}, PLANNED),
    (
        "/shared_causes/0/id",
        "unknown-reference",
        {"shared_causes": [{"id": "M9", "availability_ratio": 0.9}]},
        PLANNED,
    ),
    (
        "/divider_lanes/0/feeds/1",
        "unknown-reference",
        {"divider_lanes": [{"id": "x", "feeds": ["lift-1", "lift-9"]}]},
        PLANNED,
    ),
    (
        "/paths",
        "out-of-range",
        {"paths": [{"id": "p", "transit_s": 9, "share_ratio": 0.9}]},
        PLANNED,
    ),
    (
        "/paths/0/id",
        "not-unique",
        {"paths": [{"id": "floor", "transit_s": 9, "share_ratio": 1}]},
        PLANNED,
    ),
    ("/chain/centre_distance_mm", "missing", {"chain": {"centre_distance_mm": None}}, CHAIN_ALONE),
    ("/chain/shaft_turns_per_min", "not-unique", {"chain": {"shaft_turns_per_min": 5}}, PLANNED),
    (
        "/chain/hook_spacing_links_count",
        "missing",
        {"chain": {"hook_spacing_links_count": None}},
        PLANNED,
    ),
    ("/chain/teeth_count", "wrong-type", {"chain": {"teeth_count": 15.5}}, PLANNED),
    (
        "/chain/frame_frequencies_hz/1",
        "out-of-range",
        {"chain": {"frame_frequencies_hz": [3, 0]}},
        PLANNED,
    ),
    ("/network/sink", "unknown-reference", {"network": {"sink": "x"}}, BRIDGE),
    ("/network/sink", "not-unique", {"network": {"sink": "s"}}, BRIDGE),
    ("/stations", "not-unique", {"stations": {"floor_per_min": 5}}, BRIDGE),
    (
        "/lifts/0/id",
        "unknown-reference",
        {"lifts": [{"id": "z", "capacity_per_min": 1}], "required_balls_per_min": 1},
        BRIDGE,
    ),
    ("/stations/flor_per_min", "unknown-field", {"stations": {"flor_per_min": 5}}, PLANNED),
]


@pytest.mark.parametrize(("pointer", "code", "patch", "body"), FAULTS)
def test_fault_is_named(
    pointer: str, code: str, patch: dict[str, Any], body: dict[str, Any]
) -> None:
    assert (pointer, code) in faults(merge_patch(copy.deepcopy(body), patch))


def test_network_names_used_twice_are_refused() -> None:
    link = {"start": "s", "end": "t", "capacity_per_min": 3}
    body = {"network": {"source": "s", "sink": "t", "links": [link, link]}}
    assert faults(body) == [("/network/links/1/id", "not-unique")]


def test_sprockets_that_overlap_are_refused() -> None:
    body = merge_patch(CHAIN_ALONE, {"chain": {"centre_distance_mm": 50}})
    with pytest.raises(CannotCalculate) as caught:
        run(body)
    assert caught.value.pointer == "/chain/centre_distance_mm"
    with pytest.raises(CannotCalculate) as caught:
        run({"chain": {"pitch_mm": 12.7, "teeth_count": 30, "links_count": 30}})
    assert caught.value.pointer == "/chain/links_count"


def test_more_states_than_can_be_gone_through_are_refused() -> None:
    links = [
        {"id": f"l{k}", "start": "s", "end": "t", "availability_ratio": 0.9 + k / 1000}
        for k in range(13)
    ]
    with pytest.raises(CannotCalculate) as caught:
        run({"network": {"source": "s", "sink": "t", "links": links}})
    assert caught.value.pointer == "/network"


def test_twelve_lifts_that_all_differ_are_gone_through() -> None:
    lifts = [
        {"id": f"l{k}", "capacity_per_min": 5 + k / 2, "availability_ratio": 0.9} for k in range(12)
    ]
    value = run({"lifts": lifts, "required_balls_per_min": 60}).value
    assert len(value["states"]) == 4096
    assert sum(row["probability_ratio"] for row in value["states"]) == pytest.approx(1.0)


def test_lifts_in_a_network_of_ones_own() -> None:
    """Two lifts behind one narrow link: the link sets the flow, and stops it."""
    body = {
        "required_balls_per_min": 20,
        "lifts": [{"id": "lift", "count": 2, "capacity_per_min": 25, "availability_ratio": 0.9}],
        "network": {
            "source": "foot",
            "sink": "top",
            "nodes": [{"id": "fork", "capacity_per_min": 40}],
            "links": [
                {"start": "foot", "end": "fork", "capacity_per_min": 30},
                {"start": "fork", "end": "lift-1"},
                {"start": "fork", "end": "lift-2"},
                {"start": "lift-1", "end": "top"},
                {"start": "lift-2", "end": "top"},
            ],
        },
    }
    value = run(body).value
    assert value["capacity_per_min"] == 30.0
    assert [p["id"] for p in value["limited_by"]] == ["foot-fork"]
    assert [p["id"] for p in value["single_points"]] == ["fork", "foot-fork"]
    assert value["availability"]["independent_ratio"] == pytest.approx(0.99)
    assert [row["ways_count"] for row in value["states"]] == [1, 2, 1]


def test_every_answer_ends_with_what_it_is_not() -> None:
    assert CALCULATOR.cautions[-1].startswith("Planning aid, not a safety certificate")
    assert any("third higher" in text for text in run(PLANNED).assumptions)


@pytest.mark.parametrize("name", [m.name for m in pkgutil.iter_modules(package.__path__)])
def test_examples_in_docstrings(name: str) -> None:
    module = importlib.import_module(f"{package.__name__}.{name}")
    assert doctest.testmod(module).failed == 0


def test_the_planned_machine_through_http(client: Any, post: Callable[..., Any]) -> None:
    answer = post("lift-redundancy", PLANNED)
    assert answer.status_code == 200
    body = answer.get_json()
    assert (body["verdict"], body["calculator"]) == ("stop", "lift-redundancy")
    flows = [row["flow_worst_per_min"] for row in body["result"]["by_stopped"]]
    assert flows == [60, 54, 36, 18, 0]
    assert post("lift-redundancy", PLANNED).data == answer.data
    path = "/v1/calculators/lift-redundancy/run"
    table = client.post(path, json=PLANNED, headers={"Accept": "text/csv"})
    assert table.text.splitlines()[0].startswith("stopped,lifts_stopped_count")
    drawing = client.post(
        f"{path}?view=overflow", json=PLANNED, headers={"Accept": "image/svg+xml"}
    )
    assert drawing.status_code == 200 and "overflows after 26 s" in drawing.text


def test_faults_through_http(
    post: Callable[..., Any], faults_of: Callable[..., list[tuple[str, str]]]
) -> None:
    answer = post("lift-redundancy", merge_patch(PLANNED, {"required_balls_per_min": None}))
    assert answer.status_code == 422
    assert faults_of(answer) == [("/required_balls_per_min", "missing")]

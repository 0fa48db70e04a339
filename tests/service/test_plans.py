"""A plan is checked whole before anything runs; a step that fails takes only its dependants."""

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

Problems = Callable[..., dict[str, Any]]
Faults = Callable[[Any], list[tuple[str, str]]]

KIT = {"rods": [{"id": "R120", "pitch_mm": 120}]}
STOCK = {"counts": [{"item": "R120", "on_hand_count": 4}]}
SPAN = {"id": "row", "calculator": "span", "inputs": {"rod": "R120", "bays": 3}}
NEW = {"If-None-Match": "*"}


def ref(step: str, pointer: str) -> dict[str, str]:
    """A reference to a result."""
    return {"$ref": f"#/steps/{step}/result{pointer}"}


WEIGH = {"id": "mass", "calculator": "weigh", "inputs": {"length_mm": ref("row", "/span_mm")}}


@pytest.fixture
def run(client: FlaskClient) -> Callable[[Any], TestResponse]:
    """Post a plan."""
    return lambda plan: client.post("/v1/plans/run", json=plan)


Run = Callable[[Any], TestResponse]


def steps(*steps: Any, **more: Any) -> dict[str, Any]:
    """A plan with the kit."""
    return {"kit": KIT, "steps": list(steps), **more}


def test_results_flow_into_later_steps(run: Run) -> None:
    answer = run(steps(SPAN, WEIGH, title="Row")).get_json()
    assert (answer["title"], answer["verdict"], answer["documents"]) == ("Row", "ok", [])
    assert [step["status"] for step in answer["steps"]] == ["done", "done"]
    assert answer["steps"][1]["envelope"]["result"]["mass_g"] == 36.0


def test_steps_run_in_order_of_dependency_and_answer_in_order_of_the_plan(run: Run) -> None:
    answer = run(steps(WEIGH, SPAN)).get_json()
    assert [(step["id"], step["status"]) for step in answer["steps"]] == [
        ("mass", "done"),
        ("row", "done"),
    ]


def test_a_step_gives_what_the_calculator_called_alone_gives(client: FlaskClient, run: Run) -> None:
    answer = run(steps(SPAN, WEIGH, stock=STOCK)).get_json()
    alone = client.post("/v1/calculators/span/run", json={**SPAN["inputs"], "kit": KIT})  # type: ignore[dict-item]
    assert answer["steps"][0]["envelope"] == alone.get_json()
    body = {"length_mm": 360.0, "stock": STOCK}
    alone = client.post("/v1/calculators/weigh/run", json=body)
    assert answer["steps"][1]["envelope"] == alone.get_json()


def test_a_step_may_bring_its_own_kit(run: Run) -> None:
    own = {"rods": [{"id": "R120", "pitch_mm": 100}]}
    step = {**SPAN, "inputs": {"rod": "R120", "bays": 3, "kit": own}}
    assert run(steps(step)).get_json()["steps"][0]["envelope"]["result"]["span_mm"] == 300.0


def test_equal_plans_give_equal_bytes(run: Run) -> None:
    assert run(steps(SPAN, WEIGH)).data == run(steps(SPAN, WEIGH)).data


def test_findings_are_merged_with_step_and_place(run: Run) -> None:
    long = {**SPAN, "inputs": {"rod": "R120", "bays": 3, "limit_mm": 250}}
    answer = run(steps(WEIGH, long)).get_json()
    assert answer["verdict"] == "stop"
    finding = answer["findings"][0]
    assert (finding["step"], finding["code"]) == ("row", "too-long")
    assert finding["at"] == ["/steps/1/inputs/bays"]
    assert finding["remedy"]["patch"] == {"bays": 2}
    assert [step["status"] for step in answer["steps"]] == ["done", "done"]


def test_a_step_that_fails_takes_only_its_dependants(run: Run) -> None:
    refused = {**SPAN, "inputs": {"rod": "R120", "bays": 3, "limit_mm": 100}}
    other = {"id": "other", "calculator": "weigh", "inputs": {"length_mm": 1000}}
    last = {"id": "last", "calculator": "weigh", "inputs": {"length_mm": ref("mass", "/mass_g")}}
    last["calculator"] = "everything"
    last["inputs"] = {"anything": {"deep": [ref("mass", "/mass_g")]}}
    answer = run(steps(refused, WEIGH, other, last)).get_json()
    row, mass, free, end = answer["steps"]
    assert (row["status"], row["problem"]["type"]) == ("failed", "/v1/problems/cannot-calculate")
    assert row["problem"]["step"] == "row"
    assert row["problem"]["errors"][0]["pointer"] == "/steps/0/inputs/limit_mm"
    assert (mass["status"], mass["skipped_because"]) == ("skipped", ["row"])
    assert free["status"] == "done"
    assert (end["status"], end["skipped_because"]) == ("skipped", ["mass"])
    assert answer["verdict"] == "stop"


FAILURES = {
    "invalid inputs": ({"rod": "R120", "bays": 0}, "invalid-input"),
    "faults found late": ({"rod": "R85", "bays": 1}, "invalid-input"),
}


@pytest.mark.parametrize(("inputs", "type"), FAILURES.values(), ids=FAILURES.keys())
def test_invalid_inputs_of_a_step_are_its_own_problem(
    run: Run, inputs: dict[str, Any], type: str
) -> None:
    answer = run(steps({**SPAN, "inputs": inputs})).get_json()
    problem = answer["steps"][0]["problem"]
    assert problem["type"] == f"/v1/problems/{type}"
    assert problem["errors"][0]["pointer"].startswith("/steps/0/inputs/")
    assert "instance" not in problem


@pytest.mark.parametrize(("how", "type"), [("fault", "internal"), ("slow", "calculation-limit")])
def test_a_fault_of_ours_does_not_hide_other_steps(run: Run, how: str, type: str) -> None:
    answer = run(
        steps({"id": "bad", "calculator": "fail", "inputs": {"how": how}}, SPAN)
    ).get_json()
    bad, good = answer["steps"]
    assert bad["problem"]["type"] == f"/v1/problems/{type}"
    assert "secret" not in str(bad) and good["status"] == "done"


def step(id: str, calculator: str = "span", **inputs: Any) -> dict[str, Any]:
    """A step."""
    return {"id": id, "calculator": calculator, "inputs": inputs}


BROKEN: dict[str, tuple[Any, list[tuple[str, str]]]] = {
    "no object": ([], [("", "wrong-type")]),
    "no steps": ({}, [("/steps", "missing")]),
    "empty steps": ({"steps": []}, [("/steps", "out-of-range")]),
    "unknown member": ({**steps(SPAN), "stepz": 1}, [("/stepz", "unknown-field")]),
    "unknown member of a step": (
        steps({**SPAN, "input": {}}),
        [("/steps/0/input", "unknown-field")],
    ),
    "an id twice": (steps(SPAN, SPAN), [("/steps/1/id", "not-unique")]),
    "unknown calculator": (
        steps(step("a", "spam")),
        [("/steps/0/calculator", "unknown-reference")],
    ),
    "reference to no step": (
        steps(step("a", bays=ref("b", "/span_mm"))),
        [("/steps/0/inputs/bays", "unknown-reference")],
    ),
    "reference to nothing in the result": (
        steps(SPAN, step("a", bays=ref("row", "/spam_mm"))),
        [("/steps/1/inputs/bays", "unknown-reference")],
    ),
    "reference below a number": (
        steps(SPAN, step("a", bays=ref("row", "/span_mm/0"))),
        [("/steps/1/inputs/bays", "unknown-reference")],
    ),
    "reference into no field": (
        steps(SPAN, step("a", bayz=ref("row", "/span_mm"))),
        [("/steps/1/inputs/bayz", "unknown-field")],
    ),
    "millimetres into grams": (
        steps(
            step("mass", "weigh", length_mm=1),
            step("b", "weigh", length_mm=ref("mass", "/mass_g")),
        ),
        [("/steps/1/inputs/length_mm", "wrong-unit")],
    ),
    "list into a number": (
        steps(SPAN, step("a", "weigh", length_mm=ref("row", "/nodes_mm"))),
        [("/steps/1/inputs/length_mm", "wrong-type")],
    ),
    "number into text": (
        steps(SPAN, step("a", "weigh", note=ref("row", "/span_mm"))),
        [("/steps/1/inputs/note", "wrong-type")],
    ),
    "not alone in its object": (
        steps(SPAN, step("a", bays={**ref("row", "/span_mm"), "x": 1})),
        [("/steps/1/inputs/bays", "wrong-format")],
    ),
    "no text": (steps(step("a", bays={"$ref": 3})), [("/steps/0/inputs/bays", "wrong-format")]),
    "an address": (
        steps(step("a", bays={"$ref": "https://example.org/x"})),
        [("/steps/0/inputs/bays", "wrong-format")],
    ),
    "no result": (
        steps(SPAN, step("a", bays={"$ref": "#/steps/row/verdict"})),
        [("/steps/1/inputs/bays", "wrong-format")],
    ),
    "itself": (
        steps(step("a", limit_mm=ref("a", "/span_mm"))),
        [("/steps/0/inputs/limit_mm", "cycle")],
    ),
    "kit that is not stored": (
        {**steps(SPAN), "kit": {"id": "none"}},
        [("/kit/id", "unknown-reference")],
    ),
    "kit of a step that is not stored": (
        steps(step("a", kit={"id": "none"})),
        [("/steps/0/inputs/kit/id", "unknown-reference")],
    ),
    "all at once": (
        steps(
            step("a", "spam"), step("b", bays=ref("c", "/x")), step("c", bays=ref("b", "/y")), x=1
        ),
        [
            ("/steps/0/calculator", "unknown-reference"),
            ("/steps/1/inputs/bays", "cycle"),
            ("/steps/1/inputs/bays", "unknown-reference"),
            ("/steps/2/inputs/bays", "unknown-reference"),
            ("/x", "unknown-field"),
        ],
    ),
}


@pytest.mark.parametrize(("plan", "expected"), BROKEN.values(), ids=BROKEN.keys())
def test_a_plan_is_checked_whole_before_anything_runs(
    client: FlaskClient,
    run: Run,
    assert_problem: Problems,
    faults_of: Faults,
    plan: Any,
    expected: list[tuple[str, str]],
) -> None:
    response = run(plan)
    assert_problem(response, 422, "plan-not-valid")
    assert sorted(faults_of(response)) == sorted(expected)
    stored = client.put("/v1/plans/p", json=plan, headers=NEW)
    if isinstance(plan, dict):
        assert_problem(stored, 422, "plan-not-valid")
        assert faults_of(stored) == faults_of(response)


def test_a_cycle_is_listed_in_order(run: Run) -> None:
    """Each step waits for the one before it; the list starts with the first step of the plan."""
    plan = steps(
        step("a", limit_mm=ref("c", "/span_mm")),
        step("b", limit_mm=ref("a", "/span_mm")),
        step("c", limit_mm=ref("b", "/span_mm")),
        step("free", bays=1),
    )
    errors = run(plan).get_json()["errors"]
    assert [error["cycle"] for error in errors] == [["a", "b", "c"]]
    assert "a -> b -> c -> a" in errors[0]["detail"]


def test_units_named_at_both_ends_stand_in_the_fault(run: Run) -> None:
    plan = BROKEN["millimetres into grams"][0]
    assert "value in mm; the reference gives g" in run(plan).get_json()["errors"][0]["detail"]


def test_a_stored_plan_runs_by_id_with_stored_kit_and_stock(client: FlaskClient, run: Run) -> None:
    kit = client.put("/v1/kits/beech", json=KIT, headers=NEW)
    stock = client.put("/v1/stocks/shelf", json={**STOCK, "kit": {"id": "beech"}}, headers=NEW)
    plan = {"kit": {"id": "beech"}, "stock": {"id": "shelf"}, "steps": [SPAN, WEIGH]}
    stored = client.put("/v1/plans/tour", json=plan, headers=NEW)
    assert stored.status_code == 201
    answer = run({"id": "tour"}).get_json()
    uses = {(use["kind"], use["id"]): f'"{use["revision"]}"' for use in answer["documents"]}
    assert uses == {
        ("plan", "tour"): stored.headers["ETag"],
        ("kit", "beech"): kit.headers["ETag"],
        ("stock", "shelf"): stock.headers["ETag"],
    }
    assert [step["status"] for step in answer["steps"]] == ["done", "done"]
    assert answer["steps"][0]["envelope"]["documents"][0]["id"] == "beech"
    assert answer["steps"][1]["envelope"]["result"]["on_hand_count"] == 4


def test_a_plan_that_is_not_stored_is_named(run: Run, faults_of: Faults) -> None:
    response = run({"id": "none"})
    assert (response.status_code, faults_of(response)) == (422, [("/id", "unknown-reference")])


def test_a_reference_outside_a_plan_is_no_field(
    post: Callable[[str, Any], Any], faults_of: Faults
) -> None:
    response = post("weigh", {"length_mm": ref("row", "/span_mm")})
    assert faults_of(response) == [("/length_mm", "wrong-type")]


def test_escaped_references_are_read(run: Run) -> None:
    """A fragment may be written with percent escapes."""
    reference = {"$ref": "#/steps/row/result/span%5Fmm"}
    answer = run(steps(SPAN, step("mass", "weigh", length_mm=reference))).get_json()
    assert answer["steps"][1]["status"] == "done"

"""Reports over HTTP: of a plan sent, of a stored one, of several; and what may go wrong."""

import copy
from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from baywright_service.app import create_app
from baywright_service.settings import Settings
from tests.service.fakes import Fail, Span, Weigh, fakes
from tests.service.writers.papers import words

PLAN: dict[str, Any] = {
    "title": "Two spans",
    "about": "A short machine.",
    "kit": {"rods": [{"id": "R120", "pitch_mm": 120}]},
    "steps": [
        {
            "id": "span",
            "calculator": "span",
            "title": "How long?",
            "inputs": {"rod": "R120", "bays": 30},
        },
        {
            "id": "weigh",
            "calculator": "weigh",
            "inputs": {"length_mm": {"$ref": "#/steps/span/result/span_mm"}},
        },
    ],
}
TYPES = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}


@pytest.fixture(scope="module")
def app() -> Flask:
    """A service of tiny calculators with time enough to load the PDF library."""
    return create_app(Settings(calculation_limit_s=30.0), fakes())


@pytest.fixture(scope="module")
def client(app: Flask) -> FlaskClient:
    """Its client."""
    return app.test_client()


def text_of(content: bytes, form: str) -> str:
    """What a report says."""
    return " ".join((words(content) if form == "pdf" else content.decode()).split())


@pytest.mark.parametrize("form", TYPES)
def test_a_plan_is_told(client: FlaskClient, form: str) -> None:
    """Question, answer, numbers with units by the schema, table, sources, cautions."""
    response = client.post(f"/v1/plans/run?format={form}", json=PLAN)
    assert (response.status_code, response.content_type) == (200, TYPES[form])
    text = text_of(response.data, form)
    for part in (
        "Two spans",
        "How long?",
        "How long is a row of bays?",
        "The span is 3600 mm.",
        "3600 mm, limit 1000 mm",
        "Take 8 bays.",
        "(tried: this clears it)",
        "360 g",
        "Mass of a length",
        "Multiplication, table of 3",
        "Statics, on beams",
        "A long span sags.",
        "Seated.",
        "Calculated by span 1.0.0.",
        "node30",
    ):
        assert part in text, part


def test_accept_decides_and_json_is_what_it_was(client: FlaskClient) -> None:
    for accept, media in (
        ("text/html", TYPES["html"]),
        ("application/pdf", TYPES["pdf"]),
        ("application/pdf;q=0.2, text/html;q=0.1, application/json", "application/json"),
        ("*/*", "application/json"),
    ):
        answer = client.post("/v1/plans/run", json=PLAN, headers={"Accept": accept})
        assert answer.content_type == media and "Accept" in answer.headers["Vary"]
    assert client.post("/v1/plans/run", json=PLAN).json["verdict"] == "stop"  # type: ignore[index]


def test_what_a_report_is_not_is_not_acceptable(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    answer = client.post("/v1/plans/run", json=PLAN, headers={"Accept": "image/png"})
    body = assert_problem(answer, 406, "not-acceptable")
    assert body["available"] == ["application/json", TYPES["html"], TYPES["pdf"]]
    answer = client.post("/v1/reports?format=json", json={"plans": [{"plan": PLAN}]})
    assert_problem(answer, 406, "not-acceptable")


@pytest.mark.parametrize("form", TYPES)
def test_a_stored_plan_has_its_report_at_an_address(client: FlaskClient, form: str) -> None:
    """Its ETag changes with the plan, and asking again costs nothing."""
    id = f"spans-{form}"
    plan = copy.deepcopy(PLAN)
    stored = client.put(f"/v1/plans/{id}", json=plan, headers={"If-None-Match": "*"})
    address = f"/v1/plans/{id}/report?format={form}"
    first = client.get(address)
    tag = first.headers["ETag"]
    assert first.status_code == 200 and id in text_of(first.data, form)
    assert client.get(address, headers={"If-None-Match": tag}).status_code == 304
    assert client.get(address).data == first.data
    plan["steps"][0]["inputs"]["bays"] = 3
    client.put(f"/v1/plans/{id}", json=plan, headers={"If-Match": stored.headers["ETag"]})
    second = client.get(address, headers={"If-None-Match": tag})
    assert second.status_code == 200 and second.headers["ETag"] != tag
    assert "360 mm" in text_of(second.data, form)


def test_the_same_plan_gives_the_same_bytes_in_another_service(client: FlaskClient) -> None:
    other = create_app(Settings(calculation_limit_s=30.0), fakes()).test_client()
    for form in TYPES:
        path = f"/v1/plans/run?format={form}"
        assert client.post(path, json=PLAN).data == other.post(path, json=PLAN).data


@pytest.mark.parametrize("form", TYPES)
def test_what_was_not_calculated_is_told_with_its_reason(client: FlaskClient, form: str) -> None:
    plan = copy.deepcopy(PLAN)
    plan["steps"].append({"id": "no", "calculator": "fail", "inputs": {"how": "refuse"}})
    plan["steps"][0]["inputs"]["rod"] = "R999"
    text = text_of(client.post(f"/v1/plans/run?format={form}", json=plan).data, form)
    for part in ("No such rod in the kit.", "It was told so.", "since it waits for span"):
        assert part in text, part


def test_several_plans_are_told_side_by_side(client: FlaskClient) -> None:
    changed = copy.deepcopy(PLAN) | {"title": "One span"}
    changed["steps"][0]["inputs"]["bays"] = 3
    story = {
        "title": "Before and after the saw",
        "about": "Two plans.",
        "plans": [{"name": "planned", "plan": PLAN}, {"name": "changed", "plan": changed}],
    }
    for form in TYPES:
        answer = client.post(f"/v1/reports?format={form}", json=story)
        assert answer.status_code == 200
        text = text_of(answer.data, form)
        for part in ("Before and after the saw", "planned", "changed", "One span"):
            assert part in text
    html = client.post("/v1/reports", json=story).data.decode()
    assert html.count('class="verdict ok">✔ ok</span></a>') >= 2


@pytest.mark.parametrize(
    ("plans", "kind", "pointer"),
    [
        ([], "invalid-input", "/plans"),
        ([{"name": "x"}], "invalid-input", "/plans/0/plan"),
        ([{"plan": PLAN}, {"plan": {"id": "unknown"}}], "invalid-input", "/plans/1/plan/id"),
        ([{"plan": {"steps": []}}], "plan-not-valid", "/plans/0/plan/steps"),
        (
            [{"plan": {"steps": [{"id": "a", "calculator": "spam"}]}}],
            "plan-not-valid",
            "/plans/0/plan/steps/0/calculator",
        ),
    ],
)
def test_faults_of_a_story_are_named_where_they_stand(
    client: FlaskClient,
    assert_problem: Callable[..., dict[str, Any]],
    plans: list[Any],
    kind: str,
    pointer: str,
) -> None:
    body = assert_problem(client.post("/v1/reports", json={"plans": plans}), 422, kind)
    assert body["errors"][0]["pointer"] == pointer


def test_no_such_plan(client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]) -> None:
    assert_problem(client.get("/v1/plans/nobody/report"), 404, "not-found")


def test_a_page_may_do_nothing(client: FlaskClient) -> None:
    policy = client.post("/v1/plans/run?format=html", json=PLAN).headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'") and "script" not in policy


def test_a_calculator_says_which_views_belong_in_a_report() -> None:
    class Chosen(Span):
        name = "chosen"
        report_views = ("top",)
        table_title = "Nodes to set out"

    from baywright_service.registry import registry_of

    client = create_app(Settings(), registry_of(Chosen, Weigh, Fail)).test_client()
    plan = {"kit": PLAN["kit"], "steps": [{**PLAN["steps"][0], "calculator": "chosen"}]}
    html = client.post("/v1/plans/run?format=html", json=plan).data.decode()
    assert "From above" in html and "From the side" not in html
    assert "Nodes to set out: How long?" in html

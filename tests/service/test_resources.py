"""Every address: methods, headers, what is linked from where."""

from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

PLACES = [
    "/healthz",
    "/readyz",
    "/v1",
    "/v1/openapi.json",
    "/v1/openapi.yaml",
    "/v1/problems",
    "/v1/problems/not-found",
    "/v1/calculators",
    "/v1/calculators/span",
    "/v1/kits",
    "/v1/stocks",
    "/v1/plans",
]


@pytest.mark.parametrize("place", PLACES)
def test_head_is_get_without_the_body(client: FlaskClient, place: str) -> None:
    get, head = client.get(place), client.head(place)
    assert (get.status_code, head.status_code, head.data) == (200, 200, b"")
    same = {"Content-Type", "Content-Length", "ETag", "Cache-Control", "Vary"}
    assert {k: head.headers[k] for k in same} == {k: get.headers[k] for k in same}


@pytest.mark.parametrize("place", PLACES)
def test_every_answer_carries_the_headers_of_care(client: FlaskClient, place: str) -> None:
    headers = client.get(place).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Content-Security-Policy"] == "default-src 'self'; frame-ancestors 'none'"
    assert headers["Cache-Control"] and headers["Request-Id"]
    assert "Server" not in headers
    assert not [name for name, _ in headers if name.startswith("Access-Control")]


@pytest.mark.parametrize("place", PLACES)
def test_what_the_asker_has_is_not_sent_again(client: FlaskClient, place: str) -> None:
    etag = client.get(place).headers["ETag"]
    again = client.get(place, headers={"If-None-Match": etag})
    assert (again.status_code, again.data, again.headers["ETag"]) == (304, b"", etag)
    assert client.get(place, headers={"If-None-Match": '"other"'}).status_code == 200


WRONG = {
    "/v1/calculators/span/run": ("get", {"OPTIONS", "POST"}),
    "/v1/plans/run": ("get", {"OPTIONS", "POST"}),
    "/v1/plans/run#put": ("put", {"OPTIONS", "POST"}),
    "/v1/calculators": ("post", {"GET", "HEAD", "OPTIONS"}),
    "/v1/kits/a": ("post", {"DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "PUT"}),
    "/v1": ("delete", {"GET", "HEAD", "OPTIONS"}),
}


@pytest.mark.parametrize(("place", "expected"), WRONG.items())
def test_a_wrong_method_is_told_the_right_ones(
    client: FlaskClient,
    assert_problem: Callable[..., dict[str, Any]],
    place: str,
    expected: tuple[str, set[str]],
) -> None:
    method, allowed = expected
    response = client.open(place.partition("#")[0], method=method.upper(), json={})
    assert_problem(response, 405, "method-not-allowed")
    assert set(response.headers["Allow"].split(", ")) == allowed
    options = client.options(place.partition("#")[0])
    assert options.status_code == 200
    assert set(options.headers["Allow"].split(", ")) == allowed


LOST = [
    *("/nope", "/v1/", "/v1/nope", "/v1//kits", "/v1/kits/none", "/v1/kits/No_Id"),
    *("/v1/problems/nope", "/v1/calculators/nope", "/v1/kits/a/revisions/b"),
]


@pytest.mark.parametrize("place", LOST)
def test_what_is_not_there_is_a_problem_whatever_accept_says(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]], place: str
) -> None:
    assert_problem(client.get(place, headers={"Accept": "text/html"}), 404, "not-found")


@pytest.mark.parametrize("place", PLACES)
def test_unknown_parameters_are_refused_everywhere(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]], place: str
) -> None:
    body = assert_problem(client.get(f"{place}?limt=3"), 400, "invalid-parameter")
    assert body["errors"][0]["parameter"] == "limt"


def test_everything_linked_from_the_start_answers(client: FlaskClient) -> None:
    start = client.get("/v1").get_json()
    for link in start["links"]:
        assert client.get(link["href"]).status_code in (200, 405), link
    assert start["limits"]["body_bytes"] == 4 * 1024 * 1024
    assert start["version"] and start["api_version"] and start["conforms_to"]


def test_a_calculator_says_everything_of_itself(client: FlaskClient) -> None:
    listed = client.get("/v1/calculators").get_json()
    assert [each["name"] for each in listed["items"]] == ["everything", "fail", "span", "weigh"]
    assert listed["refused"] == []
    one = client.get("/v1/calculators/span").get_json()
    assert set(one) == {
        *("name", "version", "title", "summary", "links", "input_schema", "result_schema"),
        *("examples", "views", "media_types", "limits", "sources", "cautions"),
    }
    assert one["input_schema"]["properties"]["bays"]["maximum"] == 100
    assert one["views"][0] == {"name": "side", "title": "From the side"}


def test_its_examples_run(client: FlaskClient) -> None:
    for example in client.get("/v1/calculators/span").get_json()["examples"]:
        assert client.post("/v1/calculators/span/run", json=example["inputs"]).status_code == 200


@pytest.mark.parametrize(
    ("headers", "status", "type"),
    [
        ({"Host": "evil.example"}, 421, "wrong-host"),
        ({"Host": "evil.example:8080"}, 421, "wrong-host"),
        ({"Host": "192.0.2.7"}, 421, "wrong-host"),
        ({"Host": "[::"}, 421, "wrong-host"),
        ({"Host": "localhost@evil.example"}, 421, "wrong-host"),
        ({"Host": "localhost.evil.example"}, 421, "wrong-host"),
        ({"X-Long": "a" * 17_000}, 431, "headers-too-large"),
    ],
)
def test_strange_requests_are_turned_away(
    client: FlaskClient,
    assert_problem: Callable[..., dict[str, Any]],
    headers: dict[str, str],
    status: int,
    type: str,
) -> None:
    assert_problem(client.get("/v1", headers=headers), status, type)


def test_too_long_an_address_is_turned_away(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    assert_problem(client.get(f"/v1/kits?cursor={'a' * 9000}"), 414, "uri-too-long")


@pytest.mark.parametrize("name", ["localhost", "127.0.0.1:8080", "[::1]:8080", "LOCALHOST"])
def test_names_of_this_machine_are_known(client: FlaskClient, name: str) -> None:
    assert client.get("/v1", headers={"Host": name}).status_code == 200


FOREIGN = [
    {"Origin": "https://evil.example"},
    {"Origin": "null"},
    {"Origin": "http://localhost:9999"},
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site"},
]


@pytest.mark.parametrize("headers", FOREIGN)
def test_a_foreign_page_may_not_write(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]], headers: dict[str, str]
) -> None:
    run = "/v1/calculators/weigh/run"
    assert_problem(client.post(run, json={"length_mm": 1}, headers=headers), 403, "cross-site")
    assert client.get("/v1", headers=headers).status_code == 200


@pytest.mark.parametrize("headers", [{"Origin": "http://localhost"}, {"Sec-Fetch-Site": "none"}])
def test_our_own_page_may_write(client: FlaskClient, headers: dict[str, str]) -> None:
    run = "/v1/calculators/weigh/run"
    assert client.post(run, json={"length_mm": 1}, headers=headers).status_code == 200


def test_the_tree_of_problems_is_published_whole(client: FlaskClient) -> None:
    """Each type of the tree can be read as JSON and as a page, and no two share a name."""
    from baywright_service.problems import Problem, problem_types

    listed = client.get("/v1/problems").get_json()["items"]
    assert len(listed) == len({entry["type"] for entry in listed}) == len(problem_types())
    for kind, entry in zip(problem_types(), listed, strict=True):
        assert issubclass(kind, Problem) and kind.title and len(kind.meaning) > 40
        assert client.get(entry["type"]).get_json() == entry
        page = client.get(entry["type"], headers={"Accept": "text/html"})
        assert page.content_type.startswith("text/html")
        assert kind.title.replace("'", "&#x27;") in page.get_data(as_text=True)


def test_the_tree_drawn_in_the_source_is_the_tree(app: Flask) -> None:
    """The drawing at the top of problems.py names every type with its status."""
    from baywright_service import problems

    drawn = problems.__doc__ or ""
    for kind in problems.problem_types():
        branch = kind if kind.__name__ in drawn else kind.__base__
        assert branch is not None
        name = kind.type.removeprefix("malformed")
        lines = [line for line in drawn.splitlines() if f"+ {branch.__name__} " in line]
        assert len(lines) == 1 and name in lines[0] and str(kind.status) in lines[0], kind

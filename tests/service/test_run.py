"""One run: the envelope, its drawing and table, and which of them is answered with."""

import csv
import io
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient

RUN = "/v1/calculators/span/run"
BODY = {"kit": {"rods": [{"id": "R120", "pitch_mm": 120}]}, "rod": "R120", "bays": 3}
SVG = "image/svg+xml"
CSV = "text/csv; charset=utf-8; header=present"


def test_an_envelope_holds_what_was_promised(client: FlaskClient) -> None:
    body = client.post(RUN, json=BODY).get_json()
    assert body == {
        "calculator": "span",
        "version": "1.0.0",
        "verdict": "ok",
        "result": {
            "span_mm": 360.0,
            "nodes_mm": [0.0, 120.0, 240.0, 360.0],
            "frame": {"length_mm": 360.0, "names": ["a", "b"]},
        },
        "findings": [],
        "assumptions": ["Seated."],
        "cautions": ["Planning aid."],
        "sources": [{"title": "Multiplication", "clause": "table of 3"}],
        "documents": [],
    }


def test_a_finding_carries_place_number_limit_and_remedy(client: FlaskClient) -> None:
    body = client.post(RUN, json={**BODY, "limit_mm": 250}).get_json()
    assert body["verdict"] == "stop"
    assert body["findings"] == [
        {
            "code": "too-long",
            "level": "stop",
            "message": "The span is 360 mm.",
            "at": ["/bays"],
            "measure": {"value": 360.0, "limit": 250.0, "unit": "mm"},
            "remedy": {"message": "Take 2 bays.", "patch": {"bays": 2}},
        }
    ]


def test_what_the_inputs_call_for_adds_cautions_with_their_sources(client: FlaskClient) -> None:
    """Each once, and nothing of it in an answer that does not call for it."""
    body = client.post(RUN, json={**BODY, "limit_mm": 250}).get_json()
    assert body["cautions"] == ["A long span sags.", "Planning aid."]
    assert body["sources"] == [
        {"title": "Multiplication", "clause": "table of 3"},
        {"title": "Statics", "clause": "on beams"},
    ]


def test_equal_requests_give_equal_bytes(client: FlaskClient) -> None:
    first, second = (client.post(RUN, json=BODY) for _ in range(2))
    assert first.data == second.data
    assert first.headers["ETag"] == second.headers["ETag"]
    assert first.headers["Request-Id"] != second.headers["Request-Id"]


def test_the_time_goes_into_a_header(client: FlaskClient) -> None:
    stages = client.post(RUN, json=BODY).headers["Server-Timing"].split(", ")
    assert [stage.split(";dur=")[0] for stage in stages] == ["validate", "calculate", "write"]


def test_an_engineering_refusal_names_place_and_reason(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    response = client.post(RUN, json={**BODY, "limit_mm": 100})
    assert assert_problem(response, 422, "cannot-calculate")["errors"] == [
        {"pointer": "/limit_mm", "code": "cannot-calculate", "detail": "Not one bay fits."}
    ]


def test_faults_a_calculator_finds_itself_are_invalid_input_too(
    client: FlaskClient,
    assert_problem: Callable[..., dict[str, Any]],
    faults_of: Callable[[Any], list[tuple[str, str]]],
) -> None:
    response = client.post(RUN, json={**BODY, "rod": "R85"})
    assert_problem(response, 422, "invalid-input")
    assert faults_of(response) == [("/rod", "unknown-reference")]


@pytest.mark.parametrize("how", ["fault", "nan"])
def test_a_fault_of_ours_tells_nothing(
    post: Callable[[str, Any], Any], assert_problem: Callable[..., dict[str, Any]], how: str
) -> None:
    response = post("fail", {"how": how})
    assert_problem(response, 500, "internal")
    for secret in (b"secret", b"/home", b"Traceback", b"Error"):
        assert secret not in response.data


@pytest.mark.parametrize(
    ("how", "words"), [("infinite", "/result/others/1"), ("overflow", "on the way")]
)
def test_inputs_too_extreme_for_doubles_are_refused(
    post: Callable[[str, Any], Any],
    assert_problem: Callable[..., dict[str, Any]],
    how: str,
    words: str,
) -> None:
    """An infinity comes of the inputs; a NaN comes of a mistake of ours."""
    body = assert_problem(post("fail", {"how": how}), 422, "cannot-calculate")
    assert words in body["detail"]


def test_a_calculation_is_given_up_at_its_limit(
    post: Callable[[str, Any], Any], assert_problem: Callable[..., dict[str, Any]]
) -> None:
    body = assert_problem(post("fail", {"how": "slow"}), 422, "calculation-limit")
    assert body["limit_s"] == 0.5


ACCEPT = {
    "": "application/json",
    "*/*": "application/json",
    "application/json": "application/json",
    "application/*": "application/json",
    SVG: SVG,
    "image/*": SVG,
    "text/csv": CSV,
    "text/*": CSV,
    "text/csv;header=present": CSV,
    "image/svg+xml;q=0.5, application/json;q=0.4": SVG,
    "image/svg+xml;q=0.4, application/json;q=0.5": "application/json",
    "application/json;q=0.1, */*;q=0.9": SVG,
    "application/json;q=0, */*": SVG,
    "text/html, application/xhtml+xml, */*;q=0.8": "application/json",
    "IMAGE/SVG+XML": SVG,
    "image/png, text/csv;q=0.2": CSV,
    "nonsense, text/csv": CSV,
}


@pytest.mark.parametrize(("accept", "media_type"), ACCEPT.items())
def test_accept_decides_the_form(client: FlaskClient, accept: str, media_type: str) -> None:
    response = client.post(RUN, json=BODY, headers={"Accept": accept} if accept else {})
    assert (response.status_code, response.content_type) == (200, media_type)
    assert {"Accept", "Accept-Encoding"} <= {
        part.strip() for part in response.headers["Vary"].split(",")
    }


@pytest.mark.parametrize("accept", ["image/png", "text/html", "application/json;q=0"])
def test_what_does_not_exist_is_not_acceptable(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]], accept: str
) -> None:
    response = client.post(RUN, json=BODY, headers={"Accept": accept})
    body = assert_problem(response, 406, "not-acceptable")
    assert body["available"] == ["application/json", SVG, CSV, "application/pdf", "image/vnd.dxf"]


def test_a_calculator_without_drawings_offers_none(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    run = "/v1/calculators/weigh/run"
    response = client.post(run, json={"length_mm": 1}, headers={"Accept": SVG})
    assert assert_problem(response, 406, "not-acceptable")["available"] == ["application/json"]
    response = client.post(f"{run}?format=svg", json={"length_mm": 1})
    assert_problem(response, 406, "not-acceptable")


def test_format_wins_over_accept(client: FlaskClient) -> None:
    response = client.post(f"{RUN}?format=csv", json=BODY, headers={"Accept": SVG})
    assert response.content_type == CSV


def test_each_representation_has_its_own_strong_etag(client: FlaskClient) -> None:
    urls = ["", "?format=csv", "?format=svg", "?format=svg&view=top"]
    tags = [client.post(RUN + url, json=BODY).headers["ETag"] for url in urls]
    assert len(set(tags)) == len(urls)
    assert not any(tag.startswith("W/") for tag in tags)


def test_a_drawing_can_be_read_without_seeing_it_and_runs_nothing(client: FlaskClient) -> None:
    response = client.post(f"{RUN}?view=top", json=BODY, headers={"Accept": SVG})
    policy = response.headers["Content-Security-Policy"]
    assert policy == "default-src 'none'; style-src 'unsafe-inline'; sandbox"
    picture = ElementTree.fromstring(response.data)
    name = "{http://www.w3.org/2000/svg}"
    assert [child.tag for child in picture][:2] == [f"{name}title", f"{name}desc"]
    assert picture.get("role") == "img"
    ids = [picture[0].get("id"), picture[1].get("id")]
    assert str(picture.get("aria-labelledby")).split() == ids
    assert picture[1].text == "A row of <bays> & hubs."
    tags = {element.tag.removeprefix(name) for element in picture.iter()}
    assert "circle" in tags and not tags & {"script", "foreignObject", "style", "image"}


def test_the_first_view_is_the_default(client: FlaskClient) -> None:
    side = client.post(f"{RUN}?format=svg", json=BODY)
    assert side.data == client.post(f"{RUN}?format=svg&view=side", json=BODY).data
    assert b"<circle" not in side.data


def test_a_table_opens_cleanly_in_a_spreadsheet(client: FlaskClient) -> None:
    """RFC 4180: CRLF, one header row; no cell is taken for a formula."""
    text = client.post(f"{RUN}?format=csv", json=BODY).data.decode()
    assert text.count("\r\n") == text.count("\n") == 5
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert rows[0] == ["node", "x_mm", "seated"]
    assert rows[2] == ["'=node1", "120.0", "true"]


QUERIES = {
    "?formt=svg": ("formt", "Did you mean format?"),
    "?format=png": ("format", "json, svg, csv, pdf, dxf"),
    "?view=back": ("view", "side, top"),
    "?format=svg&view=all": ("view", "side, top"),
    "?format=pdf&paper=a5": ("paper", "a4, a3"),
    "?format=pdf&scale=2": ("scale", "fit, standard"),
    "?format=svg&format=csv": ("format", "once"),
}


@pytest.mark.parametrize(("query", "expected"), QUERIES.items())
def test_a_query_is_held_to_what_is_published(
    client: FlaskClient,
    assert_problem: Callable[..., dict[str, Any]],
    query: str,
    expected: tuple[str, str],
) -> None:
    body = assert_problem(client.post(RUN + query, json=BODY), 400, "invalid-parameter")
    assert body["errors"][0]["parameter"] == expected[0]
    assert expected[1] in body["errors"][0]["detail"]


def test_an_unknown_calculator_is_not_found_and_the_nearest_is_named(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    body = assert_problem(client.post("/v1/calculators/spam/run", json={}), 404, "not-found")
    assert body["detail"].endswith("Did you mean span?")

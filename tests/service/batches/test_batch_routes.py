"""Batches over HTTP: made once, followed, read in three forms, ended and removed."""

import csv
import io
import json
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from baywright_service.app import create_app
from baywright_service.host import Host
from baywright_service.settings import Settings
from tests.service.fakes import fakes

Json = Any
Problem = Callable[..., dict[str, Any]]

KIT: Json = {"rods": [{"id": "R120", "pitch_mm": 120}, {"id": "R60", "pitch_mm": 60}]}
PLAN: Json = {
    "title": "A row",
    "kit": KIT,
    "steps": [
        {"id": "row", "calculator": "span", "inputs": {"rod": "R120", "bays": 3}},
        {
            "id": "mass",
            "calculator": "weigh",
            "inputs": {"length_mm": {"$ref": "#/steps/row/result/span_mm"}},
        },
    ],
}
BAYS, ROD = "/steps/0/inputs/bays", "/steps/0/inputs/rod"
ASKED: Json = {
    "plan": PLAN,
    "vary": [
        {"pointer": BAYS, "values": [1, 2, 20]},
        {"pointer": ROD, "values": ["R120", "R60"]},
    ],
    "variants": [{"kit": {"rods": [{"id": "R120", "pitch_mm": 2000}]}}, {}],
    "keep": ["/steps/row/result/span_mm", "/steps/mass/result/mass_g"],
}
SLOW: Json = {"calculator": "fail", "inputs": {"how": "slow"}, "variants": [{}]}
#: Eight variants that each take half a second, since equal ones are calculated once.
LASTING: Json = {"plan": {"steps": [{"id": "s", "calculator": "fail", "inputs": {"how": "slow"}}]}}
LASTING["variants"] = [{"title": f"variant {k}"} for k in range(8)]


def service(tmp_path: Path, **settings: Any) -> Flask:
    """The service of tiny calculators with a store on disk."""
    given = {"store": str(tmp_path / "documents.sqlite3"), "calculation_limit_s": 0.5, **settings}
    return create_app(Settings(**given), fakes())


@pytest.fixture
def app(tmp_path: Path) -> Iterator[Flask]:
    app = service(tmp_path)
    yield app
    parts(app).close()


@pytest.fixture
def narrow(tmp_path: Path) -> Iterator[FlaskClient]:
    """A service that takes one batch and one stream at a time."""
    app = service(tmp_path, batch_limit=1, stream_limit=1)
    yield app.test_client()
    parts(app).close()


def parts(app: Flask) -> Host:
    found: Host = app.extensions["baywright"]
    return found


def made(client: FlaskClient, asked: Json = ASKED, **headers: str) -> str:
    """The address of a new batch."""
    response = client.post("/v1/batches", json=asked, headers=headers)
    assert response.status_code == 202, response.text
    place: str = response.headers["Location"]
    return place


def ended(client: FlaskClient, place: str) -> Json:
    """The batch at its end."""
    batch = client.get(place, headers={"Prefer": "wait=20"}).get_json()
    assert batch["status"] in ("successful", "failed", "dismissed")
    return batch


# Making


def test_a_batch_is_promised_run_and_read(client: FlaskClient) -> None:
    """Each result is what the plan of that variant answers when it is run alone."""
    response = client.post("/v1/batches", json=ASKED)
    body = response.get_json()
    place = f"/v1/batches/{body['id']}"
    assert (response.status_code, response.headers["Location"]) == (202, place)
    assert int(response.headers["Retry-After"]) >= 1 and body["item_counts"]["total"] == 8
    links = {link["rel"]: link["href"] for link in body["links"]}
    assert links["monitor"] == f"{place}/events" and links["results"] == f"{place}/results"
    batch = ended(client, place)
    assert batch["status"] == "successful" and batch["title"] == "A row"
    assert batch["item_counts"] == {"total": 8, "successful": 7, "failed": 1, "dismissed": 0}
    assert batch["created_at"] <= batch["started_at"] <= batch["ended_at"] < batch["expires_at"]
    items = client.get(f"{place}/results").get_json()["items"]
    assert [item["index"] for item in items] == list(range(8))
    for item in items:
        whole = client.get(f"{place}/results/{item['index']}?answer=true").get_json()
        alone = client.post("/v1/plans/run", json=whole["plan"]).get_json()
        assert whole["answer"] == alone and item["verdict"] == alone["verdict"]
        done = {
            step["id"]: step["envelope"]["result"] for step in alone["steps"] if "envelope" in step
        }
        assert item.get("kept", {}) == {
            pointer: done[pointer.split("/")[2]][pointer.rpartition("/")[2]]
            for pointer in ASKED["keep"]
            if pointer.split("/")[2] in done
        }


def test_a_failed_variant_holds_its_problem_and_the_rest_goes_on(client: FlaskClient) -> None:
    place = made(client)
    ended(client, place)
    failed = client.get(f"{place}/results").get_json()["items"][6]
    assert failed["status"] == "failed"
    assert failed["problem"]["type"] == "/v1/problems/cannot-calculate"
    assert failed["problem"]["errors"][0]["detail"] == "Not one bay fits."


def test_a_refused_request_stores_nothing(client: FlaskClient, assert_problem: Problem) -> None:
    asked = {**ASKED, "variants": [{}, {"kit": {"rods": []}}]}
    response = client.post("/v1/batches", json=asked, headers={"Idempotency-Key": "refused-1"})
    body = assert_problem(response, 422, "invalid-input")
    assert [error["pointer"] for error in body["errors"]] == ["/variants/1/kit/rods"]
    assert client.get("/v1/batches").get_json() == {"items": []}
    assert made(client, ASKED, **{"Idempotency-Key": "refused-1"})


def test_a_key_stands_for_one_batch_however_often(client: FlaskClient) -> None:
    """And at any time: also when the batch has ended, and when it was deleted."""
    key = {"Idempotency-Key": "7e1c0f52-loft"}
    place = made(client, ASKED, **key)
    assert made(client, ASKED, **{"Idempotency-Key": '"7e1c0f52-loft"'}) == place
    ended(client, place)
    assert made(client, ASKED, **key) == place
    assert made(client, ASKED) != place
    assert client.delete(place).status_code == 204
    assert made(client, ASKED, **key) == place


def test_of_many_at_once_with_one_key_exactly_one_makes_a_batch(app: Flask) -> None:
    places: list[str] = []
    gate = threading.Barrier(8)

    def send() -> None:
        gate.wait()
        places.append(made(app.test_client(), ASKED, **{"Idempotency-Key": "one-of-eight"}))

    threads = [threading.Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(places) == 8 and len(set(places)) == 1
    assert len(app.test_client().get("/v1/batches").get_json()["items"]) == 1


def test_a_key_with_another_body_is_refused(client: FlaskClient, assert_problem: Problem) -> None:
    place = made(client, ASKED, **{"Idempotency-Key": "7e1c0f52-loft"})
    other = {**ASKED, "title": "Other"}
    response = client.post("/v1/batches", json=other, headers={"Idempotency-Key": "7e1c0f52-loft"})
    assert assert_problem(response, 409, "idempotency-key-reused")["batch"] == place


@pytest.mark.parametrize("key", ["short", "x" * 65, "with space", '"half-quoted', "ünusual-key"])
def test_a_key_has_a_form(client: FlaskClient, assert_problem: Problem, key: str) -> None:
    headers = {"Idempotency-Key": key.encode().decode("latin-1")}
    response = client.post("/v1/batches", json=ASKED, headers=headers)
    body = assert_problem(response, 400, "invalid-parameter")
    assert body["errors"][0]["header"] == "Idempotency-Key"


def test_as_many_batches_wait_as_are_allowed(narrow: FlaskClient, assert_problem: Problem) -> None:
    place = made(narrow, LASTING, **{"Idempotency-Key": "the-first-one"})
    refused = narrow.post("/v1/batches", json=ASKED)
    assert assert_problem(refused, 429, "too-many-requests")["limit"] == 1
    assert int(refused.headers["Retry-After"]) > 0 and "r=0" in refused.headers["RateLimit"]
    assert made(narrow, LASTING, **{"Idempotency-Key": "the-first-one"}) == place
    narrow.put(f"{place}/cancellation", json={})
    assert made(narrow)


def test_limits_and_links_are_published(client: FlaskClient) -> None:
    start = client.get("/v1").get_json()
    assert {"rel": "batches", "href": "/v1/batches"} in start["links"]
    wanted = {"variants": 10_000, "batches": 100, "streams": 16, "batch_days": 30}
    assert {name: start["limits"][name] for name in wanted} == wanted


# Following


def test_waiting_answers_at_the_end_or_when_the_time_has_passed(client: FlaskClient) -> None:
    place = made(client, LASTING)
    before = time.monotonic()
    response = client.get(place, headers={"Prefer": "wait=1"})
    assert response.get_json()["status"] == "running"
    assert response.headers["Preference-Applied"] == "wait=1"
    assert 0.9 < time.monotonic() - before < 5
    assert client.get(place).headers.get("Preference-Applied") is None
    client.put(f"{place}/cancellation", json={})


def test_waiting_with_an_etag_answers_at_the_next_change(client: FlaskClient) -> None:
    place = made(client, LASTING)
    tag = client.get(place).headers["ETag"]
    wait = {"Prefer": "wait=20", "If-None-Match": tag}
    response = client.get(place, headers=wait)
    assert response.status_code == 200 and response.headers["ETag"] != tag
    assert response.get_json()["status"] in ("accepted", "running")
    client.put(f"{place}/cancellation", json={})
    batch = client.get(place)
    same = {"If-None-Match": batch.headers["ETag"]}
    assert client.get(place, headers=same).status_code == 304


def test_who_waits_leaves_half_of_the_threads_to_others(tmp_path: Path) -> None:
    app = service(tmp_path, threads=2)
    client = app.test_client()
    place = made(client, LASTING)
    first = threading.Thread(
        target=lambda: app.test_client().get(place, headers={"Prefer": "wait=20"})
    )
    first.start()
    time.sleep(0.2)
    second = client.get(place, headers={"Prefer": "wait=20"})
    assert "Preference-Applied" not in second.headers and first.is_alive()
    client.put(f"{place}/cancellation", json={})
    first.join(2)
    assert not first.is_alive()
    parts(app).close()


@pytest.mark.parametrize("wish", ["wait=soon", "wait", "wait=-1", ";;,=", 'wait="0"'])
def test_a_wish_that_cannot_be_read_is_none(client: FlaskClient, wish: str) -> None:
    place = made(client, LASTING)
    response = client.get(place, headers={"Prefer": wish})
    assert response.status_code == 200 and "Preference-Applied" not in response.headers
    client.delete(place)


def test_cancelling_takes_effect_soon_and_may_be_repeated(client: FlaskClient) -> None:
    place = made(client, LASTING)
    time.sleep(0.7)  # the first one has failed at its time limit
    before = time.monotonic()
    batch = client.put(f"{place}/cancellation", json={}).get_json()
    assert batch["status"] == "dismissed" and time.monotonic() - before < 2
    counts = batch["item_counts"]
    assert counts["dismissed"] > 0
    assert sum(counts[name] for name in ("successful", "failed", "dismissed")) == 8
    assert client.put(f"{place}/cancellation", json={}).get_json() == batch
    time.sleep(0.6)
    assert client.get(place).get_json() == batch  # what ran meanwhile does not count
    items = client.get(f"{place}/results").get_json()["items"]
    assert [item["index"] for item in items] == list(range(8))


def test_cancelling_takes_an_empty_object(client: FlaskClient, assert_problem: Problem) -> None:
    place = made(client)
    bodies: list[Json] = [{"now": True}, [], 7]
    for body in bodies:
        assert_problem(client.put(f"{place}/cancellation", json=body), 422, "invalid-input")


def test_what_is_deleted_is_gone(client: FlaskClient, assert_problem: Problem) -> None:
    place = made(client, LASTING)
    assert client.delete(place).status_code == 204
    for path in ("", "/results", "/results/0", "/events"):
        assert_problem(client.get(place + path), 404, "not-found")
    assert_problem(client.delete(place), 404, "not-found")
    assert_problem(client.put(f"{place}/cancellation", json={}), 404, "not-found")
    assert client.get("/v1/batches").get_json() == {"items": []}


def test_what_has_expired_says_so(app: Flask, assert_problem: Problem) -> None:
    client = app.test_client()
    place = made(client)
    ended(client, place)
    with parts(app).batches.store.database.writing() as connection:
        connection.execute("UPDATE batch SET expires_at = '2001-01-01T00:00:00Z'")
    for path in ("", "/results", "/events"):
        assert_problem(client.get(place + path), 410, "expired")


def test_lists_are_walked_while_others_are_made(client: FlaskClient) -> None:
    """Every old one exactly once, the newest first."""
    old = [made(client, SLOW) for _ in range(5)]
    found: list[str] = []
    path = "/v1/batches?limit=2"
    while path:
        response = client.get(path)
        page = response.get_json()
        found += [f"/v1/batches/{entry['id']}" for entry in page["items"]]
        path = page.get("next", "")
        assert (f'<{path}>; rel="next"' == response.headers.get("Link")) if path else True
        made(client, SLOW)
    assert [place for place in found if place in old] == old[::-1]


@pytest.mark.parametrize("cursor", ["x", "%00", "LTE", "MTAw!", "w6k"])
def test_a_cursor_is_one_of_ours(client: FlaskClient, assert_problem: Problem, cursor: str) -> None:
    assert_problem(client.get(f"/v1/batches?cursor={cursor}"), 400, "invalid-parameter")


# Results


def test_results_come_in_pages(client: FlaskClient) -> None:
    place = made(client)
    ended(client, place)
    found: list[Json] = []
    path = f"{place}/results?limit=3"
    while path:
        page = client.get(path).get_json()
        assert len(page["items"]) <= 3
        found += page["items"]
        path = page.get("next", "")
    assert found == client.get(f"{place}/results").get_json()["items"] and len(found) == 8


def test_the_table_holds_what_varies_and_what_is_kept(client: FlaskClient) -> None:
    place = made(client)
    ended(client, place)
    response = client.get(f"{place}/results", headers={"Accept": "text/csv"})
    assert response.content_type == "text/csv; charset=utf-8; header=present"
    rows = list(csv.reader(io.StringIO(response.get_data(as_text=True), newline="")))
    assert rows[0] == ["index", "status", "verdict", BAYS, ROD, *ASKED["keep"], "problem"]
    assert rows[1] == ["0", "successful", "ok", "1", "R120", "120.0", "12.0", ""]
    assert rows[6][:6] == ["5", "successful", "stop", "20", "R60", "1200.0"]
    assert rows[7][1:3] == ["failed", "stop"] and "Not one bay fits." in rows[7][-1]
    assert rows[8][3:6] == ["3", "R120", "360.0"] and len(rows) == 9
    assert response.get_data().count(b"\r\n") == 9


def test_lines_of_ndjson_are_the_items(client: FlaskClient) -> None:
    place = made(client)
    ended(client, place)
    response = client.get(f"{place}/results?format=ndjson")
    assert response.content_type == "application/x-ndjson"
    lines = [json.loads(line) for line in response.get_data().splitlines()]
    assert lines == client.get(f"{place}/results").get_json()["items"]


def test_a_table_that_would_be_cut_short_is_refused(
    client: FlaskClient, assert_problem: Problem
) -> None:
    place = made(client, LASTING)
    for form in ("csv", "ndjson"):
        response = client.get(f"{place}/results?format={form}")
        assert_problem(response, 409, "batch-not-finished")
        assert int(response.headers["Retry-After"]) >= 1
        assert client.get(f"{place}/results?format={form}&partial=true").status_code == 200
    assert client.get(f"{place}/results").status_code == 200
    client.put(f"{place}/cancellation", json={})
    assert client.get(f"{place}/results?format=csv").status_code == 200


def test_results_are_there_while_the_batch_runs(client: FlaskClient) -> None:
    """Those that have ended, and no others."""
    place = made(client, LASTING)
    client.get(place, headers={"Prefer": "wait=1"})
    page = client.get(f"{place}/results").get_json()
    lines = client.get(f"{place}/results?format=ndjson&partial=true").get_data().splitlines()
    assert page["status"] == "running"
    assert 1 <= len(page["items"]) <= len(lines) < 8
    assert {item["status"] for item in page["items"]} == {"failed"}
    client.delete(place)


def test_forms_are_told_apart_by_their_tags(client: FlaskClient, assert_problem: Problem) -> None:
    place = made(client)
    ended(client, place)
    tags = set()
    for form in ("json", "csv", "ndjson"):
        response = client.get(f"{place}/results?format={form}")
        tags.add(response.headers["ETag"])
        again = {"If-None-Match": response.headers["ETag"]}
        assert client.get(f"{place}/results?format={form}", headers=again).status_code == 304
        assert client.head(f"{place}/results?format={form}").headers["ETag"] in tags
    assert len(tags) == 3
    refused = client.get(f"{place}/results", headers={"Accept": "image/png"})
    assert len(assert_problem(refused, 406, "not-acceptable")["available"]) == 3
    for query in ("format=svg", "format=xml", "limit=0", "partial=1", "partial=maybe", "x=1"):
        response = client.get(f"{place}/results?{query}")
        assert response.status_code in (400, 406), query
    assert_problem(client.get(f"{place}/results?format=csv&limit=5"), 400, "invalid-parameter")


def test_an_item_that_is_not_there(client: FlaskClient, assert_problem: Problem) -> None:
    place = made(client)
    for index in ("8", "99999999999999999999999", "-1", "x"):
        assert_problem(client.get(f"{place}/results/{index}"), 404, "not-found")


def test_documents_stay_as_they_were_when_the_batch_was_made(client: FlaskClient) -> None:
    created = client.put("/v1/kits/loft", json=KIT, headers={"If-None-Match": "*"})
    tag = created.headers["ETag"]
    place = made(client, {**ASKED, "plan": {**PLAN, "kit": {"id": "loft"}}})
    assert client.delete("/v1/kits/loft", headers={"If-Match": tag}).status_code == 204
    assert ended(client, place)["item_counts"]["successful"] == 7
    whole = client.get(f"{place}/results/2?answer=true").get_json()
    assert whole["plan"]["kit"] == {"id": "loft", "revision": tag.strip('"')}
    alone = client.post("/v1/plans/run", json=whole["plan"]).get_json()
    assert whole["answer"]["steps"] == alone["steps"] and whole["verdict"] == "ok"


# One run, later


def test_a_run_may_be_asked_for_later(client: FlaskClient) -> None:
    inputs = {"kit": KIT, "rod": "R120", "bays": 3}
    later = {"Prefer": "respond-async"}
    response = client.post("/v1/calculators/span/run", json=inputs, headers=later)
    assert response.status_code == 202
    assert response.headers["Preference-Applied"] == "respond-async"
    place = response.headers["Location"]
    assert ended(client, place)["item_counts"]["total"] == 1
    whole = client.get(f"{place}/results/0?answer=true").get_json()
    assert whole["inputs"] == inputs
    assert whole["answer"] == client.post("/v1/calculators/span/run", json=inputs).get_json()
    assert client.get(f"{place}/results?format=csv").status_code == 200


def test_a_plan_may_be_asked_for_later(client: FlaskClient) -> None:
    later = {"Prefer": "respond-async", "Idempotency-Key": "plan-later"}
    places = {
        client.post("/v1/plans/run", json=PLAN, headers=later).headers["Location"] for _ in range(2)
    }
    assert len(places) == 1
    batch = ended(client, places.pop())
    assert (batch["title"], batch["item_counts"]["successful"]) == ("A row", 1)


def test_what_would_be_refused_now_is_not_promised(
    client: FlaskClient, assert_problem: Problem
) -> None:
    later = {"Prefer": "respond-async"}
    response = client.post("/v1/calculators/weigh/run", json={"length_mm": 0}, headers=later)
    assert_problem(response, 422, "invalid-input")
    response = client.post("/v1/plans/run", json={"steps": []}, headers=later)
    assert_problem(response, 422, "plan-not-valid")
    assert client.get("/v1/batches").get_json() == {"items": []}


# Events


def blocks(response: TestResponse) -> list[dict[str, str]]:
    """Each event with its fields."""
    text = response.get_data(as_text=True)
    return [dict(line.split(": ", 1) for line in b.split("\n")) for b in text.split("\n\n") if b]


def test_events_tell_of_failures_and_the_end(client: FlaskClient) -> None:
    place = made(client)
    response = client.get(f"{place}/events", headers={"Accept": "text/event-stream"})
    assert response.content_type == "text/event-stream"
    told = blocks(response)
    stored = [(block["event"], block["id"]) for block in told if "id" in block]
    assert stored == [("item-failed", "1"), ("done", "2")]
    assert json.loads(told[-1]["data"])["status"] == "successful"
    again = blocks(client.get(f"{place}/events", headers={"Last-Event-ID": "1"}))
    assert [block["id"] for block in again if "id" in block] == ["2"]
    assert client.get(f"{place}/events", headers={"Last-Event-ID": "2"}).status_code == 204


@pytest.mark.parametrize("last", ["x", "-1", "1.5", "9" * 30])
def test_the_last_event_is_a_number(
    client: FlaskClient, assert_problem: Problem, last: str
) -> None:
    place = made(client)
    response = client.get(f"{place}/events", headers={"Last-Event-ID": last})
    assert_problem(response, 400, "invalid-parameter")


def test_as_many_streams_are_open_as_are_allowed(
    narrow: FlaskClient, assert_problem: Problem
) -> None:
    place = made(narrow, LASTING)
    first = narrow.get(f"{place}/events", buffered=False)
    assert next(iter(first.response)) == b"retry: 2000\n\n"
    refused = narrow.get(f"{place}/events")
    assert_problem(refused, 429, "too-many-requests")
    assert int(refused.headers["Retry-After"]) > 0
    first.close()
    second = narrow.get(f"{place}/events", buffered=False)
    assert second.status_code == 200
    second.close()
    narrow.delete(place)

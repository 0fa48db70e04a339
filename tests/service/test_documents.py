"""Stored documents: created once, replaced by who read them last, readable for ever."""

import re
import sqlite3
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from baywright_service.app import create_app
from baywright_service.documents import Documents
from baywright_service.settings import Settings
from tests.service.fakes import fakes

Problems = Callable[..., dict[str, Any]]

KIT = {"title": "Beech", "rods": [{"id": "R120", "pitch_mm": 120}]}
OTHER = {"title": "Beech", "rods": [{"id": "R120", "pitch_mm": 121}]}
NEW = {"If-None-Match": "*"}


def put(
    client: FlaskClient, body: Any, headers: dict[str, str], place: str = "/v1/kits/beech"
) -> TestResponse:
    return client.put(place, json=body, headers=headers)


@pytest.fixture
def etag(client: FlaskClient) -> str:
    """The ETag of a kit that was just created."""
    return put(client, KIT, NEW).headers["ETag"]


def test_a_document_is_created_and_read_back(client: FlaskClient) -> None:
    made = put(client, KIT, NEW)
    assert (made.status_code, made.headers["Location"]) == (201, "/v1/kits/beech")
    read = client.get("/v1/kits/beech")
    assert (read.get_json(), read.headers["ETag"]) == (KIT, made.headers["ETag"])
    assert re.fullmatch('"sha256-[0-9a-f]{64}"', read.headers["ETag"])
    assert read.headers["Last-Modified"]


def test_the_revision_follows_from_the_content_alone(client: FlaskClient, etag: str) -> None:
    turned = {"rods": [{"pitch_mm": 120, "id": "R120"}], "title": "Beech", "extra": None}
    assert put(client, turned, NEW, "/v1/kits/again").headers["ETag"] == etag


def test_creating_twice_is_refused_with_the_current_etag(
    client: FlaskClient, assert_problem: Problems, etag: str
) -> None:
    response = put(client, OTHER, NEW)
    assert assert_problem(response, 412, "precondition-failed")["current"] == etag
    assert response.headers["ETag"] == etag
    assert client.get("/v1/kits/beech").get_json() == KIT


def test_replacing_needs_the_etag_last_read(
    client: FlaskClient, assert_problem: Problems, etag: str
) -> None:
    assert_problem(put(client, OTHER, {}), 428, "precondition-required")
    assert_problem(put(client, OTHER, {"If-Match": '"sha256-0"'}), 412, "precondition-failed")
    assert_problem(put(client, OTHER, {"If-Match": f"W/{etag}"}), 412, "precondition-failed")
    replaced = put(client, OTHER, {"If-Match": etag})
    assert (replaced.status_code, replaced.get_json()) == (200, OTHER)
    assert_problem(put(client, KIT, {"If-Match": etag}), 412, "precondition-failed")


def test_replacing_what_is_not_there_fails(client: FlaskClient, assert_problem: Problems) -> None:
    assert_problem(put(client, KIT, {"If-Match": '"sha256-0"'}), 412, "precondition-failed")
    assert_problem(put(client, KIT, {"If-Match": "*"}), 412, "precondition-failed")


def test_both_preconditions_at_once_mean_nothing(
    client: FlaskClient, assert_problem: Problems, etag: str
) -> None:
    headers = {"If-Match": etag, "If-None-Match": "*"}
    body = assert_problem(put(client, OTHER, headers), 400, "invalid-parameter")
    assert body["errors"][0]["header"] == "If-None-Match"
    assert_problem(put(client, OTHER, {"If-None-Match": etag}), 400, "invalid-parameter")


def test_a_merge_patch_changes_one_member(
    client: FlaskClient, assert_problem: Problems, etag: str
) -> None:
    def patch(body: bytes, headers: dict[str, str], media_type: str) -> TestResponse:
        return client.patch("/v1/kits/beech", data=body, headers=headers, content_type=media_type)

    merge = "application/merge-patch+json"
    assert_problem(patch(b'{"title": "Oak"}', {}, merge), 428, "precondition-required")
    body, headers = b'{"title": null}', {"If-Match": etag}
    assert_problem(patch(body, headers, "application/json"), 415, "unsupported-media-type")
    assert patch(body, headers, merge).get_json() == {"rods": KIT["rods"]}
    assert_problem(patch(body, headers, merge), 412, "precondition-failed")
    now = {"If-Match": client.get("/v1/kits/beech").headers["ETag"]}
    assert_problem(patch(b'{"rods": null}', now, merge), 422, "invalid-input")
    assert_problem(
        client.patch("/v1/kits/none", data=b"{}", headers=now, content_type=merge), 404, "not-found"
    )


def test_deleting_needs_the_etag_and_keeps_revisions(
    client: FlaskClient, assert_problem: Problems, etag: str
) -> None:
    place = "/v1/kits/beech"
    assert_problem(client.delete(place), 428, "precondition-required")
    assert_problem(client.delete(place, headers={"If-Match": '"x"'}), 412, "precondition-failed")
    gone = client.delete(place, headers={"If-Match": etag})
    assert (gone.status_code, gone.data) == (204, b"")
    assert_problem(client.get(place), 404, "not-found")
    assert_problem(client.delete(place, headers={"If-Match": etag}), 404, "not-found")
    assert client.get("/v1/kits").get_json() == {"items": []}
    revision = client.get(place + "/revisions/" + etag.strip('"'))
    assert revision.get_json() == KIT
    assert "immutable" in revision.headers["Cache-Control"]
    assert put(client, OTHER, NEW).status_code == 201


def test_every_revision_stays_readable(client: FlaskClient, etag: str) -> None:
    second = put(client, OTHER, {"If-Match": etag}).headers["ETag"]
    for tag, body in ((etag, KIT), (second, OTHER)):
        place = "/v1/kits/beech/revisions/" + tag.strip('"')
        assert client.get(place).get_json() == body


def test_a_document_is_held_to_the_schema_its_calculators_read_it_with(
    client: FlaskClient, faults_of: Callable[[Any], list[tuple[str, str]]]
) -> None:
    response = put(client, {"rods": [{"id": "R", "pitch_mm": 0}], "rod": 1}, NEW)
    assert response.status_code == 422
    assert faults_of(response) == [("/rod", "unknown-field"), ("/rods/0/pitch_mm", "out-of-range")]
    assert client.get("/v1/kits/beech").status_code == 404


def test_a_stock_may_name_its_kit(
    client: FlaskClient, faults_of: Callable[[Any], list[tuple[str, str]]]
) -> None:
    stock = {"kit": {"id": "beech"}, "counts": [{"item": "R120", "on_hand_count": 4}]}
    early = put(client, stock, NEW, "/v1/stocks/shelf")
    assert faults_of(early) == [("/kit/id", "unknown-reference")]
    put(client, KIT, NEW)
    assert put(client, stock, NEW, "/v1/stocks/shelf").status_code == 201
    assert client.get("/v1/stocks/shelf").get_json() == stock


@pytest.mark.parametrize("id", ["Beech", "a_b", "a--b", "-a", "a.b", "a" * 65])
def test_ids_are_kebab_case(client: FlaskClient, assert_problem: Problems, id: str) -> None:
    response = put(client, KIT, NEW, f"/v1/kits/{id}")
    body = assert_problem(response, 400, "invalid-parameter")
    assert body["errors"][0]["parameter"] == "id"


def test_a_list_names_id_title_revision_and_time(client: FlaskClient, etag: str) -> None:
    item = client.get("/v1/kits").get_json()["items"][0]
    assert (item["id"], item["title"], item["revision"]) == ("beech", "Beech", etag.strip('"'))
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", item["updated_at"])


def test_walking_the_pages_while_others_write_shows_every_old_entry_once(
    client: FlaskClient,
) -> None:
    old = [f"kit-{k}" for k in range(20, 45)]
    for id in old:
        put(client, KIT, NEW, f"/v1/kits/{id}")
    seen, place, written = [], "/v1/kits?limit=7", 10
    while place:
        response = client.get(place)
        page = response.get_json()
        seen += [item["id"] for item in page["items"]]
        place = page.get("next", "")
        assert ("Link" in response.headers) == bool(place)
        put(client, KIT, NEW, f"/v1/kits/kit-{written}")
        written += 40
    assert [id for id in seen if id in old] == old
    assert len(seen) == len(set(seen))


@pytest.mark.parametrize(
    "query", ["limit=0", "limit=1001", "limit=x", "limit=1.0", "cursor=%", "cursor=QQ", "cursor="]
)
def test_a_bad_page_is_refused(client: FlaskClient, assert_problem: Problems, query: str) -> None:
    body = assert_problem(client.get(f"/v1/kits?{query}"), 400, "invalid-parameter")
    assert body["errors"][0]["parameter"] == query.partition("=")[0]


def test_of_many_writers_with_one_etag_exactly_one_wins(app: Flask, etag: str) -> None:
    """And of many creators too."""

    def race(write: Callable[[int], int]) -> list[int]:
        statuses: list[int] = []
        gate = threading.Barrier(8)

        def one(k: int) -> None:
            gate.wait()
            statuses.append(write(k))

        threads = [threading.Thread(target=one, args=(k,)) for k in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return sorted(statuses)

    def replace(k: int) -> int:
        body = {"rods": [{"id": "R", "pitch_mm": 10 + k}]}
        return put(app.test_client(), body, {"If-Match": etag}).status_code

    def create(k: int) -> int:
        body = {"rods": [{"id": "R", "pitch_mm": 10 + k}]}
        return put(app.test_client(), body, NEW, "/v1/kits/fresh").status_code

    assert race(replace) == [200] + [412] * 7
    assert race(create) == [201] + [412] * 7


def test_of_two_services_on_one_file_exactly_one_writer_wins(tmp_path: Path) -> None:
    """Two connections read one revision; only the first to write replaces it."""
    path = str(tmp_path / "shared.sqlite3")
    first, second = Documents(path), Documents(path)
    made = first.create("kit", "a", KIT)
    assert made is not None and second.create("kit", "a", OTHER) is None
    assert second.replace("kit", "a", OTHER, made.revision) is not None
    assert first.replace("kit", "a", {"x": 1}, made.revision) is None
    assert not first.delete("kit", "a", made.revision)


def test_documents_outlive_the_service(tmp_path: Path) -> None:
    settings = Settings(store=str(tmp_path / "deep" / "store.sqlite3"))
    etag = put(create_app(settings, fakes()).test_client(), KIT, NEW).headers["ETag"]
    again = create_app(settings, fakes()).test_client().get("/v1/kits/beech")
    assert (again.get_json(), again.headers["ETag"]) == (KIT, etag)


def test_a_store_that_cannot_be_read_is_said_so(tmp_path: Path, assert_problem: Problems) -> None:
    (tmp_path / "store").write_bytes(b"this is no database, and longer than a header" * 10)
    client = create_app(Settings(store=str(tmp_path / "store")), fakes()).test_client()
    response = client.get("/v1/kits")
    assert_problem(response, 503, "storage-unavailable")
    assert response.headers["Retry-After"]
    assert_problem(client.get("/readyz"), 503, "storage-unavailable")
    assert client.get("/healthz").status_code == 200
    assert client.post("/v1/calculators/weigh/run", json={"length_mm": 1}).status_code == 200


def test_the_store_is_safe_against_a_crash(tmp_path: Path) -> None:
    """Write-ahead log, so that readers and a writer do not lock one another out."""
    store = Documents(str(tmp_path / "store"))
    store.create("kit", "a", KIT)
    connection = sqlite3.connect(tmp_path / "store")
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


SPAN = "/v1/calculators/span/run"


def test_a_document_named_by_id_takes_part_as_if_inline(client: FlaskClient, etag: str) -> None:
    inline = client.post(SPAN, json={"kit": KIT, "rod": "R120", "bays": 2}).get_json()
    named = client.post(SPAN, json={"kit": {"id": "beech"}, "rod": "R120", "bays": 2}).get_json()
    assert named["documents"] == [{"kind": "kit", "id": "beech", "revision": etag.strip('"')}]
    assert {**named, "documents": []} == inline


def test_an_answer_can_be_made_again_from_the_revision_it_names(
    client: FlaskClient, etag: str
) -> None:
    body = {"kit": {"id": "beech"}, "rod": "R120", "bays": 2}
    first = client.post(SPAN, json=body)
    put(client, OTHER, {"If-Match": etag})
    assert client.post(SPAN, json=body).data != first.data
    use = first.get_json()["documents"][0]
    body["kit"] = {"id": use["id"], "revision": use["revision"]}
    assert client.post(SPAN, json=body).data == first.data


def test_documents_inside_documents_are_named_too(client: FlaskClient, etag: str) -> None:
    stock = {"kit": {"id": "beech"}, "counts": [{"item": "R120", "on_hand_count": 4}]}
    put(client, stock, NEW, "/v1/stocks/shelf")
    body = {"length_mm": 1, "stock": {"id": "shelf"}}
    answer = client.post("/v1/calculators/weigh/run", json=body).get_json()
    assert [(use["kind"], use["id"]) for use in answer["documents"]] == [
        ("kit", "beech"),
        ("stock", "shelf"),
    ]
    assert answer["result"]["on_hand_count"] == 4


@pytest.mark.parametrize(
    ("kit", "code"),
    [
        ({"id": "none"}, "unknown-reference"),
        ({"id": "None"}, "wrong-format"),
        ({"id": 3}, "wrong-format"),
        ({"id": ["a"]}, "wrong-format"),
        ({"id": "none", "revision": "sha256-0"}, "unknown-reference"),
    ],
)
def test_a_name_of_nothing_is_refused_at_its_place(
    client: FlaskClient,
    faults_of: Callable[[Any], list[tuple[str, str]]],
    kit: dict[str, Any],
    code: str,
) -> None:
    response = client.post(SPAN, json={"kit": kit, "rod": "R120", "bays": 2})
    assert (response.status_code, faults_of(response)) == (422, [("/kit/id", code)])

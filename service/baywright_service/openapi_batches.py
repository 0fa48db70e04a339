"""In the API document: batches, their results and their events."""

from collections.abc import Iterator
from typing import Any

from .batches.schemas import BatchSchema
from .openapi_shapes import (
    BODY,
    LEVEL,
    LINKS,
    STORE,
    TEXT,
    Json,
    header_parameter,
    instant,
    json_content,
    list_of,
    object_of,
    path_parameter,
    problem_responses,
    reads,
    ref,
)
from .representations import CSV, EVENTS, MEDIA_TYPES, NDJSON
from .schemas import reference_to

_COUNT: Json = {"type": "integer", "minimum": 0}
_ID = path_parameter("id", {"type": "string", "maxLength": 64})
_ONE = "/v1/batches/{id}"
_KEY = header_parameter(
    "Idempotency-Key",
    "8 to 64 of A-Z a-z 0-9 _ -. A request that comes again with its key gets the same batch.",
)
PREFER_ASYNC = header_parameter(
    "Prefer", "respond-async: 202 with a batch of one in place of the answer"
)
#: The answer to that wish, and the problems that only it can meet.
ACCEPTED: Json = {"$ref": "#/components/responses/Accepted"}
LATER = (409, 429)


def batch_schemas(converter: Any, plan: Json) -> Iterator[tuple[str, Json]]:
    """The shapes of batches; `plan` is that of a plan given inline."""
    converter.resolve_nested_schema(BatchSchema)
    request = converter.spec.components.schemas["batches.Batch"]
    either = {"anyOf": [plan, reference_to("plan")], "title": "Plan, inline or by id"}
    request["properties"]["plan"] = either
    states = {
        "type": "string",
        "enum": ["accepted", "running", "successful", "failed", "dismissed"],
    }
    counts = {name: _COUNT for name in ("total", "successful", "failed", "dismissed")}
    times = {name: instant() for name in ("started_at", "ended_at", "expires_at")}
    yield (
        "Batch",
        object_of(
            {
                "id": TEXT,
                "title": TEXT,
                "status": states,
                "item_counts": object_of(counts),
                "created_at": instant(),
                "links": LINKS,
            },
            {**times, "problem": ref("Problem"), "request": {"type": "object"}},
        ),
    )
    yield "BatchList", object_of({"items": list_of(ref("Batch"))}, {"next": TEXT})
    item = {"index": _COUNT, "status": states}
    values = {"type": "object", "description": "By JSON Pointer"}
    more = {
        "verdict": LEVEL,
        "values": values,
        "kept": values,
        "problem": ref("Problem"),
        "same_as": {**_COUNT, "description": "The equal variant that was calculated for both"},
        "ended_at": instant(),
    }
    yield "BatchItem", object_of(item, more)
    page = {"items": list_of(ref("BatchItem")), "status": states}
    yield "BatchResults", object_of(page, {"next": TEXT})
    shape: Json = {"type": "object"}
    whole = {"plan": shape, "calculator": TEXT, "inputs": shape, "answer": shape}
    yield "BatchItemWhole", object_of({**item, "links": LINKS}, {**more, **whole})


def accepted() -> Json:
    """202: a batch was made."""
    header = {"schema": TEXT}
    return {
        "description": "The batch is on disk; its results will come.",
        "headers": {"Location": header, "Retry-After": header, "Preference-Applied": header},
        **json_content(ref("Batch")),
    }


def batch_paths() -> Iterator[tuple[str, Json]]:
    """Everything under /v1/batches."""
    yield "/v1/batches", {"get": _list(), "post": _make()}
    wait = header_parameter(
        "Prefer",
        "wait=20: answer after so many seconds, 30 at most, or sooner when it has ended (or is not "
        "as If-None-Match says)",
    )
    one = reads("batch-get", "How far a batch is", json_content(ref("Batch")), 404, 410, *STORE)
    one["parameters"] = [wait]
    one["responses"]["304"] = {"description": "Not changed since that ETag."}
    gone = {
        "operationId": "batch-delete",
        "summary": "Remove a batch with its results; one that runs is cancelled first",
        "responses": {
            "204": {"description": "Gone."},
            **problem_responses(403, 404, 410, *STORE),
        },
    }
    yield _ONE, {"parameters": [_ID], "get": one, "delete": gone}
    yield f"{_ONE}/cancellation", {"parameters": [_ID], "put": _cancel()}
    yield f"{_ONE}/results", {"parameters": [_ID], "get": _results()}
    index = path_parameter("index", _COUNT)
    what = "One variant with the whole it stands for, ready to be run again"
    whole = json_content(ref("BatchItemWhole"))
    item = reads("batch-item", what, whole, 404, 410, 422, *STORE)
    item["parameters"] = [_flag("answer", "Its whole answer too")]
    item["responses"]["304"] = {"description": "Not changed since that ETag."}
    yield f"{_ONE}/results/{{index}}", {"parameters": [_ID, index], "get": item}
    yield f"{_ONE}/events", {"parameters": [_ID], "get": _events()}


def _paging() -> list[Json]:
    limit = {"type": "integer", "minimum": 1, "maximum": 1000, "default": 100}
    return [
        {"name": "limit", "in": "query", "schema": limit},
        {"name": "cursor", "in": "query", "schema": TEXT},
    ]


def _flag(name: str, about: str) -> Json:
    return {"name": name, "in": "query", "description": about, "schema": {"type": "boolean"}}


def _list() -> Json:
    listed = json_content(ref("BatchList"))
    listing = reads("batches", "Batches, the newest first", listed, *STORE)
    listing["parameters"] = _paging()
    listing["responses"]["304"] = {"description": "Not changed since that ETag."}
    return listing


def _make() -> Json:
    return {
        "operationId": "batch-make",
        "summary": "Many variants of a plan, or of one calculator's inputs",
        "parameters": [_KEY],
        "requestBody": {"required": True, **json_content(ref("batches.Batch"))},
        "responses": {"202": ACCEPTED, **problem_responses(*BODY, *LATER, *STORE)},
    }


def _cancel() -> Json:
    empty = {"type": "object", "maxProperties": 0}
    return {
        "operationId": "batch-cancel",
        "summary": "End a batch: what has been calculated stays. May be repeated",
        "requestBody": {"required": True, **json_content(empty)},
        "responses": {
            "200": {"description": "As it stands now.", **json_content(ref("Batch"))},
            **problem_responses(*BODY, 404, 410, *STORE),
        },
    }


def _results() -> Json:
    answer = json_content(ref("BatchResults"))
    answer["content"][MEDIA_TYPES[CSV]] = {"schema": TEXT}
    answer["content"][MEDIA_TYPES[NDJSON]] = {"schema": TEXT}
    what = "Every variant that has ended, in order"
    found = reads("batch-results", what, answer, 404, 409, 410, *STORE)
    forms = {"type": "string", "enum": ["json", "csv", "ndjson"]}
    partial = _flag("partial", "CSV and NDJSON of a batch that has not finished")
    found["parameters"] = [{"name": "format", "in": "query", "schema": forms}, partial, *_paging()]
    found["responses"]["304"] = {"description": "Not changed since that ETag."}
    return found


def _events() -> Json:
    stream: Json = {"content": {MEDIA_TYPES[EVENTS]: {"schema": TEXT}}}
    what = "Progress, each failed variant, and the end, as server-sent events"
    found = reads("batch-events", what, stream, 404, 410, 429, *STORE)
    about = "Go on behind this event"
    found["parameters"] = [header_parameter("Last-Event-ID", about)]
    found["responses"]["204"] = {"description": "Everything was told; do not come back."}
    return found

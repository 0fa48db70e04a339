"""In the API document: what a stored plan answers, by address."""

from collections.abc import Iterator

from .openapi_reports import paper_parameters
from .openapi_shapes import (
    ID,
    LEVEL,
    REVISION,
    STORE,
    TEXT,
    Json,
    instant,
    json_content,
    list_of,
    object_of,
    path_parameter,
    reads,
    ref,
)
from .representations import CSV, DXF, MEDIA_TYPES, PDF, SCENE, SVG

_WHOLE: Json = {"type": "integer", "minimum": 0}


def summary_schema() -> Json:
    """The verdict of a stored plan at a glance."""
    status = {"type": "string", "enum": ["done", "failed", "skipped"]}
    view = object_of({"name": TEXT, "title": TEXT})
    step = object_of(
        {"id": TEXT, "calculator": TEXT, "status": status, "verdict": LEVEL},
        {
            "title": TEXT,
            "views": list_of(view),
            "tabular": {"type": "boolean"},
            "spatial": {"type": "boolean"},
            "problem": ref("Problem"),
            "skipped_because": list_of(TEXT),
        },
    )
    return object_of(
        {
            "id": ID,
            "title": TEXT,
            "revision": REVISION,
            "updated_at": instant(),
            "verdict": LEVEL,
            "stop_count": _WHOLE,
            "watch_count": _WHOLE,
            "ok_count": _WHOLE,
            "steps": list_of(step),
            "findings": list_of(ref("PlanFinding")),
        }
    )


def answer_paths() -> Iterator[tuple[str, Json]]:
    """The addresses under a stored plan."""
    plan = "/v1/plans/{id}"
    svg: Json = {"content": {MEDIA_TYPES[SVG]: {"schema": TEXT}}}
    csv: Json = {"content": {MEDIA_TYPES[CSV]: {"schema": TEXT}}}
    view = {"name": "view", "in": "query", "schema": TEXT}
    yield (
        f"{plan}/answer",
        _read("plan-answer", "The whole answer", json_content(ref("PlanAnswer"))),
    )
    summary = json_content(ref("PlanSummary"))
    yield f"{plan}/summary", _read("plan-summary", "The verdict at a glance", summary)
    yield f"{plan}/badge", _read("plan-badge", "The verdict as a small picture", svg)
    forms: Json = {MEDIA_TYPES[SVG]: {"schema": TEXT}}
    forms |= {MEDIA_TYPES[form]: {"schema": {}} for form in (PDF, DXF)}
    drawing = _read("plan-drawing", "A picture of one step", {"content": forms}, "step")
    kinds = {"type": "string", "enum": [SVG, PDF, DXF]}
    form = {"name": "format", "in": "query", "schema": kinds}
    drawing["get"]["parameters"] = [form, view, *paper_parameters()]
    yield f"{plan}/steps/{{step}}/drawing", drawing
    table = _read("plan-table", "The table of one step", csv, "step")
    yield f"{plan}/steps/{{step}}/table", table
    seen: Json = {"content": {MEDIA_TYPES[SCENE]: {"schema": ref("Scene")}}}
    scene = _read("plan-scene", "What of one step stands in space", seen, "step")
    yield f"{plan}/steps/{{step}}/scene", scene


def _read(id: str, what: str, answer: Json, *more: str) -> Json:
    operation = reads(id, what, answer, 404, 422, *STORE)
    operation["responses"]["304"] = {"description": "Not changed since that ETag."}
    places = [path_parameter("id", ID), *(path_parameter(name, TEXT) for name in more)]
    return {"parameters": places, "get": operation}

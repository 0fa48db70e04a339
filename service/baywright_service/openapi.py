"""The OpenAPI 3.1 document of a registry: routes, calculators, and every schema they use.

`python -m baywright_service.openapi > openapi.yaml` writes that of the built-in calculators.
"""

import sys
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import yaml

from .contract import Calculator
from .documents import KINDS
from .host import API_VERSION
from .json_writer import plain
from .plans import PlanSchema
from .problems import Problem, problem_types
from .registry import Registry, installed
from .representations import CSV, JSON, MEDIA_TYPES, SVG, forms_of
from .schemas import DIALECT, new_spec, reference_to

Json = dict[str, Any]

#: Written by libyaml where PyYAML has it: ten times as fast.
_DUMPER: Any = getattr(yaml, "CSafeDumper", yaml.SafeDumper)

_ID: Json = {"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "maxLength": 64}
_REVISION: Json = {"type": "string", "pattern": "^sha256-[0-9a-f]{64}$"}
_ALWAYS = (400, 401, 406, 414, 421, 431, 500)
_BODY = (403, 413, 415, 422)
_STORE = (503,)


def service_version() -> str:
    """The version of the installed distribution."""
    try:
        return version("baywright")
    except PackageNotFoundError:
        return "0"


@lru_cache(maxsize=8)
def document(registry: Registry) -> Json:
    """The whole document; equal registries give equal documents."""
    spec, converter = new_spec(
        "Baywright",
        API_VERSION,
        info={
            "description": "Pluggable calculators for builders of big rolling-ball machines. "
            "Planning aid, not a safety certificate.",
        },
        jsonSchemaDialect=DIALECT,
        security=[{}, {"token": []}],
    )
    spec.components.security_scheme("token", {"type": "http", "scheme": "bearer"})
    for name, shape in _shared_schemas():
        spec.components.schema(name, shape)
    for kind in _statuses():
        spec.components.response(_response_name(kind), _problem_response(kind))
    for path, operations in _fixed_paths(converter.resolve_nested_schema(PlanSchema)):
        parameters = operations.pop("parameters", [])
        spec.path(path, operations=operations, parameters=parameters)
    for calculator in registry.calculators.values():
        path = f"/v1/calculators/{calculator.name}/run"
        spec.components.schema(f"{calculator.name}.Envelope", _envelope(calculator, converter))
        spec.path(path, operations={"post": _run(calculator, converter)})
    whole = spec.to_dict()
    whole["components"]["schemas"] = dict(sorted(whole["components"]["schemas"].items()))
    written: Json = plain(whole)
    return written


def yaml_text(registry: Registry) -> str:
    """The document as YAML."""
    text: str = yaml.dump(
        document(registry), Dumper=_DUMPER, sort_keys=False, allow_unicode=True, width=100
    )
    return text


def _statuses() -> list[int]:
    return sorted({kind.status for kind in problem_types()})


def _response_name(status: int) -> str:
    return f"Problem{status}"


def _problem_response(status: int) -> Json:
    kinds: list[type[Problem]] = [kind for kind in problem_types() if kind.status == status]
    return {
        "description": "; ".join(f"{kind.type}: {kind.title}" for kind in kinds) + ".",
        "content": {"application/problem+json": {"schema": _ref("Problem")}},
    }


def _ref(name: str) -> Json:
    return {"$ref": f"#/components/schemas/{name}"}


def _problems(*statuses: int) -> Json:
    chosen = sorted({*_ALWAYS, *statuses})
    return {
        str(status): {"$ref": f"#/components/responses/{_response_name(status)}"}
        for status in chosen
    }


def _json(schema: Json) -> Json:
    return {"content": {MEDIA_TYPES[JSON]: {"schema": schema}}}


def _object(required: Mapping[str, Any], optional: Mapping[str, Any] | None = None) -> Json:
    return {
        "type": "object",
        "required": list(required),
        "properties": {**required, **(optional or {})},
    }


def _list_of(items: Json) -> Json:
    return {"type": "array", "items": items}


_TEXT: Json = {"type": "string"}
_LEVEL: Json = {"type": "string", "enum": ["ok", "watch", "stop"]}
_POINTER: Json = {"type": "string", "description": "JSON Pointer (RFC 6901)"}
_LINKS: Json = _list_of(_object({"rel": _TEXT, "href": _TEXT}))


def _shared_schemas() -> Iterator[tuple[str, Json]]:
    place = {"pointer": _POINTER, "parameter": _TEXT, "header": _TEXT}
    fault = _object({"code": _TEXT, "detail": _TEXT}, place)
    yield (
        "Problem",
        _object(
            {"type": _TEXT, "title": _TEXT, "status": {"type": "integer"}, "detail": _TEXT},
            {
                "instance": _TEXT,
                "errors_total": {"type": "integer"},
                "errors": {**_list_of(fault), "maxItems": 100},
                "available": _list_of(_TEXT),
                "limit": {"type": "integer"},
                "limit_s": {"type": "number", "x-unit": "s"},
                "current": {"type": "string", "description": "The current ETag"},
            },
        ),
    )
    measure = _object({"value": {"type": "number"}, "unit": _TEXT}, {"limit": {"type": "number"}})
    patch = {"type": "object", "description": "JSON Merge Patch (RFC 7396) on the inputs, proven"}
    remedy = _object({"message": _TEXT}, {"patch": patch})
    finding = {"code": _TEXT, "level": _LEVEL, "message": _TEXT, "at": _list_of(_POINTER)}
    more = {"measure": measure, "remedy": remedy}
    yield "Finding", _object(finding, more)
    yield "PlanFinding", _object({"step": _TEXT, **finding}, more)
    yield "Source", _object({"title": _TEXT}, {"clause": _TEXT})
    kind = {"type": "string", "enum": list(KINDS)}
    yield "DocumentUse", _object({"kind": kind, "id": _ID, "revision": _REVISION})
    yield "PlanAnswer", _plan_answer()
    yield "StoredDocument", {"type": "object", "description": "The document itself."}
    summary = {"id": _ID, "title": _TEXT, "revision": _REVISION, "updated_at": _instant()}
    yield "DocumentList", _object({"items": _list_of(_object(summary))}, {"next": _TEXT})
    entry = {"name": _TEXT, "version": _TEXT, "title": _TEXT, "summary": _TEXT, "links": _LINKS}
    refused = _object({"name": _TEXT, "distribution": _TEXT, "reason": _TEXT})
    yield (
        "CalculatorList",
        _object({"items": _list_of(_object(entry)), "refused": _list_of(refused)}),
    )
    yield "Calculator", _object({**entry, **_calculator_members()})


def _instant() -> Json:
    return {"type": "string", "format": "date-time"}


def _calculator_members() -> Json:
    shape: Json = {"type": "object"}
    return {
        "input_schema": shape,
        "result_schema": shape,
        "examples": _list_of(_object({"title": _TEXT, "inputs": shape})),
        "views": _list_of(_object({"name": _TEXT, "title": _TEXT})),
        "media_types": _list_of(_TEXT),
        "limits": shape,
        "sources": _list_of(_ref("Source")),
        "cautions": _list_of(_TEXT),
    }


def _plan_answer() -> Json:
    status = {"type": "string", "enum": ["done", "failed", "skipped"]}
    step = _object(
        {"id": _TEXT, "calculator": _TEXT, "status": status},
        {
            "envelope": {"type": "object", "description": "As the calculator called alone gives"},
            "problem": _ref("Problem"),
            "skipped_because": {**_list_of(_TEXT), "description": "Ids of the steps it waited for"},
        },
    )
    return _object(
        {
            "verdict": _LEVEL,
            "steps": _list_of(step),
            "findings": _list_of(_ref("PlanFinding")),
            "documents": _list_of(_ref("DocumentUse")),
        },
        {"title": _TEXT},
    )


def _get(id: str, summary: str, answer: Json, *statuses: int, **more: Any) -> Json:
    responses = {"200": {"description": "It.", **answer}, **_problems(*statuses)}
    return {"operationId": id, "summary": summary, **more, "responses": responses}


def _fixed_paths(plan: Json) -> Iterator[tuple[str, Json]]:
    html = {"content": {"text/html": {"schema": _TEXT}}}
    anything = _json({"type": "object"})
    yield "/", {"get": _get("home", "A page that links to everything", html)}
    css = {"content": {"text/css": {"schema": _TEXT}}}
    yield "/page.css", {"get": _get("style", "How pages look", css)}
    yield "/healthz", {"get": _get("health", "The process answers", anything)}
    yield "/readyz", {"get": _get("ready", "The store can be reached too", anything, *_STORE)}
    yield "/v1", {"get": _get("start", "Links, versions, limits", anything)}
    yield "/v1/openapi.json", {"get": _get("openapi-json", "This document", anything)}
    as_yaml: Json = {"content": {"application/yaml": {"schema": {}}}}
    yield "/v1/openapi.yaml", {"get": _get("openapi-yaml", "This document as YAML", as_yaml)}
    yield from _problem_paths()
    found = _json(_ref("CalculatorList"))
    yield "/v1/calculators", {"get": _get("calculators", "What is offered, and refused", found)}
    one = _json(_ref("Calculator"))
    named = [_path_parameter("name", {"type": "string"})]
    what = "One calculator with schemas, examples, sources"
    yield (
        "/v1/calculators/{name}",
        {"get": _get("calculator", what, one, 404, parameters=named)},
    )
    yield "/v1/plans/run", {"post": _run_plan(plan)}
    for kind in KINDS:
        yield from _document_paths(kind)


def _problem_paths() -> Iterator[tuple[str, Json]]:
    entry = {"type": _TEXT, "title": _TEXT, "status": {"type": "integer"}, "meaning": _TEXT}
    several = _json(_object({"items": _list_of(_object(entry))}))
    yield "/v1/problems", {"get": _get("problems", "Every error type", several)}
    types = {"type": "string", "enum": [kind.type for kind in problem_types()]}
    one = _json(_object(entry))
    one["content"]["text/html"] = {"schema": _TEXT}
    parameters = [_path_parameter("type", types)]
    what = "What an error type means, and what to do"
    yield "/v1/problems/{type}", {"get": _get("problem", what, one, 404, parameters=parameters)}


def _path_parameter(name: str, schema: Json) -> Json:
    return {"name": name, "in": "path", "required": True, "schema": schema}


def _header_parameter(name: str, about: str) -> Json:
    return {"name": name, "in": "header", "description": about, "schema": {"type": "string"}}


def _document_paths(kind: str) -> Iterator[tuple[str, Json]]:
    collection, id = f"/v1/{kind}s", _path_parameter("id", _ID)
    limit = {"type": "integer", "minimum": 1, "maximum": 1000, "default": 100}
    paging = [
        {"name": "limit", "in": "query", "schema": limit},
        {"name": "cursor", "in": "query", "schema": {"type": "string"}},
    ]
    listed = _json(_ref("DocumentList"))
    what = f"Stored {kind}s, by id"
    yield collection, {"get": _get(f"{kind}s", what, listed, 404, *_STORE, parameters=paging)}
    it = _json(_ref("StoredDocument"))
    current = _get(f"{kind}-get", f"A stored {kind}", it, 404, *_STORE)
    current["responses"]["304"] = {"description": "Not changed since that ETag."}
    yield (
        f"{collection}/{{id}}",
        {
            "parameters": [id],
            "get": current,
            "put": _write(kind, "put", MEDIA_TYPES[JSON]),
            "patch": _write(kind, "patch", "application/merge-patch+json"),
            "delete": _delete(kind),
        },
    )
    revision = _path_parameter("revision", _REVISION)
    old = _get(f"{kind}-revision", f"A {kind} as it was", it, 404, *_STORE)
    old["responses"]["304"] = {"description": "It never changes."}
    yield (
        f"{collection}/{{id}}/revisions/{{revision}}",
        {"parameters": [id, revision], "get": old},
    )


def _write(kind: str, method: str, media_type: str) -> Json:
    conditions = [_header_parameter("If-Match", "The ETag that is replaced")]
    if method == "put":
        conditions.append(_header_parameter("If-None-Match", "* to create"))
    answers: Json = {"200": {"description": "The new revision.", **_json(_ref("StoredDocument"))}}
    if method == "put":
        answers["201"] = {"description": "Created.", **_json(_ref("StoredDocument"))}
    statuses = (*_BODY, 404, 412, 428, *_STORE)
    return {
        "operationId": f"{kind}-{method}",
        "summary": f"{'Create or replace' if method == 'put' else 'Change'} a {kind}",
        "parameters": conditions,
        "requestBody": {
            "required": True,
            "content": {media_type: {"schema": _ref("StoredDocument")}},
        },
        "responses": {**answers, **_problems(*statuses)},
    }


def _delete(kind: str) -> Json:
    return {
        "operationId": f"{kind}-delete",
        "summary": f"Delete a {kind}; its revisions stay readable",
        "parameters": [_header_parameter("If-Match", "The ETag that is deleted")],
        "responses": {
            "204": {"description": "Gone."},
            **_problems(403, 404, 412, 428, *_STORE),
        },
    }


def _run_plan(plan: Json) -> Json:
    answer = _json(_ref("PlanAnswer"))
    schema = {"anyOf": [plan, reference_to("plan")]}
    return {
        "operationId": "plan-run",
        "summary": "Run a chain of calculators with references between its steps",
        "requestBody": {"required": True, **_json(schema)},
        "responses": {
            "200": {"description": "Every step, and the findings of all.", **answer},
            **_problems(*_BODY, *_STORE),
        },
    }


def _envelope(calculator: Calculator, converter: Any) -> Json:
    return _object(
        {
            "calculator": {"type": "string", "const": calculator.name},
            "version": _TEXT,
            "verdict": _LEVEL,
            "result": converter.resolve_nested_schema(calculator.result_schema),
            "findings": _list_of(_ref("Finding")),
            "assumptions": _list_of(_TEXT),
            "cautions": _list_of(_TEXT),
            "sources": _list_of(_ref("Source")),
            "documents": _list_of(_ref("DocumentUse")),
        }
    )


def _run(calculator: Calculator, converter: Any) -> Json:
    forms = forms_of(calculator)
    content: Json = {MEDIA_TYPES[JSON]: {"schema": _ref(f"{calculator.name}.Envelope")}}
    if SVG in forms:
        content[MEDIA_TYPES[SVG]] = {"schema": _TEXT}
    if CSV in forms:
        content[MEDIA_TYPES[CSV]] = {"schema": _TEXT}
    examples = {
        f"example-{k}": {"summary": example.title, "value": example.inputs}
        for k, example in enumerate(calculator.examples, 1)
    }
    inputs = converter.resolve_nested_schema(calculator.inputs_schema)
    body = {"content": {MEDIA_TYPES[JSON]: {"schema": inputs, "examples": examples}}}
    return {
        "operationId": f"{calculator.name}-run",
        "summary": calculator.title,
        "description": calculator.summary,
        "parameters": list(_run_parameters(calculator, forms)),
        "requestBody": {"required": True, **body},
        "responses": {
            "200": {"description": "The envelope, or its drawing or table.", "content": content},
            **_problems(*_BODY, *_STORE),
        },
    }


def _run_parameters(calculator: Calculator, forms: list[str]) -> Iterator[Json]:
    yield {"name": "format", "in": "query", "schema": {"type": "string", "enum": forms}}
    if calculator.views:
        views = {"type": "string", "enum": list(calculator.views)}
        about = "; ".join(f"{name}: {title}" for name, title in calculator.views.items())
        yield {"name": "view", "in": "query", "description": about, "schema": views}


if __name__ == "__main__":
    sys.stdout.write(yaml_text(installed(built_in_only=True)))

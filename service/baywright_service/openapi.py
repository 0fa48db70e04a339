"""The OpenAPI 3.1 document of a registry: routes, calculators, and every schema they use.

`python -m baywright_service.openapi > openapi.yaml` writes that of the built-in calculators.
"""

import sys
from collections.abc import Iterator
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import yaml

from .contract import Calculator
from .documents import KINDS
from .envelope import ALL_VIEWS
from .host import API_VERSION
from .json_writer import plain
from .openapi_answers import answer_paths, summary_schema
from .openapi_batches import (
    ACCEPTED,
    LATER,
    PREFER_ASYNC,
    accepted,
    batch_paths,
    batch_schemas,
)
from .openapi_pages import page_paths
from .openapi_reports import REPORT, paper_parameters, report_parameters, report_paths
from .openapi_scenes import scene_schema
from .openapi_shapes import (
    BODY,
    ID,
    LEVEL,
    LINKS,
    POINTER,
    REVISION,
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
    response_name,
)
from .plans import PlanSchema
from .problems import Problem, problem_types
from .registry import Registry, installed
from .report.schemas import FORMS
from .representations import CSV, DXF, JSON, MEDIA_TYPES, PDF, SCENE, SVG, forms_of
from .schemas import DIALECT, new_spec, reference_to

#: Written by libyaml where PyYAML has it: ten times as fast.
_DUMPER: Any = getattr(yaml, "CSafeDumper", yaml.SafeDumper)


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
    plan = converter.resolve_nested_schema(PlanSchema)
    for name, shape in (*_shared_schemas(), *batch_schemas(converter, plan)):
        spec.components.schema(name, shape)
    spec.components.response("Accepted", accepted())
    for kind in _statuses():
        spec.components.response(response_name(kind), _problem_response(kind))
    for path, operations in (*_fixed_paths(plan), *report_paths(converter)):
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


def _problem_response(status: int) -> Json:
    kinds: list[type[Problem]] = [kind for kind in problem_types() if kind.status == status]
    return {
        "description": "; ".join(f"{kind.type}: {kind.title}" for kind in kinds) + ".",
        "content": {"application/problem+json": {"schema": ref("Problem")}},
    }


def _shared_schemas() -> Iterator[tuple[str, Json]]:
    place = {"pointer": POINTER, "parameter": TEXT, "header": TEXT}
    fault = object_of({"code": TEXT, "detail": TEXT}, place)
    yield (
        "Problem",
        object_of(
            {"type": TEXT, "title": TEXT, "status": {"type": "integer"}, "detail": TEXT},
            {
                "instance": TEXT,
                "errors_total": {"type": "integer"},
                "errors": {**list_of(fault), "maxItems": 100},
                "available": list_of(TEXT),
                "limit": {"type": "integer"},
                "limit_s": {"type": "number", "x-unit": "s"},
                "current": {"type": "string", "description": "The current ETag"},
            },
        ),
    )
    measure = object_of({"value": {"type": "number"}, "unit": TEXT}, {"limit": {"type": "number"}})
    patch = {"type": "object", "description": "JSON Merge Patch (RFC 7396) on the inputs, proven"}
    remedy = object_of({"message": TEXT}, {"patch": patch})
    finding = {"code": TEXT, "level": LEVEL, "message": TEXT, "at": list_of(POINTER)}
    more = {"measure": measure, "remedy": remedy}
    yield "Finding", object_of(finding, more)
    yield "PlanFinding", object_of({"step": TEXT, **finding}, more)
    yield "Source", object_of({"title": TEXT}, {"clause": TEXT})
    kind = {"type": "string", "enum": list(KINDS)}
    yield "DocumentUse", object_of({"kind": kind, "id": ID, "revision": REVISION})
    yield "PlanAnswer", _plan_answer()
    yield "PlanSummary", summary_schema()
    yield "Scene", scene_schema()
    yield "StoredDocument", {"type": "object", "description": "The document itself."}
    summary = {"id": ID, "title": TEXT, "revision": REVISION, "updated_at": instant()}
    yield "DocumentList", object_of({"items": list_of(object_of(summary))}, {"next": TEXT})
    entry = {"name": TEXT, "version": TEXT, "title": TEXT, "summary": TEXT, "links": LINKS}
    refused = object_of({"name": TEXT, "distribution": TEXT, "reason": TEXT})
    yield (
        "CalculatorList",
        object_of({"items": list_of(object_of(entry)), "refused": list_of(refused)}),
    )
    yield "Calculator", object_of({**entry, **_calculator_members()})


def _calculator_members() -> Json:
    shape: Json = {"type": "object"}
    return {
        "input_schema": shape,
        "result_schema": shape,
        "examples": list_of(object_of({"title": TEXT, "inputs": shape})),
        "views": list_of(object_of({"name": TEXT, "title": TEXT})),
        "media_types": list_of(TEXT),
        "limits": shape,
        "sources": list_of(ref("Source")),
        "cautions": list_of(TEXT),
    }


def _plan_answer() -> Json:
    status = {"type": "string", "enum": ["done", "failed", "skipped"]}
    step = object_of(
        {"id": TEXT, "calculator": TEXT, "status": status},
        {
            "envelope": {"type": "object", "description": "As the calculator called alone gives"},
            "problem": ref("Problem"),
            "skipped_because": {**list_of(TEXT), "description": "Ids of the steps it waited for"},
        },
    )
    return object_of(
        {
            "verdict": LEVEL,
            "steps": list_of(step),
            "findings": list_of(ref("PlanFinding")),
            "documents": list_of(ref("DocumentUse")),
        },
        {"title": TEXT},
    )


def _fixed_paths(plan: Json) -> Iterator[tuple[str, Json]]:
    anything = json_content({"type": "object"})
    yield from page_paths()
    yield "/healthz", {"get": reads("health", "The process answers", anything)}
    yield (
        "/readyz",
        {"get": reads("ready", "The store can be reached too", anything, *STORE)},
    )
    yield "/v1", {"get": reads("start", "Links, versions, limits", anything)}
    yield "/v1/openapi.json", {"get": reads("openapi-json", "This document", anything)}
    as_yaml: Json = {"content": {"application/yaml": {"schema": {}}}}
    yield (
        "/v1/openapi.yaml",
        {"get": reads("openapi-yaml", "This document as YAML", as_yaml)},
    )
    yield from _problem_paths()
    found = json_content(ref("CalculatorList"))
    yield (
        "/v1/calculators",
        {"get": reads("calculators", "What is offered, and refused", found)},
    )
    one = json_content(ref("Calculator"))
    named = [path_parameter("name", {"type": "string"})]
    what = "One calculator with schemas, examples, sources"
    yield (
        "/v1/calculators/{name}",
        {"get": reads("calculator", what, one, 404, parameters=named)},
    )
    yield "/v1/plans/run", {"post": _run_plan(plan)}
    for kind in KINDS:
        yield from _document_paths(kind)
    yield from answer_paths()
    yield from batch_paths()


def _problem_paths() -> Iterator[tuple[str, Json]]:
    entry = {"type": TEXT, "title": TEXT, "status": {"type": "integer"}, "meaning": TEXT}
    several = json_content(object_of({"items": list_of(object_of(entry))}))
    yield "/v1/problems", {"get": reads("problems", "Every error type", several)}
    types = {"type": "string", "enum": [kind.type for kind in problem_types()]}
    one = json_content(object_of(entry))
    one["content"]["text/html"] = {"schema": TEXT}
    parameters = [path_parameter("type", types)]
    what = "What an error type means, and what to do"
    yield (
        "/v1/problems/{type}",
        {"get": reads("problem", what, one, 404, parameters=parameters)},
    )


def _document_paths(kind: str) -> Iterator[tuple[str, Json]]:
    collection, id = f"/v1/{kind}s", path_parameter("id", ID)
    limit = {"type": "integer", "minimum": 1, "maximum": 1000, "default": 100}
    paging = [
        {"name": "limit", "in": "query", "schema": limit},
        {"name": "cursor", "in": "query", "schema": {"type": "string"}},
    ]
    listed = json_content(ref("DocumentList"))
    what = f"Stored {kind}s, by id"
    yield (
        collection,
        {"get": reads(f"{kind}s", what, listed, 404, *STORE, parameters=paging)},
    )
    it = json_content(ref("StoredDocument"))
    current = reads(f"{kind}-get", f"A stored {kind}", it, 404, *STORE)
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
    revision = path_parameter("revision", REVISION)
    old = reads(f"{kind}-revision", f"A {kind} as it was", it, 404, *STORE)
    old["responses"]["304"] = {"description": "It never changes."}
    yield (
        f"{collection}/{{id}}/revisions/{{revision}}",
        {"parameters": [id, revision], "get": old},
    )


def _write(kind: str, method: str, media_type: str) -> Json:
    conditions = [header_parameter("If-Match", "The ETag that is replaced")]
    if method == "put":
        conditions.append(header_parameter("If-None-Match", "* to create"))
    answers: Json = {
        "200": {"description": "The new revision.", **json_content(ref("StoredDocument"))}
    }
    if method == "put":
        answers["201"] = {"description": "Created.", **json_content(ref("StoredDocument"))}
    statuses = (*BODY, 404, 412, 428, *STORE)
    return {
        "operationId": f"{kind}-{method}",
        "summary": f"{'Create or replace' if method == 'put' else 'Change'} a {kind}",
        "parameters": conditions,
        "requestBody": {
            "required": True,
            "content": {media_type: {"schema": ref("StoredDocument")}},
        },
        "responses": {**answers, **problem_responses(*statuses)},
    }


def _delete(kind: str) -> Json:
    return {
        "operationId": f"{kind}-delete",
        "summary": f"Delete a {kind}; its revisions stay readable",
        "parameters": [header_parameter("If-Match", "The ETag that is deleted")],
        "responses": {
            "204": {"description": "Gone."},
            **problem_responses(403, 404, 412, 428, *STORE),
        },
    }


def _run_plan(plan: Json) -> Json:
    answer = {"content": {**json_content(ref("PlanAnswer"))["content"], **REPORT}}
    schema = {"anyOf": [plan, reference_to("plan")]}
    return {
        "operationId": "plan-run",
        "summary": "Run a chain of calculators with references between its steps",
        "parameters": [PREFER_ASYNC, *report_parameters((JSON, *FORMS))],
        "requestBody": {"required": True, **json_content(schema)},
        "responses": {
            "200": {"description": "Every step and all findings, or the report.", **answer},
            "202": ACCEPTED,
            **problem_responses(*BODY, *LATER, *STORE),
        },
    }


def _envelope(calculator: Calculator, converter: Any) -> Json:
    return object_of(
        {
            "calculator": {"type": "string", "const": calculator.name},
            "version": TEXT,
            "verdict": LEVEL,
            "result": converter.resolve_nested_schema(calculator.result_schema),
            "findings": list_of(ref("Finding")),
            "assumptions": list_of(TEXT),
            "cautions": list_of(TEXT),
            "sources": list_of(ref("Source")),
            "documents": list_of(ref("DocumentUse")),
        }
    )


def _run(calculator: Calculator, converter: Any) -> Json:
    forms = forms_of(calculator)
    content: Json = {MEDIA_TYPES[JSON]: {"schema": ref(f"{calculator.name}.Envelope")}}
    if SVG in forms:
        content[MEDIA_TYPES[SVG]] = {"schema": TEXT}
    if CSV in forms:
        content[MEDIA_TYPES[CSV]] = {"schema": TEXT}
    content |= {MEDIA_TYPES[form]: {"schema": {}} for form in (PDF, DXF) if form in forms}
    if SCENE in forms:
        content[MEDIA_TYPES[SCENE]] = {"schema": ref("Scene")}
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
            "202": ACCEPTED,
            **problem_responses(*BODY, *LATER, *STORE),
        },
    }


def _run_parameters(calculator: Calculator, forms: list[str]) -> Iterator[Json]:
    yield PREFER_ASYNC
    yield {"name": "format", "in": "query", "schema": {"type": "string", "enum": forms}}
    if calculator.views:
        views = {"type": "string", "enum": [*calculator.views, ALL_VIEWS]}
        about = "; ".join(f"{name}: {title}" for name, title in calculator.views.items())
        about = f"{about}; {ALL_VIEWS}: a page for each (pdf only)"
        yield {"name": "view", "in": "query", "description": about, "schema": views}
        yield from paper_parameters()


if __name__ == "__main__":
    sys.stdout.write(yaml_text(installed(built_in_only=True)))

"""Pieces that the API document is put together from."""

from collections.abc import Mapping
from typing import Any

from .representations import JSON, MEDIA_TYPES

Json = dict[str, Any]

ID: Json = {"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "maxLength": 64}
REVISION: Json = {"type": "string", "pattern": "^sha256-[0-9a-f]{64}$"}
ALWAYS = (400, 401, 406, 414, 421, 431, 500)
BODY = (403, 413, 415, 422)
STORE = (503,)


def response_name(status: int) -> str:
    """The component that holds every problem of a status."""
    return f"Problem{status}"


def ref(name: str) -> Json:
    """A reference to a shared schema."""
    return {"$ref": f"#/components/schemas/{name}"}


def problem_responses(*statuses: int) -> Json:
    """The problems of an operation; those any request can meet come with them."""
    chosen = sorted({*ALWAYS, *statuses})
    return {
        str(status): {"$ref": f"#/components/responses/{response_name(status)}"}
        for status in chosen
    }


def json_content(schema: Json) -> Json:
    """A response or body in JSON."""
    return {"content": {MEDIA_TYPES[JSON]: {"schema": schema}}}


def object_of(required: Mapping[str, Any], optional: Mapping[str, Any] | None = None) -> Json:
    """An object with required and optional members."""
    return {
        "type": "object",
        "required": list(required),
        "properties": {**required, **(optional or {})},
    }


def list_of(items: Json) -> Json:
    """An array."""
    return {"type": "array", "items": items}


TEXT: Json = {"type": "string"}
LEVEL: Json = {"type": "string", "enum": ["ok", "watch", "stop"]}
POINTER: Json = {"type": "string", "description": "JSON Pointer (RFC 6901)"}
LINKS: Json = list_of(object_of({"rel": TEXT, "href": TEXT}))


def instant() -> Json:
    """RFC 3339, in UTC."""
    return {"type": "string", "format": "date-time"}


def reads(id: str, summary: str, answer: Json, *statuses: int, **more: Any) -> Json:
    """A GET that answers 200, or with one of the problems."""
    responses = {"200": {"description": "It.", **answer}, **problem_responses(*statuses)}
    return {"operationId": id, "summary": summary, **more, "responses": responses}


def path_parameter(name: str, schema: Json) -> Json:
    """A segment of the path."""
    return {"name": name, "in": "path", "required": True, "schema": schema}


def header_parameter(name: str, about: str) -> Json:
    """A header that may be sent."""
    return {"name": name, "in": "header", "description": about, "schema": {"type": "string"}}

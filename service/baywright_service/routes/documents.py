"""/v1/kits, /v1/stocks, /v1/plans: stored documents, their revisions, and lists of them."""

import base64
import binascii
from datetime import datetime
from typing import Any

from flask import Blueprint, Response, request
from flask.blueprints import BlueprintSetupState
from werkzeug.routing import BaseConverter

from .. import plans
from ..documents import KINDS, Fetched, Stored, is_id
from ..fields import flatten_faults
from ..host import host
from ..json_writer import json_bytes
from ..pointers import merge_patch
from ..problems import (
    NotFound,
    PreconditionFailed,
    PreconditionRequired,
    errors_from,
    invalid_input,
    invalid_parameter,
)
from ..representations import JSON, chosen_form, respond
from .reading import MERGE_PATCH_TYPE, json_body, takes, whole_parameter

routes = Blueprint("documents", __name__, url_prefix="/v1")

_COLLECTION = f"/<any({', '.join(kind + 's' for kind in KINDS)}):collection>"
_ONE = f"{_COLLECTION}/<document_id:id>"


class DocumentId(BaseConverter):
    """Any segment but `run`, which is a resource of its own beside the plans."""

    regex = r"(?!run\Z)[^/]+"


@routes.record_once
def _know_ids(state: BlueprintSetupState) -> None:
    state.app.url_map.converters["document_id"] = DocumentId


@routes.get(_COLLECTION)
@takes("limit", "cursor")
def list_documents(collection: str) -> Response:
    """One page, in the order of ids."""
    chosen_form([JSON])
    limit = whole_parameter("limit", 100, 1, 1000)
    found = host().documents.page(_kind(collection), _behind_cursor(), limit + 1)
    page: dict[str, Any] = {"items": [_summary(stored) for stored in found[:limit]]}
    if len(found) > limit:
        cursor = base64.urlsafe_b64encode(found[limit - 1].id.encode()).decode().rstrip("=")
        page["next"] = f"/v1/{collection}?limit={limit}&cursor={cursor}"
    response = respond(json_bytes(page), JSON)
    if "next" in page:
        response.headers["Link"] = f'<{page["next"]}>; rel="next"'
    return response


@routes.get(_ONE)
def show_document(collection: str, id: str) -> Response:
    """The document itself; its revision is the ETag."""
    return _shown(_existing(_kind(collection), id))


@routes.get(f"{_ONE}/revisions/<revision>")
def show_revision(collection: str, id: str, revision: str) -> Response:
    """The document as it was then: never changes."""
    stored = host().documents.revision(_kind(collection), id, revision)
    if stored is None:
        raise NotFound(f"No such revision of “{id}” is stored.")
    response = _shown(stored)
    response.headers["Cache-Control"] = "private, max-age=31536000, immutable"
    return response


@routes.put(_ONE)
def put_document(collection: str, id: str) -> Response:
    """Create with If-None-Match: *, replace with If-Match."""
    kind = _kind(collection)
    if not is_id(id):
        detail = "An id is kebab-case: small letters, digits and single hyphens, 64 at most."
        raise invalid_parameter("id", detail)
    creating, expected = _precondition()
    body = _valid(kind, json_body())
    if creating:
        return _created(kind, id, host().documents.create(kind, id, body))
    return _replaced(kind, id, body, expected)


@routes.patch(_ONE)
def patch_document(collection: str, id: str) -> Response:
    """A merge patch on the revision that If-Match names."""
    kind = _kind(collection)
    patch = json_body(MERGE_PATCH_TYPE)
    stored = _existing(kind, id)
    _, expected = _precondition(create=False)
    _match(kind, id, stored, expected)
    return _replaced(kind, id, _valid(kind, merge_patch(stored.body, patch)), {stored.revision})


@routes.delete(_ONE)
def delete_document(collection: str, id: str) -> Response:
    """Gone from lists and from its address; its revisions stay."""
    kind = _kind(collection)
    stored = _existing(kind, id)
    _, expected = _precondition(create=False)
    _match(kind, id, stored, expected)
    if not host().documents.delete(kind, id, stored.revision):
        raise _stale(kind, id)
    return Response(status=204)


def _kind(collection: str) -> str:
    return collection[:-1]


def _behind_cursor() -> str:
    cursor = request.args.get("cursor")
    if cursor is None:
        return ""
    try:
        padded = cursor + "=" * (-len(cursor) % 4)
        id = base64.b64decode(padded, altchars=b"-_", validate=True).decode()
    except (binascii.Error, ValueError):
        id = ""
    if not is_id(id):
        raise invalid_parameter("cursor", "Must be the cursor of a list's next link.")
    return id


def _summary(stored: Stored) -> dict[str, Any]:
    return {
        "id": stored.id,
        "title": stored.title,
        "revision": stored.revision,
        "updated_at": stored.updated_at,
    }


def _existing(kind: str, id: str) -> Stored:
    stored = host().documents.current(kind, id) if is_id(id) else None
    if stored is None:
        raise NotFound(f"No {kind} “{id[:64]}” is stored.")
    return stored


def _shown(stored: Stored, status: int = 200) -> Response:
    chosen_form([JSON])
    response = respond(stored.content + b"\n", JSON, status=status, etag=stored.revision)
    response.last_modified = datetime.fromisoformat(stored.updated_at)
    return response


def _precondition(*, create: bool = True) -> tuple[bool, set[str]]:
    """(whether to create, the revisions that may be replaced; "*" is any)."""
    match, none = request.headers.get("If-Match"), request.headers.get("If-None-Match")
    if match is not None and none is not None:
        raise invalid_parameter("If-None-Match", "Send one precondition, not both.", where="header")
    if none is not None:
        if not create or none.strip() != "*":
            detail = "Only If-None-Match: * has a meaning here, and only for PUT."
            raise invalid_parameter("If-None-Match", detail, where="header")
        return True, set()
    if match is None:
        raise PreconditionRequired(PreconditionRequired.meaning)
    if match.strip() == "*":
        return False, {"*"}
    return False, set(request.if_match.as_set())


def _match(kind: str, id: str, stored: Stored, expected: set[str]) -> None:
    if "*" not in expected and stored.revision not in expected:
        raise _stale(kind, id)


def _valid(kind: str, body: Any) -> dict[str, Any]:
    """The body as it will be stored. Raises InvalidInput or PlanNotValid."""
    if not isinstance(body, dict):
        fault = {"pointer": "", "code": "wrong-type", "detail": "Must be an object."}
        raise invalid_input([fault])
    if kind == "plan":
        plans.check(body, host().registry, host().documents)
        return body
    readers = host().registry.document_schemas.get(kind, ())
    answers = [_faults(reader, body) for reader in readers]
    if answers and all(answers):
        raise invalid_input(min(answers, key=len))
    return body


def _faults(reader: Any, body: dict[str, Any]) -> list[dict[str, Any]]:
    fetched = Fetched(host().documents)
    filled = fetched.fill(reader(), body)
    if fetched.faults:
        return errors_from(fetched.faults)
    return errors_from(flatten_faults(reader(), filled)[1])


def _created(kind: str, id: str, stored: Stored | None) -> Response:
    if stored is None:
        raise _stale(kind, id)
    response = _shown(stored, 201)
    response.headers["Location"] = f"/v1/{kind}s/{id}"
    return response


def _replaced(kind: str, id: str, body: dict[str, Any], expected: set[str]) -> Response:
    current = host().documents.current(kind, id)
    if current is None or ("*" not in expected and current.revision not in expected):
        raise _stale(kind, id)
    stored = host().documents.replace(kind, id, body, current.revision)
    if stored is None:
        raise _stale(kind, id)
    return _shown(stored)


def _stale(kind: str, id: str) -> PreconditionFailed:
    current = host().documents.current(kind, id)
    if current is None:
        return PreconditionFailed(f"No {kind} “{id}” is stored; create it with If-None-Match: *.")
    etag = f'"{current.revision}"'
    return PreconditionFailed(
        f"The {kind} “{id}” now has the ETag {etag}.",
        members={"current": etag},
        headers={"ETag": etag},
    )

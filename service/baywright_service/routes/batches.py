"""/v1/batches: many variants in one request, how far they are, and their end."""

import base64
import binascii
import re
import threading
from collections.abc import Callable
from time import monotonic
from typing import Any

from flask import Blueprint, Response, current_app, request
from flask.blueprints import BlueprintSetupState

from ..batches.making import Making, making_of
from ..batches.model import Batch, Gone, KeyReused
from ..batches.results import address, batch_json
from ..host import host
from ..json_writer import canonical_bytes, digest, json_bytes
from ..problems import (
    Expired,
    IdempotencyKeyReused,
    NotFound,
    TooManyRequests,
    invalid_input,
    invalid_parameter,
)
from ..representations import JSON, chosen_form, respond, respond_json
from .preferring import preferred_wait_s, prefers_async
from .reading import json_body, takes, whole_parameter

routes = Blueprint("batches", __name__, url_prefix="/v1/batches")

_WAITING = "baywright-waiting"
_KEY = re.compile(r'("?)([A-Za-z0-9_-]{8,64})\1')
#: When to look again: at a batch just made, and where none more can be taken.
LOOK_AGAIN_S, TRY_AGAIN_S = 1, 5


@routes.record_once
def _count_waiting(state: BlueprintSetupState) -> None:
    """Whoever waits holds a thread, so half of them stay free for others."""
    threads = state.app.extensions["baywright"].settings.threads
    state.app.extensions[_WAITING] = threading.BoundedSemaphore(max(threads // 2, 1))


@routes.post("")
def make_batch() -> Response:
    """A plan or a calculator with what varies: 202, and every variant's result will come."""
    chosen_form([JSON])
    body = json_body(keep_null=True)
    parts = host()
    limit = parts.settings.variant_limit
    return promised(body, lambda: making_of(body, parts.registry, parts.documents, limit))


def promised(body: Any, make: Callable[[], Making]) -> Response:
    """202 for a new batch, or for the one that this request made before (Idempotency-Key)."""
    key, store = _idempotency_key(), host().batches.store
    fingerprint = digest(request.path.encode() + b"\n" + canonical_bytes(body))
    try:
        batch = store.of_key(key, fingerprint) if key else None
        if batch is None:
            making = make()
            _check_room()
            batch, _ = host().batches.create(
                making.request,
                making.base,
                making.variants,
                title=making.title,
                key=key,
                fingerprint=fingerprint,
            )
    except KeyReused as error:
        detail = f"The key stands for {address(error.id)}, which another body made."
        raise IdempotencyKeyReused(detail, members={"batch": address(error.id)}) from None
    response = respond(json_bytes(batch_json(batch)), JSON, status=202)
    response.headers["Location"] = address(batch.id)
    response.headers["Retry-After"] = str(LOOK_AGAIN_S)
    if prefers_async():
        response.headers["Preference-Applied"] = "respond-async"
    return response


def _idempotency_key() -> str:
    """The key without its quotes; "" where none is sent. Raises InvalidParameter."""
    text = request.headers.get("Idempotency-Key")
    if text is None:
        return ""
    match = _KEY.fullmatch(text.strip())
    if match is None:
        detail = "Must be 8 to 64 letters, digits, hyphens and underscores."
        raise invalid_parameter("Idempotency-Key", detail, where="header")
    return match[2]


def _check_room() -> None:
    limit = host().settings.batch_limit
    if host().batches.store.unfinished_count() >= limit:
        raise TooManyRequests(
            f"{limit} batches wait or run already, as many as this service takes.",
            members={"limit": limit},
            headers={
                "Retry-After": str(TRY_AGAIN_S),
                "RateLimit-Policy": f'"batches";q={limit}',
                "RateLimit": f'"batches";r=0;t={TRY_AGAIN_S}',
            },
        )


@routes.get("")
@takes("limit", "cursor")
def list_batches() -> Response:
    """One page, the newest first."""
    chosen_form([JSON])
    limit = whole_parameter("limit", 100, 1, 1000)
    found = host().batches.store.page(cursor_number(0), limit + 1)
    items = [batch_json(batch) for batch in found[:limit]]
    return paged("/v1/batches", limit, items, found[limit - 1].number if found[limit:] else None)


@routes.get("/<id>")
def show_batch(id: str) -> Response:
    """How far it is. `Prefer: wait=20` answers when it has ended, or changed from If-None-Match;
    where too many wait already it answers at once.
    """
    chosen_form([JSON])
    batch, wait_s = existing(id), preferred_wait_s()
    waiting: threading.BoundedSemaphore = current_app.extensions[_WAITING]
    applied = wait_s > 0 and (batch.ended or waiting.acquire(blocking=False))
    if applied and not batch.ended:
        try:
            batch = _awaited(batch, wait_s)
        finally:
            waiting.release()
    response = respond_json(batch_json(batch))
    response.headers["Vary"] = "Accept, Accept-Encoding, Prefer"
    if applied:
        response.headers["Preference-Applied"] = f"wait={wait_s:.0f}"
    if not batch.ended:
        response.headers["Retry-After"] = str(LOOK_AGAIN_S)
    return response


def _awaited(batch: Batch, wait_s: float) -> Batch:
    """The batch once there is news of it, or the time has passed."""
    known = request.if_none_match
    end = monotonic() + wait_s
    while not batch.ended and (left := end - monotonic()) > 0:
        if known and not known.contains(digest(json_bytes(batch_json(batch)))):
            break
        host().batches.wait_for_change(batch, left)
        batch = existing(batch.id)
    return batch


@routes.delete("/<id>")
def delete_batch(id: str) -> Response:
    """Cancelled if it runs, then gone."""
    existing(id)
    host().batches.delete(id)
    return Response(status=204)


@routes.put("/<id>/cancellation")
def cancel_batch(id: str) -> Response:
    """What has not ended is dismissed; what has ended stays. May be repeated."""
    chosen_form([JSON])
    existing(id)
    body = json_body()
    if body != {}:
        fault = {"pointer": "", "code": "wrong-type", "detail": "Must be an empty object: {}."}
        raise invalid_input([fault])
    host().batches.cancel(id)
    return respond_json(batch_json(existing(id)))


def existing(id: str) -> Batch:
    """The batch called `id`. Raises NotFound and Expired."""
    try:
        batch = host().batches.store.get(id)
    except Gone:
        days = host().settings.batch_days
        raise Expired(f"{id} ended more than {days} days ago and was removed.") from None
    if batch is None:
        raise NotFound(f"There is no batch “{id[:64]}”. /v1/batches lists all.")
    return batch


def paged(path: str, limit: int, items: list[Any], last: int | None, **more: Any) -> Response:
    """One page of a list; `last` is the number its next page goes on from."""
    page: dict[str, Any] = {"items": items, **more}
    if last is not None:
        cursor = base64.urlsafe_b64encode(str(last).encode()).decode().rstrip("=")
        page["next"] = f"{path}?limit={limit}&cursor={cursor}"
    response = respond(json_bytes(page), JSON)
    if "next" in page:
        response.headers["Link"] = f'<{page["next"]}>; rel="next"'
    return response


def cursor_number(start: int) -> int:
    """The number behind which a page begins; `start` for the first one. Raises InvalidParameter."""
    cursor = request.args.get("cursor")
    if cursor is None:
        return start
    try:
        padded = cursor + "=" * (-len(cursor) % 4)
        text = base64.b64decode(padded, altchars=b"-_", validate=True).decode("ascii")
    except (binascii.Error, ValueError):
        text = ""
    if not (text.isdecimal() and len(text) < 16):
        raise invalid_parameter("cursor", "Must be the cursor of a list's next link.")
    return int(text)

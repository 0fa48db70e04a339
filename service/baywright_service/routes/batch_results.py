"""/v1/batches/{id}/results and /events: what came of each variant."""

import threading
from collections.abc import Iterator
from functools import cache
from time import monotonic
from typing import Any

from flask import Blueprint, Response, current_app, request, stream_with_context
from flask.blueprints import BlueprintSetupState

from ..batches import again, events
from ..batches.model import Base, Batch, Event, Gone, Item
from ..batches.results import (
    Shown,
    address,
    csv_stream,
    ended_items,
    ndjson_stream,
    pages_of,
)
from ..host import host
from ..json_writer import digest
from ..problems import BatchNotFinished, NotFound, TooManyRequests, invalid_parameter
from ..representations import CSV, EVENTS, JSON, MEDIA_TYPES, NDJSON, chosen_form, respond_json
from .batches import LOOK_AGAIN_S, TRY_AGAIN_S, cursor_number, existing, paged
from .reading import flag_parameter, takes, whole_parameter

routes = Blueprint("batch-results", __name__, url_prefix="/v1/batches")

_STREAMS = "baywright-streams"


@routes.record_once
def _count_streams(state: BlueprintSetupState) -> None:
    limit = state.app.extensions["baywright"].settings.stream_limit
    state.app.extensions[_STREAMS] = threading.BoundedSemaphore(limit)


@routes.get("/<id>/results")
@takes("format", "limit", "cursor", "partial")
def show_results(id: str) -> Response:
    """Every variant that has ended, in order: pages of JSON, or all as CSV or NDJSON."""
    form = chosen_form([JSON, CSV, NDJSON])
    batch, partial = existing(id), flag_parameter("partial")
    if form == JSON:
        return _page(batch)
    for name in ("limit", "cursor"):
        if name in request.args:
            raise invalid_parameter(name, "Only JSON comes in pages; a table comes whole.")
    if not batch.ended and not partial:
        raise BatchNotFinished(
            f"{batch.waiting} of {batch.total} variants have not ended.",
            headers={"Retry-After": str(LOOK_AGAIN_S)},
        )
    return _whole(batch, form)


def _page(batch: Batch) -> Response:
    limit, after = whole_parameter("limit", 100, 1, 1000), cursor_number(-1)
    found = ended_items(_reader(batch.id), after, limit + 1)
    shown = _shown(batch)
    items = [shown.item(item) for item in found[:limit]]
    last = found[limit - 1].index if found[limit:] else None
    return paged(f"{address(batch.id)}/results", limit, items, last, status=batch.status)


def _whole(batch: Batch, form: str) -> Response:
    shown, expected = _shown(batch), batch.total - batch.waiting
    written = csv_stream if form == CSV else ndjson_stream
    content = written(shown, pages_of(_reader(batch.id), expected))
    response = Response(stream_with_context(content), content_type=MEDIA_TYPES[form])
    counts = (batch.status, batch.successful, batch.failed, batch.dismissed)
    response.set_etag(digest(repr((batch.id, form, counts)).encode()))
    response.headers["Vary"] = "Accept, Accept-Encoding"
    response.headers["Cache-Control"] = "no-cache"
    name = f"{batch.id}{'' if batch.ended else '-partial'}.{form}"
    response.headers["Content-Disposition"] = f'inline; filename="{name}"'
    response.make_conditional(request)
    return response


@routes.get("/<id>/results/<int:index>")
@takes("answer")
def show_item(id: str, index: int) -> Response:
    """One variant with the whole it stands for, ready to be run again.

    `answer=true` gives its whole answer too, from what is remembered or calculated again.
    """
    chosen_form([JSON])
    batch, with_answer = existing(id), flag_parameter("answer")
    item = host().batches.store.item(id, index) if index < batch.total else None
    if item is None:
        raise NotFound(f"{id} has {batch.total} variants, counted from 0.")
    base = _base(id)
    body = again.whole(base, item)
    place = f"/v1/calculators/{base.calculator}/run" if base.calculator else "/v1/plans/run"
    shape = _shown(batch).item(item)
    shape["calculator" if base.calculator else "plan"] = base.calculator or body
    if base.calculator:
        shape["inputs"] = body
    if with_answer:
        shape["answer"] = again.answer(base, item, host().registry, host().envelope)
    own = f"{address(id)}/results/{index}"
    links = {"self": own, "batch": address(id), "run": place, "answer": f"{own}?answer=true"}
    return respond_json({**shape, "links": [{"rel": r, "href": h} for r, h in links.items()]})


@routes.get("/<id>/events")
def show_events(id: str) -> Response:
    """Progress, failed variants and the end as server-sent events."""
    chosen_form([EVENTS])
    batch, last = existing(id), _last_event()
    if batch.ended and last and not host().batches.store.events_after(id, last, 1):
        return Response(status=204)  # tells a reader that comes back by itself to stop
    streams: threading.BoundedSemaphore = current_app.extensions[_STREAMS]
    if not streams.acquire(blocking=False):
        limit = host().settings.stream_limit
        raise TooManyRequests(
            f"{limit} streams are open, as many as may be. Poll with Prefer: wait=20 meanwhile.",
            members={"limit": limit},
            headers={"Retry-After": str(TRY_AGAIN_S)},
        )
    response = Response(_events(batch, last), content_type=MEDIA_TYPES[EVENTS])
    response.call_on_close(streams.release)
    response.headers["Cache-Control"] = "no-store"
    response.headers["X-Accel-Buffering"] = "no"
    return response


def _last_event() -> int:
    text = request.headers.get("Last-Event-ID", "0").strip()
    if not (text.isascii() and text.isdecimal() and len(text) < 16):
        detail = "Must be the id of an event of this stream."
        raise invalid_parameter("Last-Event-ID", detail, where="header")
    return int(text)


def _events(batch: Batch, last: int) -> Iterator[bytes]:
    wait, shown = host().batches.wait_for_change, _shown(batch)
    return events.stream(_Watched(), batch.id, last, shown.item, wait, monotonic)


class _Watched:
    """The store as a stream reads it: what expires meanwhile is gone, which ends the stream."""

    def __init__(self) -> None:
        self._store = host().batches.store

    def get(self, id: str) -> Batch | None:
        try:
            return self._store.get(id)
        except Gone:
            return None

    def events_after(self, id: str, number: int, limit: int) -> list[Event]:
        return self._store.events_after(id, number, limit)


def _reader(id: str) -> Any:
    store = host().batches.store

    def read(after: int, limit: int) -> list[Item]:
        return store.items(id, after, limit)

    return read


def _base(id: str) -> Base:
    base = host().batches.store.base(id)
    if base is None:
        raise NotFound(f"The batch {id} was deleted just now.")
    return base


def _shown(batch: Batch) -> Shown:
    store = host().batches.store

    @cache
    def base() -> Any:
        found = store.base(batch.id)
        return found.body if found else {}

    return Shown(batch.request, base)

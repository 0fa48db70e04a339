"""Server-sent events of a batch: progress, each failed item, and its end.

Failed items and the end are stored with numbers, so a reader that was cut off goes on from the
last number it saw, without gap or repeat. Progress is only told as it stands, and has no number.
"""

from collections.abc import Callable, Iterator
from typing import Any, Protocol

from ..json_writer import json_bytes
from .model import DONE, Batch, Event
from .results import batch_json, progress_json

RETRY_MS = 2000
#: Progress comes at most so often; a comment keeps the line open when nothing is told.
PROGRESS_S, COMMENT_S = 0.25, 15.0
#: Stored events read at a time.
PAGE = 100


class Watched(Protocol):
    """What a stream reads of the batches."""

    def get(self, id: str) -> Batch | None: ...

    def events_after(self, id: str, number: int, limit: int) -> list[Event]: ...


Item = Callable[[Any], dict[str, Any]]


def stream(
    batches: Watched,
    id: str,
    last: int,
    item_json: Item,
    wait: Callable[[Batch, float], object],
    clock: Callable[[], float],
) -> Iterator[bytes]:
    """The events of a batch after number `last`, to its end.

    `wait(batch, seconds)` returns when the batch is not as it was seen, or the time has passed;
    `clock` gives seconds.
    """
    yield b"retry: %d\n\n" % RETRY_MS
    told: tuple[Any, ...] = ()
    told_at = said_at = clock() - PROGRESS_S
    while (batch := batches.get(id)) is not None:
        events = batches.events_after(id, last, PAGE)
        counts = (batch.status, batch.successful, batch.failed, batch.dismissed)
        ending = bool(events) and events[-1].kind == DONE
        now = clock()
        if counts != told and (now - told_at >= PROGRESS_S or ending):
            told, told_at, said_at = counts, now, now
            yield _written("progress", progress_json(batch))
        for event in events:
            last, said_at = event.number, now
            if event.kind == DONE:  # it may have ended since it was read
                yield _written("done", batch_json(batches.get(id) or batch), event.number)
                return
            yield _written("item-failed", item_json(event.item), event.number)
        if len(events) == PAGE:
            continue
        if batch.ended:
            return  # everything was told before
        if now - said_at >= COMMENT_S:
            said_at = now
            yield b": the batch goes on\n\n"
        if counts != told:
            wait(batch, PROGRESS_S - (now - told_at))
        else:
            wait(batch, COMMENT_S - (now - said_at))


def _written(kind: str, value: Any, number: int | None = None) -> bytes:
    """One event. JSON holds no line break, so its data is one line."""
    id = f"id: {number}\n" if number is not None else ""
    return f"{id}event: {kind}\ndata: ".encode() + json_bytes(value) + b"\n"

"""The tables of the store, and how their rows are read.

A batch that was deleted leaves its row for as long as its Idempotency-Key must be known, and one
that expired so that people are told so; `gone` says which.
"""

from typing import Any

from .model import ITEM_FAILED, Batch, Event, Item
from .spool import unpacked

TABLES = """
CREATE TABLE IF NOT EXISTS batch (
    number INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL UNIQUE,
    status TEXT NOT NULL, title TEXT NOT NULL,
    total INTEGER NOT NULL DEFAULT 0, successful INTEGER NOT NULL DEFAULT 0,
    failed INTEGER NOT NULL DEFAULT 0, dismissed INTEGER NOT NULL DEFAULT 0,
    created_at TEXT NOT NULL, started_at TEXT, ended_at TEXT, expires_at TEXT,
    request BLOB, base BLOB, problem BLOB,
    event_count INTEGER NOT NULL DEFAULT 0,
    key TEXT UNIQUE, fingerprint TEXT NOT NULL DEFAULT '',
    gone TEXT NOT NULL DEFAULT ''
);
CREATE INDEX IF NOT EXISTS batch_status ON batch (status, number);
CREATE TABLE IF NOT EXISTS item (
    batch INTEGER NOT NULL, idx INTEGER NOT NULL,
    state TEXT NOT NULL, same_as INTEGER, overrides BLOB NOT NULL,
    attempts INTEGER NOT NULL DEFAULT 0, crashes INTEGER NOT NULL DEFAULT 0,
    verdict TEXT, kept BLOB, problem BLOB, ended_at TEXT, event INTEGER,
    PRIMARY KEY (batch, idx)
);
CREATE INDEX IF NOT EXISTS item_state ON item (state, batch, idx);
CREATE INDEX IF NOT EXISTS item_same ON item (batch, same_as) WHERE same_as IS NOT NULL;
CREATE INDEX IF NOT EXISTS item_event ON item (batch, event) WHERE event IS NOT NULL;
"""
#: State of an item that is equal to an earlier one: it reads everything from that one.
SAME = "same"

_COUNTED = ("total", "successful", "failed", "dismissed")
_TIMES = ("created_at", "started_at", "ended_at", "expires_at")
BATCH = """
SELECT id, number, status, title, total, successful, failed, dismissed,
       created_at, started_at, ended_at, expires_at, {request}, problem, gone
FROM batch
"""
ITEM = """
SELECT i.idx, coalesce(o.state, i.state), i.overrides, i.same_as, coalesce(o.verdict, i.verdict),
       coalesce(o.kept, i.kept), coalesce(o.problem, i.problem), coalesce(o.ended_at, i.ended_at),
       i.event
FROM item i LEFT JOIN item o ON o.batch = i.batch AND o.idx = i.same_as
"""


def batch_of(row: tuple[Any, ...]) -> Batch:
    """A batch from a row of BATCH."""
    counts = dict(zip(_COUNTED, row[4:8], strict=True))
    times = dict(zip(_TIMES, row[8:12], strict=True))
    id, number, status, title = row[:4]
    request, problem, gone = row[12:]
    return Batch(
        id=id,
        number=number,
        status=status,
        title=title,
        request=unpacked(request) or {},
        problem=unpacked(problem),
        deleted=gone != "",
        **counts,
        **times,
    )


def item_of(row: tuple[Any, ...]) -> Item:
    """An item from a row of ITEM."""
    index, state, overrides, same_as, verdict, kept, problem, ended_at, _ = row
    return Item(
        index=index,
        status=state,
        overrides=unpacked(overrides),
        same_as=same_as,
        verdict=verdict,
        kept=unpacked(kept),
        problem=unpacked(problem),
        ended_at=ended_at,
    )


def event_of(row: tuple[Any, ...]) -> Event:
    """The event of a failed item from a row of ITEM."""
    return Event(row[-1], ITEM_FAILED, item_of(row))

"""Batches on disk (SQLite): each variant's result exactly once, whatever happens to the process."""

import secrets
import sqlite3
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from contextlib import closing
from dataclasses import asdict
from datetime import timedelta
from typing import Any

from .model import (
    ACCEPTED,
    DISMISSED,
    DONE,
    ENDED,
    RUNNING,
    Base,
    Batch,
    Event,
    Gone,
    Item,
    KeyReused,
    Variant,
)
from .spool import Spool, packed
from .tables import BATCH, ITEM, SAME, batch_of, event_of, item_of
from .work_queue import WorkQueue, stamp

#: An Idempotency-Key is known for so long even where its batch is deleted at once.
KEY_HOURS = 24
#: So long a batch that expired is answered with "it has expired" and not with "never heard of".
EXPIRED_DAYS = 365

DELETED, EXPIRED = "deleted", "expired"

_ONE = BATCH.format(request="request")
_MANY = BATCH.format(request="NULL")


class BatchStore(WorkQueue):
    """The store. Every method may raise StorageUnavailable."""

    def create(
        self,
        request: Mapping[str, Any],
        base: Base,
        variants: Iterable[Variant],
        *,
        title: str = "",
        key: str = "",
        fingerprint: str = "",
        documents: Callable[[], Sequence[Mapping[str, str]]] = tuple,
    ) -> tuple[Batch, bool]:
        """The batch on disk, and whether it was made now: a request with a known `key` and the
        same `fingerprint` gets the batch made first. Raises KeyReused for another fingerprint.

        `request` is what people read back of it; `variants` are read once and never held together.
        `documents` gives those of the base, once the variants have been read.
        """
        found = self.of_key(key, fingerprint)
        if found:
            return found, False
        with closing(Spool(variants)) as spool:
            if not spool.total:
                raise ValueError("a batch needs a variant")
            row = (
                f"b-{secrets.token_hex(8)}",
                ACCEPTED,
                title,
                spool.total,
                self._stamp(),
                packed(request),
                packed(asdict(base) | {"documents": [*base.documents, *documents()]}),
                key or None,
                fingerprint,
            )
            with self.database.writing() as connection:
                # One statement both looks for the key and takes it.
                made = connection.execute(_CREATE, row).fetchone()
                if made:
                    with closing(_items(made[0], spool)) as rows:
                        connection.executemany("INSERT INTO item VALUES " + _ITEM_CELLS, rows)
        batch = self.get(row[0]) if made else self.of_key(key, fingerprint)
        if batch is None:
            raise sqlite3.IntegrityError("a batch went away while it was made")
        return batch, made is not None

    def get(self, id: str) -> Batch | None:
        """The batch as it stands. Raises Gone where its time of keeping has passed."""
        with self.database.reading() as connection:
            row = connection.execute(f"{_ONE} WHERE id = ?", (id,)).fetchone()
        if row is None or row[-1] == DELETED:
            return None
        batch = batch_of(row)
        if row[-1] == EXPIRED or (batch.expires_at or "9") <= self._stamp():
            raise Gone(id)
        return batch

    def page(self, before: int, limit: int) -> list[Batch]:
        """Up to `limit` batches, newest first, of numbers below `before` (0: from the newest);
        without their requests."""
        with self.database.reading() as connection:
            rows = connection.execute(
                f"{_MANY} WHERE gone = '' AND number < ? AND coalesce(expires_at, '9') > ?"
                " ORDER BY number DESC LIMIT ?",
                (before or 2**62, self._stamp(), limit),
            )
            return [batch_of(row) for row in rows]

    def unfinished_count(self) -> int:
        """Batches that wait or run."""
        query = "SELECT count(*) FROM batch WHERE status IN (?, ?)"
        with self.database.reading() as connection:
            return int(connection.execute(query, (ACCEPTED, RUNNING)).fetchone()[0])

    def items(self, id: str, after: int, limit: int) -> list[Item]:
        """Up to `limit` items in the order of variants, of indices above `after` (-1: all)."""
        query = f"{ITEM} WHERE i.batch = {_NUMBER} AND i.idx > ? ORDER BY i.idx LIMIT ?"
        with self.database.reading() as connection:
            return [item_of(row) for row in connection.execute(query, (id, after, limit))]

    def item(self, id: str, index: int) -> Item | None:
        """One item."""
        found = self.items(id, index - 1, 1)
        return found[0] if found and found[0].index == index else None

    def events_after(self, id: str, number: int, limit: int) -> list[Event]:
        """Up to `limit` stored events of higher numbers, in their order."""
        query = f"{ITEM} WHERE i.batch = {_NUMBER} AND i.event > ? ORDER BY i.event LIMIT ?"
        with self.database.reading() as connection:
            events = [event_of(row) for row in connection.execute(query, (id, number, limit))]
            ended = connection.execute(
                "SELECT event_count FROM batch WHERE id = ? AND status IN (?, ?, ?)", (id, *ENDED)
            ).fetchone()
        if ended and len(events) < limit and ended[0] > number:
            events.append(Event(ended[0], DONE))
        return events

    def cancel(self, id: str) -> Batch | None:
        """The batch, ended: items not ended are dismissed. An ended batch stays as it is."""
        with self.database.writing() as connection:
            row = connection.execute(f"{_ONE} WHERE id = ? AND gone = ''", (id,)).fetchone()
            if row and not batch_of(row).ended:
                self._end(connection, row[1], DISMISSED, None)
        return self.get(id)

    def delete(self, id: str) -> bool:
        """Whether it was there; it is gone then, its items too."""
        with self.database.writing() as connection:
            row = connection.execute(
                "SELECT number FROM batch WHERE id = ? AND gone = ''", (id,)
            ).fetchone()
            if row:
                _empty(connection, row[0], DELETED)
        return row is not None

    def expire(self) -> int:
        """Empty the batches whose time of keeping has passed, and forget those long gone; how many
        were emptied."""
        now = self._clock()
        with self.database.writing() as connection:
            old = connection.execute(
                "SELECT number FROM batch WHERE gone = '' AND expires_at <= ?", (stamp(now),)
            ).fetchall()
            for (number,) in old:
                _empty(connection, number, EXPIRED)
            connection.execute(
                "DELETE FROM batch WHERE gone = ? AND created_at <= ?",
                (DELETED, stamp(now - timedelta(hours=KEY_HOURS))),
            )
            connection.execute(
                "DELETE FROM batch WHERE gone = ? AND expires_at <= ?",
                (EXPIRED, stamp(now - timedelta(days=EXPIRED_DAYS))),
            )
        return len(old)

    def close(self) -> None:
        """Close the file; a later call opens it again."""
        self.database.close()

    def of_key(self, key: str, fingerprint: str) -> Batch | None:
        """The batch that a key already stands for. Raises KeyReused for another fingerprint."""
        if not key:
            return None
        with self.database.reading() as connection:
            row = connection.execute(f"{_ONE} WHERE key = ?", (key,)).fetchone()
            asked = connection.execute("SELECT fingerprint FROM batch WHERE key = ?", (key,))
            if row is None:
                return None
            if asked.fetchone()[0] != fingerprint:
                raise KeyReused(row[0])
        return batch_of(row)


def _items(number: int, spool: Spool) -> Generator[tuple[Any, ...], None, None]:
    for index, same_as, overrides in spool.rows():
        yield number, index, ACCEPTED if same_as is None else SAME, same_as, overrides


def _empty(connection: sqlite3.Connection, number: int, gone: str) -> None:
    """Take everything of a batch but the row that remembers it."""
    connection.execute("DELETE FROM item WHERE batch = ?", (number,))
    connection.execute(
        "UPDATE batch SET gone = ?, request = NULL, base = NULL, problem = NULL WHERE number = ?",
        (gone, number),
    )
    if gone == EXPIRED:
        connection.execute("UPDATE batch SET key = NULL WHERE number = ?", (number,))
    else:
        connection.execute(
            "UPDATE batch SET status = ? WHERE number = ? AND status IN (?, ?)",
            (DISMISSED, number, ACCEPTED, RUNNING),
        )


_NUMBER = "(SELECT number FROM batch WHERE id = ? AND gone = '')"
_ITEM_CELLS = "(?, ?, ?, ?, ?, 0, 0, NULL, NULL, NULL, NULL, NULL)"
_CREATE = """
INSERT INTO batch (id, status, title, total, created_at, request, base, key, fingerprint)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (key) DO NOTHING RETURNING number
"""

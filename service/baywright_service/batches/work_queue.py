"""The store as the runner sees it: take items, write what came of them, begin again after a crash.

An item goes accepted -> running -> ended, and a result counts only while the item is running, so
that a result that comes twice, or after a cancellation, changes nothing.
"""

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from ..problems import Internal
from .database import Database
from .model import ACCEPTED, DISMISSED, FAILED, RUNNING, SUCCESSFUL, Base, Claimed, Outcome
from .spool import packed, unpacked
from .tables import TABLES

#: So often may the service itself end while an item runs in its own process before the item is
#: blamed for it. Items that were running then are run one by one, so that an innocent one does not
#: come near it. Worker processes end in the service's place, so nothing is blamed there.
MOST_CRASHES = 10

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """The time now."""
    return datetime.now(UTC)


def stamp(moment: datetime) -> str:
    """RFC 3339 in UTC; texts of this form sort as times do."""
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


class WorkQueue:
    """What runs of the batches on disk. Every method may raise StorageUnavailable."""

    def __init__(self, path: str, days: int = 30, clock: Clock = utc_now) -> None:
        self.database = Database(path, TABLES)
        self._days, self._clock = days, clock

    def waiting(self) -> list[str]:
        """Batches that have items to claim, in the order they were made."""
        with self.database.reading() as connection:
            return [
                id
                for (id,) in connection.execute(
                    "SELECT id FROM batch b WHERE status IN (?, ?) AND EXISTS (SELECT 1 FROM item"
                    " WHERE state = ? AND batch = b.number) ORDER BY number",
                    (ACCEPTED, RUNNING, ACCEPTED),
                )
            ]

    def base(self, id: str) -> Base | None:
        """What the variants of a batch start from."""
        with self.database.reading() as connection:
            row = connection.execute("SELECT base FROM batch WHERE id = ?", (id,)).fetchone()
        found = unpacked(row[0]) if row else None
        if found is None:
            return None
        return Base(
            found["body"], found["calculator"], tuple(found["keep"]), tuple(found["documents"])
        )

    def claim(self, id: str, limit: int) -> list[Claimed]:
        """Up to `limit` waiting items, in order, running from now on.

        An item that was running when the service ended comes alone.
        """
        with self.database.writing() as connection:
            number = _open_number(connection, id)
            if number is None:
                return []
            rows = connection.execute(
                "SELECT idx, overrides, attempts, crashes FROM item"
                " WHERE state = ? AND batch = ? ORDER BY idx LIMIT ?",
                (ACCEPTED, number, limit),
            ).fetchall()
            taken = rows[: next((k for k, row in enumerate(rows) if row[3]), len(rows)) or 1]
            if not taken:
                return []
            connection.execute(
                "UPDATE item SET state = ?, attempts = attempts + 1"
                " WHERE state = ? AND batch = ? AND idx BETWEEN ? AND ?",
                (RUNNING, ACCEPTED, number, taken[0][0], taken[-1][0]),
            )
            connection.execute(
                "UPDATE batch SET status = ?, started_at = ? WHERE number = ? AND status = ?",
                (RUNNING, self._stamp(), number, ACCEPTED),
            )
        return [Claimed(idx, unpacked(patch), n + 1, crashes) for idx, patch, n, crashes in taken]

    def try_again(self, id: str, index: int) -> int:
        """Count one more attempt of a running item; how many there are now, 0 if it is not
        running any more."""
        with self.database.writing() as connection:
            row = connection.execute(
                "UPDATE item SET attempts = attempts + 1 WHERE state = ? AND idx = ?"
                " AND batch = (SELECT number FROM batch WHERE id = ?) RETURNING attempts",
                (RUNNING, index, id),
            ).fetchone()
        return int(row[0]) if row else 0

    def finish(self, id: str, outcomes: Sequence[Outcome]) -> int:
        """Write results in one transaction; how many counted (items that were running).

        The batch ends with its last item.
        """
        with self.database.writing() as connection:
            number = _open_number(connection, id)
            return 0 if number is None else self._finish(connection, number, outcomes)

    def fail(self, id: str, problem: Mapping[str, Any]) -> None:
        """End a batch that cannot be run as a whole; what has not ended is dismissed."""
        with self.database.writing() as connection:
            number = _open_number(connection, id)
            if number is not None:
                self._end(connection, number, FAILED, packed(problem))

    def release(self) -> None:
        """Give back what is running, as if it had not been claimed: the service stops."""
        with self.database.writing() as connection:
            connection.execute(
                "UPDATE item SET state = ?, attempts = attempts - 1 WHERE state = ?",
                (ACCEPTED, RUNNING),
            )

    def recover(self, *, blame: bool) -> None:
        """After a crash: what was running waits again.

        With `blame` a crash is counted for it, and it has failed at MOST_CRASHES of them.
        """
        with self.database.writing() as connection:
            if blame:
                self._blame(connection)
            connection.execute("UPDATE item SET state = ? WHERE state = ?", (ACCEPTED, RUNNING))

    def _blame(self, connection: sqlite3.Connection) -> None:
        running = connection.execute(
            "UPDATE item SET crashes = crashes + 1 WHERE state = ?"
            " RETURNING batch, idx, crashes >= ?",
            (RUNNING, MOST_CRASHES),
        ).fetchall()
        for batch, index, over in running:
            if over:
                self._finish(connection, batch, [Outcome(index, problem=_CRASHES)])

    def _finish(
        self, connection: sqlite3.Connection, number: int, outcomes: Sequence[Outcome]
    ) -> int:
        now, counts = self._stamp(), {SUCCESSFUL: 0, FAILED: 0}
        written = 0
        for outcome in outcomes:
            state = SUCCESSFUL if outcome.problem is None else FAILED
            cells = [None if c is None else packed(c) for c in (outcome.kept, outcome.problem)]
            row = (state, outcome.verdict, *cells, now, RUNNING, number, outcome.index)
            if connection.execute(_RESULT, row).rowcount != 1:
                continue
            written += 1
            same = connection.execute(_SAME, (number, outcome.index)).fetchall()
            indices = [outcome.index, *(index for (index,) in same)]
            counts[state] += len(indices)
            if state == FAILED:
                for index in indices:
                    (event,) = connection.execute(_NEXT_EVENT, (number,)).fetchone()
                    connection.execute(_EVENT, (event, number, index))
        if written:
            connection.execute(_COUNT, (counts[SUCCESSFUL], counts[FAILED], number))
            row = (SUCCESSFUL, now, self._expiry(), number, RUNNING)
            connection.execute(_ALL_ENDED, row)
        return written

    def _end(
        self, connection: sqlite3.Connection, number: int, status: str, problem: bytes | None
    ) -> None:
        """End a batch before all its items have."""
        connection.execute(
            "UPDATE item SET state = ?, ended_at = ? WHERE batch = ? AND state IN (?, ?)",
            (DISMISSED, self._stamp(), number, ACCEPTED, RUNNING),
        )
        connection.execute(
            "UPDATE batch SET status = ?, problem = ?, ended_at = ?, expires_at = ?,"
            " dismissed = total - successful - failed, event_count = event_count + 1"
            " WHERE number = ?",
            (status, problem, self._stamp(), self._expiry(), number),
        )

    def _stamp(self) -> str:
        return stamp(self._clock())

    def _expiry(self) -> str:
        return stamp(self._clock() + timedelta(days=self._days))


def _open_number(connection: sqlite3.Connection, id: str) -> int | None:
    """The number of a batch that has not ended."""
    row = connection.execute(
        "SELECT number FROM batch WHERE id = ? AND status IN (?, ?)", (id, ACCEPTED, RUNNING)
    ).fetchone()
    return int(row[0]) if row else None


_CRASHES = Internal(
    f"The service ended {MOST_CRASHES} times while this variant was being calculated."
).body()
_RESULT = """
UPDATE item SET state = ?, verdict = ?, kept = ?, problem = ?, ended_at = ?
WHERE state = ? AND batch = ? AND idx = ?
"""
_SAME = """
SELECT idx FROM item INDEXED BY item_same WHERE batch = ? AND same_as = ? ORDER BY idx
"""
_NEXT_EVENT = """
UPDATE batch SET event_count = event_count + 1 WHERE number = ? RETURNING event_count
"""
_EVENT = "UPDATE item SET event = ? WHERE batch = ? AND idx = ?"
_COUNT = "UPDATE batch SET successful = successful + ?, failed = failed + ? WHERE number = ?"
_ALL_ENDED = """
UPDATE batch SET status = ?, ended_at = ?, expires_at = ?, event_count = event_count + 1
WHERE number = ? AND status = ? AND successful + failed + dismissed = total
"""

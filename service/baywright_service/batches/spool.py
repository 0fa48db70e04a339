"""Variants on their way into the store: read once, equal ones found, never all in memory."""

import json
import sqlite3
from collections.abc import Iterable, Iterator
from typing import Any

from .model import Variant

Row = tuple[int, int | None, bytes]

_TABLES = """
PRAGMA journal_mode = OFF;
PRAGMA synchronous = OFF;
CREATE TABLE variant (idx INTEGER PRIMARY KEY, same_as INTEGER, overrides BLOB);
CREATE TABLE seen (digest BLOB PRIMARY KEY, idx INTEGER) WITHOUT ROWID;
"""


class Spool:
    """A file without a name that SQLite keeps in memory while it is small."""

    def __init__(self, variants: Iterable[Variant]) -> None:
        self.total = self.repeated = 0
        self._connection = sqlite3.connect("", isolation_level=None, check_same_thread=False)
        self._connection.executescript(_TABLES)
        self._connection.execute("BEGIN")
        for variant in variants:
            same_as = self._first(variant.digest) if variant.digest else None
            # An equal variant needs no difference of its own to be run, but people read it.
            row = (self.total, same_as, packed(variant.overrides))
            self._connection.execute("INSERT INTO variant VALUES (?, ?, ?)", row)
            self.repeated += same_as is not None
            self.total += 1
        self._connection.execute("COMMIT")

    def rows(self) -> Iterator[Row]:
        """(index, index of the first variant equal to it if any, overrides) in order."""
        yield from self._connection.execute("SELECT idx, same_as, overrides FROM variant")

    def close(self) -> None:
        """Let the file go."""
        self._connection.close()

    def _first(self, digest: bytes) -> int | None:
        row = (digest, self.total)
        added = self._connection.execute(
            "INSERT INTO seen VALUES (?, ?) ON CONFLICT DO NOTHING", row
        )
        if added.rowcount == 1:
            return None
        found = self._connection.execute("SELECT idx FROM seen WHERE digest = ?", (digest,))
        return int(found.fetchone()[0])


def packed(value: Any) -> bytes:
    """JSON for one cell of the store."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def unpacked(content: bytes | None) -> Any:
    """The value of one cell; None where it is empty."""
    return None if content is None else json.loads(content)

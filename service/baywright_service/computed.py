"""Answers by the content of what was asked, so that equal inputs are calculated once.

A calculation is pure, so an answer stays true as long as the calculator's version does; a new
version is another key. What is kept is bounded twice: in memory for this process, and in a file
that all processes of a service share. The file may be lost or deleted at any time.
"""

import logging
import sqlite3
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from copy import copy
from pathlib import Path
from time import perf_counter
from typing import Any

from .contract import Calculator, DocumentUse
from .envelope import document_json
from .json_writer import read_back
from .problems import CannotCalculate, InvalidInput, Problem
from .recent import key_of

Envelope = dict[str, Any]
#: Runs a calculator on a body: the bytes of its envelope, no documents named. Raises Problem.
Compute = Callable[[Calculator, Mapping[str, Any]], bytes]

_LOG = logging.getLogger(__name__)

#: Answers that took less than this to calculate are not worth a place in the file.
WORTH_S = 0.02
#: The share of the file's limit that a process may hold in memory: plain JSON becomes some eight
#: times as large there.
_MEMORY_SHARE = 32
_REFUSAL_BYTES = 2000
_MIB = 2**20
_FLUSH_BYTES = 2**20

_TABLES = """
CREATE TABLE IF NOT EXISTS answer (
    key BLOB PRIMARY KEY, content BLOB NOT NULL, used INTEGER NOT NULL
);
CREATE INDEX IF NOT EXISTS answer_used ON answer (used);
"""
_PUT = """
INSERT INTO answer VALUES (?, ?, (SELECT coalesce(max(used), 0) + 1 FROM answer))
ON CONFLICT (key) DO NOTHING
"""
_TOUCH = "UPDATE answer SET used = (SELECT max(used) + 1 FROM answer) WHERE key = ?"
_OLDEST = "DELETE FROM answer WHERE key IN (SELECT key FROM answer ORDER BY used LIMIT ?)"


class Computed:
    """Remembers envelopes, those used last, up to `limit_mib` in the file at `path` ("" or
    ":memory:" for none). From any thread."""

    def __init__(self, path: str, limit_mib: int) -> None:
        self.path, self.limit_mib = path, limit_mib
        self._lock = threading.RLock()
        self._memory: OrderedDict[bytes, tuple[Envelope | Problem, int]] = OrderedDict()
        self._memory_left = limit_mib * _MIB // _MEMORY_SHARE
        self._file = _File(path, limit_mib) if limit_mib and path not in ("", ":memory:") else None

    def envelope(
        self,
        calculator: Calculator,
        body: Mapping[str, Any],
        documents: Sequence[DocumentUse],
        compute: Compute,
    ) -> Envelope:
        """The envelope of a run, remembered or computed now. Whoever gets it must not change what
        is inside. Raises Problem."""
        key = key_of(calculator, body)
        found = self._found(key)
        if found is None:
            found = self._computed(key, calculator, body, compute)
        if isinstance(found, Problem):
            raise copy(found)  # each raising leaves its trace in the problem
        return {**found, "documents": [document_json(use) for use in documents]}

    def flush(self) -> None:
        """Write to the file what has come together since."""
        with self._lock:
            if self._file:
                self._file.flush()

    def close(self) -> None:
        """Flush, and let the file go."""
        with self._lock:
            if self._file:
                self._file.close()

    def _found(self, key: bytes) -> Envelope | Problem | None:
        with self._lock:
            if key in self._memory:
                self._memory.move_to_end(key)
                return self._memory[key][0]
            content = self._file.get(key) if self._file else None
        if content is None:
            return None
        envelope: Envelope = read_back(content)
        self._keep(key, envelope, len(content))
        return envelope

    def _computed(
        self, key: bytes, calculator: Calculator, body: Mapping[str, Any], compute: Compute
    ) -> Envelope | Problem:
        started = perf_counter()
        try:
            content = compute(calculator, body)
        except (CannotCalculate, InvalidInput) as problem:
            self._keep(key, problem, _REFUSAL_BYTES)
            return problem
        spent_s = perf_counter() - started
        envelope: Envelope = read_back(content)
        self._keep(key, envelope, len(content))
        if self._file and spent_s >= WORTH_S:
            with self._lock:
                self._file.put(key, content)
        return envelope

    def _keep(self, key: bytes, value: Envelope | Problem, size: int) -> None:
        with self._lock:
            if key in self._memory or not self.limit_mib:
                return
            self._memory[key] = (value, size)
            self._memory_left -= size
            while self._memory_left < 0:
                _, (_, freed) = self._memory.popitem(last=False)
                self._memory_left += freed


class _File:
    """The file; a fault of it costs what it held, never an answer."""

    def __init__(self, path: str, limit_mib: int) -> None:
        self._path, self._limit = path, limit_mib * _MIB
        self._connection: sqlite3.Connection | None = None
        self._pending: dict[bytes, bytes] = {}
        self._pending_bytes = 0
        self._touched: set[bytes] = set()

    def get(self, key: bytes) -> bytes | None:
        """The content kept for `key`."""
        if key in self._pending:
            return self._pending[key]
        if self._connection is None and not Path(self._path).exists():
            return None  # nothing was worth keeping yet
        rows = self._tried(
            lambda connection: connection.execute(
                "SELECT content FROM answer WHERE key = ?", (key,)
            ).fetchall()
        )
        if not rows:
            return None
        self._touched.add(key)
        content: bytes = rows[0][0]
        return content

    def put(self, key: bytes, content: bytes) -> None:
        """Keep it, at the next flush; at once where much has come together."""
        if len(content) * 4 > self._limit or key in self._pending:
            return
        self._pending[key] = content
        self._pending_bytes += len(content)
        if self._pending_bytes > _FLUSH_BYTES:
            self.flush()

    def flush(self) -> None:
        """Write, and throw out what was used longest ago where the file has grown too large."""
        if not self._pending and not self._touched:
            return
        self._tried(self._write)
        self._pending.clear()
        self._touched.clear()
        self._pending_bytes = 0

    def close(self) -> None:
        """Flush and close."""
        self.flush()
        if self._connection:
            self._connection.close()
        self._connection = None

    def _write(self, connection: sqlite3.Connection) -> list[Any]:
        connection.execute("BEGIN IMMEDIATE")
        connection.executemany(_TOUCH, [(key,) for key in sorted(self._touched)])
        connection.executemany(_PUT, list(self._pending.items()))
        while self._held(connection) > self._limit:
            count = connection.execute("SELECT count(*) FROM answer").fetchone()[0]
            connection.execute(_OLDEST, (max(1, count // 8),))
        connection.execute("COMMIT")
        return []

    @staticmethod
    def _held(connection: sqlite3.Connection) -> int:
        """Bytes in use: pages of the file less those that wait to be used again."""
        pages, free, size = (
            int(connection.execute(f"PRAGMA {name}").fetchone()[0])
            for name in ("page_count", "freelist_count", "page_size")
        )
        return (pages - free) * size

    def _tried(self, use: Callable[[sqlite3.Connection], list[Any]]) -> list[Any]:
        """What `use` gives; nothing where the file cannot be used."""
        try:
            if self._connection is None:
                self._connection = _opened(self._path)
            return use(self._connection)
        except (sqlite3.Error, OSError) as error:
            _LOG.warning("remembered answers cannot be used just now: %s", error)
            self._recover(error)
            return []

    def _recover(self, error: Exception) -> None:
        """Begin with an empty file where this one is broken; else try again next time."""
        if self._connection:
            self._connection.close()
        self._connection = None
        if isinstance(error, sqlite3.DatabaseError) and not isinstance(
            error, sqlite3.OperationalError
        ):
            for ending in ("", "-wal", "-shm"):
                Path(self._path + ending).unlink(missing_ok=True)


def _opened(path: str) -> sqlite3.Connection:
    if not Path(path).parent.is_dir():
        raise OSError("its folder is not on this machine")
    connection = sqlite3.connect(path, timeout=1.0, isolation_level=None, check_same_thread=False)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = OFF")
    connection.executescript(_TABLES)
    return connection

"""An SQLite file that survives its process: write-ahead log, synced at each commit, one writer.

A full disk, a locked file or a broken one is StorageUnavailable; what was not committed whole is
not there afterwards.
"""

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ..problems import StorageUnavailable

MEMORY = ":memory:"
#: How long another program may hold the file before a request is given up.
PATIENCE_S = 5.0

_REASONS = {
    sqlite3.SQLITE_FULL: "The disk that holds the batches is full.",
    sqlite3.SQLITE_BUSY: "Another program holds the store of batches.",
    sqlite3.SQLITE_LOCKED: "Another program holds the store of batches.",
    sqlite3.SQLITE_READONLY: "The store of batches may only be read.",
}


def beside(store: str, name: str) -> str:
    """The file called `name` that belongs to the file of documents `store`.

    >>> beside("/var/lib/baywright/documents.sqlite3", "batches")
    '/var/lib/baywright/documents-batches.sqlite3'
    """
    if store == MEMORY:
        return MEMORY
    path = Path(store)
    return str(path.with_name(f"{path.stem}-{name}{path.suffix}"))


class Database:
    """One file. Readers do not wait for the writer; in memory both share one connection."""

    def __init__(self, path: str, tables: str) -> None:
        self.path, self._tables = path, tables
        self._write_lock = threading.RLock()
        self._read_lock = self._write_lock if path == MEMORY else threading.RLock()
        self._writer: sqlite3.Connection | None = None
        self._reader: sqlite3.Connection | None = None

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A transaction that holds the file from its start; all of it is kept, or nothing."""
        with self._write_lock, _explained():
            connection = self._writer = self._writer or self._connected()
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):
                    connection.execute("ROLLBACK")
                raise

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """The file as it stood at one moment."""
        if self.path == MEMORY:
            with self.writing() as connection:
                yield connection
            return
        with self._read_lock, _explained():
            connection = self._reader = self._reader or self._connected()
            connection.execute("BEGIN")
            try:
                yield connection
            finally:
                with suppress(sqlite3.Error):
                    connection.execute("ROLLBACK")

    def close(self) -> None:
        """Close the file; a later call opens it again."""
        with self._write_lock, self._read_lock:
            for connection in (self._writer, self._reader):
                if connection:
                    connection.close()
            self._writer = self._reader = None

    def _connected(self) -> sqlite3.Connection:
        if self.path != MEMORY:
            Path(self.path).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        connection = sqlite3.connect(
            self.path, timeout=PATIENCE_S, isolation_level=None, check_same_thread=False
        )
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")
            connection.executescript(self._tables)
        except BaseException:
            connection.close()
            raise
        return connection


@contextmanager
def _explained() -> Iterator[None]:
    try:
        yield
    except (sqlite3.Error, OSError) as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        reason = _REASONS.get(code, "The store of batches cannot be reached just now.")
        raise StorageUnavailable(reason, headers={"Retry-After": "5"}) from error

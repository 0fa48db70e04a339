"""Stored kits, stocks and plans, with every revision they ever had (SQLite).

A revision is named by the SHA-256 of its canonical JSON. Deleting a document ends its being
current; its revisions stay readable, since answers name them.
"""

import json
import re
import sqlite3
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

from marshmallow import Schema

from .contract import DocumentUse, Fault
from .json_writer import canonical_bytes, digest
from .problems import StorageUnavailable
from .registry import document_fields

KINDS = ("kit", "stock", "plan")
ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
LONGEST_ID = 64

_TABLES = """
CREATE TABLE IF NOT EXISTS revision (
    kind TEXT, id TEXT, revision TEXT, title TEXT, body BLOB, created_at TEXT,
    PRIMARY KEY (kind, id, revision)
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS document (
    kind TEXT, id TEXT, revision TEXT, updated_at TEXT,
    PRIMARY KEY (kind, id)
) WITHOUT ROWID;
"""
_STORED = """
SELECT d.id, r.title, d.revision, d.updated_at, r.body
FROM document d JOIN revision r USING (kind, id, revision)
"""
_CURRENT = _STORED + "WHERE d.kind = ? AND d.id = ?"
_PAGE = _STORED + "WHERE d.kind = ? AND d.id > ? ORDER BY d.id LIMIT ?"
_REVISION = """
SELECT id, title, revision, created_at, body FROM revision
WHERE kind = ? AND id = ? AND revision = ?
"""
_KEEP = "INSERT INTO revision VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING"
_CREATE = "INSERT INTO document VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING"
_REPLACE = """
UPDATE document SET revision = ?, updated_at = ? WHERE kind = ? AND id = ? AND revision = ?
"""
_DELETE = "DELETE FROM document WHERE kind = ? AND id = ? AND revision = ?"


@dataclass(frozen=True)
class Stored:
    """One revision of a document; `content` is its canonical JSON."""

    id: str
    title: str
    revision: str
    updated_at: str
    content: bytes

    @property
    def body(self) -> dict[str, Any]:
        """The document itself."""
        body: dict[str, Any] = json.loads(self.content)
        return body


class Library(Protocol):
    """Where stored documents are read."""

    def current(self, kind: str, id: str) -> Stored | None:
        """The document as it is now."""

    def revision(self, kind: str, id: str, revision: str) -> Stored | None:
        """The document as it was."""


class Documents:
    """The store. Every method may raise StorageUnavailable."""

    def __init__(self, path: str) -> None:
        self.path = path
        self._lock = threading.RLock()
        self._connection: sqlite3.Connection | None = None

    def current(self, kind: str, id: str) -> Stored | None:
        """The document as it is now."""
        return self._one(_CURRENT, (kind, id))

    def revision(self, kind: str, id: str, revision: str) -> Stored | None:
        """The document as it was; also after it was deleted."""
        return self._one(_REVISION, (kind, id, revision))

    def page(self, kind: str, after: str, limit: int) -> list[Stored]:
        """Up to `limit` documents in the order of their ids, from behind `after`."""
        with self._open() as connection:
            return [Stored(*row) for row in connection.execute(_PAGE, (kind, after, limit))]

    def create(self, kind: str, id: str, body: Mapping[str, Any]) -> Stored | None:
        """The new document; None where one of that id exists."""
        made = _made(id, body)
        with self._open() as connection:
            row = (kind, id, made.revision, made.updated_at)
            if connection.execute(_CREATE, row).rowcount != 1:
                return None
            _keep(connection, kind, made)
        return made

    def replace(self, kind: str, id: str, body: Mapping[str, Any], expected: str) -> Stored | None:
        """The new revision; None where the current one is not `expected`."""
        made = _made(id, body)
        with self._open() as connection:
            row = (made.revision, made.updated_at, kind, id, expected)
            if connection.execute(_REPLACE, row).rowcount != 1:
                return None
            _keep(connection, kind, made)
        return made

    def delete(self, kind: str, id: str, expected: str) -> bool:
        """Whether the document was there with the revision `expected`; it is gone then."""
        with self._open() as connection:
            return connection.execute(_DELETE, (kind, id, expected)).rowcount == 1

    def check(self) -> None:
        """Whether the store can be reached. Raises StorageUnavailable."""
        with self._open() as connection:
            connection.execute("SELECT 1 FROM document LIMIT 1").fetchall()

    def close(self) -> None:
        """Close the file; a later call opens it again."""
        with self._lock:
            if self._connection:
                self._connection.close()
            self._connection = None

    def _one(self, query: str, values: tuple[str, ...]) -> Stored | None:
        with self._open() as connection:
            row = connection.execute(query, values).fetchone()
        return Stored(*row) if row else None

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        """The connection, inside one transaction; opened at the first use."""
        try:
            with self._lock:
                self._connection = self._connection or _connected(self.path)
                with self._connection:
                    yield self._connection
        except (sqlite3.Error, OSError) as error:
            raise StorageUnavailable(
                "The store of documents cannot be reached just now.", headers={"Retry-After": "5"}
            ) from error


def _connected(path: str) -> sqlite3.Connection:
    if path != ":memory:":
        Path(path).parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    connection = sqlite3.connect(path, timeout=5.0, check_same_thread=False)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.executescript(_TABLES)
    return connection


def _made(id: str, body: Mapping[str, Any]) -> Stored:
    content = canonical_bytes(body)
    title = body.get("title")
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    return Stored(id, title if isinstance(title, str) else id, digest(content), now, content)


def _keep(connection: sqlite3.Connection, kind: str, made: Stored) -> None:
    row = (kind, made.id, made.revision, made.title, made.content, made.updated_at)
    connection.execute(_KEEP, row)


def is_id(text: object) -> bool:
    """Whether `text` may be the id of a document: kebab-case, at most 64 characters."""
    return isinstance(text, str) and len(text) <= LONGEST_ID and ID.fullmatch(text) is not None


def is_reference(value: object) -> bool:
    """Whether `value` names a stored document: {"id": ...}, with a revision or without."""
    return isinstance(value, Mapping) and "id" in value and set(value) <= {"id", "revision"}


class Fetched:
    """Puts stored documents in place of their names, and remembers which ones took part."""

    def __init__(self, store: Library) -> None:
        self.store = store
        self.faults: list[tuple[str, Fault]] = []
        self._used: dict[DocumentUse, None] = {}

    @property
    def used(self) -> tuple[DocumentUse, ...]:
        """Each document read, in the order of kind and id."""
        return tuple(sorted(self._used, key=lambda use: (use.kind, use.id, use.revision)))

    def fill(self, schema: Schema, body: Any, pointer: str = "") -> Any:
        """`body` with every document of `schema` in place; what is not there goes to `faults`."""
        if not isinstance(body, Mapping):
            return body
        filled = dict(body)
        for name, field in document_fields(schema):
            if name in body:
                place = f"{pointer}/{name}"
                value = self.named(field.kind, body[name], place)
                filled[name] = self.fill(field.schema, value, place)
        return filled

    def named(self, kind: str, value: Any, pointer: str) -> Any:
        """The document that `value` names; `value` itself where it is one, or nothing is there."""
        if not is_reference(value):
            return value
        id, revision = value["id"], value.get("revision", "")
        if not is_id(id) or not isinstance(revision, str):
            fault = Fault("wrong-format", f"Must be the id of a stored {kind}, in kebab-case.")
            self.faults.append((f"{pointer}/id", fault))
            return value
        stored = (
            self.store.revision(kind, id, revision) if revision else self.store.current(kind, id)
        )
        if stored is None:
            detail = f"No {kind} “{id}”{' of that revision' if revision else ''} is stored."
            self.faults.append((f"{pointer}/id", Fault("unknown-reference", detail)))
            return value
        self._used[DocumentUse(kind, id, stored.revision)] = None
        return stored.body

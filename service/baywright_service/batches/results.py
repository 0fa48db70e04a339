"""Batches and their items as people and programs read them: JSON, CSV, NDJSON."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from ..contract import TableData
from ..envelope import csv_bytes
from ..json_writer import json_bytes
from .differences import Changes, value_at
from .model import ENDED, Batch, Item

#: Further places that variants written out change are not shown in tables.
MOST_COLUMNS = 50
#: Items read from the store at a time.
PAGE = 1000

Pages = Callable[[int, int], list[Item]]


def address(id: str) -> str:
    """Where a batch is."""
    return f"/v1/batches/{id}"


def progress_json(batch: Batch) -> dict[str, Any]:
    """How far a batch is."""
    return {
        "id": batch.id,
        "status": batch.status,
        "item_counts": {
            "total": batch.total,
            "successful": batch.successful,
            "failed": batch.failed,
            "dismissed": batch.dismissed,
        },
    }


def batch_json(batch: Batch) -> dict[str, Any]:
    """A batch as it stands."""
    told = {
        "started_at": batch.started_at,
        "ended_at": batch.ended_at,
        "expires_at": batch.expires_at,
        "problem": batch.problem,
    }
    shape: dict[str, Any] = {
        **progress_json(batch),
        "title": batch.title,
        "created_at": batch.created_at,
        **{name: value for name, value in told.items() if value is not None},
    }
    if batch.request:
        shape["request"] = dict(batch.request)
    place = address(batch.id)
    links = {"self": place, "monitor": f"{place}/events", "results": f"{place}/results"}
    if not batch.ended:
        links["cancel"] = f"{place}/cancellation"
    shape["links"] = [{"rel": rel, "href": href} for rel, href in links.items()]
    return shape


def ended_items(read: Pages, after: int, limit: int) -> list[Item]:
    """Up to `limit` items that have ended, in the order of variants; `read` gives stored ones of
    any state from behind an index."""
    found: list[Item] = []
    while len(found) < limit:
        page = read(after, PAGE)
        found += [item for item in page if item.status in ENDED]
        if len(page) < PAGE:
            break
        after = page[-1].index
    return found[:limit]


class Shown:
    """How the items of one batch are shown: the places that vary beside what is kept."""

    def __init__(self, request: Mapping[str, Any], base: Callable[[], Any]) -> None:
        self.varied: Sequence[str] = [entry["pointer"] for entry in request.get("varied", ())]
        self.keep: Sequence[str] = request.get("keep", ())
        self._planned = {e["pointer"]: e.get("planned") for e in request.get("varied", ())}
        self._base = base

    def values(self, item: Item) -> dict[str, Any]:
        """What stands at each place that varies; a place left out holds nothing."""
        changes = changes_of(item)
        values = {pointer: self._value(changes, pointer) for pointer in self.varied}
        return {pointer: value for pointer, value in values.items() if value is not None}

    def _value(self, changes: Changes, pointer: str) -> Any:
        if pointer in changes:
            return changes[pointer]
        if any(
            f"{key}/".startswith(f"{pointer}/") or pointer.startswith(key + "/") for key in changes
        ):
            return value_at(self._base(), changes, pointer)
        return self._planned[pointer]

    def item(self, item: Item) -> dict[str, Any]:
        """One item as JSON; members that say nothing are left out."""
        more = {
            "verdict": item.verdict,
            "values": self.values(item) or None,
            "kept": item.kept,
            "problem": item.problem,
            "same_as": item.same_as,
            "ended_at": item.ended_at,
        }
        told = {name: value for name, value in more.items() if value is not None}
        return {"index": item.index, "status": item.status, **told}

    @property
    def columns(self) -> list[str]:
        """The header of the table."""
        return ["index", "status", "verdict", *self.varied, *self.keep, "problem"]

    def row(self, item: Item) -> list[Any]:
        """One item as a row; lists and objects are written as JSON."""
        values, kept = self.values(item), item.kept or {}
        cells = [values.get(pointer) for pointer in self.varied]
        cells += [kept.get(pointer) for pointer in self.keep]
        problem = _words(item.problem) if item.problem else None
        return [item.index, item.status, item.verdict, *map(_cell, cells), problem]


def csv_stream(shown: Shown, items: Iterable[list[Item]]) -> Iterator[bytes]:
    """The table, a page of items at a time."""
    header = csv_bytes(TableData(shown.columns, ()))
    yield header
    for page in items:
        rows = [shown.row(item) for item in page]
        yield csv_bytes(TableData(shown.columns, rows))[len(header) :]


def ndjson_stream(shown: Shown, items: Iterable[list[Item]]) -> Iterator[bytes]:
    """One object a line."""
    for page in items:
        yield b"".join(json_bytes(shown.item(item)) for item in page)


def pages_of(read: Pages, expected: int) -> Iterator[list[Item]]:
    """Every ended item, in pages. Raises Shortened where fewer than `expected` are there."""
    after, count = -1, 0
    while page := read(after, PAGE):
        after = page[-1].index
        ended = [item for item in page if item.status in ENDED]
        count += len(ended)
        if ended:
            yield ended
    if count < expected:
        raise Shortened(f"{expected} results were there, and {count} could be read")


class Shortened(Exception):
    """A batch went away while its results were written: the answer must not look whole."""


def changes_of(item: Item) -> Changes:
    """What a variant changes of the base, by place."""
    changes: Changes = item.overrides.get("set", {})
    return changes


def _cell(value: Any) -> Any:
    plain = not isinstance(value, (Mapping, list))
    return value if plain else json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _words(problem: Mapping[str, Any]) -> str:
    first = (problem.get("errors") or [{}])[0]
    where = f"{first['pointer']}: " if first.get("pointer") else ""
    detail = first.get("detail") or problem.get("detail") or ""
    return f"{problem.get('title', '')}. {where}{detail}"

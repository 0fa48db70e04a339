"""The stored documents that a batch names, kept with it as they were when it was made.

So every variant reads the same revisions, and a worker needs no store of documents.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from ..documents import KINDS, Library, Stored, is_id, is_reference
from ..pointers import PointerToNowhere, resolve
from .model import Variant
from .overrides import applied

Entry = Mapping[str, str]

#: The members of a reference to a stored document; a variant may change one of them alone.
_MEMBERS = ("/id", "/revision")


class Shelf:
    """Reads what `Gathered` put together."""

    def __init__(self, entries: Iterable[Entry]) -> None:
        self._stored: dict[tuple[str, str, str], Stored] = {}
        for entry in entries:
            stored = Stored(
                entry["id"],
                entry["title"],
                entry["revision"],
                entry["updated_at"],
                entry["content"].encode(),
            )
            self._stored[entry["kind"], stored.id, entry["asked"]] = stored

    def current(self, kind: str, id: str) -> Stored | None:
        """The document as it was when the batch was made."""
        return self._stored.get((kind, id, ""))

    def revision(self, kind: str, id: str, revision: str) -> Stored | None:
        """The document of that revision."""
        return self._stored.get((kind, id, revision))


class Gathered:
    """Every stored document named in the base or in a variant, and in those documents in turn.

    A name is told by its shape alone, so a document may be gathered that nobody reads.
    """

    def __init__(self, library: Library, base: Any) -> None:
        self._library, self._base = library, base
        self._found: dict[tuple[str, str, str], Entry | None] = {}
        self._look(base)

    @property
    def entries(self) -> tuple[Entry, ...]:
        """What a Shelf is made of."""
        return tuple(entry for entry in self._found.values() if entry is not None)

    def of(self, variants: Iterable[Variant]) -> Iterator[Variant]:
        """The variants as they are; what they name is gathered on their way."""
        for variant in variants:
            for value in variant.overrides.values():
                self._look(value)
            for pointer in variant.overrides.get("set", {}):
                if pointer.endswith(_MEMBERS):
                    self._look_above(pointer, variant)
            yield variant

    def _look_above(self, pointer: str, variant: Variant) -> None:
        try:
            body = applied(self._base, variant.overrides)
            self._look(resolve(body, pointer.rpartition("/")[0]))
        except (PointerToNowhere, ValueError):
            return  # found as a fault of the variant

    def _look(self, value: Any) -> None:
        waiting = [value]
        while waiting:
            item = waiting.pop()
            if isinstance(item, Mapping):
                if is_reference(item):
                    waiting += self._fetch(item)
                waiting += [inner for inner in item.values() if isinstance(inner, (dict, list))]
            elif isinstance(item, list):
                waiting += [inner for inner in item if isinstance(inner, (dict, list))]

    def _fetch(self, reference: Mapping[str, Any]) -> Iterator[Any]:
        """The bodies of documents of that name not met before."""
        id, revision = reference["id"], reference.get("revision", "")
        if not is_id(id) or not isinstance(revision, str):
            return
        for kind in KINDS:
            key = (kind, id, revision)
            if key in self._found:
                continue
            stored = self._library.revision(*key) if revision else self._library.current(kind, id)
            self._found[key] = None
            if stored is not None:
                self._found[key] = {
                    "kind": kind,
                    "asked": revision,
                    "id": stored.id,
                    "title": stored.title,
                    "revision": stored.revision,
                    "updated_at": stored.updated_at,
                    "content": stored.content.decode(),
                }
                yield stored.body

"""Batches on disk (SQLite): each variant's result exactly once, whatever happens to the process."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from .model import Base, Batch, Claimed, Event, Item, Outcome, Variant


class BatchStore:
    """The store. Every method may raise StorageUnavailable."""

    def __init__(self, path: str, days: int = 30) -> None:
        self.path = path

    def create(
        self,
        request: Mapping[str, Any],
        base: Base,
        variants: Iterable[Variant],
        *,
        title: str = "",
        key: str = "",
        fingerprint: str = "",
    ) -> tuple[Batch, bool]:
        """The batch on disk, and whether it was made now: a request with a known `key` and the
        same `fingerprint` gets the batch made first. Raises KeyReused for another fingerprint.

        `request` is what people read back of it; `variants` are read once and never held together.
        """
        raise NotImplementedError

    def get(self, id: str) -> Batch | None:
        """The batch as it stands. Raises Gone where its time of keeping has passed."""
        raise NotImplementedError

    def page(self, before: int, limit: int) -> list[Batch]:
        """Up to `limit` batches, newest first, of numbers below `before` (0: from the newest)."""
        raise NotImplementedError

    def unfinished_count(self) -> int:
        """Batches that wait or run."""
        raise NotImplementedError

    def items(self, id: str, after: int, limit: int) -> list[Item]:
        """Up to `limit` items in the order of variants, of indices above `after` (-1: all)."""
        raise NotImplementedError

    def item(self, id: str, index: int) -> Item | None:
        """One item."""
        raise NotImplementedError

    def base(self, id: str) -> Base | None:
        """What its variants start from."""
        raise NotImplementedError

    def cancel(self, id: str) -> Batch | None:
        """The batch, ended: items not ended are dismissed. An ended batch stays as it is."""
        raise NotImplementedError

    def delete(self, id: str) -> bool:
        """Whether it was there; it is gone then, its items too."""
        raise NotImplementedError

    def events_after(self, id: str, number: int, limit: int) -> list[Event]:
        """Up to `limit` stored events of higher numbers."""
        raise NotImplementedError

    def claim(self, id: str, limit: int) -> list[Claimed]:
        """Up to `limit` waiting items, running from now on."""
        raise NotImplementedError

    def finish(self, id: str, outcomes: Sequence[Outcome]) -> int:
        """Write results in one transaction; how many counted (running items only)."""
        raise NotImplementedError

    def close(self) -> None:
        """Close the file; a later call opens it again."""

"""What a batch is: many variants of one plan, or of one calculator's inputs.

States of a batch: accepted, running, then successful (every item has ended, even where some
failed), failed (the batch as a whole could not be run) or dismissed (cancelled). States of an
item: accepted, running, then successful, failed or dismissed.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

ACCEPTED, RUNNING = "accepted", "running"
SUCCESSFUL, FAILED, DISMISSED = "successful", "failed", "dismissed"
ENDED = (SUCCESSFUL, FAILED, DISMISSED)

ITEM_FAILED, DONE = "item-failed", "done"


class KeyReused(Exception):
    """An Idempotency-Key came again with another request; `id` is the batch it belongs to."""

    def __init__(self, id: str) -> None:
        super().__init__(id)
        self.id = id


class Gone(LookupError):
    """A batch was there, and its time of keeping has passed."""


@dataclass(frozen=True)
class Variant:
    """What one variant changes of the base, in one of three forms:

    `{"set": {pointer: value, ...}}` (None removes), `{"merge_patch": {...}}` (RFC 7396) or
    `{"json_patch": [...]}` (RFC 6902). Variants with equal `digest` have equal bodies and are run
    once; an empty digest is equal to nothing. See `overrides.applied`.
    """

    overrides: Mapping[str, Any]
    digest: bytes = b""


@dataclass(frozen=True)
class Base:
    """What all variants of a batch start from.

    `body` is a plan, or the inputs of `calculator` where that is named. `keep` holds JSON Pointers
    to the values kept of each answer. `documents` are the stored documents that body and variants
    name, as they were when the batch was made (`shelf.shelf_of`).
    """

    body: Mapping[str, Any]
    calculator: str = ""
    keep: tuple[str, ...] = ()
    documents: tuple[Mapping[str, str], ...] = ()


@dataclass(frozen=True)
class Batch:
    """One batch as it stands now. `number` counts batches in the order they were made.

    `waiting` are the items not ended yet. `problem` says why a failed batch failed as a whole.
    `deleted` is true only where a repeated Idempotency-Key finds a batch that was deleted since.
    """

    id: str
    number: int
    status: str
    title: str
    total: int
    successful: int
    failed: int
    dismissed: int
    created_at: str
    started_at: str | None = None
    ended_at: str | None = None
    expires_at: str | None = None
    request: Mapping[str, Any] = field(default_factory=dict)
    problem: Mapping[str, Any] | None = None
    deleted: bool = False

    @property
    def ended(self) -> bool:
        """Whether nothing of it will change any more."""
        return self.status in ENDED

    @property
    def waiting(self) -> int:
        """Items not ended yet."""
        return self.total - self.successful - self.failed - self.dismissed


@dataclass(frozen=True)
class Item:
    """One variant of a batch and what came of it. `kept` maps each pointer of `keep` to its value;
    pointers that this answer does not have are left out. A failed variant of a plan may have a
    problem and, from the steps that did run, kept values too."""

    index: int
    status: str
    overrides: Mapping[str, Any]
    same_as: int | None = None
    verdict: str | None = None
    kept: Mapping[str, Any] | None = None
    problem: Mapping[str, Any] | None = None
    ended_at: str | None = None


@dataclass(frozen=True)
class Event:
    """One stored event: `kind` is item-failed (with `item`) or done. Numbers grow within a batch
    without gap, from 1, and never change."""

    number: int
    kind: str
    item: Item | None = None


@dataclass(frozen=True)
class Claimed:
    """An item taken to be run. `attempts` counts this one; `crashes` the ends of the service while
    it ran."""

    index: int
    overrides: Mapping[str, Any]
    attempts: int = 1
    crashes: int = 0


@dataclass(frozen=True)
class Outcome:
    """What a worker made of one item; a problem makes it a failed one."""

    index: int
    verdict: str | None = None
    kept: Mapping[str, Any] | None = None
    problem: Mapping[str, Any] | None = None

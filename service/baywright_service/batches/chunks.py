"""How much work goes to a worker at a time, and what to make of a chunk that came to nothing.

A chunk that passed a limit or lost its worker is taken apart: each of its items is run alone, so
that only the guilty one fails.
"""

from collections.abc import Sequence
from concurrent.futures import CancelledError
from dataclasses import dataclass
from enum import Enum, auto

from ..execution import (
    Closed,
    ClusterLost,
    DeadlinePassed,
    NotPortable,
    OutOfMemory,
    WorkerDied,
)
from ..problems import Internal, Problem, TooLong
from .deadline import GRACE_S, too_long
from .model import Claimed

#: Seconds of work in one chunk: long beside what sending and storing cost, short beside a
#: cancellation, and beside a request that waits for a worker.
TARGET_S = 0.3
#: Items in one chunk, at most.
MOST = 500
#: How much larger than the last a chunk may be.
GROWTH = 4
#: So often is an item run that ended its worker each time.
MOST_ATTEMPTS = 3
#: What a worker ends with that a calculation's deadline took along (faulthandler).
_TAKEN_ALONG = "ended with status 1."


@dataclass(frozen=True)
class Chunk:
    """Items of one batch that one worker has. `alone`: one that was in a chunk that failed."""

    batch: str
    items: Sequence[Claimed]
    sent_at: float
    alone: bool = False


class Pace:
    """How many items of a batch make a chunk; it starts with one."""

    def __init__(self) -> None:
        self.size = 1
        self._item_s = 0.0

    def saw(self, count: int, spent_s: float) -> None:
        """A chunk of `count` items took `spent_s`."""
        item_s = max(spent_s / count, 1e-6)
        # Slow to believe that items have become cheap, quick to see that they are not.
        self._item_s = max(item_s, 0.5 * (self._item_s + item_s))
        wanted = int(TARGET_S / self._item_s)
        self.size = max(1, min(wanted, GROWTH * max(count, 1), MOST))


class Next(Enum):
    """What to do with a chunk that came to nothing."""

    DROP = auto()
    WAIT = auto()
    TAKE_APART = auto()
    AGAIN = auto()
    STOP_BATCH = auto()


def after(error: BaseException, chunk: Chunk, now: float, limit_s: float) -> Next | Problem:
    """What to do next; a Problem is what the one item of the chunk has failed with."""
    if isinstance(error, (CancelledError, Closed)):
        return Next.DROP
    if isinstance(error, ClusterLost):
        return Next.WAIT
    if isinstance(error, NotPortable):
        return Next.STOP_BATCH
    if len(chunk.items) > 1:
        return Next.TAKE_APART
    if isinstance(error, OutOfMemory):
        detail = f"The calculation was given up at {error.args[0]} MiB of memory."
        return TooLong(detail, members={"limit_mib": error.args[0]})
    if isinstance(error, DeadlinePassed):
        return too_long(limit_s)
    if isinstance(error, WorkerDied):
        if str(error).endswith(_TAKEN_ALONG) and now - chunk.sent_at > limit_s + GRACE_S:
            return too_long(limit_s)
        if chunk.items[0].attempts < MOST_ATTEMPTS:
            return Next.AGAIN
        return Internal(f"The calculation ended its worker process {MOST_ATTEMPTS} times.")
    return Internal("The service made a mistake with this variant; see its log.")

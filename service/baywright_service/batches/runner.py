"""Runs what the store holds: one thread that claims items, sends chunks, and writes results."""

import logging
import threading
import time
from collections import defaultdict, deque
from collections.abc import Callable, Mapping
from concurrent.futures import Future
from dataclasses import replace
from queue import Empty, SimpleQueue
from typing import Any

from ..contract import Calculator
from ..execution import Executor, NotPortable
from ..problems import Internal, Problem, StorageUnavailable
from .chunks import Chunk, Next, Pace, after
from .holding import Holding
from .model import Batch, Outcome
from .store import BatchStore
from .work import Carried, Order, carry_out

_LOG = logging.getLogger(__name__)

#: How often to look for batches that another process made, and for the lock it may have left.
LOOK_S = 0.5
#: How long to leave a store or cluster alone that cannot be reached.
PAUSE_S = 1.0
#: How often to look for batches whose time of keeping has passed.
EXPIRE_S = 60.0

#: What an item may take beside its calculations, each of which has a deadline of its own: only a
#: worker that hangs passes this.
BESIDE_S = 60.0

OrderOf = Callable[[str], Order | None]


class Runner:
    """Starts its thread at the first `wake`. Results of chunks reach the store in the order the
    chunks end; readers put them in the order of variants."""

    def __init__(
        self,
        store: BatchStore,
        order_of: OrderOf,
        calculators: Mapping[str, Calculator],
        executor: Executor,
        limit_s: float,
        *,
        in_worker: bool,
    ) -> None:
        self._store, self._order_of, self._executor = store, order_of, executor
        self._calculators = calculators
        self._limit_s, self._in_worker = limit_s, in_worker
        #: Chunks sent beyond those that can run at a time, so that no worker waits.
        self._ahead = 1 if in_worker else 0
        self._holding = Holding(store.database.path)
        self._lock = threading.Lock()
        self._changed = threading.Condition(self._lock)
        self._thread: threading.Thread | None = None
        self._closing = False
        self._news: SimpleQueue[tuple[Chunk, Future[Any]] | None] = SimpleQueue()
        self._sent: dict[Future[Any], Chunk] = {}
        self._dropped: set[str] = set()
        self._recovered = False
        self._apart: deque[Chunk] = deque()
        self._unwritten: defaultdict[str, list[Outcome]] = defaultdict(list)
        self._paces: dict[str, Pace] = {}
        self._orders: dict[str, tuple[bytes, float]] = {}
        self._served: dict[str, int] = {}
        self._turn = 0
        self._expire_at = 0.0
        self._pause_until = 0.0
        #: Seconds of workers' time, and how much of it calculators took.
        self.spent_s = self.calculating_s = 0.0

    def wake(self) -> None:
        """There may be something to do."""
        with self._lock:
            if self._thread is None and not self._closing:
                self._thread = threading.Thread(target=self._loop, name="batches", daemon=True)
                self._thread.start()
        self._news.put(None)

    def dropped(self, id: str) -> None:
        """End what runs of a batch that was cancelled."""
        with self._lock:
            self._dropped.add(id)  # a chunk of it may be on its way between claim and worker
            running = [future for future, chunk in self._sent.items() if chunk.batch == id]
        for future in running:
            future.cancel()
        self.tell()

    def tell(self) -> None:
        """Wake those who wait for a change."""
        with self._changed:
            self._changed.notify_all()

    def wait_for_change(self, seen: Batch, timeout_s: float) -> Batch | None:
        """The batch as soon as it is not as it was seen, or when the time has passed."""
        end = time.monotonic() + timeout_s
        while (now := self._store.get(seen.id)) is not None and _standing(now) == _standing(seen):
            left = end - time.monotonic()
            if left <= 0 or self._closing:
                break
            with self._changed:
                self._changed.wait(min(left, LOOK_S))
        return now

    def close(self) -> None:
        """Stop; what runs is given back, to be run after the next start."""
        with self._lock:
            self._closing = True
            thread, self._thread = self._thread, None
        self._news.put(None)
        self.tell()
        if thread is not None:
            thread.join()

    def _loop(self) -> None:
        try:
            while not self._closing:
                self._one_round()
                self._wait()
        finally:
            self._stop()

    def _one_round(self) -> None:
        try:
            if time.monotonic() >= self._pause_until and self._may_run():
                self._write()
                self._keep_house()
                self._fill()
        except (StorageUnavailable, OSError) as error:
            _LOG.warning("batches wait: %s", error)
            self._pause()
        except Exception:
            _LOG.exception("batches wait")
            self._pause()

    def _pause(self) -> None:
        self._pause_until = time.monotonic() + PAUSE_S

    def _may_run(self) -> bool:
        """Whether this is the process that runs the store; a crash before is mended first."""
        if not self._holding.taken():
            return False
        if not self._recovered:
            self._store.recover(blame=not self._in_worker)
            self._recovered = True
        return True

    def _wait(self) -> None:
        """Take in what has ended since; where nothing has, wait for it."""
        try:
            news = self._news.get(timeout=LOOK_S)
            while True:
                if news is not None:
                    self._take_in(*news)
                news = self._news.get_nowait()
        except Empty:
            return

    def _take_in(self, chunk: Chunk, future: "Future[Any]") -> None:
        with self._lock:
            self._sent.pop(future, None)
        error = _error_of(future)
        if error is None:
            carried: Carried = future.result()
            self._unwritten[chunk.batch] += carried.outcomes
            self._pace(chunk.batch).saw(len(chunk.items), carried.spent_s)
            self.spent_s += carried.spent_s
            self.calculating_s += carried.calculating_s
            return
        verdict = after(error, chunk, time.monotonic(), self._limit_s)
        if isinstance(verdict, Problem):
            _LOG.warning("variant %d of %s: %s", chunk.items[0].index, chunk.batch, error)
            outcome = Outcome(chunk.items[0].index, problem=verdict.body())
            self._unwritten[chunk.batch].append(outcome)
        elif verdict is Next.WAIT:
            self._apart.append(chunk)
            self._pause()
        elif verdict is Next.STOP_BATCH:
            self._fail(chunk.batch, error)
        elif verdict is not Next.DROP:
            self._apart += [Chunk(chunk.batch, [item], 0.0, alone=True) for item in chunk.items]

    def _write(self) -> None:
        for id in list(self._unwritten):
            self._store.finish(id, self._unwritten[id])
            del self._unwritten[id]
            self.tell()

    def _keep_house(self) -> None:
        if time.monotonic() >= self._expire_at:
            self._expire_at = time.monotonic() + EXPIRE_S
            self._store.expire()

    def _fill(self) -> None:
        while len(self._sent) < self._executor.parallel + self._ahead:
            with self._lock:
                self._dropped.clear()
            chunk = self._next_apart() or self._next_chunk()
            if chunk is None:
                return
            self._send(chunk)

    def _next_apart(self) -> Chunk | None:
        """A chunk that is to be sent again; each attempt of an item alone is counted."""
        while self._apart:
            chunk = self._apart[0]
            if chunk.alone:
                attempts = self._store.try_again(chunk.batch, chunk.items[0].index)
                chunk = replace(chunk, items=[replace(chunk.items[0], attempts=attempts)])
            self._apart.popleft()
            if chunk.items[0].attempts:
                return chunk
        return None

    def _next_chunk(self) -> Chunk | None:
        """Items of the batch with the fewest on their way, then of the one served longest ago."""
        waiting = self._store.waiting()
        self._forget_all_but(waiting)
        sent = [chunk.batch for chunk in self._sent.values()]
        for id in sorted(waiting, key=lambda id: (sent.count(id), self._served.get(id, 0))):
            if self._order(id) is None:
                continue
            items = self._store.claim(id, self._pace(id).size)
            if items:
                self._turn += 1
                self._served[id] = self._turn
                self.tell()
                return Chunk(id, items, 0.0)
        return None

    def _send(self, chunk: Chunk) -> None:
        order = self._order(chunk.batch)
        if order is None:
            return
        packed, item_s = order
        chunk = replace(chunk, sent_at=time.monotonic())
        variants = [(item.index, item.overrides) for item in chunk.items]
        arguments = (packed, self._calculators, variants)
        future = self._executor.run(carry_out, arguments, len(variants) * item_s)
        with self._lock:
            self._sent[future] = chunk
            dropped = chunk.batch in self._dropped
        future.add_done_callback(lambda done: self._news.put((chunk, done)))
        if dropped:
            future.cancel()

    def _order(self, id: str) -> tuple[bytes, float] | None:
        """What is sent with each chunk of a batch, and the longest that one item may take."""
        if id not in self._orders:
            try:
                order = self._order_of(id)
                if order is None:
                    return None
                packed = order.packed()
            except StorageUnavailable:
                raise
            except Exception as error:
                self._fail(id, error)
                return None
            steps = len(order.base.body.get("steps", ())) if not order.base.calculator else 1
            self._orders[id] = packed, max(steps, 1) * (order.limit_s + 1.0) + BESIDE_S
        return self._orders[id]

    def _fail(self, id: str, error: BaseException) -> None:
        """End a batch that cannot be run here at all."""
        _LOG.error("batch %s cannot be run", id, exc_info=error)
        words = str(error) if isinstance(error, NotPortable) else "see the service's log"
        self._store.fail(id, Internal(f"The batch cannot be run: {words}").body())
        self.dropped(id)

    def _pace(self, id: str) -> Pace:
        return self._paces.setdefault(id, Pace())

    def _forget_all_but(self, ids: list[str]) -> None:
        known: dict[str, Any]
        busy = {*ids, *(chunk.batch for chunk in (*self._sent.values(), *self._apart))}
        for known in (self._paces, self._orders, self._served):
            for id in known.keys() - busy:
                del known[id]

    def _stop(self) -> None:
        with self._lock:
            running = list(self._sent)
        for future in running:
            future.cancel()
        try:
            if self._holding.taken() and self._recovered:
                self._write()
                self._store.release()
        except (StorageUnavailable, OSError) as error:
            _LOG.warning("what ran is recovered at the next start: %s", error)
        finally:
            self._holding.release()


def _error_of(future: "Future[Any]") -> BaseException | None:
    try:
        return future.exception()
    except BaseException as error:  # CancelledError, which is none of Exception's
        return error


def _standing(batch: Batch) -> tuple[Any, ...]:
    """What of a batch changes while it runs."""
    return batch.status, batch.successful, batch.failed, batch.dismissed

"""Worker processes that answer parcels: a thread, a process and a socket for each worker.

Workers share nothing, neither a queue nor a lock, so that one which is killed at any moment takes
at most its own job with it. Measured on a pool whose workers share a locked pipe: killing one of
two in the middle of jobs of half a millisecond left all others waiting in 10 of 60 trials, and
killing an idle one made it refuse all work from then on.
"""

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import CancelledError, Future
from contextlib import suppress
from multiprocessing.connection import Pipe
from queue import SimpleQueue
from typing import Any

from .failures import Closed, DeadlinePassed, WorkerDied
from .futures import fail, fulfil
from .worker import BEGUN, LEAVES

#: A worker that has not read its first call by then is taken for dead.
START_S = 60.0

_STOPPING = Closed("The service is stopping.")


class _NotBegun(Exception):
    """A worker died before it had read what it was asked."""


# The service's own search path, so that a worker finds what the service found; -P keeps a module
# of the current folder from standing in for one of these two.
_START = (
    "import json, sys; given = json.loads(sys.argv[1]); sys.path[:] = given.pop('path'); "
    "from baywright_service.execution.worker import main; main(**given)"
)


class Job(Future[Any]):
    """A parcel on its way. Cancelling one that runs ends its worker."""

    def __init__(self, parcel: bytes, deadline_s: float, opened: Callable[[bytes], Any]) -> None:
        super().__init__()
        self.parcel, self.deadline_s, self.opened = parcel, deadline_s, opened
        self._guard = threading.Lock()
        self._worker: Worker | None = None
        self._given_up = self._answered = self._asked_before = False

    def cancel(self) -> bool:
        """Give it up, waiting or running; False where it has ended."""
        if super().cancel():
            return True
        with self._guard:
            if self._answered or self.done():
                return False
            self._given_up = True
            if self._worker is not None:
                self._worker.kill(CancelledError())
        return True

    def cancelled(self) -> bool:
        """Whether it was given up."""
        return self._given_up or super().cancelled()

    def settle(self, worker: "Worker") -> bool:
        """Run in `worker` and end in a value or an exception; False, once, where that worker died
        before it had read the parcel: nothing has begun, so another one may be asked."""
        try:
            reply = self._reply(worker)
        except _NotBegun as error:
            if not self._asked_before:
                self._asked_before = True
                return False
            fail(self, WorkerDied(str(error)))
        except Exception as error:
            fail(self, error)
        else:
            fulfil(self, lambda: self.opened(reply))
        return True

    def _reply(self, worker: "Worker") -> bytes:
        self._hold(worker)
        answered = True
        try:
            return worker.ask(self.parcel, self.deadline_s)
        except _NotBegun:
            answered = self._asked_before
            raise
        finally:
            self._hold(None, answered=answered)

    def _hold(self, worker: "Worker | None", *, answered: bool = False) -> None:
        with self._guard:
            self._worker, self._answered = worker, answered
            if self._given_up:
                raise CancelledError


class Worker:
    """One worker process, seen from its service. Used by the thread that made it."""

    def __init__(self, memory_mib: int, warm: Sequence[str]) -> None:
        self._because: Exception | None = None
        self._socket, theirs = Pipe()
        with theirs:
            given = {
                "path": sys.path,
                "descriptor": theirs.fileno(),
                "parent": os.getpid(),
                "memory_mib": memory_mib,
                "warm": list(warm),
            }
            # A group of its own: Ctrl-C at a terminal is the service's to answer.
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-c", _START, json.dumps(given)],
                stdin=subprocess.DEVNULL,
                pass_fds=[theirs.fileno()],
                process_group=0,
            )

    @property
    def alive(self) -> bool:
        """Whether it can be asked."""
        return self._because is None and self._process.poll() is None

    def ask(self, parcel: bytes, deadline_s: float) -> bytes:
        """The reply. Raises DeadlinePassed, WorkerDied, _NotBegun and what it was killed for, and
        has ended the worker then."""
        death: type[Exception] = _NotBegun
        try:
            self._socket.send_bytes(parcel)
            begins = self._socket.poll(START_S)
            if not begins or self._socket.recv_bytes() != BEGUN:
                death = death if begins else WorkerDied  # what hangs would hang again
                raise EOFError
            death = WorkerDied
            if not self._socket.poll(deadline_s):
                raise DeadlinePassed(f"The run was ended after {deadline_s:g} s.")
            answer = self._socket.recv_bytes()
        except DeadlinePassed:  # an OSError as well, as every TimeoutError is
            self.end()
            raise
        except (OSError, EOFError):
            how = self._how_it_ended()
            self.end()
            raise self._because or death(f"The worker process {how}.") from None
        except BaseException:
            self.end()
            raise
        if answer[:1] == LEAVES:
            self.end()
        return answer[1:]

    def kill(self, because: Exception) -> None:
        """End what runs: it ends in `because`. From any thread."""
        self._because = because
        self._kill()

    def end(self) -> None:
        """Kill it and let go of it; may be called twice."""
        self._kill()
        self._process.wait()
        self._socket.close()

    def _kill(self) -> None:
        """End the process, whatever it does, with those it started."""
        if self._process.poll() is None:
            with suppress(ProcessLookupError, PermissionError):
                os.killpg(self._process.pid, signal.SIGKILL)

    def _how_it_ended(self) -> str:
        try:
            code = self._process.wait(0.5)  # its socket closes a moment before it is gone
        except subprocess.TimeoutExpired:
            return "did not answer"
        return f"was ended by signal {-code}" if code < 0 else f"ended with status {code}"


class Pool:
    """At most `most` workers, started as they are needed; each keeps its thread."""

    def __init__(self, most: int, memory_mib: int, warm: Sequence[str] = ()) -> None:
        self.most = most
        self._memory_mib, self._warm = memory_mib, tuple(warm)
        self._jobs: SimpleQueue[Job | None] = SimpleQueue()
        self._lock = threading.Lock()
        self._closed = False
        self._open_jobs = 0
        self._threads: list[threading.Thread] = []
        self._workers: set[Worker] = set()

    def send(
        self, parcel: bytes, deadline_s: float, opened: Callable[[bytes], Any]
    ) -> "Future[Any]":
        """A future that ends in `opened(reply)`, in what that raises, or in a Failure."""
        job = Job(parcel, deadline_s, opened)
        with self._lock:
            if self._closed:
                fail(job, _STOPPING)
                return job
            self._open_jobs += 1
            if len(self._threads) < min(self._open_jobs, self.most):
                thread = threading.Thread(target=self._serve, daemon=True)
                self._threads.append(thread)
                thread.start()
            self._jobs.put(job)
        return job

    def close(self) -> None:
        """End the workers, whatever they do; open jobs end in Closed."""
        with self._lock:
            self._closed = True
            for _ in self._threads:
                self._jobs.put(None)
            for worker in self._workers:
                worker.kill(_STOPPING)
        for thread in self._threads:
            thread.join()

    def _serve(self) -> None:
        worker: Worker | None = None
        while (job := self._jobs.get()) is not None:
            if job.set_running_or_notify_cancel():
                worker = self._run(job, worker)
            with self._lock:
                self._open_jobs -= 1
        if worker is not None:
            worker.end()

    def _run(self, job: Job, worker: Worker | None) -> Worker | None:
        """Settle the job; the worker for the next one, started now if this job took its own."""
        try:
            while (worker := self._ready(worker)) is not None:
                if job.settle(worker):
                    return self._ready(worker)
            fail(job, _STOPPING)
        except Exception as error:
            fail(job, WorkerDied(f"No worker process can be started: {error}."))
        return None

    def _ready(self, worker: Worker | None) -> Worker | None:
        """It, or a fresh one where it has ended; None once the pool is closed."""
        if worker is not None and worker.alive:
            return worker
        with self._lock:
            if worker is not None:
                worker.end()
                self._workers.discard(worker)
            if self._closed:
                return None
            fresh = Worker(self._memory_mib, self._warm)
            self._workers.add(fresh)
        return fresh

"""Calculations on the machines of a dask cluster, through its scheduler.

Dask runs a job again when its worker is gone, so jobs must have no effect but their value, and
gives up after `distributed.scheduler.allowed-failures` workers (3 unless set there).
"""

import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from typing import Any

from ..settings import SettingsError
from . import guard, parcels
from .failures import Closed, ClusterLost, NotPortable, WorkerDied
from .futures import ended_in, fail, fulfil

#: How long a scheduler may take to answer a new connection.
CONNECT_S = 5.0
#: How long jobs wait for a cluster that has lost all its workers.
PATIENCE_S = 10.0
#: How often the number of workers is asked for.
LOOK_S = 1.0

_SCHEMES = ("tcp://", "tls://")


class OnCluster:
    """Runs on whatever workers the scheduler at `address` has."""

    def __init__(
        self, address: str, memory_limit_mib: int, *, patience_s: float = PATIENCE_S
    ) -> None:
        """Raises SettingsError where dask is not installed or no scheduler answers."""
        self._address, self._memory_limit_mib = address, memory_limit_mib
        self._patience_s = patience_s
        self._lock = threading.Lock()
        self._open: set[Future[Any]] = set()
        self._parallel = 1
        self._lost_at = 0.0
        self._closing = threading.Event()
        self._client = _first_client(address)
        threading.Thread(target=self._watch, daemon=True).start()

    @property
    def parallel(self) -> int:
        """Threads of all workers, as last seen."""
        return self._parallel

    def run(
        self, function: Callable[..., Any], arguments: tuple[Any, ...], deadline_s: float
    ) -> "Future[Any]":
        """The run on a free worker. Cancelling drops its value; one under way goes on to its end
        or its deadline."""
        try:
            parcel = parcels.pack(function, arguments)
            client = self._connected()
            inner = client.submit(
                guard.answered,
                parcel,
                deadline_s,
                self._memory_limit_mib,
                guard.release(),
                pure=False,
            )
        except (NotPortable, ClusterLost, Closed) as error:
            return ended_in(error)
        except (OSError, RuntimeError):  # lost since it was looked at
            return ended_in(_lost(self._address))
        job: Future[Any] = Future()
        with self._lock:
            self._open.add(job)
        job.add_done_callback(lambda _: self._forget(job, inner))
        inner.add_done_callback(lambda _: fulfil(job, lambda: parcels.opened(_reply(inner))))
        return job

    def close(self) -> None:
        """Leave the cluster; open jobs end in Closed."""
        self._closing.set()
        self._fail_open(Closed("The service is stopping."))
        with suppress(Exception):
            self._client.close(timeout=2)

    def _connected(self) -> Any:
        """A client that is in touch with the scheduler. Raises ClusterLost and Closed."""
        if self._closing.is_set():
            raise Closed("The service is stopping.")
        with self._lock:
            if self._client.status == "running":
                return self._client
            if self._client.status == "closed" and time.monotonic() - self._lost_at > CONNECT_S:
                try:
                    self._client = _client(self._address)
                    return self._client
                except OSError:
                    self._lost_at = time.monotonic()
        raise _lost(self._address)

    def _watch(self) -> None:
        """Count the workers; where there are none for too long, waiting jobs end."""
        seen = time.monotonic()
        while not self._closing.wait(LOOK_S):
            with suppress(Exception):
                threads = sum(self._client.nthreads().values())
                if threads:
                    seen, self._parallel = time.monotonic(), threads
            if not self._open:
                seen = time.monotonic()
            if time.monotonic() - seen > self._patience_s:
                reason = f"The cluster at {self._address} has had no worker for some time."
                self._fail_open(ClusterLost(reason))

    def _fail_open(self, error: Exception) -> None:
        with self._lock:
            jobs = list(self._open)
        for job in jobs:
            fail(job, error)

    def _forget(self, job: "Future[Any]", inner: Any) -> None:
        with self._lock:
            self._open.discard(job)
        if not inner.done():
            with suppress(Exception):
                inner.cancel()


def _reply(inner: Any) -> bytes:
    """What the guard answered. Raises ClusterLost and WorkerDied."""
    from distributed import KilledWorker

    if inner.status in ("cancelled", "lost"):
        raise ClusterLost("The connection to the cluster was lost before it had answered.")
    try:
        reply: bytes = inner.result()
    except KilledWorker as error:
        raise WorkerDied(f"Several workers of the cluster ended with this run. {error}") from None
    return reply


def _first_client(address: str) -> Any:
    if not address.startswith(_SCHEMES):
        raise SettingsError(
            f"BAYWRIGHT_CLUSTER must be the address of a dask scheduler, such as "
            f"tcp://127.0.0.1:8786, not {address!r}."
        )
    try:
        return _client(address)
    except ImportError as error:
        raise SettingsError(
            "BAYWRIGHT_CLUSTER needs dask, which is not installed: pip install 'baywright[cluster]'"
        ) from error
    except (OSError, ValueError) as error:
        raise SettingsError(
            f"No dask scheduler answers at {address} (BAYWRIGHT_CLUSTER). Start one, or take the "
            "setting away to calculate on this machine."
        ) from error


def _client(address: str) -> Any:
    from distributed import Client

    kind: Any = Client  # untyped where it is installed, unknown where not
    return kind(address, timeout=CONNECT_S, set_as_default=False)


def _lost(address: str) -> ClusterLost:
    return ClusterLost(f"The scheduler of the cluster at {address} does not answer.")

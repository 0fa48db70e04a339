"""Calculations in worker processes of this machine."""

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from typing import Any

from . import parcels
from .failures import NotPortable
from .futures import ended_in
from .pool import Pool


class WorkerProcesses:
    """Workers with a deadline and a memory limit for each calculation; one that passes its
    deadline is ended and replaced."""

    def __init__(self, workers: int, memory_limit_mib: int, warm: Sequence[str] = ()) -> None:
        self._pool = Pool(workers, memory_limit_mib, warm)

    @property
    def parallel(self) -> int:
        """As many as there are workers."""
        return self._pool.most

    def run(
        self, function: Callable[..., Any], arguments: tuple[Any, ...], deadline_s: float
    ) -> "Future[Any]":
        """The run in the next free worker; the deadline begins when the worker does."""
        try:
            parcel = parcels.pack(function, arguments)
        except NotPortable as error:
            return ended_in(error)
        return self._pool.send(parcel, deadline_s, parcels.opened)

    def close(self) -> None:
        """End the workers, whatever they do."""
        self._pool.close()

"""Where a calculation runs, and for how long: `run(function, arguments, deadline_s) -> Future`.

    InThisProcess     BAYWRIGHT_WORKERS=0     a thread each; given up at the deadline, not ended
    WorkerProcesses   BAYWRIGHT_WORKERS=n     ended at the deadline, and at the memory limit
    OnCluster         BAYWRIGHT_CLUSTER=...   the same, on the machines of a dask cluster

Functions and arguments must be importable and picklable, so that each of them takes them.
"""

import logging
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from typing import Any, Protocol

from ..problems import ClusterUnreachable, Internal, Stopping, TooLong
from ..settings import Settings
from .failures import (
    Closed,
    ClusterLost,
    DeadlinePassed,
    Failure,
    NotPortable,
    OutOfMemory,
    WorkerDied,
)
from .in_process import InThisProcess
from .processes import WorkerProcesses

__all__ = [
    "Closed",
    "ClusterLost",
    "DeadlinePassed",
    "Executor",
    "Failure",
    "InThisProcess",
    "NotPortable",
    "OutOfMemory",
    "WorkerDied",
    "WorkerProcesses",
    "executor_for",
    "outcome",
]

_LOG = logging.getLogger(__name__)

_WORDS: dict[type[Failure], str] = {
    NotPortable: "This calculation cannot be given to a worker process; see the service's log.",
    WorkerDied: "The calculation ended its worker process. Others are not affected.",
}


class Executor(Protocol):
    """Takes one function with its arguments at a time, from any thread."""

    @property
    def parallel(self) -> int:
        """How many runs at a time are worth having."""

    def run(
        self, function: Callable[..., Any], arguments: tuple[Any, ...], deadline_s: float
    ) -> "Future[Any]":
        """A future that ends in the function's value, in what it raised, or in a Failure.

        Cancelling it ends the run where it can be ended, and drops its value everywhere.
        """

    def close(self) -> None:
        """Take no more work; end what runs."""


def executor_for(settings: Settings, warm: Sequence[str] = ()) -> Executor:
    """The executor the settings ask for. Raises SettingsError.

    Idle workers import the modules `warm`, so that the first run of a calculator does not wait.
    """
    if settings.cluster:
        from .cluster import OnCluster

        return OnCluster(settings.cluster, settings.memory_limit_mib)
    if settings.workers:
        return WorkerProcesses(settings.workers, settings.memory_limit_mib, warm)
    return InThisProcess()


def outcome(future: "Future[Any]", deadline_s: float) -> Any:
    """The value of a run. Raises what the run raised, and a Problem for each Failure."""
    try:
        return future.result()
    except DeadlinePassed:
        raise TooLong(
            f"The calculation was given up after {deadline_s:g} s.",
            members={"limit_s": deadline_s},
        ) from None
    except OutOfMemory as error:
        limit_mib = error.args[0]
        raise TooLong(
            f"The calculation was given up at {limit_mib} MiB of memory.",
            members={"limit_mib": limit_mib},
        ) from None
    except ClusterLost as error:
        raise ClusterUnreachable(str(error), headers={"Retry-After": "10"}) from error
    except Closed:
        raise Stopping("The service is stopping.", headers={"Retry-After": "10"}) from None
    except (NotPortable, WorkerDied) as error:
        _LOG.error("a calculation came to nothing: %s", error)
        raise Internal(_WORDS[type(error)]) from error
    except MemoryError:
        raise TooLong("The calculation asked for more memory than this machine gives.") from None

"""Which executor the settings choose, and what each end of a run becomes."""

import socket
import sys
from typing import Any

import pytest

from baywright_service.execution import (
    Closed,
    ClusterLost,
    DeadlinePassed,
    InThisProcess,
    NotPortable,
    OutOfMemory,
    WorkerDied,
    WorkerProcesses,
    executor_for,
    outcome,
)
from baywright_service.execution.futures import RaisedElsewhere, ended_in
from baywright_service.problems import (
    ClusterUnreachable,
    Internal,
    Problem,
    Stopping,
    TooLong,
)
from baywright_service.settings import Settings, SettingsError
from tests.service.execution import jobs


def test_workers_are_as_many_as_set_and_none_means_this_process() -> None:
    here = executor_for(Settings(workers=0))
    assert isinstance(here, InThisProcess) and here.parallel == 1
    workers = executor_for(Settings(workers=5))
    assert isinstance(workers, WorkerProcesses) and workers.parallel == 5
    workers.close()


ENDS: list[tuple[Exception, type[Problem], dict[str, Any], str]] = [
    (DeadlinePassed("x"), TooLong, {"limit_s": 2.5}, "after 2.5 s"),
    (OutOfMemory(512), TooLong, {"limit_mib": 512}, "512 MiB"),
    (MemoryError(), TooLong, {}, "more memory than this machine"),
    (WorkerDied("signal 11"), Internal, {}, "ended its worker"),
    (NotPortable("Class Secret"), Internal, {}, "service's log"),
    (ClusterLost("The scheduler does not answer."), ClusterUnreachable, {}, "does not answer"),
    (Closed("x"), Stopping, {}, "stopping"),
]


@pytest.mark.parametrize(
    ("error", "kind", "members", "words"), ENDS, ids=lambda value: type(value).__name__
)
def test_each_failure_becomes_its_problem(
    error: Exception, kind: type[Problem], members: dict[str, Any], words: str
) -> None:
    with pytest.raises(kind) as caught:
        outcome(ended_in(error), 2.5)
    assert caught.value.members == members and words in caught.value.detail
    assert "Secret" not in caught.value.detail and "signal" not in caught.value.detail
    assert ("Retry-After" in caught.value.headers) == (kind.status == 503)


def test_what_the_calculator_raised_stays_what_it_is() -> None:
    for error in (KeyError("a"), TimeoutError("of its own"), TooLong("x")):
        with pytest.raises(type(error)) as caught:
            outcome(ended_in(error), 1.0)
        assert caught.value is error


def test_in_this_process_a_run_is_given_up_and_may_not_leave_the_program() -> None:
    here = InThisProcess()
    assert outcome(here.run(jobs.add, (1, 2), 60.0), 60.0) == 3
    with pytest.raises(TooLong):
        outcome(here.run(jobs.after, (0.5,), 0.05), 0.05)
    with pytest.raises(RaisedElsewhere, match="SystemExit"):
        outcome(here.run(jobs.leaves, (), 60.0), 60.0)


def test_a_cluster_without_dask_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(SettingsError, match=r"pip install 'baywright\[cluster\]'"):
        executor_for(Settings(cluster="tcp://127.0.0.1:8786"))


@pytest.mark.parametrize("address", ["127.0.0.1:8786", "http://127.0.0.1:8786", "tcp:/x"])
def test_an_address_that_is_none_is_refused(address: str) -> None:
    with pytest.raises(SettingsError, match="BAYWRIGHT_CLUSTER must be the address"):
        executor_for(Settings(cluster=address))


@pytest.mark.slow
def test_a_scheduler_that_does_not_answer_is_named() -> None:
    pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    with pytest.raises(SettingsError, match=f"No dask scheduler answers at {address}"):
        executor_for(Settings(cluster=address))

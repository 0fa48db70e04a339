"""A dask cluster on this machine: what runs there, and what it is like to lose parts of it."""

import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import requests

from baywright_service.execution import (
    Closed,
    ClusterLost,
    DeadlinePassed,
    NotPortable,
    OutOfMemory,
    WorkerDied,
    guard,
    parcels,
)
from baywright_service.execution.cluster import OnCluster
from baywright_service.server import start
from baywright_service.settings import Settings, SettingsError
from tests.service.execution import jobs
from tests.service.execution.troublemakers import troublemakers

pytest.importorskip("distributed", reason="the extra `cluster` is not installed")

LONG = 60.0
WORKERS = 2


@dataclass
class Machines:
    """A scheduler and its workers."""

    address: str
    scheduler: "subprocess.Popen[bytes]"
    workers: list["subprocess.Popen[bytes]"]

    def add_worker(self) -> None:
        """One more, of one thread."""
        self.workers.append(
            _dask("worker", self.address, "--nthreads", "1", "--no-nanny", "--no-dashboard")
        )

    def restart_scheduler(self) -> None:
        """The same address, and no memory of what was."""
        self.scheduler.wait()
        self.scheduler = _scheduler(self.address)

    def end(self) -> None:
        """All of them."""
        for process in [self.scheduler, *self.workers]:
            process.kill()
            process.wait()


def _dask(kind: str, *words: str) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "-m", f"distributed.cli.dask_{kind}", *words],
        cwd=Path(__file__).parents[3],  # so that they can import the jobs
        stderr=subprocess.DEVNULL,
    )


def _scheduler(address: str) -> "subprocess.Popen[bytes]":
    host, port = address.removeprefix("tcp://").split(":")
    return _dask(
        *("scheduler", "--host", host, "--port", port),
        *("--no-dashboard", "--dashboard-address", "127.0.0.1:0"),
    )


@pytest.fixture
def machines() -> Iterator[Machines]:
    """A scheduler and two workers on loopback."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    machines = Machines(address, _scheduler(address), [])
    for _ in range(WORKERS):
        machines.add_worker()
    yield machines
    machines.end()


def joined(machines: Machines, **options: Any) -> OnCluster:
    """An executor that sees all workers."""
    cluster: OnCluster = until(lambda: OnCluster(machines.address, 256, **options), SettingsError)
    until(lambda: 1 / (cluster.parallel == len(machines.workers)), ZeroDivisionError)
    return cluster


def until(attempt: Callable[[], Any], *errors: type[Exception]) -> Any:
    """What `attempt` gives once it raises none of `errors`, within a minute."""
    for _ in range(300):
        try:
            return attempt()
        except errors:
            time.sleep(0.2)
    return attempt()


def ends(cluster: OnCluster, job: Sequence[Any], deadline_s: float = LONG) -> Any:
    """What a run ends in, value or exception."""
    future = cluster.run(job[0], tuple(job[1:]), deadline_s)
    return future.exception(LONG) or future.result()


@pytest.mark.slow
def test_runs_end_as_in_worker_processes(machines: Machines) -> None:
    cluster = joined(machines)
    assert [ends(cluster, (jobs.add, k, 1)) for k in range(20)] == list(range(1, 21))
    assert isinstance(ends(cluster, (jobs.never_ends_in_c,), 1.0), DeadlinePassed)
    for job in ((jobs.segfault,), (jobs.killed,)):
        assert isinstance(ends(cluster, job), WorkerDied)
    assert isinstance(ends(cluster, (jobs.floats, 400)), OutOfMemory)
    assert isinstance(ends(cluster, (jobs.raises, KeyError("rod"))), KeyError)
    assert isinstance(ends(cluster, (lambda: 1,)), NotPortable)
    assert all(process.poll() is None for process in machines.workers)
    cancelled = cluster.run(jobs.after, (30.0,), LONG)
    assert cancelled.cancel() and cancelled.cancelled()
    waiting = cluster.run(jobs.after, (30.0,), LONG)
    cluster.close()
    assert isinstance(waiting.exception(1.0), Closed)
    assert isinstance(cluster.run(jobs.add, (1, 2), LONG).exception(1.0), Closed)


@pytest.mark.slow
def test_a_worker_killed_on_the_way_loses_and_doubles_nothing(machines: Machines) -> None:
    cluster = joined(machines)
    futures = [cluster.run(jobs.after, (0.02, k), LONG) for k in range(200)]
    got: list[int] = []
    for future in futures:
        future.add_done_callback(lambda done: got.append(done.result()))
    until(lambda: 1 / (len(got) > 20), ZeroDivisionError)
    assert len(got) < 180
    machines.workers[0].kill()
    assert [future.result(LONG) for future in futures] == list(range(200))
    assert sorted(got) == list(range(200))
    cluster.close()


@pytest.mark.slow
def test_a_run_that_ends_the_machines_themselves_is_not_tried_for_ever(machines: Machines) -> None:
    cluster = joined(machines)
    for _ in range(3):  # dask gives up after four workers
        machines.add_worker()
    end = ends(cluster, (jobs.kills_its_parent,))
    assert isinstance(end, WorkerDied) and "Several workers" in str(end)
    assert sum(process.poll() is None for process in machines.workers) == 1
    assert ends(cluster, (jobs.add, 1, 2)) == 3
    cluster.close()


@pytest.mark.slow
def test_lost_parts_are_named_and_found_again(machines: Machines) -> None:
    cluster = joined(machines, patience_s=2.0)
    for process in machines.workers:
        process.kill()
    end = ends(cluster, (jobs.add, 1, 2))
    assert isinstance(end, ClusterLost) and "no worker" in str(end)
    machines.add_worker()
    until(lambda: 1 / (ends(cluster, (jobs.add, 1, 2)) == 3), ZeroDivisionError)
    under_way = cluster.run(jobs.after, (30.0,), LONG)
    time.sleep(0.5)
    machines.scheduler.kill()
    assert isinstance(under_way.exception(LONG), ClusterLost)
    end = ends(cluster, (jobs.add, 1, 2))
    assert isinstance(end, ClusterLost) and machines.address in str(end)
    machines.restart_scheduler()
    machines.add_worker()
    until(lambda: 1 / (ends(cluster, (jobs.add, 1, 2)) == 3), ZeroDivisionError)
    cluster.close()


@pytest.mark.slow
def test_a_service_on_a_cluster_answers_as_any_other(machines: Machines) -> None:
    joined(machines).close()
    settings = Settings(port=0, cluster=machines.address, calculation_limit_s=2.0)
    with start(settings, troublemakers()) as server:
        url = f"{server.url}/v1/calculators/trouble/run"

        def told(how: str) -> tuple[int, str]:
            answer = requests.post(url, json={"how": how}, timeout=LONG)
            return answer.status_code, answer.json().get("type", "")

        assert told("none") == (200, "")
        assert told("never-ends") == (422, "/v1/problems/calculation-limit")
        assert told("segfault") == (500, "/v1/problems/internal")
        machines.scheduler.kill()
        until(lambda: 1 / (told("none")[0] == 503), ZeroDivisionError)
        assert told("none") == (503, "/v1/problems/cluster-unreachable")


def test_a_worker_of_another_release_is_refused() -> None:
    """It might give other numbers for the same inputs, and nobody would see it."""
    reply = guard.answered(parcels.pack(jobs.add, (1, 2)), LONG, 256, "baywright 0.0.1")
    with pytest.raises(NotPortable, match=f"runs {guard.release()}, the service baywright 0.0.1"):
        parcels.opened(reply)

"""Worker processes: what runs in them, and what may go wrong there without harm to others."""

import os
import random
import signal
import time
from collections.abc import Callable
from concurrent.futures import CancelledError, Future
from pathlib import Path
from typing import Any

import pytest

from baywright_service.execution import (
    Closed,
    DeadlinePassed,
    NotPortable,
    OutOfMemory,
    WorkerDied,
    WorkerProcesses,
    parcels,
)
from baywright_service.execution.futures import RaisedElsewhere
from baywright_service.execution.pool import Job, Worker
from tests.service.execution import jobs

LONG = 60.0


def run(workers: WorkerProcesses, function: Callable[..., Any], *arguments: Any) -> Any:
    """One run with all the time it wants."""
    return workers.run(function, arguments, LONG).result(LONG)


def ready(workers: WorkerProcesses) -> None:
    """Return when all workers have started."""
    for future in [workers.run(jobs.after, (0.1,), LONG) for _ in range(workers.parallel)]:
        future.result(LONG)


def test_many_runs_come_back_each_with_its_own_value(two: WorkerProcesses) -> None:
    futures = [two.run(jobs.add, (k, 1), LONG) for k in range(200)]
    assert [future.result() for future in futures] == list(range(1, 201))
    assert two.parallel == 2


def test_two_run_at_a_time_and_a_third_waits(two: WorkerProcesses) -> None:
    blocked = [two.run(jobs.after, (LONG,), LONG) for _ in range(2)]
    waiting = two.run(jobs.add, (1, 2), LONG)
    while not all(future.running() for future in blocked):
        time.sleep(0.01)
    assert not waiting.running() and not waiting.done()
    assert blocked[0].cancel()
    assert waiting.result() == 3
    assert blocked[1].cancel()


@pytest.mark.parametrize("endless", [jobs.never_ends, jobs.never_ends_in_c])
def test_an_endless_run_is_ended_and_others_are_served_meanwhile(
    two: WorkerProcesses, endless: Callable[[], None]
) -> None:
    ready(two)
    future = two.run(endless, (), 0.7)
    assert [run(two, jobs.add, k, k) for k in range(5)] == [0, 2, 4, 6, 8]
    assert not future.done()
    with pytest.raises(DeadlinePassed):
        future.result(LONG)
    assert run(two, jobs.add, 1, 1) == 2


def test_waiting_for_a_worker_does_not_count_as_running(two: WorkerProcesses) -> None:
    futures = [two.run(jobs.after, (0.2, k), 0.5) for k in range(8)]
    assert [future.result() for future in futures] == list(range(8))


@pytest.mark.parametrize(
    ("job", "words"),
    [
        ((jobs.segfault,), "signal 11"),
        ((jobs.killed,), "signal 9"),
        ((jobs.ended, 0), "status 0"),
    ],
)
def test_a_run_that_ends_its_worker_harms_no_other(
    two: WorkerProcesses, job: tuple[Any, ...], words: str
) -> None:
    good = [two.run(jobs.add, (k, 0), LONG) for k in range(10)]
    bad = two.run(job[0], job[1:], LONG)
    good += [two.run(jobs.add, (k, 0), LONG) for k in range(10, 20)]
    with pytest.raises(WorkerDied, match=words):
        bad.result(LONG)
    assert [future.result(LONG) for future in good] == list(range(20))


def test_what_a_run_raises_is_raised_here(two: WorkerProcesses) -> None:
    with pytest.raises(KeyError) as caught:
        run(two, jobs.raises, KeyError("rod"))
    assert "In the worker process" in caught.value.__notes__[0]
    with pytest.raises(TimeoutError) as late:  # the calculator's own, not its deadline
        run(two, jobs.raises, TimeoutError("of a lock"))
    assert not isinstance(late.value, DeadlinePassed)
    for job in (jobs.leaves, jobs.raises_two_words):
        with pytest.raises(RaisedElsewhere):
            run(two, job)


def test_values_and_calls_that_cannot_travel_end_their_own_run_only(two: WorkerProcesses) -> None:
    with pytest.raises(NotPortable):
        run(two, lambda: 1)
    with pytest.raises(NotPortable, match="made elsewhere"):
        run(two, jobs.only_here)
    assert run(two, jobs.add, 1, 1) == 2


def test_a_module_that_only_the_service_can_import(
    two: WorkerProcesses, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run(two, jobs.pid)  # a worker has started, with the search path of before
    (tmp_path / "only_the_service.py").write_text("def job():\n    return 1\n")
    monkeypatch.syspath_prepend(tmp_path)
    import only_the_service  # type: ignore[import-not-found]

    futures = [two.run(only_the_service.job, (), LONG) for _ in range(4)]
    assert any(isinstance(future.exception(LONG), NotPortable) for future in futures)
    assert run(two, jobs.add, 1, 1) == 2


@pytest.mark.parametrize("job", [jobs.floats, pytest.param(jobs.objects, marks=pytest.mark.slow)])
def test_memory_is_limited_and_the_worker_replaced(
    two: WorkerProcesses, job: Callable[[int], int]
) -> None:
    assert run(two, job, 40) > 0
    with pytest.raises(OutOfMemory) as caught:
        run(two, job, 300)
    assert caught.value.args == (256,)
    assert run(two, job, 40) > 0
    assert run(two, jobs.asks_for_too_much_and_forgives) == "forgiven"


@pytest.mark.slow
def test_a_worker_that_has_kept_too_much_is_replaced() -> None:
    workers = WorkerProcesses(1, 256)
    pids = [run(workers, jobs.keeps, 90) for _ in range(4)]
    workers.close()
    assert len(set(pids)) == 2  # three times 90 pass 256 MiB


def test_cancelling_ends_a_run_and_takes_back_a_waiting_one(
    tmp_path: Path, gone: Callable[[int], bool], pid_in: Callable[[Path], int]
) -> None:
    workers = WorkerProcesses(1, 256)
    running = workers.run(jobs.told_where, (str(tmp_path / "pid"),), LONG)
    waiting = workers.run(jobs.add, (1, 2), LONG)
    last = workers.run(jobs.add, (2, 2), LONG)
    pid = pid_in(tmp_path / "pid")
    assert waiting.cancel() and waiting.cancelled()
    assert running.cancel() and running.cancelled()
    with pytest.raises(CancelledError):
        running.result(LONG)
    assert gone(pid)
    assert last.result(LONG) == 4 and not last.cancel() and not last.cancelled()
    workers.close()


@pytest.mark.slow
def test_what_a_run_has_started_ends_with_it(
    two: WorkerProcesses, tmp_path: Path, gone: Callable[[int], bool], pid_in: Callable[[Path], int]
) -> None:
    future = two.run(jobs.child_then_never_ends, (str(tmp_path / "pid"),), 1.0)
    child = pid_in(tmp_path / "pid")
    assert isinstance(future.exception(LONG), DeadlinePassed)
    assert gone(child)


def test_an_idle_worker_that_is_killed_is_replaced() -> None:
    """The system may end a process that holds memory whether or not it does something."""
    workers = WorkerProcesses(1, 256)
    pid = run(workers, jobs.pid)
    os.kill(pid, signal.SIGKILL)
    time.sleep(0.2)
    assert run(workers, jobs.pid) != pid
    workers.close()


def test_a_worker_that_dies_before_it_has_begun_costs_no_run(tmp_path: Path) -> None:
    """Such as one that was killed while idle, at the very moment of the next call."""
    workers = WorkerProcesses(1, 256)
    once, twice = (jobs.EndsItsReader(tmp_path / str(times), times) for times in (1, 2))
    assert run(workers, jobs.after, 0.0, once) == "read"
    with pytest.raises(WorkerDied, match="signal 9"):
        run(workers, jobs.after, 0.0, twice)
    for _ in range(5):
        killed = run(workers, jobs.pid)
        os.kill(killed, signal.SIGKILL)
        assert run(workers, jobs.pid) != killed
    workers.close()


def test_a_run_may_be_given_up_between_two_workers(tmp_path: Path) -> None:
    """One that died before it had begun, and the next."""
    dying, next_one = Worker(256, []), Worker(256, [])
    parcel = parcels.pack(jobs.after, (0.0, jobs.EndsItsReader(tmp_path / "read", 1)))
    job = Job(parcel, LONG, parcels.opened)
    assert job.set_running_or_notify_cancel()
    assert not job.settle(dying)
    assert job.cancel() and job.cancelled()
    assert job.settle(next_one)
    with pytest.raises(CancelledError):
        job.result(0.0)
    dying.end()
    next_one.end()


@pytest.mark.slow
def test_a_worker_killed_at_any_of_sixty_moments_takes_one_run_along() -> None:
    """Short runs by the hundred, and a worker killed at a random moment, again and again."""
    chance = random.Random(7)
    workers = WorkerProcesses(2, 256)
    for _ in range(60):
        pids = {workers.run(jobs.pid, (), LONG).result(LONG) for _ in range(8)}
        futures = [workers.run(jobs.after, (0.0005, k), LONG) for k in range(400)]
        time.sleep(chance.random() * 0.2)
        os.kill(chance.choice(sorted(pids)), signal.SIGKILL)
        ends = [_end_of(future) for future in futures]
        lost = [end for end in ends if isinstance(end, WorkerDied)]
        assert len(lost) <= 1
        assert all(end == k for k, end in enumerate(ends) if end not in lost)
    workers.close()


def _end_of(future: "Future[Any]") -> Any:
    return future.exception(LONG) or future.result()


def test_closing_ends_what_runs_and_what_waits(
    tmp_path: Path, gone: Callable[[int], bool], pid_in: Callable[[Path], int]
) -> None:
    workers = WorkerProcesses(1, 256)
    futures = [workers.run(jobs.told_where, (str(tmp_path / "pid"),), LONG) for _ in range(3)]
    pid = pid_in(tmp_path / "pid")
    workers.close()
    workers.close()
    assert [type(future.exception(1.0)) for future in futures] == [Closed] * 3
    assert gone(pid)
    assert isinstance(workers.run(jobs.add, (1, 2), LONG).exception(1.0), Closed)


def test_workers_that_were_never_needed_were_never_started() -> None:
    workers = WorkerProcesses(64, 256)
    workers.close()


def test_linear_algebra_takes_one_thread(two: WorkerProcesses) -> None:
    assert run(two, jobs.threads_of_blas) == 1


@pytest.mark.slow
def test_idle_workers_import_what_they_will_need() -> None:
    workers = WorkerProcesses(1, 256, warm=["no.such.module", "wave", "chunk"])
    run(workers, jobs.pid)
    for _ in range(100):
        if run(workers, jobs.imported, "wave"):
            break
        time.sleep(0.05)
    else:
        raise AssertionError("wave was not imported")
    workers.close()

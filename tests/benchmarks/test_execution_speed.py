"""What it costs to calculate in another process, and how punctual a limit is.

Run with `pytest -m benchmark -n 0 -s tests/benchmarks/test_execution_speed.py`.
"""

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

import pytest
import requests

from baywright_service.execution import DeadlinePassed, Executor, InThisProcess, WorkerProcesses
from baywright_service.server import RunningServer, start
from baywright_service.settings import Settings
from tests.service.execution import jobs
from tests.service.execution.troublemakers import troublemakers

pytestmark = pytest.mark.benchmark


@pytest.fixture(autouse=True)
def importable(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers import the jobs by name."""
    monkeypatch.syspath_prepend(Path(__file__).parents[2])


@pytest.fixture
def workers() -> Iterator[WorkerProcesses]:
    """Two, both started."""
    workers = WorkerProcesses(2, 256)
    for future in [workers.run(jobs.after, (0.5,), 60.0) for _ in range(2)]:
        future.result()
    yield workers
    workers.close()


def typical_ms(call: Callable[[], object], times: int) -> float:
    """Median of the time of one call, in ms."""
    spent = []
    for _ in range(times):
        begun = time.perf_counter()
        call()
        spent.append((time.perf_counter() - begun) * 1e3)
    return median(spent)


def one_run(executor: Executor) -> Callable[[], object]:
    """The least there is to calculate."""
    return lambda: executor.run(jobs.add, (1, 2), 60.0).result()


def test_a_run_elsewhere_against_one_here(workers: WorkerProcesses) -> None:
    here, there = typical_ms(one_run(InThisProcess()), 300), typical_ms(one_run(workers), 300)
    print(f"\none at a time: {here:.3f} ms in this process, {there:.3f} ms in a worker process")
    assert there < 10 * here

    begun = time.perf_counter()
    for future in [workers.run(jobs.add, (1, k), 60.0) for k in range(2000)]:
        future.result()
    each = (time.perf_counter() - begun) / 2000 * 1e3
    print(f"2,000 at once: {each:.3f} ms each, {each / there:.2f} of one at a time")
    assert each < 2 * there


def test_a_run_over_http_against_an_address_that_does_not_exist() -> None:
    def costs(workers: int) -> tuple[float, float]:
        settings = Settings(port=0, workers=workers)
        with start(settings, troublemakers()) as server, requests.Session() as session:
            return _costs(server, session)

    nothing, here = costs(0)
    missing, there = costs(1)
    print(
        f"\n404: {nothing:.2f} and {missing:.2f} ms; a run here {here:.2f} ms "
        f"({here / nothing:.2f} of a 404), in a worker {there:.2f} ms ({there / missing:.2f})"
    )
    assert there / missing < 2 * here / nothing + 1


def _costs(server: RunningServer, session: requests.Session) -> tuple[float, float]:
    """Of a 404 and of a run, in ms, taken in turns."""
    run = f"{server.url}/v1/calculators/trouble/run"
    body = {"how": "none"}
    session.post(run, json=body, timeout=60).raise_for_status()
    missing, runs = [], []
    for _ in range(20):
        missing.append(
            typical_ms(lambda: session.post(f"{server.url}/v1/no", json=body, timeout=60), 10)
        )
        runs.append(typical_ms(lambda: session.post(run, json=body, timeout=60), 10))
    return median(missing), median(runs)


@pytest.mark.parametrize("endless", [jobs.never_ends, jobs.never_ends_in_c])
def test_an_endless_run_ends_within_a_second_of_its_limit(
    workers: WorkerProcesses, endless: Callable[[], None]
) -> None:
    begun = time.perf_counter()
    future = workers.run(endless, (), 1.0)
    good = typical_ms(one_run(workers), 50)
    assert isinstance(future.exception(60.0), DeadlinePassed)
    late = time.perf_counter() - begun - 1.0
    workers.run(jobs.pid, (), 60.0).result()
    print(f"\nended {late * 1e3:.0f} ms after its limit; others meanwhile {good:.2f} ms each")
    assert late < 1.0


def test_a_new_worker_is_there_soon() -> None:
    workers = WorkerProcesses(1, 256)
    begun = time.perf_counter()
    workers.run(jobs.add, (1, 2), 60.0).result()
    first = time.perf_counter() - begun
    workers.close()
    print(f"\nthe first run of a new worker: {first:.2f} s")
    assert first < 10.0

"""No worker outlives its service, and a terminal's Ctrl-C is the service's alone."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]

SERVICE = """
import sys, threading, time
sys.path.insert(0, {root!r})
from baywright_service.execution import WorkerProcesses
from tests.service.execution import jobs
workers = WorkerProcesses(2, 256)
{job}
busy = [workers.run(job, arguments, 600.0) for job, arguments in given]
try:
    print(*sorted({{workers.run(jobs.pid, (), 60.0).result() for _ in range(9)}}), flush=True)
    time.sleep(600)
except KeyboardInterrupt:
    workers.close()
    print("closed", flush=True)
"""
IDLE = "given = []"
IN_C = "given = [(jobs.never_ends_in_c, ())]"


@contextmanager
def service(job: str) -> Iterator[tuple["subprocess.Popen[str]", list[int]]]:
    """A program with workers, and the ids of those that answer."""
    code = SERVICE.format(root=str(ROOT), job=job)
    with subprocess.Popen(
        [sys.executable, "-c", code],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        assert process.stdout is not None
        yield process, [int(pid) for pid in process.stdout.readline().split()]


def children(pid: int) -> set[int]:
    """The processes that a process has started."""
    found = set()
    for task in Path(f"/proc/{pid}/task").iterdir():
        found |= {int(child) for child in (task / "children").read_text().split()}
    return found


@pytest.mark.skipif(sys.platform != "linux", reason="a busy worker hears of it on Linux only")
@pytest.mark.parametrize(
    "job", [pytest.param(IDLE, marks=pytest.mark.slow), IN_C], ids=["idle", "busy in compiled code"]
)
def test_workers_end_with_a_service_that_is_killed(job: str, gone: Callable[[int], bool]) -> None:
    with service(job) as (process, _):
        workers = children(process.pid)
        assert workers
        process.send_signal(signal.SIGKILL)
        assert all(gone(pid) for pid in workers)


@pytest.mark.slow
def test_ctrl_c_reaches_the_service_and_no_worker(gone: Callable[[int], bool]) -> None:
    with service(IDLE) as (process, workers):
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=30)
    assert (out, err, process.returncode) == ("closed\n", "", 0)
    assert all(gone(pid) for pid in workers)


@pytest.mark.slow
def test_what_calculators_print_does_not_reach_the_output() -> None:
    code = SERVICE.format(root=str(ROOT), job="given = [(jobs.prints, ('noise',))]")
    code = code.replace("time.sleep(600)", "busy[0].result()")
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert "noise" not in done.stdout and done.stderr.count("noise") == 2


@pytest.mark.slow
def test_a_script_without_a_main_guard_can_hold_workers(tmp_path: Path) -> None:
    """Workers import what they run and never the program that started them."""
    script = tmp_path / "embedding.py"
    script.write_text(
        "import operator\n"
        "from baywright_service.execution import WorkerProcesses\n"
        "workers = WorkerProcesses(1, 256)\n"
        "print(workers.run(operator.add, (1, 2), 60.0).result())\n"
    )
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, timeout=60)
    assert (done.stdout, done.stderr, done.returncode) == ("3\n", "", 0)

"""Worker processes for these tests; they import the jobs by name."""

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from baywright_service.execution import WorkerProcesses

ROOT = Path(__file__).parents[3]


@pytest.fixture(scope="package", autouse=True)
def importable() -> Iterator[None]:
    """The tests' own modules can be imported in workers."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(ROOT)
        yield


@pytest.fixture(scope="module")
def two() -> Iterator[WorkerProcesses]:
    """Two workers, which the tests of a module share: each must leave them usable."""
    workers = WorkerProcesses(2, 256)
    yield workers
    workers.close()


@pytest.fixture
def gone() -> Callable[[int], bool]:
    """Whether a process has ended, within some seconds."""

    def is_gone(pid: int) -> bool:
        for _ in range(200):
            try:
                os.kill(pid, 0)
            except ProcessLookupError:
                return True
            if Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z":
                return True
            time.sleep(0.05)
        return False

    return is_gone


@pytest.fixture
def pid_in() -> Callable[[Path], int]:
    """The process id that a job has written to a file."""

    def read(path: Path) -> int:
        for _ in range(400):
            if path.exists() and (text := path.read_text()):
                return int(text)
            time.sleep(0.05)
        raise AssertionError("the job has not begun")

    return read

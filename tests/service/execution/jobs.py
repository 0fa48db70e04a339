"""What the workers of these tests are told to do. Importable by name, as every job must be."""

import ctypes
import os
import re
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import numpy as np


def add(a: int, b: int) -> int:
    """An ordinary run."""
    return a + b


def after(seconds: float, value: Any = None) -> Any:
    """A run that takes its time."""
    time.sleep(seconds)
    return value


class EndsItsReader:
    """Ends the process that unpacks it: so many of them, counted in a file."""

    def __init__(self, path: Path, times: int) -> None:
        self.path, self.times = path, times

    def __reduce__(self) -> Any:
        return _read, (self.path, self.times)


def _read(path: Path, times: int) -> str:
    with path.open("a") as file:
        file.write("x")
    if path.stat().st_size <= times:
        os.kill(os.getpid(), signal.SIGKILL)
    return "read"


def pid() -> int:
    """Where it runs."""
    return os.getpid()


def never_ends() -> None:
    """Loops, but lets other threads have their turn."""
    while True:
        time.sleep(0.01)


def never_ends_in_c() -> None:
    """Compiled code that never gives the interpreter back: no thread, no Python signal handler."""
    re.match(r"(a+)+$", "a" * 64 + "b")


def told_where(path: str) -> None:
    """Writes its process id, then loops."""
    Path(path).write_text(str(os.getpid()))
    never_ends()


def child_then_never_ends(path: str) -> None:
    """Starts a process of its own, writes its id, then loops."""
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
    Path(path).write_text(str(child.pid))
    never_ends()


def segfault() -> None:
    """Reads where nothing is."""
    signal.signal(signal.SIGSEGV, signal.SIG_DFL)
    ctypes.string_at(0)


def ended(code: int) -> None:
    """Leaves without a word."""
    os._exit(code)


def killed() -> None:
    """As the system does when memory is short."""
    os.kill(os.getpid(), signal.SIGKILL)


def kills_its_parent() -> None:
    """Takes along the process that started this one."""
    os.kill(os.getppid(), signal.SIGKILL)
    time.sleep(60)


def leaves() -> None:
    """sys.exit() in the middle of a run."""
    sys.exit(3)


def floats(mib: int) -> int:
    """An array of so many MiB."""
    return int(np.ones(mib * 2**17).nbytes)


def objects(mib: int) -> int:
    """At least so many MiB in small objects."""
    return len([float(k) for k in range(mib * 2**20 // 24)])


def keeps(mib: int, kept: list[bytes] = []) -> int:  # noqa: B006
    """Leaves so many MiB behind in its process."""
    kept.append(b"\1" * (mib * 2**20))
    return os.getpid()


def asks_for_too_much_and_forgives() -> str:
    """A calculator that catches the error of its own memory."""
    try:
        floats(10_000)
    except MemoryError:
        return "forgiven"
    return "had it"


def raises(error: BaseException) -> None:
    """Raises what it is given."""
    raise error


class TwoWords(Exception):
    """Packs, but cannot be unpacked: its arguments are not those it was made with."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__(f"{first} {second}")


def raises_two_words() -> None:
    """Raises it."""
    raise TwoWords("left", "right")


class OnlyHere:
    """Packs in a worker; unpacking it fails in any other process."""

    def __init__(self, owner: int) -> None:
        self.owner = owner
        if owner != os.getpid():
            raise KeyError("made elsewhere")

    def __reduce__(self) -> tuple[Any, ...]:
        return OnlyHere, (self.owner,)


def only_here() -> OnlyHere:
    """A value that cannot be read where it is wanted."""
    return OnlyHere(os.getpid())


def lock() -> Any:
    """A value that belongs to one process."""
    return threading.Lock()


def prints(text: str) -> None:
    """Writes to its standard output."""
    print(text, flush=True)
    os.write(1, text.encode())


def threads_of_blas() -> int:
    """Threads that linear algebra takes in this process."""
    large = np.ones((700, 700))
    large @ large
    return len(os.listdir("/proc/self/task"))


def imported(name: str) -> bool:
    """Whether its process has the module already."""
    return name in sys.modules

"""How much memory one calculation may take in a worker process.

The limit is set on the data a process may write to (RLIMIT_DATA), not on its addresses
(RLIMIT_AS): measured with numpy, each thread reserves 72 to 136 MiB of addresses that it does not
use, so that a calculation of 64 MiB failed to start a thread; and the reservations grow with the
number of processors. RLIMIT_DATA ends in MemoryError where an array, a list or a sparse
factorisation asks for too much. Files mapped for reading and memory shared between processes are
not counted. Needs Linux 4.7; elsewhere nothing is limited.
"""

import os
import sys

if sys.platform == "linux":
    import resource

_MIB = 2**20
_STATM = "/proc/self/statm"
_DATA = 5  # field of statm: pages of data and stack


class MemoryLimit:
    """`with limit:` a calculation may hold `mib` more than the process holds at that time."""

    def __init__(self, mib: int) -> None:
        self.mib = mib
        self._statm = os.open(_STATM, os.O_RDONLY | os.O_CLOEXEC) if os.path.exists(_STATM) else -1
        self._at_start = self._held()

    def __enter__(self) -> None:
        if self._statm >= 0:
            self._usual = resource.getrlimit(resource.RLIMIT_DATA)
            wanted, most = self._held() + self.mib * _MIB, self._usual[1]
            if most != resource.RLIM_INFINITY:
                wanted = min(wanted, most)
            resource.setrlimit(resource.RLIMIT_DATA, (wanted, most))

    def __exit__(self, *_: object) -> None:
        if self._statm >= 0:
            resource.setrlimit(resource.RLIMIT_DATA, self._usual)

    def outgrown(self) -> bool:
        """Whether calculations have left more behind than one of them may hold."""
        return self._held() - self._at_start > self.mib * _MIB

    def _held(self) -> int:
        """Bytes that the limit counts."""
        if self._statm < 0:
            return 0
        pages = os.pread(self._statm, 256, 0).split()[_DATA]
        return int(pages) * resource.getpagesize()

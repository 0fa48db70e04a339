"""What a worker process does: one call after the other, until its service is gone."""

import ctypes
import importlib
import os
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress
from multiprocessing.connection import Connection

from . import parcels
from .failures import NotPortable, OutOfMemory
from .memory import MemoryLimit

#: Sent once a call has been read, since importing what it needs is not its own time.
BEGUN = b"begun"
#: The first byte of a reply: whether the worker should be replaced after it.
STAYS, LEAVES = b"\0", b"\1"

_PR_SET_PDEATHSIG = 1


def main(descriptor: int, parent: int, memory_mib: int, warm: Sequence[str]) -> None:
    """Answer calls on the socket `descriptor`; import the modules `warm` while there are none."""
    _end_with(parent)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.dup2(2, 1)  # what a calculator prints must not end up in somebody's output
    limit = MemoryLimit(memory_mib)
    to_import = list(reversed(warm))
    with Connection(descriptor) as service, suppress(EOFError, ConnectionError):
        while True:
            while to_import and not service.poll(0):
                with suppress(Exception):
                    importlib.import_module(to_import.pop())
            _answer(service, limit)


def _answer(service: Connection, limit: MemoryLimit) -> None:
    parcel = service.recv_bytes()
    try:
        call = parcels.unpack(parcel)
    except NotPortable as error:
        service.send_bytes(BEGUN)
        service.send_bytes(STAYS + parcels.failed(error))
        return
    service.send_bytes(BEGUN)
    try:
        with limit:
            reply, after = parcels.carried_out(call), STAYS
    except MemoryError:
        reply, after = parcels.failed(OutOfMemory(limit.mib)), LEAVES
    service.send_bytes((LEAVES if limit.outgrown() else after) + reply)


def _end_with(parent: int) -> None:
    """End when the service ends, however it ends and whatever runs here.

    While idle the closed socket says so. In the middle of a calculation nobody listens, and one in
    compiled code may hold the interpreter for ever; then the system's signal remains (Linux).
    """
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != parent:
        sys.exit()

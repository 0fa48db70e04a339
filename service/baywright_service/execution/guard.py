"""What a dask worker runs: a job in worker processes of its own.

Dask can neither end a run nor limit its memory, and a run that kills its worker would be started
again on the next one, and kill that too. Here only the inner process is lost.
"""

import platform
import threading
from functools import cache
from importlib.metadata import PackageNotFoundError, version

from . import parcels
from .failures import NotPortable
from .pool import Pool

_pools: dict[int, Pool] = {}
_lock = threading.Lock()


def answered(parcel: bytes, deadline_s: float, memory_limit_mib: int, wanted: str) -> bytes:
    """The reply to a parcel, a Failure of the inner process included.

    Another release than `wanted` is refused: it might give other numbers for the same inputs.
    """
    if release() != wanted:
        detail = f"A worker of the cluster runs {release()}, the service {wanted}."
        return parcels.failed(NotPortable(detail))
    try:
        reply: bytes = _pool(memory_limit_mib).send(parcel, deadline_s, bytes).result()
    except Exception as error:
        return parcels.failed(error)
    return reply


@cache
def release() -> str:
    """What must be the same on all machines."""
    python = ".".join(platform.python_version_tuple()[:2])
    try:
        return f"baywright {version('baywright')} on Python {python}"
    except PackageNotFoundError:
        return f"baywright, not installed, on Python {python}"


def _pool(memory_limit_mib: int) -> Pool:
    """The pool of this dask worker: a process for each of its threads, until it ends itself."""
    from distributed import get_worker

    with _lock:
        if memory_limit_mib not in _pools:
            _pools[memory_limit_mib] = Pool(get_worker().state.nthreads, memory_limit_mib)
        return _pools[memory_limit_mib]

"""Work that many variants of one machine have in common, done once.

Of a thousand variants most have the same bars between the same hubs. What depends on those alone
is kept here under the bytes of all it was made from, so that an answer is the same, byte for
byte, whether its parts were kept or made now. Nothing that is kept may be changed.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable
from hashlib import blake2b
from typing import Any, Generic, TypeVar

import numpy as np

T = TypeVar("T")
_MIB = 2**20
#: Beside the arrays of what is kept: its objects, its key and its place here.
_BESIDE = 1000

_all: list["Shared[Any]"] = []


class Shared(Generic[T]):
    """Keeps what was used last, up to `limit_mib` of it in all. From any thread."""

    def __init__(self, limit_mib: float) -> None:
        self._limit = int(limit_mib * _MIB)
        self._lock = threading.Lock()
        self._kept: OrderedDict[bytes, tuple[T, int]] = OrderedDict()
        self.held_bytes = 0
        _all.append(self)

    def of(self, key: bytes, make: Callable[[], T], size: Callable[[T], int]) -> T:
        """What `make` gave for this key before, or gives now; `size` of it in bytes.

        What `make` raises is not kept.
        """
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key][0]
        made = make()
        self._keep(key, made, size(made) + _BESIDE)
        return made

    def clear(self) -> None:
        """Forget everything."""
        with self._lock:
            self._kept.clear()
            self.held_bytes = 0

    def _keep(self, key: bytes, made: T, size: int) -> None:
        with self._lock:
            if key in self._kept or size > self._limit:  # another thread was quicker
                return
            self._kept[key] = (made, size)
            self.held_bytes += size
            while self.held_bytes > self._limit:
                _, (_, freed) = self._kept.popitem(last=False)
                self.held_bytes -= freed


def forget_shared_work() -> None:
    """Forget what every `Shared` of this process keeps."""
    for shared in _all:
        shared.clear()


def shared_bytes() -> int:
    """Bytes that all of them keep."""
    return sum(shared.held_bytes for shared in _all)


def key_of(*parts: "np.ndarray[Any, Any] | bytes") -> bytes:
    """A key of arrays and bytes: their shapes, types and contents, in this order."""
    digest = blake2b(digest_size=20)
    for part in parts:
        if isinstance(part, bytes):
            digest.update(b"bytes %d " % len(part))
            digest.update(part)
        else:
            digest.update(f"{part.dtype.str} {part.shape} ".encode())
            digest.update(part.tobytes())
    return digest.digest()


def unchangeable(*arrays: "np.ndarray[Any, Any]") -> int:
    """Make arrays that are about to be kept refuse to be changed; how many bytes they hold."""
    for array in arrays:
        array.setflags(write=False)
    return sum(array.nbytes for array in arrays)

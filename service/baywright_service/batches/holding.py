"""Which of several services on one store runs its batches: the one that holds the lock file."""

import fcntl
import os
from contextlib import suppress
from pathlib import Path

from .database import MEMORY


class Holding:
    """A lock that the system takes back when its process ends, however it ends."""

    def __init__(self, store: str) -> None:
        self._path = None if store == MEMORY else Path(f"{store}-lock")
        self._file = -1

    def taken(self) -> bool:
        """Whether this process holds it now; takes it where nobody does. Raises OSError."""
        if self._path is None or self._file >= 0:
            return True
        self._path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        file = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BaseException as error:
            os.close(file)
            if isinstance(error, BlockingIOError):
                return False
            raise
        self._file = file
        return True

    def release(self) -> None:
        """Let it go; may be called twice."""
        if self._file >= 0:
            with suppress(OSError):
                os.close(self._file)
            self._file = -1

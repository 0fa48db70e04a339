"""A deadline for one calculation inside a longer piece of work."""

import faulthandler
import os
import signal
from collections.abc import Callable
from typing import Any, TextIO, TypeVar

from ..execution import InThisProcess, outcome
from ..problems import TooLong

T = TypeVar("T")

#: Python code is interrupted at the deadline; compiled code cannot be, and takes its process with
#: it so much later.
GRACE_S = 0.5

_nowhere: list[TextIO] = []


class _Passed(BaseException):
    """Not an Exception, so that no calculator takes it for one of its own."""


def within(limit_s: float, work: Callable[[], T], *, in_worker: bool) -> T:
    """The value of `work`. Raises TooLong.

    In a worker process (whose main thread this must be) the calculation is ended; in a process
    that must go on it runs in a thread of its own and is given up.
    """
    if in_worker:
        return _ended(limit_s, work)
    value: T = outcome(InThisProcess().run(work, (), limit_s), limit_s)
    return value


def _ended(limit_s: float, work: Callable[[], T]) -> T:
    running = True

    def ring(*_: Any) -> None:
        if running:
            raise _Passed

    if not _nowhere:
        _nowhere.append(open(os.devnull, "w"))  # noqa: SIM115  (for the life of the worker)
    usual = signal.signal(signal.SIGALRM, ring)
    try:
        try:
            # Counted by a thread that needs no interpreter: its traceback goes nowhere.
            faulthandler.dump_traceback_later(limit_s + GRACE_S, file=_nowhere[0], exit=True)
            signal.setitimer(signal.ITIMER_REAL, limit_s)
            return work()
        finally:
            running = False
            signal.setitimer(signal.ITIMER_REAL, 0.0)
            faulthandler.cancel_dump_traceback_later()
            signal.signal(signal.SIGALRM, usual)
    except _Passed:
        raise too_long(limit_s) from None


def too_long(limit_s: float) -> TooLong:
    """The problem of a calculation that passed its deadline."""
    detail = f"The calculation was given up after {limit_s:g} s."
    return TooLong(detail, members={"limit_s": limit_s})

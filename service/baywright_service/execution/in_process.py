"""Calculations in this process: nothing to start or to send, and nothing that can be ended."""

import threading
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any

from .failures import DeadlinePassed
from .futures import fail, fulfil


class InThisProcess:
    """A thread for each calculation. Over its deadline it is given up, but cannot be ended:
    for that, use worker processes."""

    #: Threads of one interpreter take turns.
    parallel = 1

    def run(
        self, function: Callable[..., Any], arguments: tuple[Any, ...], deadline_s: float
    ) -> "Future[Any]":
        """The run in a thread of its own, from now on."""
        done: Future[Any] = Future()
        passed = DeadlinePassed(f"The run was given up after {deadline_s:g} s.")
        alarm = threading.Timer(deadline_s, fail, (done, passed))
        alarm.daemon = True
        alarm.start()
        done.add_done_callback(lambda _: alarm.cancel())
        work = (done, lambda: function(*arguments))
        threading.Thread(target=fulfil, args=work, daemon=True).start()
        return done

    def close(self) -> None:
        """Nothing waits here."""

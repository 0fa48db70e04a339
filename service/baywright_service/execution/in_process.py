"""Calculations in this process: nothing to start or to send, and nothing that can be ended."""

import threading
from collections.abc import Callable
from concurrent.futures import Future, InvalidStateError
from contextlib import suppress
from typing import Any

from .failures import DeadlinePassed


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
        alarm = threading.Timer(deadline_s, _end_with, (done, passed))
        alarm.daemon = True
        alarm.start()
        done.add_done_callback(lambda _: alarm.cancel())
        threading.Thread(target=_run_into, args=(done, function, arguments), daemon=True).start()
        return done

    def close(self) -> None:
        """Nothing waits here."""


def _run_into(
    done: "Future[Any]", function: Callable[..., Any], arguments: tuple[Any, ...]
) -> None:
    try:
        value = function(*arguments)
    except BaseException as error:
        _end_with(done, error)
    else:
        with suppress(InvalidStateError):
            done.set_result(value)


def _end_with(done: "Future[Any]", error: BaseException) -> None:
    with suppress(InvalidStateError):
        done.set_exception(error)

"""Where a calculation runs, and for how long: `run(function, arguments, deadline_s) -> Future`.

Functions and arguments must be importable and picklable, so that either executor takes them.
"""

import threading
from collections.abc import Callable
from concurrent.futures import Future, InvalidStateError
from contextlib import suppress
from typing import Any, Protocol

from .problems import TooLong
from .settings import Settings


class Executor(Protocol):
    """Takes one function with its arguments at a time, from any thread."""

    def run(
        self, function: Callable[..., Any], arguments: tuple[Any, ...], deadline_s: float
    ) -> "Future[Any]":
        """A future that ends in the function's value, in what it raised, or in TimeoutError."""

    def close(self) -> None:
        """Take no more work."""


class InThisProcess:
    """A thread for each calculation. Over its deadline it is given up, but cannot be ended:
    for that, use worker processes."""

    def run(
        self, function: Callable[..., Any], arguments: tuple[Any, ...], deadline_s: float
    ) -> "Future[Any]":
        done: Future[Any] = Future()
        alarm = threading.Timer(deadline_s, _end_with, (done, TimeoutError()))
        alarm.daemon = True
        alarm.start()
        done.add_done_callback(lambda _: alarm.cancel())
        threading.Thread(target=_run_into, args=(done, function, arguments), daemon=True).start()
        return done

    def close(self) -> None:
        """Nothing waits here."""


class WorkerProcesses:
    """Spawned processes; one that passes its deadline is ended and replaced."""

    def __init__(self, workers: int) -> None:
        import multiprocessing

        from pebble import ProcessPool

        spawn = multiprocessing.get_context("spawn")
        self._pool: Any = ProcessPool(max_workers=workers, context=spawn)

    def run(
        self, function: Callable[..., Any], arguments: tuple[Any, ...], deadline_s: float
    ) -> "Future[Any]":
        future: Future[Any] = self._pool.schedule(function, args=arguments, timeout=deadline_s)
        return future

    def close(self) -> None:
        """End the workers, whatever they do."""
        self._pool.stop()
        self._pool.join()


def executor_for(settings: Settings) -> Executor:
    """The executor the settings ask for."""
    return WorkerProcesses(settings.workers) if settings.workers else InThisProcess()


def outcome(future: "Future[Any]", deadline_s: float) -> Any:
    """The value of a run. Raises TooLong where its deadline passed, else what the run raised."""
    try:
        return future.result()
    except TimeoutError:
        raise TooLong(
            f"The calculation was given up after {deadline_s:g} s.",
            members={"limit_s": deadline_s},
        ) from None


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

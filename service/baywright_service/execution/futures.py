"""Ends futures that somebody else may have ended meanwhile, by a cancellation or a deadline."""

from collections.abc import Callable
from concurrent.futures import Future, InvalidStateError
from contextlib import suppress
from typing import Any


class RaisedElsewhere(Exception):
    """Stands for an exception that cannot, or must not, be raised where the future is read."""

    @classmethod
    def of(cls, error: BaseException) -> "RaisedElsewhere":
        """Its type and words."""
        return cls(f"{type(error).__name__}: {error}")


def fulfil(future: "Future[Any]", make: Callable[[], Any]) -> None:
    """End `future` in the value of `make`, or in what it raises."""
    try:
        value = make()
    except Exception as error:
        fail(future, error)
    except BaseException as error:  # sys.exit() of a calculator must not end a thread of the host
        fail(future, RaisedElsewhere.of(error))
    else:
        with suppress(InvalidStateError):
            future.set_result(value)


def fail(future: "Future[Any]", error: Exception) -> None:
    """End `future` in `error`."""
    with suppress(InvalidStateError):
        future.set_exception(error)


def ended_in(error: Exception) -> "Future[Any]":
    """A future that has ended so already."""
    future: Future[Any] = Future()
    future.set_exception(error)
    return future

"""A run as bytes, there and back, so that a pool carries nothing it would have to understand.

A pool that pickles for itself breaks, for all its users, on one exception that cannot be unpickled.
"""

import pickle
import traceback
from collections.abc import Callable
from typing import Any

from ..problems import Problem
from .failures import NotPortable

Call = tuple[Callable[..., Any], tuple[Any, ...]]

_PROTOCOL = pickle.HIGHEST_PROTOCOL


class RaisedElsewhere(Exception):
    """Stands for an exception of another process that cannot be brought here as it is."""


def pack(function: Callable[..., Any], arguments: tuple[Any, ...]) -> bytes:
    """The call as bytes. Raises NotPortable."""
    try:
        return pickle.dumps((function, arguments), _PROTOCOL)
    except Exception as error:
        raise NotPortable(
            "This calculation cannot be sent to a worker process. Its calculator must be a class "
            f"that can be imported by name. ({error})"
        ) from error


def unpack(parcel: bytes) -> Call:
    """The call of a parcel. Raises NotPortable where something of it cannot be imported here."""
    try:
        call: Call = pickle.loads(parcel)
    except Exception as error:
        raise NotPortable(
            f"A worker process cannot read a calculation sent to it. ({_words(error)}) The worker "
            "must have the same versions installed as the service."
        ) from error
    return call


def carried_out(call: Call) -> bytes:
    """The reply to a call: its value or what it raised. Raises MemoryError only."""
    function, arguments = call
    try:
        return pickle.dumps((function(*arguments), None, ""), _PROTOCOL)
    except MemoryError:
        raise
    except BaseException as error:
        return failed(error)


def failed(error: BaseException) -> bytes:
    """The reply that raises `error` where it is opened."""
    trace = "" if isinstance(error, Problem) else "".join(traceback.format_exception(error))
    try:
        reply = pickle.dumps((None, error, trace), _PROTOCOL)
        pickle.loads(reply)  # some exceptions can be packed, but not unpacked
    except Exception:
        return pickle.dumps((None, RaisedElsewhere(_words(error)), trace), _PROTOCOL)
    return reply


def opened(reply: bytes) -> Any:
    """The value in a reply. Raises what the call raised, with its traceback there as a note."""
    try:
        value, error, trace = pickle.loads(reply)
    except Exception as reason:
        raise NotPortable(f"A worker's answer cannot be read here. ({_words(reason)})") from reason
    if error is None:
        return value
    if trace:
        error.add_note(f"In the worker process:\n{trace}")
    raise error


def _words(error: BaseException) -> str:
    return f"{type(error).__name__}: {error}"

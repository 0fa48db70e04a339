"""A run as bytes, there and back, so that a pool carries nothing it would have to understand.

A pool that pickles for itself breaks, for all its users, on one exception that cannot be unpickled.
"""

import io
import pickle
import traceback
from collections.abc import Callable
from typing import Any

from ..problems import Problem
from .failures import NotPortable
from .futures import RaisedElsewhere

Call = tuple[Callable[..., Any], tuple[Any, ...]]

_PROTOCOL = pickle.HIGHEST_PROTOCOL


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
            "A worker process cannot read a calculation sent to it; it must have the same versions "
            f"installed as the service. ({RaisedElsewhere.of(error)})"
        ) from error
    return call


def carried_out(call: Call) -> bytes:
    """The reply to a call: its value or what it raised. Raises MemoryError only."""
    function, arguments = call
    try:
        return pickle.dumps((function(*arguments), None, ""), _PROTOCOL)
    except MemoryError:
        raise
    except Exception as error:
        return failed(error)
    except BaseException as error:
        return failed(RaisedElsewhere.of(error))


def failed(error: Exception) -> bytes:
    """The reply that raises `error` where it is opened."""
    trace = "" if isinstance(error, Problem) else "".join(traceback.format_exception(error))
    try:
        reply = _plainly((None, error, trace))
        pickle.loads(reply)  # some exceptions can be packed, but not unpacked
    except Exception:
        return _plainly((None, RaisedElsewhere.of(error), trace))
    return reply


def _plainly(value: Any) -> bytes:
    """Packed as Python does by itself: dask changes for its whole process how exceptions are
    packed, and only a process that has dask could read them."""
    file = io.BytesIO()
    pickler = pickle.Pickler(file, _PROTOCOL)
    pickler.dispatch_table = {}
    pickler.dump(value)
    return file.getvalue()


def opened(reply: bytes) -> Any:
    """The value in a reply. Raises what the call raised, with its traceback there as a note."""
    try:
        value, error, trace = pickle.loads(reply)
    except Exception as reason:
        raise NotPortable(
            f"A worker's answer cannot be read here. ({RaisedElsewhere.of(reason)})"
        ) from reason
    if error is None:
        return value
    if trace:
        error.add_note(f"In the worker process:\n{trace}")
    raise error

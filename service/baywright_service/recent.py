"""The last results of slow runs, so that the drawing and the table of a run do not calculate again.

A calculation is pure: the same body gives the same result, so an answer made from a remembered
result has the same bytes as one calculated anew.
"""

import hashlib
import json
import marshal
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from time import perf_counter
from typing import Any, NamedTuple

from .contract import Calculator, Drawing, Inputs, Result


class Run(NamedTuple):
    """One run, and the pictures that were asked of it so far, by view."""

    inputs: Inputs
    result: Result
    drawings: dict[str, Drawing]

    def drawing(self, calculator: Calculator, view: str) -> Drawing:
        """The picture named `view`, drawn once."""
        if view not in self.drawings:
            self.drawings[view] = calculator.draw(self.inputs, self.result, view)
        return self.drawings[view]


class Recent:
    """At most `most` results, those used last; only of runs that took at least `worth_s`.

    That is enough for the steps of two plans told side by side.
    """

    def __init__(self, most: int = 48, worth_s: float = 0.02) -> None:
        self._most, self._worth_s = most, worth_s
        self._runs: OrderedDict[bytes, Run] = OrderedDict()
        self._lock = threading.Lock()

    def result(
        self, calculator: Calculator, body: Mapping[str, Any], calculate: Callable[[], Run]
    ) -> Run:
        """The run of `calculator` on `body`, remembered or calculated now."""
        key = key_of(calculator, body)
        with self._lock:
            if key in self._runs:
                self._runs.move_to_end(key)
                return self._runs[key]
        started = perf_counter()
        run = calculate()
        if perf_counter() - started >= self._worth_s:
            with self._lock:
                self._runs[key] = run
                while len(self._runs) > self._most:
                    self._runs.popitem(last=False)
        return run


def key_of(calculator: Calculator, body: Mapping[str, Any]) -> bytes:
    """What a run is remembered by: its content, the version, and the class itself too, since two
    services in one process may offer one name differently."""
    kind = f"{type(calculator).__module__}.{type(calculator).__qualname__} {calculator.version}\n"
    return hashlib.sha256(kind.encode() + _told_apart(body)).digest()


def _told_apart(body: Mapping[str, Any]) -> bytes:
    """Bytes that differ wherever bodies differ; marshal is ten times quicker than JSON."""
    try:
        plain: Any = body
        return marshal.dumps(plain, 2)  # the last version without references, which depend on use
    except ValueError:  # holds something that JSON would not give
        return json.dumps(body).encode("utf-8", "surrogatepass")

"""JSON out: numpy arrays as lists, floats to their last digit, never a NaN.

Equal values give equal bytes: members stand in the order they were made in.
"""

import hashlib
import json
import math
import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import orjson

from .pointers import escape

_OPTIONS = orjson.OPT_SERIALIZE_NUMPY | orjson.OPT_APPEND_NEWLINE
#: The separators of compact JSON, then as many digits as the largest of 64 bits may have.
_LONG_WHOLE = re.compile(rb"[,:\[-]\d{19}")


def json_bytes(value: Any) -> bytes:
    """`value` as one line of UTF-8. Raises NotFinite where a number is not."""
    try:
        content = orjson.dumps(value, default=_plain, option=_OPTIONS)
    except orjson.JSONEncodeError:  # such as a whole number of more than 64 bits
        return _checked(value)
    if b"null" in content:  # what is not finite is written so, and only text or None may be
        _checked(value)
    return content


class NotFinite(ValueError):
    """A value holds NaN (`missing`) or an infinity, which JSON cannot say."""

    def __init__(self, pointer: str, missing: bool) -> None:
        super().__init__(f"{pointer} is {'not a number' if missing else 'infinite'}")
        self.pointer, self.missing = pointer, missing


def plain(value: Any) -> Any:
    """`value` as a JSON reader would give it back: dicts, lists, str, numbers, booleans."""
    return read_back(json_bytes(value))


def read_back(content: bytes) -> Any:
    """What `json_bytes` wrote."""
    # The quick reader makes a float of a whole number beyond 64 bits.
    return (json if _LONG_WHOLE.search(content) else orjson).loads(content)


def canonical_bytes(value: Any) -> bytes:
    """The one form of a stored document: members sorted, nothing between them."""
    text = json.dumps(
        value, ensure_ascii=False, allow_nan=False, separators=(",", ":"), sort_keys=True
    )
    return text.encode()


def digest(content: bytes) -> str:
    """ "sha256-" and the hexadecimal digest: the name of a revision, and of a representation."""
    return f"sha256-{hashlib.sha256(content).hexdigest()}"


def _checked(value: Any) -> bytes:
    """The same by the standard library, which refuses what is not finite."""
    try:
        text = _text(value)
    except ValueError as error:
        raise _not_finite(value) or error from None
    return text.encode() + b"\n"


def _text(value: Any, *, allow_nan: bool = False) -> str:
    return json.dumps(
        value, ensure_ascii=False, allow_nan=allow_nan, separators=(",", ":"), default=_plain
    )


def _not_finite(value: Any) -> NotFinite | None:
    """What kept `value` from being written; NaN counts before an infinity."""
    found: dict[bool, str] = {}
    waiting: list[tuple[str, Any]] = [("", json.loads(_text(value, allow_nan=True)))]
    while waiting:
        pointer, item = waiting.pop()
        if isinstance(item, (dict, list)):
            pairs = item.items() if isinstance(item, dict) else enumerate(item)
            waiting.extend((pointer + escape(key), inner) for key, inner in pairs)
        elif isinstance(item, float) and not math.isfinite(item):
            found[math.isnan(item)] = pointer
    missing = True in found
    return NotFinite(found[missing], missing) if found else None


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"no JSON for {type(value).__name__}")

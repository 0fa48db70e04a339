"""JSON out: numpy arrays as lists, floats to their last digit, never a NaN.

Equal values give equal bytes: members stand in the order they were made in.
"""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

import numpy as np


def json_bytes(value: Any) -> bytes:
    """`value` as one line of UTF-8. Raises ValueError for a number that is not finite."""
    text = json.dumps(
        value, ensure_ascii=False, allow_nan=False, separators=(",", ":"), default=_plain
    )
    return text.encode() + b"\n"


def plain(value: Any) -> Any:
    """`value` as a JSON reader would give it back: dicts, lists, str, numbers, booleans."""
    return json.loads(json_bytes(value))


def canonical_bytes(value: Any) -> bytes:
    """The one form of a stored document: members sorted, nothing between them."""
    text = json.dumps(
        value, ensure_ascii=False, allow_nan=False, separators=(",", ":"), sort_keys=True
    )
    return text.encode()


def digest(content: bytes) -> str:
    """ "sha256-" and the hexadecimal digest: the name of a revision, and of a representation."""
    return f"sha256-{hashlib.sha256(content).hexdigest()}"


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"no JSON for {type(value).__name__}")

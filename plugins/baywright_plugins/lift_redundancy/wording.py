"""Words and proofs that all findings share."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Inputs, Result

Rerun = Callable[[Inputs, Mapping[str, Any]], Result | None]
Value = Mapping[str, Any]


def clears(result: Result | None, *unwanted: str) -> bool:
    """Whether a run has none of the findings `unwanted` above "ok"; a failed run clears nothing."""
    if result is None:
        return False
    return not {f.code for f in result.findings if f.level != "ok"} & set(unwanted)


def and_words(names: Sequence[str]) -> str:
    """a, b and c"""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def num(value: float) -> str:
    """Four digits, as a builder reads them."""
    return f"{value:.4g}"


def plural(count: int, word: str) -> str:
    """1 lift, 2 lifts"""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"

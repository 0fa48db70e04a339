"""Members that are built otherwise than their rod: pairs in line, and diagonals left out."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from ...frame import Frame
from .plan import Swaps


def changed(frame: Frame, value: Mapping[str, Any]) -> tuple[Frame, Swaps]:
    """The frame without the members that are left out, and the parts of those that are pairs in
    line, by number in that frame; as far as it is known which members they are.

    Args:
        value: the result of part-count. A programme decides where there is one, else the pairs
            that are built in.
    """
    gone: set[int] = set()
    pairs = _pairs_built_in(value)
    if "programme" in value:
        listed = [row for row in value["programme"]["changes"] if "member" in row]
        gone = {row["member"] for row in listed if row["what"] == "left-out"}
        pairs = {
            row["member"]: (row["first"], row["second"], row["mid_hub"])
            for row in listed
            if row["what"] == "pair"
        }
    kept = np.array([m for m in range(len(frame.start)) if m not in gone], dtype=np.int64)
    number = {int(member): place for place, member in enumerate(kept)}
    return _only(frame, kept), {number[member]: parts for member, parts in pairs.items()}


def _pairs_built_in(value: Mapping[str, Any]) -> dict[int, tuple[str, ...]]:
    """By member, where one way only is built in for its rod."""
    ways: dict[str, list[tuple[str, ...]]] = {}
    for way in value.get("substitutions", ()):
        if way["applied"] and way["pairs_count"]:
            pair = (way["first"], way["second"], way["mid_hub"])
            ways.setdefault(way["rod"], []).append(pair)
    return {
        row["member"]: ways[row["rod"]][0]
        for row in value.get("substitute_positions", ())
        if len(ways.get(row["rod"], ())) == 1
    }


def _only(frame: Frame, kept: Any) -> Frame:
    columns = {
        name: getattr(frame, name)[kept] for name in ("start", "end", "rod", "section", "role")
    }
    return replace(frame, **columns)


def built_in(value: Mapping[str, Any]) -> dict[str, int]:
    """Pieces of each part in the finished machine."""
    if "programme" in value:
        return {row["item"]: row["built_in_count"] for row in value["programme"]["supplies"]}
    return {row["item"]: row["total_count"] for row in value["parts"]}

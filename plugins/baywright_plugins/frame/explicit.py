"""Frames given node by node."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..kit import Kit
from .faults import LayoutFault
from .model import ROLES, Frame, Section


def frame_from_members(explicit: Mapping[str, Any], kit: Kit) -> Frame:
    """The frame of nodes and members that follow `ExplicitFrameSchema`.

    A node belongs to the section of the first member that ends there.

    Raises LayoutFault (pointer relative to the frame): columns of unequal length, a node or rod
    that is not there, a member that starts where it ends, two members between the same nodes.
    """
    nodes = explicit["nodes_mm"]
    members = explicit["members"]
    start, end = members["start"], members["end"]
    count = len(start)
    for name in ("end", "rod", "section", "role"):
        if name in members and len(members[name]) != count:
            detail = f"Must hold {count} entries, as many as start."
            raise LayoutFault(f"/members/{name}", "out-of-range", detail)
    for name, ends in (("start", start), ("end", end)):
        beyond = np.flatnonzero(ends >= len(nodes))
        if len(beyond):
            detail = f"There are {len(nodes)} nodes, numbered from 0."
            raise LayoutFault(f"/members/{name}/{beyond[0]}", "unknown-reference", detail)
    _no_doubles(start, end)
    rod = _places(members["rod"], kit.rod_index, "rod")
    names = members.get("section", ("frame",) * count)
    ids = list(dict.fromkeys(names))
    section = np.array([ids.index(name) for name in names], dtype=np.int64)
    roles = members.get("role", ("other",) * count)
    role = _places(roles, {word: k for k, word in enumerate(ROLES)}, "role")
    node_section = np.zeros(len(nodes), dtype=np.int64)
    ends = np.column_stack([start, end]).ravel()
    node_section[ends[::-1]] = np.repeat(section, 2)[::-1]
    section = np.where(node_section[start] == node_section[end], section, -1)
    return Frame(
        nodes_mm=nodes,
        lattice=np.full((len(nodes), 3), -1, dtype=np.int64),
        node_section=node_section,
        start=start,
        end=end,
        rod=rod,
        section=section,
        role=role,
        sections=tuple(Section(name, "", None, None, (0.0, 0.0, 0.0)) for name in ids),
    )


def _no_doubles(start: Any, end: Any) -> None:
    same = np.flatnonzero(start == end)
    if len(same):
        detail = "The member starts where it ends."
        raise LayoutFault(f"/members/end/{same[0]}", "not-unique", detail)
    low, high = np.minimum(start, end), np.maximum(start, end)
    order = np.lexsort((np.arange(len(low)), high, low))
    twice = (np.diff(low[order]) == 0) & (np.diff(high[order]) == 0)
    if twice.any():
        second = int(order[1:][twice].min())
        detail = "Another member already joins these two nodes."
        raise LayoutFault(f"/members/start/{second}", "not-unique", detail)


def _places(names: Any, known: Mapping[str, int], field: str) -> Any:
    unknown = [k for k, name in enumerate(names) if name not in known]
    if unknown:
        detail = f"There is no {field} “{names[unknown[0]]}”."
        raise LayoutFault(f"/members/{field}/{unknown[0]}", "unknown-reference", detail)
    return np.array([known[name] for name in names], dtype=np.int64)

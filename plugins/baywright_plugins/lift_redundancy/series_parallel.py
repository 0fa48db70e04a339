"""Flow of many states at once where the way round is made of parts in a row and side by side."""

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

Array = np.ndarray[Any, Any]


def series_parallel_flow(
    capacities: Mapping[str, Array], arcs: Iterable[tuple[str, str]], source: str, sink: str
) -> Array | None:
    """Largest flow in each state, or None where the network is more than rows and side-by-sides.

    Two parts with the same parts before and after are one part that carries the sum; a part and
    its only follower, whose only forerunner it is, are one that carries the smaller.

    Args:
        capacities: for each part shape (states,), infinite where nothing limits it.
        arcs: which part leads to which; `source` and `sink` need no capacity.

    Source: series and parallel reduction; R. J. Duffin, Journal of Mathematical Analysis and
    Applications 10 (1965).
    """
    unlimited = np.full_like(next(iter(capacities.values())), np.inf) if capacities else None
    if unlimited is None:
        return None
    limit: dict[str, Array] = dict(capacities)
    before: dict[str, set[str]] = {}
    after: dict[str, set[str]] = {}
    for start, end in arcs:
        after.setdefault(start, set()).add(end)
        before.setdefault(end, set()).add(start)
    for name in dict.fromkeys([source, sink, *after, *before, *capacities]):
        limit.setdefault(name, unlimited)
        before.setdefault(name, set())
        after.setdefault(name, set())

    def join(kept: str, gone: str, value: Array, follow: bool) -> None:
        limit[kept] = value
        for other in before[gone]:
            after[other].discard(gone)
        for other in after[gone]:
            before[other].discard(gone)
            if follow:
                before[other].add(kept)
        if follow:
            after[kept] = after[gone]
        del limit[gone], before[gone], after[gone]

    changed = True
    while changed and len(limit) > 1:
        changed = False
        alike: dict[tuple[frozenset[str], frozenset[str]], str] = {}
        for name in list(limit):
            if name in (source, sink):
                continue
            first = alike.setdefault((frozenset(before[name]), frozenset(after[name])), name)
            if first != name:
                join(first, name, limit[first] + limit[name], follow=False)
                changed = True
        for name in list(limit):
            while name in limit and len(after[name]) == 1:
                (other,) = after[name]
                if other in (name, source) or len(before[other]) != 1 or name == sink:
                    break
                join(name, other, np.minimum(limit[name], limit[other]), follow=True)
                if other == sink:
                    sink = name
                changed = True
    return limit[source] if len(limit) == 1 else None

"""Where bearers must be added so that no panel hangs free."""

import itertools
import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from .run import Run
from .sheet import Sheet


@dataclass(frozen=True)
class Bearer:
    """A bearer at `at`; `kind` is frame (lies there already), add-at-node or add-between."""

    at: Fraction
    kind: str


def bearers_there(run: Run) -> tuple[Bearer, ...]:
    """Those that lie there already, ascending."""
    return tuple(Bearer(at, "frame") for at in sorted({p.at for p in run.planes if p.carries}))


def bearers_for(
    run: Run, sheet: Sheet, *, play: Fraction, free_span: Fraction, loose: bool
) -> tuple[Bearer, ...]:
    """All bearers a sheet of panels lies on, ascending.

    The outer planes of every stretch carry, since each stretch must bear its own floor. Loose
    panels get one under every panel edge that none is near. Panels that hold together span
    `free_span`: beyond that a bearer is added at the farthest node plane it reaches; where it
    reaches none, as few as bridge the way to the next one, evenly, under panel edges where these
    are close enough.

    Source: taking the farthest support in reach each time gives the fewest of them (interval
    stabbing, any text on greedy algorithms); tests hold it against brute force.
    """
    found = {plane.at: "frame" for plane in run.planes if plane.carries}
    nodes = sorted(plane.at for plane in run.planes if not plane.carries)
    for stretch in run.stretches:
        for x in (stretch.start, stretch.end):
            found.setdefault(x, "add-at-node" if x in nodes else "add-between")
    there = sorted(found)
    if loose:
        joints = sheet.joints[1:-1]
        on, at_node = (lying_under(places, joints, play) for places in (there, nodes))
        for x, place, node in zip(joints, on, at_node, strict=True):
            if place is None:
                at, kind = (x, "add-between") if node is None else (node, "add-at-node")
                found.setdefault(at, kind)
    else:
        for a, b in itertools.pairwise(there):
            found.update(_filled(a, b, free_span, nodes, sheet.joints))
    return tuple(Bearer(at, found[at]) for at in sorted(found))


def nearest(places: Sequence[Fraction], x: Fraction) -> Fraction | None:
    """The one of ascending `places` nearest to x, the lower of two; None where there is none."""
    k = bisect_left(places, x)
    return min(places[max(0, k - 1) : k + 1], key=lambda at: (abs(at - x), at), default=None)


def lying_under(
    places: Sequence[Fraction], edges: Sequence[Fraction], play: Fraction
) -> list[Fraction | None]:
    """For each panel edge the nearest of ascending `places` within `play`; None where none is.

    A billionth of a millimetre beyond the play still counts.
    """
    if not places:
        return [None] * len(edges)
    at = np.array([float(x) for x in places])
    wanted = np.array([float(x) for x in edges])
    above = np.clip(np.searchsorted(at, wanted), 1, max(1, len(at) - 1))
    above = np.minimum(above, len(at) - 1)
    below = np.maximum(above - 1, 0)
    lower = np.abs(wanted - at[below]) <= np.abs(wanted - at[above])
    best = np.where(lower, below, above)
    near = np.abs(at[best] - wanted) <= float(play) + 1e-9
    return [places[k] if ok else None for k, ok in zip(best.tolist(), near.tolist(), strict=True)]


def _filled(
    a: Fraction,
    b: Fraction,
    free_span: Fraction,
    nodes: Sequence[Fraction],
    joints: Sequence[Fraction],
) -> dict[Fraction, str]:
    """Bearers between two that are more than `free_span` apart."""
    added: dict[Fraction, str] = {}
    at = a
    while b - at > free_span:
        node = _last(nodes, at + free_span)
        if node is None or node <= at:
            k = bisect_right(nodes, at)
            node = min(b, nodes[k]) if k < len(nodes) else b
            added.update(dict.fromkeys(_evenly(at, node, free_span, joints), "add-between"))
        if node < b:
            added[node] = "add-at-node"
        at = node
    return added


def _evenly(
    a: Fraction, b: Fraction, free_span: Fraction, joints: Sequence[Fraction]
) -> list[Fraction]:
    """As few places as leave no more than `free_span` between two, on panel edges if these do."""
    parts = math.ceil((b - a) / free_span)
    even = [a + (b - a) * k / parts for k in range(1, parts)]
    moved = [nearest(joints, x) or x for x in even]
    spans = [y - x for x, y in itertools.pairwise([a, *moved, b])]
    return moved if all(0 < span <= free_span for span in spans) else even


def _last(places: Sequence[Fraction], x: Fraction) -> Fraction | None:
    """The last of ascending `places` that is not beyond x."""
    k = bisect_right(places, x)
    return places[k - 1] if k else None

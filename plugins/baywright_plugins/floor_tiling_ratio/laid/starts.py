"""Where to start a grid of panels over a run: every start that can matter, compared at once.

All lengths are even whole numbers of one unit, so that the middle between two of them is whole too.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

#: What is put first where starts compete; strips too narrow or under a landing always count most.
PREFERENCES = ("least-work", "bearers", "apart", "whole")
_CHUNK = 512


@dataclass(frozen=True)
class Ground:
    """A floor from `start` to `end` and what lies under it.

    bearers (n,) ascending; nodes (k,) ascending, where a bearer can be put; gaps (j, 2) separation
    joints; clear (c, 2) spans that must hold no strip. A panel edge lies on a bearer if it is at
    most `play` away; a strip is cut if it is wider than `play` and worth it from `least_strip`.
    `loose`: every panel edge needs a bearer.
    """

    start: int
    end: int
    panel: int
    play: int
    least_strip: int
    bearers: Ints
    nodes: Ints
    gaps: Ints
    clear: Ints
    loose: bool


@dataclass(frozen=True)
class Scores:
    """What each start gives, arrays of one length: panel edges in all, on bearers, on nodes without
    a bearer; joints that no panel edge falls into; strips to cut; of these too narrow or under a
    landing; sum of the distances of edges from the middle of their bearers or nodes."""

    starts: Ints
    edges: Ints
    on_bearers: Ints
    on_nodes: Ints
    crossing: Ints
    strips: Ints
    bad_strips: Ints
    off: Ints


def scores(ground: Ground, starts: Ints) -> Scores:
    """What the grids starting at `starts` (from ground.start, less than a panel on) give."""
    parts = [_scores(ground, starts[k : k + _CHUNK]) for k in range(0, len(starts), _CHUNK)]
    return Scores(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _scores(ground: Ground, starts: Ints) -> tuple[Ints, ...]:
    p, play = ground.panel, ground.play
    whole = (ground.end + play - starts) // p
    edges = np.maximum(whole + 1, 0)
    front = np.where(whole < 0, ground.end - ground.start, starts - ground.start)
    back = np.where(whole < 0, 0, ground.end - starts - whole * p)
    strips, bad = np.zeros_like(starts), np.zeros_like(starts)
    for width, low in ((front, ground.start), (back, None)):
        cut = width > play
        first = np.full_like(starts, low) if low is not None else ground.end - width
        under = np.zeros_like(cut)
        for a, b in ground.clear:
            under |= (first < b) & (a < first + width)
        strips += cut
        bad += cut & ((width < ground.least_strip) | under)
    on_bearers, off = _landings(ground, ground.bearers, starts, whole)
    on_nodes, off_nodes = _landings(ground, ground.nodes, starts, whole)
    crossing = np.zeros_like(starts)
    for a, b in ground.gaps:
        first = -((starts - (a - play)) // p)  # ceil((a - play - start)/p)
        last = (b + play - starts) // p
        crossing += (np.maximum(first, 0) > np.minimum(last, whole)).astype(np.int64)
    return starts, edges, on_bearers, on_nodes, crossing, strips, bad, off + off_nodes


def _landings(ground: Ground, places: Ints, starts: Ints, whole: Ints) -> tuple[Ints, Ints]:
    """Panel edges within play of one of `places`, each once, and how far they are off in sum (from
    the nearest one)."""
    p = ground.panel
    if not len(places):
        return np.zeros_like(starts), np.zeros_like(starts)
    away = places[None, :] - starts[:, None]
    edge = (away + p // 2) // p
    off = np.abs(away - edge * p)
    hit = (off <= ground.play) & (edge >= 0) & (edge <= whole[:, None])
    # Where one panel edge serves several places, only the nearest of them counts.
    again = hit[:, 1:] & hit[:, :-1] & (edge[:, 1:] == edge[:, :-1])
    farther = np.where(again, np.maximum(off[:, 1:], off[:, :-1]), 0)
    sums = np.where(hit, off, 0).sum(axis=1) - farther.sum(axis=1)
    return hit.sum(axis=1) - again.sum(axis=1), sums


def starts_that_matter(ground: Ground) -> Ints:
    """A start from each stretch of starts over which nothing changes, and each of their ends.

    Every count of `Scores` is constant between two neighbouring starts at which some panel edge
    comes to lie at the rim of a bearer, a joint or a strip; so the best of these is the best of
    all. The middle of each bearer is among them, which makes the sum of distances least too.
    """
    p, play, least = ground.panel, ground.play, ground.least_strip
    both = np.concatenate([ground.bearers, ground.nodes])
    rims = [
        both - play,
        both,
        both + play,
        ground.gaps[:, 0] - play,
        ground.gaps[:, 1] + play,
        ground.clear.ravel(),
        np.array([ground.start, ground.start + play, ground.start + least]),
        np.array([ground.end - play, ground.end, ground.end + play, ground.end - least]),
    ]
    turned = np.unique((np.concatenate(rims) - ground.start) % p)
    middles = (turned + np.append(turned[1:], turned[0] + p)) // 2 % p
    return np.asarray(np.unique(np.concatenate([turned, middles])) + ground.start, dtype=np.int64)


def order(ground: Ground, found: Scores, prefer: str) -> Ints:
    """Places in `found`, best first. One of PREFERENCES; ties go to more edges on bearers, then on
    nodes, then to the smaller sum of distances, then to the earlier start."""
    missing = found.edges - found.on_bearers if ground.loose else np.zeros_like(found.edges)
    first = {
        "least-work": [missing + found.strips + found.crossing],
        "bearers": [-found.on_bearers, found.crossing],
        "apart": [found.crossing],
        "whole": [found.strips, found.crossing],
    }[prefer]
    rest = [-found.on_bearers, -found.on_nodes, found.crossing, found.strips, found.off]
    keys = [found.bad_strips, *first, *rest, found.starts]
    return np.asarray(np.lexsort(keys[::-1]), dtype=np.int64)


def trade_offs(found: Scores, ranked: Ints, *, most: int) -> list[int]:
    """Places in `found` of the starts that no other beats, best first in the order `ranked`.

    One beats another if it has as many panel edges on bearers or more, as few joints crossed and
    as few strips or fewer, and is better in one of them; among equals the first one stands for
    all. Starts with more bad strips than the best are left out.
    """
    best = found.bad_strips == found.bad_strips.min()
    first: dict[tuple[int, int, int], int] = {}
    for place in ranked[best[ranked]].tolist():
        facts = -found.on_bearers[place], found.crossing[place], found.strips[place]
        first.setdefault((int(facts[0]), int(facts[1]), int(facts[2])), place)
    unbeaten = [
        place
        for facts, place in first.items()
        if not any(
            other != facts and all(a <= b for a, b in zip(other, facts, strict=True))
            for other in first
        )
    ]
    return unbeaten[:most]

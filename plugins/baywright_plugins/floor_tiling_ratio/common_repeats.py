"""Where several pitches meet: every set of counts, smallest first, nothing left out."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction


class SearchTooWide(Exception):
    """So much play that counting every set of counts would take too long."""


@dataclass(frozen=True)
class Repeat:
    """One meeting. `counts[i]` of pitch i; `length` is that of the first pitch's run, in the
    pitches' unit; `spread` is what lies between the longest and the shortest run."""

    counts: tuple[int, ...]
    length: Fraction
    spread: Fraction


@dataclass(frozen=True)
class NearestCount:
    """`count` steps of 1/divisions lie nearest to a target; `error` = count/divisions - target."""

    count: int
    error: Fraction


def common_repeats(
    pitches: Sequence[Fraction],
    plays: Sequence[Fraction],
    *,
    most_first: int,
    most_found: int = 10,
    most_steps: int = 100_000,
) -> tuple[Repeat, ...]:
    """Every set of counts n_i whose runs n_i p_i can be brought to one length by their play.

        there is an X with |n_i p_i - X| <= n_i t_i for every i;  gcd(n_1, ..., n_k) = 1

    For two pitches of which only the first has play 2 e this is |n b - m p| <= 2 e n.

    Args:
        pitches: p_i above 0, two or more, one unit.
        plays: t_i, not negative and below p_i, how far one pitch gives each way.
        most_first: largest n_1.
        most_found: stop after the n_1 at which so many are found.
        most_steps: give up after so many partial sets.

    Returns:
        Ascending by n_1, then by spread. Complete up to the last n_1 looked at.

    Raises:
        SearchTooWide: more than `most_steps` partial sets.

    Source: definition; equal to brute force in the tests.
    """
    scale = math.lcm(*(x.denominator for x in (*pitches, *plays)))
    low = [int((p - t) * scale) for p, t in zip(pitches, plays, strict=True)]
    high = [int((p + t) * scale) for p, t in zip(pitches, plays, strict=True)]
    whole = [int(p * scale) for p in pitches]
    steps = _Steps(most_steps)
    found: list[Repeat] = []
    for first in range(1, most_first + 1):
        here = [
            (_spread(counts, whole), counts)
            for counts in _sets((first,), first * low[0], first * high[0], low, high, steps)
            if math.gcd(*counts) == 1
        ]
        found += [
            Repeat(counts, first * pitches[0], Fraction(spread, scale))
            for spread, counts in sorted(here)[: most_found - len(found)]
        ]
        if len(found) >= most_found:
            break
    return tuple(found)


class _Steps:
    def __init__(self, most: int) -> None:
        self.left = most

    def take(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise SearchTooWide


def _sets(
    counts: tuple[int, ...], low: int, high: int, lows: list[int], highs: list[int], steps: _Steps
) -> Iterator[tuple[int, ...]]:
    """Counts of the remaining pitches whose intervals share a point with [low, high]."""
    k = len(counts)
    if k == len(lows):
        yield counts
        return
    for count in range(max(1, -(-low // highs[k])), high // lows[k] + 1):
        steps.take()
        least, most = max(low, count * lows[k]), min(high, count * highs[k])
        yield from _sets((*counts, count), least, most, lows, highs, steps)


def _spread(counts: tuple[int, ...], pitches: list[int]) -> int:
    runs = [n * p for n, p in zip(counts, pitches, strict=True)]
    return max(runs) - min(runs)


def exact_repeat(pitches: Sequence[Fraction]) -> Fraction:
    """The shortest length that is a whole multiple of every pitch, no play used.

    Args:
        pitches: each above 0, one unit.

    >>> exact_repeat([Fraction(120), Fraction("51.4")])
    Fraction(30840, 1)
    """
    top = math.lcm(*(p.numerator for p in pitches))
    return Fraction(top, math.gcd(*(p.denominator for p in pitches)))


def nearest_counts(targets: Sequence[Fraction], divisions: int) -> tuple[NearestCount, ...]:
    """One common division for several targets: the nearest count of steps for each.

    With targets p_0/p_i and `divisions` runs of pitch 0 these are the counts of the others that
    come nearest to the same length.

    Args:
        targets: any fractions.
        divisions: at least 1; a half rounds up.

    >>> [n.count for n in nearest_counts([Fraction(120) / Fraction("51.4")], 3)]
    [7]
    """
    counts = [math.floor(target * divisions + Fraction(1, 2)) for target in targets]
    return tuple(
        NearestCount(count, Fraction(count, divisions) - target)
        for count, target in zip(counts, targets, strict=True)
    )

"""Net panels with spacers between them that end on a post after whole bays.

    |n b - m q - sum of spacers| <= n t_b + m t_q

b bay, q net panel, t what one of them gives each way. Lengths in one unit, exact.
"""

import itertools
import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

_MOST_TRIES = 50_000


@dataclass(frozen=True)
class SpacerKind:
    """A spacer between two net panels."""

    item: str
    length: Fraction


@dataclass(frozen=True)
class NetFit:
    """`bays` bays hold `panels` net panels and `spacers` (of each kind). `widest_gap`: what the
    spacers open between two panels if they are spread as evenly as they can be."""

    bays: int
    panels: int
    spacers: tuple[int, ...]
    misfit: Fraction
    play: Fraction
    widest_gap: Fraction

    @property
    def spacers_in_all(self) -> int:
        return sum(self.spacers)


@dataclass(frozen=True)
class NetWanted:
    """Pitches and what they give each way; at most `most_spacers` in one repeat; no gap as wide as
    `gap_below`."""

    bay: Fraction
    bay_play: Fraction
    panel: Fraction
    panel_play: Fraction
    kinds: Sequence[SpacerKind]
    most_spacers: int
    gap_below: Fraction


@dataclass(frozen=True)
class NetFits:
    """What was found, best first; `complete` is False where the search was cut short."""

    fits: tuple[NetFit, ...]
    complete: bool


def net_fits(wanted: NetWanted, bays: Sequence[int], *, most: int) -> NetFits:
    """The best fit for each number of bays, ordered by spacers, bays, misfit; `most` of them.

    Source: enumeration of all sums of spacers; equal to brute force in the tests.
    """
    scaled = _Scaled.of(wanted)
    tries = itertools.count(1)
    found: list[NetFit] = []
    complete = True
    for count in bays:
        fits: list[NetFit] = []
        for fit in _fits(scaled, count):
            if next(tries) > _MOST_TRIES:
                complete = False
                break
            if fit.widest_gap < wanted.gap_below:
                fits.append(fit)
        found += sorted(fits, key=_rank)[:1]
    return NetFits(tuple(sorted(found, key=_rank)[:most]), complete)


def _rank(fit: NetFit) -> tuple[int, int, Fraction, tuple[int, ...]]:
    return fit.spacers_in_all, fit.bays, abs(fit.misfit), tuple(-n for n in fit.spacers)


@dataclass(frozen=True)
class _Scaled:
    """`wanted` in whole numbers, `scale` to one; `sums`: for each number of spacers every sum
    ascending, and one set of spacers that makes it."""

    wanted: NetWanted
    scale: int
    bay: int
    bay_play: int
    panel: int
    panel_play: int
    sums: list[tuple[list[int], list[tuple[int, ...]]]]

    @classmethod
    def of(cls, wanted: NetWanted) -> "_Scaled":
        lengths = [wanted.bay, wanted.bay_play, wanted.panel, wanted.panel_play]
        spacers = [kind.length for kind in wanted.kinds]
        scale = math.lcm(*(x.denominator for x in (*lengths, *spacers)))
        bay, bay_play, panel, panel_play = (int(x * scale) for x in lengths)
        sums = _sums([int(x * scale) for x in spacers], wanted.most_spacers)
        return cls(wanted, scale, bay, bay_play, panel, panel_play, sums)


def _sums(lengths: Sequence[int], most: int) -> list[tuple[list[int], list[tuple[int, ...]]]]:
    by_count: list[dict[int, tuple[int, ...]]] = [{} for _ in range(most + 1)]
    for total in range(most + 1):
        for chosen in itertools.combinations_with_replacement(range(len(lengths)), total):
            counts = tuple(chosen.count(k) for k in range(len(lengths)))
            by_count[total].setdefault(sum(lengths[k] for k in chosen), counts)
    ordered = (sorted(sums.items()) for sums in by_count)
    return [([x for x, _ in pairs], [c for _, c in pairs]) for pairs in ordered]


def _fits(scaled: _Scaled, bays: int) -> Iterator[NetFit]:
    """Every fit of so many bays, those of the fewest spacers first; then no more are sought."""
    wanted, scale = scaled.wanted, scaled.scale
    run = bays * scaled.bay
    shortest, longest = run - bays * scaled.bay_play, run + bays * scaled.bay_play
    for lengths, counts in scaled.sums:
        if not lengths:
            return
        low = (shortest - lengths[-1]) // (scaled.panel + scaled.panel_play)
        high = -((lengths[0] - longest) // (scaled.panel - scaled.panel_play))
        met = False
        for panels in range(max(1, low), high + 1):
            left = run - panels * scaled.panel
            play = bays * scaled.bay_play + panels * scaled.panel_play
            first, last = bisect_left(lengths, left - play), bisect_right(lengths, left + play)
            for k in range(first, last):
                gap = _widest_gap(counts[k], wanted.kinds, panels)
                met = met or gap < wanted.gap_below
                misfit, give = Fraction(left - lengths[k], scale), Fraction(play, scale)
                yield NetFit(bays, panels, counts[k], misfit, give, gap)
        if met:
            return


def _widest_gap(counts: Sequence[int], kinds: Sequence[SpacerKind], joints: int) -> Fraction:
    """What the widest joint gets; no more than one spacer where there are joints enough."""
    if sum(counts) <= joints:
        used = [kind.length for kind, n in zip(kinds, counts, strict=True) if n]
        return max(used, default=Fraction(0))
    return max(spread_evenly(counts, kinds, joints))


def spread_evenly(
    counts: Sequence[int], kinds: Sequence[SpacerKind], joints: int
) -> list[Fraction]:
    """What each of `joints` joints gets.

    Of one kind, n spacers over m joints give floor(n/m) to some and one more to n mod m of them.
    Source: Graham, Knuth, Patashnik, Concrete Mathematics, section 3.4 (equation 3.24); for several
    kinds the longest go first, each where there is least so far, which is not always the least.
    """
    gaps = [Fraction(0)] * joints
    lengths = [kind.length for kind, n in zip(kinds, counts, strict=True) for _ in range(n)]
    for length in sorted(lengths, reverse=True):
        gaps[gaps.index(min(gaps))] += length
    return gaps

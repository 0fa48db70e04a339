"""The cheapest ways, one after another, each unlike those before; and how sure that is."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from .choice_programme import Condition, NoChoice, cheapest, not_all
from .dominance import needed_options
from .edit_programme import Weights, Wishes, option_cost, plain_cost, programme_of
from .machine import Machine
from .section_options import Option

#: Options of each section in the first round; more come in where they could matter.
FIRST_OPTIONS = 80
#: Options of all sections together in one programme.
MOST_COLUMNS = 3000
#: Columns of all programmes solved one after another, each counted once more for every cut in it:
#: about how long it takes, but the same on any machine.
MOST_WORK = 32_000
#: Ways that the frame's own count does not bear out, before the search gives up.
MOST_REFUSED = 6
_EPS = 1e-6

Accept = Callable[[tuple[Option, ...]], bool]


@dataclass(frozen=True)
class Way:
    """An option for every section. No way unlike the earlier ones costs less than `bound`; both
    count, beside the weights, the `tie` that decides between equals."""

    options: tuple[Option, ...]
    cost: float
    bound: float
    tie: float = 0.0

    @property
    def proven(self) -> bool:
        return self.bound >= self.cost - _EPS

    @property
    def gap(self) -> float:
        """How far below its cost the bound lies, as a share of the cost."""
        return max(self.cost - self.bound, 0.0) / self.cost if self.cost > 0 else 0.0


@dataclass(frozen=True)
class Found:
    """`exhausted`: there is no further way unlike these; `broken_off`: there may be, but the search
    is bounded. `refused`: ways that did not stand up to building; `columns`: options that took
    part in the last round, of `options` in all."""

    ways: tuple[Way, ...] = ()
    exhausted: bool = False
    broken_off: bool = False
    refused: int = 0
    columns: int = 0
    options: int = 0


def best_ways(
    machine: Machine,
    options: Sequence[Sequence[Option]],
    wishes: Wishes,
    accept: Accept,
    *,
    most: int,
    complete: bool,
) -> Found:
    """The cheapest way, then the cheapest that does not do all the same things, and so on.

    Two ways are alike where one changes every row that the other changes, and in the same manner
    (a bay out, a rod exchanged, a joint moved, a cut); of those alike only the cheapest is listed.

    Options that another can stand in for are left aside. Only the cheapest of the rest take part
    at first; one that is left out can be part of no way cheaper than its own cost and the least
    cost of all other sections; where that bound is below what was found, more options come in.

    Args:
        options: of each section, at least one.
        accept: whether a way stands up to building it; one that does not is ruled out.
        complete: whether `options` are all there are.

    Leaves out: options beyond MOST_COLUMNS and ways beyond MOST_WORK; bounds and `broken_off` say
    so.
    """
    weights = wishes.weights
    ranked = needed_options(machine, options, wishes)
    first = min(FIRST_OPTIONS, MOST_COLUMNS // len(ranked))
    sizes = [min(first, len(group)) for group in ranked]
    least = [option_cost(group[0], weights) for group in ranked]
    search = _Search(machine, wishes, accept, most)
    while True:
        bound = math.inf
        for k, group in enumerate(ranked):
            if sizes[k] < len(group):
                rest = sum(least) - least[k]
                bound = min(bound, option_cost(group[sizes[k]], weights) + rest)
        found = search.run([group[:n] for group, n in zip(ranked, sizes, strict=True)], bound)
        unproven = [way.cost for way in found.ways if way.cost > bound + _EPS]
        few = len(found.ways) < most and not found.broken_off
        if math.isinf(bound) or not complete or not (unproven or few):
            break
        wanted = unproven[0] if unproven else math.inf
        grown = [
            _needed(group, wanted - sum(least) + least[k], weights, sizes[k])
            for k, group in enumerate(ranked)
        ]
        if sum(grown) > MOST_COLUMNS or not search.affords(sum(grown), len(found.ways) + 1):
            break
        sizes = grown
    whole = complete and math.isinf(bound)
    ways = found.ways if complete else [replace(way, bound=0.0) for way in found.ways]
    return replace(
        found,
        ways=tuple(ways),
        exhausted=found.exhausted and whole,
        broken_off=found.broken_off or (len(ways) < most and not (found.exhausted and whole)),
        options=sum(map(len, options)),
    )


def _needed(group: Sequence[Option], most_cost: float, weights: Weights, now: int) -> int:
    """How many of the cheapest options can be part of a way of that cost."""
    if math.isinf(most_cost):
        return min(5 * now, len(group))
    return max(now, sum(option_cost(option, weights) <= most_cost + _EPS for option in group))


class _Search:
    """Rounds of programmes, within one bound on all their work."""

    def __init__(self, machine: Machine, wishes: Wishes, accept: Accept, most: int) -> None:
        self.machine, self.wishes, self.accept, self.most = machine, wishes, accept, most
        self.work = 0

    def affords(self, columns: int, solutions: int) -> bool:
        """Whether so many solutions of a programme, each with one cut more, are within bounds."""
        return self.work + columns * solutions * (solutions + 1) // 2 <= MOST_WORK

    def run(self, options: Sequence[Sequence[Option]], bound: float) -> Found:
        programme = programme_of(self.machine, options, self.wishes)
        cuts: list[Condition] = []
        ways: list[Way] = []
        refused, exhausted, broken_off = 0, False, False
        while len(ways) < self.most and not broken_off:
            self.work += programme.width * (1 + len(cuts))
            try:
                choice = cheapest(programme, cuts)
            except NoChoice as none:
                exhausted, broken_off = none.proven, not none.proven
                break
            chosen = tuple(group[k] for group, k in zip(options, choice.options, strict=True))
            if self.accept(chosen):
                tie = sum(self._tie(option) for option in chosen)
                ways.append(Way(chosen, choice.cost, min(choice.bound, bound), tie))
                cuts.append(not_all(alike(programme.column, options, chosen)))
            else:
                refused += 1
                taken = enumerate(choice.options)
                cuts.append(not_all([(programme.column(g, k),) for g, k in taken]))
            too_long = self.work + programme.width * (1 + len(cuts)) > MOST_WORK
            broken_off = len(ways) < self.most and (too_long or refused > MOST_REFUSED)
        columns = sum(map(len, options))
        return Found(tuple(ways), exhausted, broken_off, refused, columns)

    def _tie(self, option: Option) -> float:
        weights = self.wishes.weights
        return option_cost(option, weights) - plain_cost(option, weights)


def alike(
    column: Callable[[int, int], int],
    options: Sequence[Sequence[Option]],
    chosen: Sequence[Option],
) -> list[list[int]]:
    """For each section that is changed, the columns of options that change the same rows in the
    same manner."""
    return [
        [column(g, k) for k, other in enumerate(options[g]) if option.kinds <= other.kinds]
        for g, option in enumerate(chosen)
        if option.kinds
    ]

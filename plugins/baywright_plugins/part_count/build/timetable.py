"""Who builds which step when: steps that wait for one another, shared out among learners."""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..build_hours import unit_times

Floats = NDArray[np.float64]

#: The order as it stands is kept where no other is quicker by more than this.
ORDERLY = 1.05
#: Orders tried beside the three plain ones, and the least number of jobs times orders looked at.
MOST_ORDERS = 60
MOST_PLACINGS = 12_000


@dataclass(frozen=True)
class Curve:
    """Minutes for bays: `total[n]` is what the first n bays take one builder."""

    total: Floats

    def minutes(self, done: float, bays: float) -> float:
        """What `bays` more take after `done`; parts of a bay in proportion."""
        return self._after(done + bays) - self._after(done)

    def _after(self, bays: float) -> float:
        whole = min(int(bays), len(self.total) - 2)
        step = self.total[whole + 1] - self.total[whole]
        return float(self.total[whole] + (bays - whole) * step)

    @property
    def quickest(self) -> float:
        """Minutes of the last bay."""
        return float(self.total[-1] - self.total[-2])


def curve_of(
    bays: int, first_bay_min: float, ratio: float, floor_min: float, *, model: str, before: int
) -> Curve:
    """The learning curve of somebody who has built `before` bays already, for `bays` >= 1 more.

    Source: as build_hours.unit_times; the floor is common practice, no source.

    >>> curve_of(2, 10.0, 0.8, 0.0, model="unit", before=0).total.tolist()
    [0.0, 10.0, 18.0]
    """
    times = unit_times(first_bay_min, ratio, before + bays, model=model)[before:]
    return Curve(np.concatenate([[0.0], np.cumsum(np.maximum(times, floor_min))]))


@dataclass(frozen=True)
class Timetable:
    """Start and end in minutes of work, and the person, of each job; `bound_min`: no sharing out
    is quicker."""

    start_min: Floats
    end_min: Floats
    person: NDArray[np.int64]
    bound_min: float

    @property
    def elapsed_min(self) -> float:
        return float(self.end_min.max(initial=0.0))

    @property
    def person_min(self) -> float:
        """Minutes worked, summed over people."""
        return float((self.end_min - self.start_min).sum())

    @property
    def proven(self) -> bool:
        """Whether nothing can be quicker."""
        return self.elapsed_min <= self.bound_min * (1 + 1e-9)


def share_out(
    bays: Sequence[float],
    needs: Sequence[Sequence[int]],
    people: int,
    curve: Curve,
    *,
    together: bool,
    orders: int = MOST_ORDERS,
) -> Timetable:
    """The quickest timetable found for jobs of so many bays, each done by one person in one go.

    List scheduling: the first job whose needs are done goes to a free person, one who did what it
    needs where there is one. Jobs are ranked as they stand, by the longest chain they head,
    longest first, and by chance variations of the chains (seeded, so that the answer is always
    the same); the quickest is kept, and the order as it stands where that is within ORDERLY of it.

    Args:
        needs: for each job the earlier jobs it waits for.
        together: everybody is as quick as all bays begun so far allow; else as the own ones do.
        orders: chance variations tried.

    Leaves out: walking, waiting for a free hub or a helping hand, forgetting overnight.
    Source: Graham, Bounds on multiprocessing timing anomalies, SIAM J. Appl. Math. 17 (1969): at
    most 2 - 1/people times the optimum where times do not change.

    >>> jobs = [5.0, 5.0, 4.0, 4.0, 3.0, 3.0, 3.0]
    >>> plain = curve_of(27, 1.0, 1.0, 0.0, model="unit", before=0)
    >>> share_out(jobs, [()] * 7, 3, plain, together=False).elapsed_min
    9.0
    """
    chain = _chains(bays, needs)
    amounts = np.asarray(bays, dtype=np.float64)
    plain = [np.arange(len(bays), dtype=np.float64), -chain, -amounts]
    chance = np.random.default_rng(1)
    tries = min(orders, MOST_PLACINGS // max(len(bays), 1)) if people > 1 else 0
    ranks = plain + [-chain * chance.uniform(0.6, 1.4, len(bays)) for _ in range(tries)]
    bound = _bound(amounts, chain, people, curve, together=together)
    as_it_stands, *others = (
        _scheduled(bays, needs, people, curve, rank, bound, together=together) for rank in ranks
    )
    quickest = min(others, key=lambda found: found.elapsed_min)
    orderly = as_it_stands.elapsed_min <= ORDERLY * quickest.elapsed_min
    return as_it_stands if orderly else quickest


def _chains(bays: Sequence[float], needs: Sequence[Sequence[int]]) -> Floats:
    """Bays of the longest chain of jobs that each one heads, itself among them."""
    chain = np.array(bays, dtype=np.float64)
    for job in range(len(bays) - 1, -1, -1):
        for earlier in needs[job]:
            chain[earlier] = max(chain[earlier], bays[earlier] + chain[job])
    return chain


def _bound(amounts: Floats, chain: Floats, people: int, curve: Curve, *, together: bool) -> float:
    """No timetable is quicker: somebody does at least an equal share, and the longest chain takes
    its time even at the quickest pace."""
    total = float(amounts.sum())
    shared = curve.minutes(0.0, total) / people if together else curve.minutes(0.0, total / people)
    return max(shared, float(chain.max(initial=0.0)) * curve.quickest)


def _scheduled(
    bays: Sequence[float],
    needs: Sequence[Sequence[int]],
    people: int,
    curve: Curve,
    rank: Floats,
    bound: float,
    *,
    together: bool,
) -> Timetable:
    after: list[list[int]] = [[] for _ in bays]
    for job, earlier in enumerate(needs):
        for one in earlier:
            after[one].append(job)
    waits = [len(earlier) for earlier in needs]
    ready = [(float(rank[job]), job) for job, count in enumerate(waits) if not count]
    heapq.heapify(ready)
    start, end = np.zeros(len(bays)), np.zeros(len(bays))
    person = np.zeros(len(bays), dtype=np.int64)
    done = [0.0] * people
    begun = 0.0
    free = list(range(people))
    busy: list[tuple[float, int]] = []
    now = 0.0
    while ready or busy:
        while ready and free:
            _, job = heapq.heappop(ready)
            before = {int(person[one]) for one in needs[job]}
            who = min(free, key=lambda one: (one not in before, one))
            free.remove(who)
            minutes = curve.minutes(begun if together else done[who], bays[job])
            start[job], end[job], person[job] = now, now + minutes, who
            done[who] += bays[job]
            begun += bays[job]
            heapq.heappush(busy, (now + minutes, job))
        now, job = heapq.heappop(busy)
        finished = [job]
        while busy and busy[0][0] <= now:
            finished.append(heapq.heappop(busy)[1])
        for one in finished:
            free.append(int(person[one]))
            for later in after[one]:
                waits[later] -= 1
                if not waits[later]:
                    heapq.heappush(ready, (float(rank[later]), later))
    return Timetable(start, end, person, bound)

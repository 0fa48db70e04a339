"""Every ball followed through the machine, one event after the other.

A plain heap of events: (time, order made, what, where, epoch of the lift). Ties go by the order in
which events were made, so that one seed gives one history. A lift's epoch counts its stops: events
of an earlier epoch are void, and what they meant is made anew when the chain moves again.
"""

import math
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from heapq import heappop, heappush

import numpy as np

from .history import History, Outage, PlaceRecord, TooMuchWork, Watch
from .machine import EXPONENTIAL, UNIFORM, Machine

MOST_EVENTS = 2_000_000
_ARRIVE, _DONE, _HOOK, _TOP, _FEED, _STOP, _BACK, _SAMPLE, _START, _SETTLED, _RETURN, _LATE = range(
    12
)


def follow(
    machine: Machine,
    *,
    balls: int,
    spacing_s: float,
    settle_s: float,
    end_s: float,
    seed: Sequence[int],
    outages: Sequence[Outage] = (),
    watches: Sequence[Watch] = (),
    sample_every_s: float | None = None,
    usual_most: int | None = None,
    most_events: int = MOST_EVENTS,
) -> History:
    """One history from -settle_s to end_s; what happens before time 0 is not counted.

    Args:
        balls: put in at the machine's entry, one every `spacing_s` seconds from -settle_s on.
        seed: seeds numpy's PCG64; equal seeds give equal histories.
        usual_most: balls in the lines; moments with more of them are noted.
        outages: of the lifts; those of one lift must not overlap.

    Raises:
        TooMuchWork: over `most_events` events.
    """
    run = _Run(machine, np.random.Generator(np.random.PCG64(list(seed))), watches, most_events)
    run.usual_most = usual_most
    run.prepare(balls, spacing_s, settle_s, end_s, outages, sample_every_s)
    return run.go(end_s)


def uniforms(rng: np.random.Generator) -> Iterator[float]:
    """Numbers from [0, 1), drawn in blocks."""
    while True:
        yield from rng.random(1024).tolist()


class _Run:
    def __init__(
        self,
        machine: Machine,
        rng: np.random.Generator,
        watches: Sequence[Watch],
        most_events: int,
    ) -> None:
        count = len(machine.places)
        self.machine, self.places, self.most = machine, machine.places, most_events
        self.u = uniforms(rng)
        self.heap: list[tuple[float, int, int, int, int]] = []
        self.made = 0
        self.kind = [place.kind for place in self.places]
        ways = [machine.ways_on(k) for k in range(count)]
        self.ends = [[link.end for link in on] for on in ways]
        self.shares = [[link.share for link in on] for on in ways]
        self.credit = [[0.0] * len(on) for on in ways]
        self.turns = [machine.rotates(k) for k in range(count)]
        self.over = [machine.overflow_of(k) for k in range(count)]
        self.lines_of = [
            [k for k in range(count) if self.kind[k] == "line" and lift in self.ends[k]]
            for lift in range(count)
        ]
        self.count = [0] * count
        self.changed_s = [0.0] * count
        self.busy = [0] * count
        self.free_s = [-math.inf] * count
        self.since: list[deque[float]] = [deque() for _ in range(count)]  # arrivals, first in first
        self.tops: list[deque[float]] = [deque() for _ in range(count)]  # when balls leave a lift
        self.epoch = [0] * (count + 1)
        self.hook_due_s = [0.0] * count
        self.stopped_s = [0.0] * count
        self.fill = [0.0] * count
        self.returning = [False] * count
        self.outages: dict[int, deque[Outage]] = {}
        self.down = 0
        self.waiting = 0
        self.waiting_area = self.waiting_s = 0.0
        self.sample_peak = 0
        self.counting = False
        self.usual_most: int | None = None
        self.records = [PlaceRecord() for _ in range(count)]
        self.history = History(self.records, [None] * len(watches))
        self.watches: dict[int, list[tuple[int, int]]] = {}
        for k, watch in enumerate(watches):
            self.watches.setdefault(watch.place, []).append((watch.count, k))
        self.steps: dict[int, Callable[[float, int], None]] = {
            _ARRIVE: self._enter,
            _DONE: self._done,
            _HOOK: self._hook,
            _TOP: self._top,
            _FEED: self._feed,
            _STOP: self._stop,
            _BACK: self._back,
            _SAMPLE: self._sample,
            _START: self._start,
            _SETTLED: self._settled,
            _RETURN: self._return,
        }

    def push(self, at_s: float, what: int, place: int) -> None:
        self.made += 1
        if self.made > self.most:
            raise TooMuchWork
        heappush(self.heap, (at_s, self.made, what, place, self.epoch[place]))

    def prepare(
        self,
        balls: int,
        spacing_s: float,
        settle_s: float,
        end_s: float,
        outages: Sequence[Outage],
        sample_every_s: float | None,
    ) -> None:
        nowhere = len(self.places)
        self.settle_s = settle_s
        self.push(-0.5 * settle_s, _SETTLED, nowhere)
        self.push(0.0, _START, nowhere)
        if self.machine.entry is not None:
            for k in range(balls):
                self.push(-settle_s + k * spacing_s, _ARRIVE, self.machine.entry)
            self.history.put_in = balls
        lifts = self.machine.indices("lift")
        for order, k in enumerate(lifts):
            # Chains that start by themselves stand anyhow; in strict rotation evenly staggered.
            phase = (order + 0.5) / len(lifts) if self.machine.rotation else next(self.u)
            self.hook_due_s[k] = -settle_s + phase * self.places[k].hook_s
            self.push(self.hook_due_s[k], _HOOK, k)
            own = sorted((o for o in outages if o.lift == k), key=lambda o: o.stop_s)
            self.outages[k] = deque(own)
            self._next_outage(k)
        for k in self.machine.indices("feed"):
            self.push(-settle_s + self._gap(k), _FEED, k)
        if sample_every_s is not None:
            for k in range(int(end_s / sample_every_s + 1e-9) + 1):
                self.push(k * sample_every_s, _SAMPLE, nowhere)

    def go(self, end_s: float) -> History:
        heap, steps, epoch = self.heap, self.steps, self.epoch
        while heap and heap[0][0] <= end_s:
            now, _, what, place, made_in = heappop(heap)
            if made_in == epoch[place]:
                steps[what](now, place)
        return self._finish(end_s)

    # --- balls ---------------------------------------------------------------------------------

    def _enter(self, now: float, place: int) -> None:
        """A ball reaches a place: it goes in, or on to where the place overflows to."""
        while True:
            kind, spec, record = self.kind[place], self.places[place], self.records[place]
            record.arrived += 1
            if place == self.machine.entry:
                self.history.entered_s.append(now)
            full = spec.places is not None and (
                self.count[place] - (self.busy[place] if kind == "station" else 0) >= spec.places
                and not (kind == "station" and self.busy[place] < spec.servers)
            )
            if kind == "line" and spec.headway_s > 0.0:
                full = full or now < self.free_s[place] - 1e-9
            if full:
                record.turned_away += 1
                if self.counting and record.turned_away_s is None:
                    record.turned_away_s = now
                over = self.over[place]
                assert over is not None, "every place with a limit has an overflow"
                place = over
                continue
            passes = kind == "path" and spec.time_s == 0.0 and now >= self.free_s[place]
            if kind != "split" and not passes:
                break
            record.left += 1
            self.free_s[place] = now + spec.headway_s
            place = self._way_on(place)
        self._stay(now, place, kind)

    def _stay(self, now: float, place: int, kind: str) -> None:
        spec, record = self.places[place], self.records[place]
        if kind == "drain":
            record.left += 1
            self.history.drained += 1
            return
        self._count(now, place, 1)
        if kind == "path":
            leaves = max(now, self.free_s[place])
            self.free_s[place] = leaves + spec.headway_s
            leaves += self._time(place)
            record.stay_s += leaves - now
            record.left += 1
            self.push(leaves, _DONE, place)
        elif kind == "station":
            self.since[place].append(now)
            if self.busy[place] < spec.servers:
                self.busy[place] += 1
                self.push(now + self._time(place), _DONE, place)
            else:
                record.waited += 1
        elif kind == "line":
            self.since[place].append(now)
            self.free_s[place] = now + spec.headway_s
            self._wait(now, 1)
            if self.counting and record.full_s is None and self.count[place] == spec.places:
                record.full_s = now
        else:
            self.history.spilled += 1
            self.history.in_baskets += 1
            self.history.most_in_baskets = max(
                self.history.most_in_baskets, self.history.in_baskets
            )
            self._start_return(now, place)

    def _done(self, now: float, place: int) -> None:
        self._count(now, place, -1)
        if self.kind[place] == "station":
            record = self.records[place]
            record.left += 1
            record.stay_s += now - self.since[place].popleft()
            if self.count[place] >= self.busy[place]:
                self.push(now + self._time(place), _DONE, place)
            else:
                self.busy[place] -= 1
        self._enter(now, self._way_on(place))

    def _feed(self, now: float, place: int) -> None:
        record = self.records[place]
        record.arrived += 1
        record.left += 1
        self.history.fed += 1
        self.push(now + self._gap(place), _FEED, place)
        self._enter(now, self._way_on(place))

    def _way_on(self, place: int) -> int:
        ends = self.ends[place]
        if len(ends) == 1:
            return ends[0]
        shares = self.shares[place]
        if self.turns[place]:
            credit = self.credit[place]
            for k, share in enumerate(shares):
                credit[k] += share
            best = max(range(len(credit)), key=lambda k: credit[k])
            credit[best] -= 1.0
            return ends[best]
        u = next(self.u)
        for end, share in zip(ends, shares, strict=True):
            u -= share
            if u < 0.0:
                return end
        return ends[-1]

    def _time(self, place: int) -> float:
        spec = self.places[place]
        if spec.times == EXPONENTIAL:
            return -spec.time_s * math.log(1.0 - next(self.u))
        if spec.times == UNIFORM:
            return spec.time_s + spec.half_s * (2.0 * next(self.u) - 1.0)
        return spec.time_s

    def _gap(self, feed: int) -> float:
        spec = self.places[feed]
        mean = 1.0 / spec.feed_per_s
        return -mean * math.log(1.0 - next(self.u)) if spec.times == EXPONENTIAL else mean

    # --- lifts ---------------------------------------------------------------------------------

    def _hook(self, now: float, lift: int) -> None:
        """A hook passes the foot: it takes what its fill and the lines give."""
        spec = self.places[lift]
        self.hook_due_s[lift] = now + spec.hook_s
        self.push(self.hook_due_s[lift], _HOOK, lift)
        for _ in range(spec.per_hook):
            for line in self.lines_of[lift]:
                if self.count[line]:
                    break
            else:
                return
            if spec.fill < 1.0 and not self._carries(lift, spec.fill):
                continue
            record = self.records[line]
            record.left += 1
            record.stay_s += now - self.since[line].popleft()
            self._count(now, line, -1)
            self._wait(now, -1)
            self.records[lift].arrived += 1
            self._count(now, lift, 1)
            self.since[lift].append(now)
            self.tops[lift].append(now + spec.time_s)
            self.push(now + spec.time_s, _TOP, lift)

    def _carries(self, lift: int, fill: float) -> bool:
        if not self.turns[lift]:
            return next(self.u) < fill
        self.fill[lift] += fill
        if self.fill[lift] < 1.0 - 1e-9:
            return False
        self.fill[lift] -= 1.0
        return True

    def _top(self, now: float, lift: int) -> None:
        self.tops[lift].popleft()
        record = self.records[lift]
        record.left += 1
        record.stay_s += now - self.since[lift].popleft()
        self._count(now, lift, -1)
        self._enter(now, self._way_on(lift))

    def _next_outage(self, lift: int) -> None:
        if self.outages[lift]:
            self.push(self.outages[lift][0].stop_s, _STOP, lift)

    def _stop(self, now: float, lift: int) -> None:
        self.epoch[lift] += 1
        self.stopped_s[lift] = now
        self.down += 1
        self.push(self.outages[lift].popleft().back_s, _BACK, lift)

    def _back(self, now: float, lift: int) -> None:
        """The chain moves again with what hung on it; all of it is late by the time it stood."""
        late = now - self.stopped_s[lift]
        self.history.down_s += late
        self.down -= 1
        self.hook_due_s[lift] += late
        self.push(self.hook_due_s[lift], _HOOK, lift)
        self.tops[lift] = deque(top + late for top in self.tops[lift])
        for top in self.tops[lift]:
            self.push(top, _TOP, lift)
        self._next_outage(lift)
        if self.down == 0:
            for basket in self.machine.indices("basket"):
                self._start_return(now, basket)

    # --- baskets -------------------------------------------------------------------------------

    def _start_return(self, now: float, basket: int) -> None:
        every = self.places[basket].put_back_s
        ready = every is not None and self.down == 0 and not self.returning[basket]
        if ready and every is not None and self.count[basket]:
            self.returning[basket] = True
            self.push(now + every, _RETURN, basket)

    def _return(self, now: float, basket: int) -> None:
        """Somebody puts one ball back; with a lift stopped nobody does."""
        self.returning[basket] = False
        if self.down or not self.count[basket]:
            return
        self.records[basket].left += 1
        self._count(now, basket, -1)
        self.history.in_baskets -= 1
        self._enter(now, self._way_on(basket))
        self._start_return(now, basket)

    # --- what is written down ------------------------------------------------------------------

    def _count(self, now: float, place: int, by: int) -> None:
        record, count = self.records[place], self.count[place]
        record.area += count * (now - self.changed_s[place])
        self.changed_s[place] = now
        self.count[place] = count = count + by
        if count > record.peak:
            record.peak = count
        if by > 0 and self.counting and place in self.watches:
            for wanted, k in self.watches[place]:
                if count >= wanted and self.history.watch_s[k] is None:
                    self.history.watch_s[k] = now

    def _wait(self, now: float, by: int) -> None:
        self.waiting_area += self.waiting * (now - self.waiting_s)
        self.waiting_s = now
        self.waiting += by
        if self.waiting > self.sample_peak:
            self.sample_peak = self.waiting
        if self.waiting > self.history.most_waiting:
            self.history.most_waiting, self.history.most_waiting_s = self.waiting, now
        if by < 0 and self.waiting == self.usual_most:
            self.history.last_crowded_s = now

    def _settled(self, now: float, _: int) -> None:
        self.waiting_area, self.waiting_s = 0.0, now

    def _start(self, now: float, _: int) -> None:
        """Time 0: what was seen so far is forgotten, but for what usually waits."""
        self._wait(now, 0)
        if self.settle_s > 0.0:
            self.history.usual_waiting = self.waiting_area / (0.5 * self.settle_s)
        for place, record in enumerate(self.records):
            record.__init__(peak=self.count[place])  # type: ignore[misc]
            self.changed_s[place] = now
        self.history.most_waiting, self.history.most_waiting_s = self.waiting, now
        self.history.spilled = 0
        self.history.most_in_baskets = self.history.in_baskets
        self.sample_peak = self.waiting
        self.counting = True

    def _sample(self, now: float, _: int) -> None:
        self.history.sample_s.append(now)
        self.history.waiting.append(self.sample_peak)
        self.history.off.append(self.history.in_baskets)
        self.sample_peak = self.waiting

    def _finish(self, end_s: float) -> History:
        for place in range(len(self.places)):
            self._count(end_s, place, 0)
        if self.usual_most is not None and self.waiting > self.usual_most:
            self.history.last_crowded_s = end_s
        baskets = set(self.machine.indices("basket"))
        self.history.on_machine = sum(n for k, n in enumerate(self.count) if k not in baskets)
        not_yet = sum(1 for event in self.heap if event[2] == _ARRIVE)
        self.history.on_machine += not_yet
        self.history.events = self.made
        return self.history

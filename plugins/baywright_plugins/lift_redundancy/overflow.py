"""What gathers on the return lane after lifts stop: a fluid model with delays."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

MOST_STEPS = 2_000


class TooManySteps(ValueError):
    """Transit times so unlike, or so short, that the steps cannot be counted out."""


@dataclass(frozen=True)
class Gathering:
    """Extra balls waiting at the foot of the lifts, over time since the stop.

    `time_s` and `extra_balls` are corners of a broken line. `overflow_s` is None where the free
    places suffice; `peak_s` is the first moment of the peak.
    """

    time_s: tuple[float, ...]
    extra_balls: tuple[float, ...]
    peak_balls: float
    peak_s: float
    overflow_s: float | None


def gathering_after_stop(
    before_per_s: float,
    capacity_per_s: float,
    still_running: float,
    lift_transit_s: float,
    paths: Sequence[tuple[float, float]],
    free_places: float | None = None,
) -> Gathering:
    """Extra balls after some lifts stop at t = 0.

        top(t)      = before x still_running            for t < lift time, then what was picked up
        arrivals(t) = sum of share x top(t - transit)    (before, while t < transit)
        d extra/dt  = arrivals - capacity, never below zero extra

    After the slowest path plus one lift time every arrival was picked up after the stop, at
    most at `capacity_per_s`; from then on the line cannot rise, so the answer is complete there.

    Args:
        before_per_s: balls a second round the machine before the stop.
        capacity_per_s: what the running lifts can take, balls a second.
        still_running: share of the balls on the lifts that still arrive at the top, 0 to 1.
        lift_transit_s: time from foot to top, > 0.
        paths: (transit_s, share) of each way from the top back to the foot; shares add to 1.
        free_places: extra balls the lane can hold; None: no limit known.

    Raises:
        TooManySteps: over 2,000 corners.

    Leaves out: balls are a fluid, each path takes its exact share at every moment. When balls
    choose at random the real peak is about a third higher (simulated, no published source).
    """
    end = max(transit for transit, _ in paths) + lift_transit_s
    # Picked up: a step function of time, kept as start times and rates.
    starts: list[float] = []
    rates: list[float] = []

    def top(t: float) -> float:
        if t < lift_transit_s - 1e-9:
            return before_per_s * still_running
        place = bisect_right(starts, t - lift_transit_s + 1e-9) - 1
        return rates[place] if still_running > 0.0 else 0.0

    def arrivals(t: float) -> float:
        return sum(
            share * (before_per_s if t < transit - 1e-9 else top(t - transit))
            for transit, share in paths
        )

    corners = sorted(
        {transit for transit, _ in paths} | {transit + lift_transit_s for transit, _ in paths}
    )
    now, extra = 0.0, 0.0
    times, extras = [0.0], [0.0]
    while now < end - 1e-9:
        if len(times) > MOST_STEPS:
            raise TooManySteps
        arriving = arrivals(now)
        slope = arriving - capacity_per_s
        empty = extra <= 1e-12 and slope <= 0.0
        picked = arriving if empty else capacity_per_s
        if not rates or abs(rates[-1] - picked) > 1e-12:
            starts.append(now)
            rates.append(picked)
            for transit, _ in paths:
                heappush(corners, now + lift_transit_s + transit)
        while corners and corners[0] <= now + 1e-9:
            heappop(corners)
        until = min(corners[0] if corners else end, end)
        if empty:
            extra = 0.0
        elif slope < 0.0 and now - extra / slope < until:
            until = max(now - extra / slope, now + 1e-9)
            extra = 0.0
        else:
            extra += slope * (until - now)
        now = until
        times.append(now)
        extras.append(extra)
    peak = max(extras)
    return Gathering(
        time_s=tuple(times),
        extra_balls=tuple(extras),
        peak_balls=peak,
        peak_s=times[extras.index(peak)],
        overflow_s=_first_above(times, extras, free_places),
    )


def _first_above(
    times: Sequence[float], extras: Sequence[float], places: float | None
) -> float | None:
    if places is None:
        return None
    for k in range(1, len(times)):
        if extras[k] > places + 1e-9:
            share = (places - extras[k - 1]) / (extras[k] - extras[k - 1])
            return times[k - 1] + max(share, 0.0) * (times[k] - times[k - 1])
    return None

"""Speed and time along a stretch on which what drives and what holds back are known.

All in terms of u = v^2, because du/ds is what the forces give. SI units.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class End:
    """Speed squared at the end, time taken, and how far the ball got (less than the length if it
    stopped)."""

    squared: float
    time_s: float
    reached_m: float
    stops: bool


def uniform(squared: float, drive: float, brake: float, length_m: float) -> End:
    """Along `length_m` with du/ds = A - B u: a straight with rolling resistance and air.

        u = A/B + (u0 - A/B) exp(-B s);   A > 0: t = (2 ln((w + v)/(w + v0)) + B s)/sqrt(A B),
        w = sqrt(A/B);   A < 0: t = 2 (atan(v0/w) - atan(v/w))/sqrt(-A B)

    Args:
        squared: u0, speed squared at the start, m2/s2.
        drive: A, in m/s2, twice the acceleration at no speed.
        brake: B >= 0, in 1/m.

    Leaves out: nothing beyond constant A and B.
    Source: integration of dv/dt = (A - B v^2)/2; tests hold it to scipy's solve_ivp.

    >>> end = uniform(0.0, 2.0, 0.0, 4.0)
    >>> round(end.squared, 9), round(end.time_s, 9)
    (8.0, 2.828427125)
    """
    if length_m <= 0:
        return End(squared, 0.0, 0.0, False)
    if squared <= 0 and drive <= 0:
        return End(0.0, 0.0, 0.0, True)
    if drive < 0:
        reach = _stopping_distance(squared, drive, brake)
        if reach <= length_m:
            return End(0.0, _time(squared, 0.0, drive, brake, reach), reach, True)
    last = _squared_after(squared, drive, brake, length_m)
    return End(last, _time(squared, last, drive, brake, length_m), length_m, False)


def _squared_after(squared: float, drive: float, brake: float, length_m: float) -> float:
    far = brake * length_m
    if far < 1e-12:
        return max(0.0, squared + drive * length_m)
    return max(0.0, squared * math.exp(-far) - drive / brake * math.expm1(-far))


def _stopping_distance(squared: float, drive: float, brake: float) -> float:
    if brake * squared <= 1e-12 * -drive:
        return squared / -drive
    return math.log1p(brake * squared / -drive) / brake


def _time(first: float, last: float, drive: float, brake: float, length_m: float) -> float:
    start, end = math.sqrt(first), math.sqrt(last)
    if brake * length_m < 1e-9 or drive == 0 and start == end:
        return 2 * length_m / (start + end)
    if drive == 0:
        return 2 / brake * (1 / end - 1 / start)
    rate = math.sqrt(abs(drive) * brake)
    settled = math.sqrt(abs(drive) / brake)
    if drive > 0 and min(start, end) > 2 * settled:  # the sum below would cancel out
        return 2 * (math.atanh(settled / end) - math.atanh(settled / start)) / rate
    if drive > 0:
        return (2 * math.log1p((end - start) / (settled + start)) + brake * length_m) / rate
    return 2 * (math.atan(start / settled) - math.atan(end / settled)) / rate


@dataclass(frozen=True)
class Bend:
    """A bend walked in small steps: speed squared and time at each, and whether the ball stops."""

    along_m: list[float]
    squared: list[float]
    time_s: list[float]
    stops: bool


STEPS = 96  # a bend of 360 deg in steps of under 4 deg; errors below 1e-5 by the tests


def stepped(
    squared: float, length_m: float, push: Callable[[float, float], float], steps: int = STEPS
) -> Bend:
    """Along a bend where du/ds = push(s, u) changes on the way, by Runge-Kutta steps.

    Time over a step is that of constant acceleration, 2 ds/(v0 + v1).

    Source: the classical fourth-order method, any numerical text.
    """
    step = length_m / steps
    along, track, clock = [0.0], [squared], [0.0]
    for k in range(steps):
        s, u = k * step, track[-1]
        k1 = push(s, u)
        k2 = push(s + step / 2, max(0.0, u + step / 2 * k1))
        k3 = push(s + step / 2, max(0.0, u + step / 2 * k2))
        k4 = push(s + step, max(0.0, u + step * k3))
        after = u + step * (k1 + 2 * k2 + 2 * k3 + k4) / 6
        if after <= 0:
            share = u / (u - after) if u > after else 0.0
            along.append(s + share * step)
            track.append(0.0)
            clock.append(clock[-1] + (2 * share * step / math.sqrt(u) if u > 0 else 0.0))
            return Bend(along, track, clock, True)
        along.append(s + step)
        track.append(after)
        clock.append(clock[-1] + 2 * step / (math.sqrt(u) + math.sqrt(after)))
    return Bend(along, track, clock, False)

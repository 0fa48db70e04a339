"""One panel in one orientation under hits everywhere: the range at each place, and the worst."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .contact_law import ContactLaw
from .panel_frame import Carried, NotHeld, Panel, places_hit
from .panel_parts import Place
from .peak_force import Blow, Peak, Spot, peak, pulse_s
from .swing import follow, two_masses
from .usage import CHECKS, Strength, force_at

Floats = NDArray[np.float64]
Row = tuple[float, int, int]
Laws = Callable[[str], tuple[ContactLaw, ContactLaw]]

#: How much of the slowest swing is followed: down, up again and a little more.
_SWINGS = 0.8
_SAMPLES = 330
_COARSE = 3  # of these samples every third is looked at first
_CURVE_SAMPLES = 160


@dataclass(frozen=True)
class Hit:
    """One landing place: its range of forces, what they use of the weakest part (with the reserve
    on seats), and the pull at the support that lifts most."""

    place: Place
    spot: Spot
    peak: Peak
    seat_slips_n: float
    gives_n: float
    allowed_n: float
    used_low: float
    used_still: float
    used_high: float
    gives_first: str
    role: str
    slips_by: str
    lifts_low_n: float
    lifts_high_n: float


@dataclass(frozen=True)
class Study:
    """All places of one orientation; `worst` is an index."""

    panel: Panel
    hits: tuple[Hit, ...]
    worst: int
    own_weight: float
    followed_s: float

    @property
    def worst_hit(self) -> Hit:
        return self.hits[self.worst]


@dataclass(frozen=True)
class Curve:
    """Time course of one hit with dent and panel as two springs and two masses."""

    time_s: Floats
    touch_n: Floats
    panel_n: Floats


class NowhereToLand(ArithmeticError):
    """Every place lies right on a support."""


@dataclass(frozen=True)
class Bounds:
    """What is known only between bounds and was not in the contact: the dullest bounce, and the
    panel's damping (share of the critical)."""

    restitution: float
    damping_min: float
    damping_max: float


def study(panel: Panel, blow: Blow, laws: Laws, reserve: float, bounds: Bounds) -> Study:
    """Hits at every place, by steady forces and followed in time.

    What a place uses at most is the larger of both; swinging back counts in the course of time. At
    the worst place the least is that of the
    softest dent and the dullest bounce followed in time, if it is more than the steady least.

    Args: laws: softest and stiffest contact for a kind of place.

    Raises:
        NowhereToLand, NotHeld
    """
    places = places_hit(panel)
    if not places:
        raise NowhereToLand
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        found = _study(panel, blow, laws, reserve, bounds, places)
    numbers = [
        (hit.used_high, hit.used_low, hit.peak.high_n, hit.peak.touch_high_n, hit.lifts_high_n)
        for hit in found.hits
    ]
    if not np.isfinite([*np.ravel(numbers), found.own_weight]).all():
        raise NotHeld("forces too large to be told")
    return found


def _study(
    panel: Panel, blow: Blow, laws: Laws, reserve: float, bounds: Bounds, places: list[Place]
) -> Study:
    strength = Strength.of(panel.rod_bars, panel.parts.spec.seat, reserve)
    still = panel.own_weight(blow.gravity_m_s2)
    points = [place.point for place in places]
    carried = panel.carried.times(np.eye(len(panel.points_mm))[:, points])
    spots = [Spot(panel.stiffness_n_mm(p), panel.moving_kg(p)) for p in points]
    peaks = [peak(blow, spot, *laws(place.kind)) for place, spot in zip(places, spots, strict=True)]
    low, high = (np.array([getattr(p, name) for p in peaks]) for name in ("low_n", "high_n"))
    used_low = strength.worst(carried.swung(low, still))[0]
    used_still, check, bar = strength.worst(carried.swung(high, still))
    followed = _follow_all(
        panel, blow, laws, places, spots, strength, still,
        hard=True, restitution=1.0, damping=bounds.damping_min,
    )  # fmt: skip
    used_high = np.maximum(used_still, followed.used)
    more = followed.used > used_still
    check, bar = np.where(more, followed.check, check), np.where(more, followed.bar, bar)
    worst = int(np.argmax(used_high >= used_high.max() * (1 - 1e-9)))
    softly = _follow_all(
        panel, blow, laws, [places[worst]], [spots[worst]], strength, still,
        hard=False, restitution=bounds.restitution, damping=bounds.damping_max,
    )  # fmt: skip
    used_low = np.minimum(used_low, used_high)
    used_low[worst] = min(max(used_low[worst], softly.used[0]), used_high[worst])
    plain = replace(strength, reserve=1.0)
    slips = force_at(plain, carried, still, seats_only=True)
    slipping = plain.worst(carried.swung(slips, still), seats_only=True)[1]
    gives = force_at(plain, carried, still)
    allowed = force_at(strength, carried, still)
    lifts = [_lifts(panel, p, pk, blow.gravity_m_s2) for p, pk in zip(points, peaks, strict=True)]
    hits = tuple(
        Hit(
            places[k],
            spots[k],
            peaks[k],
            float(slips[k]),
            float(gives[k]),
            float(allowed[k]),
            float(used_low[k]),
            float(used_still[k]),
            float(used_high[k]),
            CHECKS[check[k]],
            panel.rod_bars[bar[k]].role,
            CHECKS[slipping[k]],
            *lifts[k],
        )
        for k in range(len(places))
    )
    own = float(strength.worst(still)[0][0])
    return Study(panel, hits, worst, own, followed.until_s)


@dataclass(frozen=True)
class _Followed:
    used: Floats
    check: NDArray[np.int64]
    bar: NDArray[np.int64]
    until_s: float


def _follow_all(
    panel: Panel,
    blow: Blow,
    laws: Laws,
    places: list[Place],
    spots: list[Spot],
    strength: Strength,
    still: Carried,
    *,
    hard: bool,
    restitution: float,
    damping: float,
) -> _Followed:
    """What each hit uses at most over time, in all shapes of the panel."""
    by_shape = panel.carried_by_shapes()
    course = follow(
        panel.shapes([place.point for place in places]),
        [laws(place.kind)[hard] for place in places],
        mass_kg=blow.mass_kg,
        speed_m_s=blow.speed_m_s,
        gravity_m_s2=blow.gravity_m_s2,
        restitution=restitution,
        until_s=max(
            _until_s(blow, spot, laws(place.kind)[hard])
            for spot, place in zip(spots, places, strict=True)
        ),
        samples=_SAMPLES,
        damping=damping,
    )
    rows = []
    for k in range(len(places)):
        amounts = course.amounts[:, :, k].T

        def most(at: NDArray[np.int64], amounts: Floats = amounts) -> tuple[int, Row]:
            swing = by_shape.times(amounts[:, at])
            used, check, bar = strength.worst(swing.swung(np.ones(1), still))
            top = int(used.argmax())
            return int(at[top]), (float(used[top]), int(check[top]), int(bar[top]))

        near, coarse = most(np.arange(0, amounts.shape[1], _COARSE))
        low, high = max(near - _COARSE, 0), min(near + _COARSE, amounts.shape[1])
        rows.append(max(coarse, most(np.arange(low, high))[1]))
    used, check, bar = (np.array(column) for column in zip(*rows, strict=True))
    return _Followed(used, check, bar, float(course.time_s[-1]))


def _until_s(blow: Blow, spot: Spot, law: ContactLaw) -> float:
    """Time for the touch, the way through a cushion, and most of a swing of both together."""
    mass = blow.mass_kg + spot.moving_kg
    swing = 2 * math.pi * math.sqrt(mass / (1000 * spot.stiffness_n_mm))
    through = 2 * law.travel_mm / (1000 * blow.speed_m_s)
    return _SWINGS * swing + pulse_s(blow, law) + through


def _lifts(panel: Panel, point: int, hit: Peak, gravity_m_s2: float) -> tuple[float, float]:
    """Largest pull up at one support beyond its share of the own weight, at least and at most:
    on the far side of the hit, or as the panel swings back."""
    share = panel.pushed_n[:, point]
    weight = panel.pushed_n @ (panel.mass_kg * gravity_m_s2)

    def pull(force: float, back: float) -> float:
        return max(0.0, float((np.maximum(-share * force, share * back) - weight).max()))

    return pull(hit.low_n, hit.back_low_n), pull(hit.high_n, hit.back_high_n)


def curve(hit: Hit, blow: Blow, law: ContactLaw, *, restitution: float, damping: float) -> Curve:
    """The hit followed with the panel as one mass on one spring, until it has swung back."""
    course = follow(
        two_masses(hit.spot.stiffness_n_mm, hit.spot.moving_kg),
        [law],
        mass_kg=blow.mass_kg,
        speed_m_s=blow.speed_m_s,
        gravity_m_s2=blow.gravity_m_s2,
        restitution=restitution,
        until_s=_until_s(blow, hit.spot, law),
        samples=_CURVE_SAMPLES,
        damping=damping,
    )
    answer = course.deflection_mm[:, 0] * hit.spot.stiffness_n_mm
    return Curve(course.time_s, course.touch_n[:, 0], answer)

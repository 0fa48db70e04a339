"""The ball, what holds it back, and what it rolls on: metres, kilograms, radians."""

import math
from dataclasses import dataclass

#: Moment of inertia as a share of m R^2. Source: any mechanics text.
INERTIA = {"solid": 2 / 5, "hollow": 2 / 3}


@dataclass(frozen=True)
class Ball:
    """`inertia` is I/(m R^2): 2/5 solid, 2/3 a thin shell."""

    diameter_m: float
    mass_kg: float
    inertia: float

    @property
    def radius_m(self) -> float:
        """Half the diameter."""
        return self.diameter_m / 2


@dataclass(frozen=True)
class Losses:
    """One choice of all that is not known exactly.

    `resistance` is rolling resistance over the load on a plane, `friction` the sliding kind,
    `drag_per_m` air drag over mass and speed squared, `restitution` that of a landing,
    `tilt_rad` how much steeper the whole ramp stands than drawn.
    """

    resistance: float
    friction: float
    drag_per_m: float
    restitution: float
    tilt_rad: float = 0.0


def inertia_about(ball: Ball, effective_radius_m: float) -> float:
    """I/(m r^2) of a ball whose contacts lie `effective_radius_m` (r) from its axis of turning.

    On a plane r is the ball's radius; on two rails it is smaller, so the ball turns faster and
    starts more slowly.
    """
    return ball.inertia * (ball.radius_m / effective_radius_m) ** 2


def rolling_acceleration(
    slope_rad: float, inertia: float, gravity_m_s2: float, resistance: float = 0.0
) -> float:
    """a = g (sin t - c cos t)/(1 + I/(m r^2)), in m/s2, down the slope positive.

    Args:
        inertia: I/(m r^2) as `inertia_about` gives it.
        resistance: c, rolling resistance over the load across the track.

    Leaves out: slip (see `slip.py`), air.
    Source: any mechanics text; 5/7 g sin t for a solid ball on a plane; KoMaL P.4699 on rails.

    >>> round(rolling_acceleration(math.radians(30), 2 / 5, 9.80665), 5)
    3.50237
    """
    pull = math.sin(slope_rad) - resistance * math.cos(slope_rad)
    return gravity_m_s2 * pull / (1 + inertia)


def drag_per_m(ball: Ball, drag_coefficient: float, air_kg_m3: float) -> float:
    """rho c_d A/(2 m), in 1/m: times the speed squared it is what air takes, in m/s2.

    Source: definition of the drag coefficient; 0.4 to 0.5 for a smooth ball between Reynolds
    numbers of 1e3 and 1e5, from memory of any text on fluids.
    """
    area = math.pi * ball.radius_m**2
    return air_kg_m3 * drag_coefficient * area / (2 * ball.mass_kg)

"""How hard a panel is hit, as a range: from "both take one speed" to "nothing is lost".

Newtons, millimetres, kilograms, N mm.
"""

import math
from dataclasses import dataclass

from ..floor_tiling_ratio.drop_impact import impact
from .contact_law import ContactLaw, most_force

#: The most a spring-held mass answers to one half-sine push, over the push held still.
MOST_AMPLIFIED = 1.768
#: Share of the least force that is left when ball and panel meet again and again and lose a
#: little each time; found by integrating random pairs, see the tests.
LATER_TOUCHES = 0.8


@dataclass(frozen=True)
class Blow:
    """What falls: mass, height of the fall, gravity; the vertical part alone does the pressing."""

    mass_kg: float
    height_mm: float
    gravity_m_s2: float

    @property
    def weight_n(self) -> float:
        return self.mass_kg * self.gravity_m_s2

    @property
    def energy_n_mm(self) -> float:
        return self.weight_n * self.height_mm

    @property
    def speed_m_s(self) -> float:
        return math.sqrt(2 * self.gravity_m_s2 * self.height_mm / 1000)


@dataclass(frozen=True)
class Spot:
    """One landing place: stiffness there and the mass that moves with it."""

    stiffness_n_mm: float
    moving_kg: float

    @property
    def period_s(self) -> float:
        """Of the panel swinging alone with the shape of this hit."""
        return 2 * math.pi * math.sqrt(self.moving_kg / (1000 * self.stiffness_n_mm))


@dataclass(frozen=True)
class Peak:
    """Equivalent force on the panel (N): at least, by energy in series with the dent, at most;
    energy the panel takes (N mm); force between ball and panel; and the part of the force with
    which the panel swings back up once the ball has left it."""

    low_n: float
    series_n: float
    high_n: float
    energy_low_n_mm: float
    energy_high_n_mm: float
    touch_low_n: float
    touch_high_n: float
    back_low_n: float
    back_high_n: float


def half_sine_amplification(pulse_over_period: float) -> float:
    """Most that a push of this length or any longer one is amplified: 2 r/(2 r - 1), 1.768 at most.

    Args: pulse_over_period: r, duration of the push over the panel's own period.

    Leaves out: damping; that a blow is not quite a half sine.
    Source: response spectrum of a half-sine pulse, undamped, as in Harris' Shock and Vibration
    Handbook, chapter 8, from memory; a test integrates it.
    """
    if pulse_over_period <= 1.0:
        return MOST_AMPLIFIED
    return min(MOST_AMPLIFIED, 2 * pulse_over_period / (2 * pulse_over_period - 1))


def half_sine_peak(speed_change_m_s: float, duration_s: float) -> float:
    """Peak of the half-sine pulse that changes a speed in a given time: A = (pi/2) dv/D, m/s2.

    What a shock logger is read by. Source: IEC 60068-2-27, dv = (2/pi) A D, Table 1.
    """
    return math.pi / 2 * speed_change_m_s / duration_s


def peak(blow: Blow, spot: Spot, soft: ContactLaw, hard: ContactLaw) -> Peak:
    """The range of one hit.

    Least: ball and panel take one speed and the rest is lost, or the softest dent takes its share
    where that leaves less; and a fifth off for touches that follow. Most: nothing is lost,
    F = W + sqrt(W^2 + 2 k E), unless the cushion makes the push so gentle that less can come of
    it: amplification x force on a rigid floor.

    Leaves out: that the panel swings in more than one shape (the time course has all of them);
    damping; balls that strike a panel still swinging.
    Source: energy, as `floor_tiling_ratio.drop_impact.impact`; bounds tested against integration
    of both equations of motion.
    """
    k, moving = spot.stiffness_n_mm, spot.moving_kg
    height_m = blow.height_mm / 1000
    shared = impact(blow.mass_kg, height_m, 1000 * k, moving, blow.gravity_m_s2)
    whole = impact(blow.mass_kg, height_m, 1000 * k, 0.0, blow.gravity_m_s2)
    series = most_force(soft, blow.weight_n, blow.energy_n_mm, 1 / k)
    rigid = most_force(hard, blow.weight_n, blow.energy_n_mm)
    pulse = pulse_s(blow, hard)
    period = spot.period_s
    factor = half_sine_amplification(pulse / period) if period > 0 else 1.0
    high = min(whole.force_n, factor * rigid)
    low = LATER_TOUCHES * min(shared.force_n, series, high)
    ratio = moving / blow.mass_kg
    return Peak(
        low_n=low,
        series_n=series,
        high_n=high,
        energy_low_n_mm=low**2 / (2 * k),
        energy_high_n_mm=high**2 / (2 * k),
        touch_low_n=min(series, rigid),
        touch_high_n=rigid,
        back_low_n=low * math.sqrt(ratio / (1 + ratio)),
        back_high_n=high * 2 * math.sqrt(ratio) / (1 + ratio),
    )


def pulse_s(blow: Blow, law: ContactLaw) -> float:
    """How long the ball touches a rigid floor: half a swing on the cushion, or Hertz's time."""
    force = most_force(law, blow.weight_n, blow.energy_n_mm)
    if 0 < force <= law.flat_n:
        return math.pi * math.sqrt(blow.mass_kg / (1000 * law.cushion_n_mm))
    dent = law.approach_mm(force) - law.travel_mm
    return 2.943 * dent / (1000 * blow.speed_m_s)

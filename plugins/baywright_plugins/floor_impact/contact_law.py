"""What lies between ball and panel: the dent of both, and a cushion that may lie on top.

Newtons, millimetres, N mm.
"""

import math
from dataclasses import dataclass

from scipy.optimize import brentq


@dataclass(frozen=True)
class ContactLaw:
    """Force over approach: a linear cushion of `travel_mm`, and the dent once it is flat.

    `dent_n_mm15` is Hertz's stiffness; a cushion of travel 0 is none.
    """

    dent_n_mm15: float
    cushion_n_mm: float = 0.0
    travel_mm: float = 0.0

    @property
    def flat_n(self) -> float:
        """Force at which the cushion lies flat; 0 without one."""
        return self.cushion_n_mm * self.travel_mm

    def approach_mm(self, force_n: float) -> float:
        """Where it reaches a force of 0 or more."""
        if force_n < self.flat_n:
            return force_n / self.cushion_n_mm
        dent = ((force_n - self.flat_n) / self.dent_n_mm15) ** (2 / 3)
        return self.travel_mm + float(dent)

    def energy_n_mm(self, approach_mm: float) -> float:
        """What it stores: area under the force."""
        soft, hard = min(approach_mm, self.travel_mm), max(approach_mm - self.travel_mm, 0.0)
        stored = self.cushion_n_mm * soft**2 / 2 + self.flat_n * hard
        return float(stored + 0.4 * self.dent_n_mm15 * hard**2.5)

    def stiffness_n_mm(self, approach_mm: float) -> float:
        """The steepest slope of the force up to an approach."""
        hard = max(approach_mm - self.travel_mm, 0.0)
        return max(self.cushion_n_mm, 1.5 * self.dent_n_mm15 * math.sqrt(hard))


def most_force(
    law: ContactLaw, weight_n: float, energy_n_mm: float, panel_mm_n: float = 0.0
) -> float:
    """Largest force where energy and weight press contact and a massless panel in series.

        E + W (d + F c) = U(d) + F^2 c/2,  F = F(d)

    Args: panel_mm_n: c, deflection of the panel per newton; 0 for one that does not give.

    Leaves out: the panel's mass, all losses.
    Source: energy; without the dent it is `impact_factor` of Gere and Goodno, to which a test
    holds it.
    """

    def missing(force_n: float) -> float:
        dent = law.approach_mm(force_n)
        stored = law.energy_n_mm(dent) + force_n**2 * panel_mm_n / 2
        return stored - weight_n * (dent + force_n * panel_mm_n) - energy_n_mm

    top = max(weight_n, law.flat_n, 1e-9)
    while missing(top) <= 0:
        top *= 2
    return float(brentq(missing, weight_n, top, xtol=1e-9 * top, rtol=1e-12))

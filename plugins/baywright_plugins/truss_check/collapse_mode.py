"""Which members give at collapse, and when a collapse factor must not be given at all."""

import numpy as np

from .equilibrium import Bools, Floats, Ints, Truss
from .limit import Collapse

#: A seat that keeps less of its force after slipping is a detent: common practice, no source.
DETENT_RATIO = 0.8

DETENT = "a seat that lets go after it slips does not keep its force: first slip is the limit"
BUCKLES = "a slender rod buckles before its seats slip, and does not keep its force"
NOTHING_BEHIND = "with what seats keep after slipping nothing is left behind first slip"


def yielding(truss: Truss, found: Collapse) -> Ints:
    """Members that change their length in the collapse motion, the largest change first."""
    stretch = np.abs(truss.stretch_mm(found.motion[None])[0])
    gives = np.flatnonzero(stretch > 1e-6 * stretch.max(initial=0.0))
    order = np.lexsort((gives, -np.round(stretch[gives], 9)))
    return np.asarray(gives[order], dtype=np.int64)


def yield_forces_n(
    truss: Truss, found: Collapse, tension_n: Floats, compression_n: Floats
) -> Floats:
    """The capacity that each member gives at, signed by whether it lengthens, shape (m,)."""
    stretch = truss.stretch_mm(found.motion[None])[0]
    return np.where(stretch > 0, tension_n, -compression_n)


def why_not(
    truss: Truss,
    found: Collapse,
    compression_n: Floats,
    buckles: Bools,
    *,
    first_slip: float,
) -> str:
    """Why the collapse factor found does not apply; empty where it does.

    A rod that buckles loses its force as it bows, so that no member which is limited by buckling
    may be at its limit at collapse, moving or not.

    Args: buckles (m,), true where compression_n is limited by buckling.
    """
    stretch = truss.stretch_mm(found.motion[None])[0]
    shortens = stretch < -1e-6 * np.abs(stretch).max(initial=0.0)
    full = found.member_force_n <= -compression_n * (1.0 - 1e-6)
    if (buckles & (shortens | full)).any():
        return BUCKLES
    return NOTHING_BEHIND if found.factor < first_slip * (1.0 - 1e-6) else ""

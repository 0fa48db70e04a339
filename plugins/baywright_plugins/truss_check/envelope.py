"""The envelope of all load cases: the most that each member is pulled, pressed and used."""

from dataclasses import dataclass

import numpy as np

from .equilibrium import Floats, Ints
from .first_slip import utilisation


@dataclass(frozen=True)
class Envelope:
    """Over c load cases: largest and smallest force of each member (m,), tension positive; share
    of capacity it uses at most (m,) and in which case (m,), None where no capacity is known."""

    most_n: Floats
    least_n: Floats
    utilisation: Floats | None
    case: Ints | None


def envelope(
    member_force_n: Floats, tension_n: Floats | None, compression_n: Floats | None
) -> Envelope:
    """Envelope of forces (c, m) against capacities (m,).

    >>> forces = np.array([[30.0, -6.0], [-60.0, 9.0]])
    >>> found = envelope(forces, np.full(2, 60.0), np.full(2, 300.0))
    >>> found.most_n.tolist(), found.least_n.tolist(), found.case.tolist()
    ([30.0, 9.0], [-60.0, -6.0], [0, 1])
    """
    used = case = None
    if tension_n is not None and compression_n is not None:
        shares = utilisation(member_force_n, tension_n, compression_n)
        case = shares.argmax(axis=0)
        used = np.take_along_axis(shares, case[None], axis=0)[0]
    return Envelope(member_force_n.max(axis=0), member_force_n.min(axis=0), used, case)

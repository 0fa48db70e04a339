"""When the first seat slips: member forces against what members and their seats take."""

from dataclasses import dataclass

import numpy as np

from .equilibrium import Floats


@dataclass(frozen=True)
class FirstSlip:
    """factor (c,) by which each load case may grow until the first member gives, infinite where
    nothing is loaded; member (c,) which one it is."""

    factor: Floats
    member: np.ndarray[tuple[int], np.dtype[np.int64]]


def utilisation(member_force_n: Floats, tension_n: Floats, compression_n: Floats) -> Floats:
    """Share of its capacity that each member uses, shape of the forces (..., m); 1 is the limit.

    >>> utilisation(np.array([30.0, -30.0]), np.array([60.0, 60.0]), np.array([300.0, 300.0]))
    array([0.5, 0.1])
    """
    return np.maximum(member_force_n / tension_n, -member_force_n / compression_n)


def first_slip(member_force_n: Floats, tension_n: Floats, compression_n: Floats) -> FirstSlip:
    """First-slip factors of c load cases, forces (c, m), capacities (m,) above 0.

        factor = min over members of  R_t / N  (N > 0),  R_c / -N  (N < 0)

    Leaves out: play, which lets some seats take up load later than others; friction that holds a
    seat beyond its pull-out.
    Source: linear scaling of an elastic answer; common practice, no source.
    """
    used = utilisation(member_force_n, tension_n, compression_n)
    member = used.argmax(axis=1)
    worst = used[np.arange(len(used)), member]
    with np.errstate(divide="ignore"):
        factor = np.where(worst > 0, 1.0 / worst, np.inf)
    return FirstSlip(factor, member.astype(np.int64))


def orientation_factor(
    worst_member_force_n: Floats, tension_n: Floats, compression_n: Floats
) -> Floats:
    """First-slip factor of each member over all directions of gravity (m,).

    A direction and its opposite are both possible, so the smaller of both capacities counts.
    """
    with np.errstate(divide="ignore"):
        return np.asarray(
            np.where(
                worst_member_force_n > 0,
                np.minimum(tension_n, compression_n) / worst_member_force_n,
                np.inf,
            )
        )

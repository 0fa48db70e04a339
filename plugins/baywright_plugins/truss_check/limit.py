"""Collapse: how far loads grow when a seat that slips keeps its force."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csc_array, hstack

from ..frame.shared_work import Shared, key_of, unchangeable
from .equilibrium import Floats, Ints, Truss

#: Both bounds must agree this well, as a share.
AGREEMENT = 1e-6
#: Loads count as shares of the largest, in steps of this: the solver sees nothing below 1e-9.
#: Loads that are alike but for their size, such as self weight times a factor, are then one
#: programme, which is solved once.
STEP = 2.0**-40

#: Forces (m,) and the factor behind them, motion (free,); None where nothing collapses.
_Solved = tuple[Floats, Floats] | None
_solved: Shared[_Solved] = Shared(limit_mib=32)


class LimitNotProven(ArithmeticError):
    """The lower and the upper bound of the collapse factor do not meet."""


@dataclass(frozen=True)
class Collapse:
    """`factor` is the lower bound (forces that balance within capacity), `upper_bound` that of
    the motion found beside it; motion (n, 3) is how it gives way, largest movement 1;
    member_force_n (m,) balances the load at `factor` within capacity."""

    factor: float
    upper_bound: float
    motion: Floats
    member_force_n: Floats


def collapse(
    truss: Truss,
    forces_n: Floats,
    tension_n: Floats,
    compression_n: Floats,
    *,
    held: Ints | None = None,
) -> Collapse | None:
    """Collapse factor of one load case, forces (n, 3), capacities (m,) above 0.

        largest f with  B N = f P  and  -R_c <= N <= R_t

    Args:
        held: degrees of freedom that supports hold, as places in the flattened (n, 3); where
            left out, the fixed and the sprung ones. Supports take any force.

    Returns:
        None where no growth of the load makes it collapse (the load goes straight into supports).

    Raises:
        LimitNotProven: bounds apart by more than 1e-6.

    Leaves out: loss of grip after slip, slip travel (a seat that slides far lets go), buckling
    of the whole frame. Never read it without the first-slip factor.
    Source: static and kinematic theorem of plastic limit analysis, e.g. Jirasek and Bazant,
    Inelastic Analysis of Structures, 2002, chapter 4 (from memory); solved with HiGHS.
    """
    if held is None:
        held = np.flatnonzero(truss.fixed.ravel() | (truss.spring_n_per_mm.ravel() > 0))
    moving = np.ones(truss.fixed.size, dtype=bool)
    moving[held] = False
    load = forces_n.ravel()[moving]
    size = float(np.abs(load).max(initial=0.0))
    if size == 0.0:
        return None
    balance = csc_array(truss.equilibrium.tocsr()[moving])
    share = np.round(load / size / STEP) * STEP
    capacity = float(min(tension_n.min(), compression_n.min()))
    least, most = -compression_n / capacity, tension_n / capacity
    key = key_of(balance.indptr, balance.indices, balance.data, share, least, most)
    solved = _solved.of(
        key,
        lambda: _largest_factor(balance, share, least, most),
        lambda found: 0 if found is None else unchangeable(*found),
    )
    if solved is None:
        return None
    within, multipliers = solved
    bars = len(truss.start)
    lower = float(within[bars]) * capacity / size
    velocity = np.zeros(truss.fixed.size)
    velocity[moving] = -multipliers
    upper = upper_bound(truss, velocity.reshape(-1, 3), forces_n, tension_n, compression_n)
    if not abs(upper - lower) <= AGREEMENT * abs(upper):
        raise LimitNotProven(f"lower bound {lower:.6g}, upper bound {upper:.6g}")
    largest = float(np.abs(velocity).max())
    work = float(velocity @ forces_n.ravel())
    sign = 1.0 if work >= 0 else -1.0
    forces = within[:bars] * capacity
    return Collapse(lower, upper, (sign * velocity / largest).reshape(-1, 3), forces)


def _largest_factor(balance: csc_array, share: Floats, least: Floats, most: Floats) -> _Solved:
    """The linear programme: forces (m,) between `least` and `most` that balance f times the loads
    `share`, f behind them as large as can be, and the multipliers of the balance."""
    bars = len(least)
    bounds = np.empty((bars + 1, 2))
    bounds[:bars, 0], bounds[:bars, 1] = least, most
    bounds[bars] = (0.0, np.inf)
    cost = np.zeros(bars + 1)
    cost[bars] = -1.0
    solve: Any = linprog
    answer = solve(
        cost,
        A_eq=hstack([balance, csc_array(-share[:, None])], format="csc"),
        b_eq=np.zeros(len(share)),
        bounds=bounds,
        method="highs-ds",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    if answer.status == 3:
        return None
    if answer.status != 0:
        raise LimitNotProven(str(answer.message))
    return np.array(answer.x), np.array(answer.eqlin.marginals)


def upper_bound(
    truss: Truss, motion: Floats, forces_n: Floats, tension_n: Floats, compression_n: Floats
) -> float:
    """Work that yielding bars take over work that the load does, for one motion (n, 3).

    Any motion that supports allow gives a factor at or above collapse (kinematic theorem).
    """
    work = float((motion * forces_n).sum())
    if work < 0:
        motion, work = -motion, -work
    stretch = truss.stretch_mm(motion[None])[0]
    taken = float(np.maximum(tension_n * stretch, -compression_n * stretch).sum())
    return taken / work if work > 0 else np.inf

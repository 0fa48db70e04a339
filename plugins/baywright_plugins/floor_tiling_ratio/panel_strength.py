"""One panel of rods and hubs between two bearers, standing on edge or lying flat.

On edge a hit is carried by chords that push and pull along their seats, with the panel's depth as
lever. Flat, the same rods bend, and a seat holds a bending moment only with its own small lever.
Newtons and millimetres.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class RodAndSeat:
    """What the kit gives: a round rod and the seats at its two ends (N, mm, N/mm2, N/mm,
    N mm, N mm per radian). `inset_mm` is from node centre to where the rod's free length begins."""

    diameter_mm: float
    elastic_modulus_n_mm2: float
    bending_strength_n_mm2: float
    inset_mm: float
    pull_out_n: float
    bearing_n: float
    stiffness_n_mm: float
    moment_n_mm: float
    turning_stiffness_n_mm: float

    @property
    def bending_stiffness_n_mm2(self) -> float:
        return self.elastic_modulus_n_mm2 * math.pi * self.diameter_mm**4 / 64

    @property
    def bending_moment_n_mm(self) -> float:
        """What the rod bears before it breaks: f pi d^3/32."""
        return self.bending_strength_n_mm2 * math.pi * self.diameter_mm**3 / 32

    def flexibility_mm_n(self, pitch_mm: float) -> float:
        """1/k of a rod with its two seats: L/(E A) + 2/k_s, L the free length."""
        area = math.pi * self.diameter_mm**2 / 4
        free_mm = pitch_mm - 2 * self.inset_mm
        return free_mm / (self.elastic_modulus_n_mm2 * area) + 2 / self.stiffness_n_mm

    def compression_n(self, pitch_mm: float) -> float:
        """Bearing of the seat, or Euler load of the free length over 1.5, the smaller."""
        free_mm = pitch_mm - 2 * self.inset_mm
        euler = math.pi**2 * self.bending_stiffness_n_mm2 / free_mm**2
        return min(self.bearing_n, euler / 1.5)


@dataclass(frozen=True)
class HitPoint:
    """One place where a ball may land: stiffness there (N/mm), the force at which the first seat
    or rod gives (N), which one, and the force of that one per newton of the hit."""

    at_mm: float
    stiffness_n_mm: float
    first_slip_n: float
    governed_by: str
    seat_force_ratio: float


@dataclass(frozen=True)
class EdgeTruss:
    """Members of a truss on edge: ends as node numbers, bottom 0..n, top n+1..2n+1."""

    nodes_mm: NDArray[np.float64]
    ends: NDArray[np.int64]
    names: tuple[str, ...]


def edge_truss(bays: int, bay_mm: float, depth_mm: float) -> EdgeTruss:
    """A truss of `bays` bays on two bearers; its diagonals rise toward the middle.

    4 n + 1 members, 2 n + 2 nodes and 3 supports: forces follow from balance alone.
    Node i of the bottom chord lies at (i bay, 0), node n + 1 + i above it at depth.
    """
    n = bays
    along = np.arange(n + 1) * bay_mm
    nodes = np.vstack(
        [
            np.column_stack([along, np.zeros(n + 1)]),
            np.column_stack([along, np.full(n + 1, depth_mm)]),
        ]
    )
    ends: list[tuple[int, int]] = []
    names: list[str] = []
    for i in range(n):
        ends += [(i, i + 1), (n + 1 + i, n + 2 + i)]
        names += ["bottom chord", "top chord"]
        ends.append((i, n + 2 + i) if 2 * i < n else (i + 1, n + 1 + i))
        names.append("diagonal")
    ends += [(i, n + 1 + i) for i in range(n + 1)]
    names += ["post"] * (n + 1)
    return EdgeTruss(nodes, np.array(ends), tuple(names))


def member_forces_per_newton(truss: EdgeTruss) -> NDArray[np.float64]:
    """Member forces under 1 N down on each top node in turn, tension positive.

    Returns:
        shape (members, n + 1); column j is for the hit on top node j. The truss is pinned at its
        first bottom node and rolls on its last.

    Source: method of joints, all nodes at once.
    """
    count = len(truss.nodes_mm)
    n = count // 2 - 1
    start, end = truss.ends.T
    run = truss.nodes_mm[end] - truss.nodes_mm[start]
    unit = run / np.linalg.norm(run, axis=1)[:, None]
    balance = np.zeros((2 * count, len(truss.ends) + 3))
    members = np.arange(len(truss.ends))
    for axis in range(2):
        balance[2 * start + axis, members] = unit[:, axis]
        balance[2 * end + axis, members] = -unit[:, axis]
    for k, row in enumerate((0, 1, 2 * n + 1)):
        balance[row, len(members) + k] = 1.0
    loads = np.zeros((2 * count, n + 1))
    loads[2 * (n + 1 + np.arange(n + 1)) + 1, np.arange(n + 1)] = 1.0
    solved = np.linalg.solve(balance, loads)
    return np.asarray(solved[: len(members)], dtype=np.float64)


def on_edge(bays: int, bay_mm: float, depth_mm: float, kit: RodAndSeat) -> tuple[HitPoint, ...]:
    """The panel as a flat truss standing on edge, for a hit on each inner top node.

    Deflection by unit forces: sum of N^2/k over the members.

    Args:
        bays: two or more; depth_mm: pitch of its posts.

    Leaves out: toppling sideways (tie it every few bays), a hit between nodes (the rod bends) or
    right over a bearer, second diagonals.
    Source: statics; tests hold it against hand formulas.
    """
    truss = edge_truss(bays, bay_mm, depth_mm)
    forces = member_forces_per_newton(truss)
    lengths = np.linalg.norm(
        truss.nodes_mm[truss.ends[:, 1]] - truss.nodes_mm[truss.ends[:, 0]], axis=1
    )
    soft = np.array([kit.flexibility_mm_n(x) for x in lengths])
    pressed = np.array([kit.compression_n(x) for x in lengths])
    points = []
    for j in range(1, bays):
        column = forces[:, j]
        used = np.where(column > 0, column / kit.pull_out_n, -column / pressed)
        worst = int(np.argmax(np.round(used, 12)))
        way = "pulled" if column[worst] > 0 else "pressed"
        points.append(
            HitPoint(
                j * bay_mm,
                float(1 / np.sum(column**2 * soft)),
                float(1 / used[worst]),
                f"{truss.names[worst]}, {way}",
                float(abs(column[worst])),
            )
        )
    return tuple(points)


def lying_flat(bays: int, bay_mm: float, kit: RodAndSeat) -> tuple[HitPoint, ...]:
    """The same panel lying flat, for a hit on each inner node of one chord.

    The chord is a beam of rods and hubs on two bearers: M = F x (L - x)/L at the hit; at each
    inner node two seats turn. A seat holds min(moment of the seat, bending strength of the rod).

    Leaves out: help from the other chord through the rungs, so it is on the safe side.
    Source: beam theory by unit forces.
    """
    length = bays * bay_mm
    holds = min(kit.moment_n_mm, kit.bending_moment_n_mm)
    name = "seat, bent" if kit.moment_n_mm <= kit.bending_moment_n_mm else "rod, bent"
    points = []
    for j in range(1, bays):
        x = j * bay_mm
        peak = x * (length - x) / length
        at_nodes = [
            peak * (i * bay_mm / x if i <= j else (length - i * bay_mm) / (length - x))
            for i in range(1, bays)
        ]
        bending = x**2 * (length - x) ** 2 / (3 * kit.bending_stiffness_n_mm2 * length)
        turning = sum(2 * moment**2 / kit.turning_stiffness_n_mm for moment in at_nodes)
        points.append(
            HitPoint(
                x,
                1 / (bending + turning),
                holds / peak,
                name,
                peak / holds * kit.pull_out_n,
            )
        )
    return tuple(points)

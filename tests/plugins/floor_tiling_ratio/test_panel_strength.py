"""The panel in two orientations against hand formulas and the stiffness method."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.panel_strength import (
    RodAndSeat,
    edge_truss,
    lying_flat,
    member_forces_per_newton,
    on_edge,
)

BEECH = RodAndSeat(8, 12_000, 40, 10, 60, 300, 250, 240, 1200)


def test_kit_values() -> None:
    """Worked independently: 8 mm beech, free length 120, seats of 250 N/mm: k = 122.0 N/mm."""
    assert 1 / BEECH.flexibility_mm_n(140) == pytest.approx(122.0, abs=0.05)


@settings(deadline=None)
@given(st.integers(2, 12), st.floats(30, 150), st.floats(30, 150))
def test_forces_balance_and_chords_follow_the_moment(bays: int, bay: float, depth: float) -> None:
    """Hand formula: the largest chord force of a middle hit is M/depth at some panel point."""
    forces = member_forces_per_newton(edge_truss(bays, bay, depth))
    truss = edge_truss(bays, bay, depth)
    chords = [k for k, name in enumerate(truss.names) if "chord" in name]
    length = bays * bay
    for j in range(1, bays):
        x = j * bay
        moment = x * (length - x) / length
        assert np.abs(forces[chords, j]).max() <= moment / depth * (1 + 1e-9)
        # The bottom chord's largest pull is the moment at the nearest panel point over the depth.
        points = np.arange(1, bays) * bay
        line = np.where(points <= x, points * (length - x), x * (length - points)) / length
        assert np.isclose(np.abs(forces[chords, j]).max(), line / depth, rtol=1e-9).any()


@pytest.mark.parametrize("bays", [2, 3, 4, 7])
def test_stiffness_method_gives_the_same_deflection(bays: int) -> None:
    """A second method: assemble springs and solve for displacements."""
    truss = edge_truss(bays, 60.0, 84.8)
    count = len(truss.nodes_mm)
    stiffness = np.zeros((2 * count, 2 * count))
    for start, end in truss.ends:
        run = truss.nodes_mm[end] - truss.nodes_mm[start]
        length = float(np.hypot(*run))
        unit = run / length
        b = np.zeros(2 * count)
        b[[2 * start, 2 * start + 1]], b[[2 * end, 2 * end + 1]] = -unit, unit
        stiffness += np.outer(b, b) / BEECH.flexibility_mm_n(length)
    free = [k for k in range(2 * count) if k not in (0, 1, 2 * bays + 1)]
    for point, j in zip(on_edge(bays, 60.0, 84.8, BEECH), range(1, bays), strict=True):
        load = np.zeros(2 * count)
        row = 2 * (bays + 1 + j) + 1
        load[row] = -1.0
        moved = np.zeros(2 * count)
        moved[free] = np.linalg.solve(stiffness[np.ix_(free, free)], load[free])
        assert point.stiffness_n_mm == pytest.approx(-1 / moved[row], rel=1e-9)


def test_flat_panel_with_stiff_seats_is_a_beam() -> None:
    """Any handbook: 48 E I/L^3 in the middle, M = F L/4."""
    stiff = RodAndSeat(8, 12_000, 40, 10, 60, 300, 250, 240, 1e12)
    middle = lying_flat(4, 60, stiff)[1]
    assert middle.stiffness_n_mm == pytest.approx(48 * stiff.bending_stiffness_n_mm2 / 240**3)
    assert middle.first_slip_n == pytest.approx(240 / (240 / 4))


def test_flat_panel_gives_at_its_seats() -> None:
    """Rigid rods on turning springs: a two-bay chord hit in the middle, k = 2 k_t/(2 L/4)^2/2."""
    rigid = RodAndSeat(8, 1e12, 40, 10, 60, 300, 250, 240, 1200)
    length = 120.0
    (point,) = lying_flat(2, 60, rigid)
    moment = length / 4
    assert point.stiffness_n_mm == pytest.approx(1 / (2 * moment**2 / 1200), rel=1e-6)


def test_on_edge_gains_the_lever() -> None:
    """In the middle of four square bays: depth over the seat's lever, 60 to 4, fifteen times."""
    edge, flat = on_edge(4, 60, 60, BEECH)[1], lying_flat(4, 60, BEECH)[1]
    assert edge.first_slip_n / flat.first_slip_n == pytest.approx(60 / 4)


def test_rod_breaks_before_a_strong_seat() -> None:
    """Where the seat holds more than the rod, the rod's bending strength decides."""
    strong = RodAndSeat(8, 12_000, 40, 10, 60, 300, 250, 1e6, 1200)
    point = lying_flat(2, 60, strong)[0]
    assert point.governed_by == "rod, bent"
    assert point.first_slip_n == pytest.approx(40 * np.pi * 8**3 / 32 / 30)

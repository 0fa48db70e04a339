"""Curves: who holds the ball, against moments about its contacts."""

import math

import pytest

from baywright_plugins.ramp_run.bends import (
    Curve,
    Roll,
    curve_least,
    curve_limit,
    curve_push,
    guard_for,
    lean,
)
from baywright_plugins.ramp_run.contact import Contact, plane, rails, wall_angle

G = 9.81
ON_RODS = rails(0.048, 0.03, 0.008)


def curve(contact: Contact, bank: float = 0.0, holds: float | None = None) -> Curve:
    return Curve(0.3, bank, 0.0, contact, contact.angle_rad if holds is None else holds)


@pytest.mark.parametrize("bank_deg", [0, 10, 25])
def test_tipping_over_the_outer_rail(bank_deg: float) -> None:
    """At the limit weight and centrifugal force have no moment about the outer contact."""
    bank = math.radians(bank_deg)
    limit = curve_limit(curve(ON_RODS, bank), G)
    assert limit is not None
    # The outer contact seen from the ball's centre: outward and down, turned with the bank.
    angle = ON_RODS.angle_rad + bank
    out, down = math.sin(angle), math.cos(angle)
    assert limit**2 / 0.3 * down == pytest.approx(G * out)


def test_flat_plane_holds_nothing_and_a_high_guard_everything() -> None:
    assert curve_limit(curve(plane(0.048)), G) == 0
    assert curve_limit(curve(plane(0.048), holds=math.pi / 2), G) is None
    low = wall_angle(0.048, 0.012)  # half a radius high: the push may lean 60 degrees
    limit = curve_limit(curve(plane(0.048), holds=low), G)
    assert limit == pytest.approx(math.sqrt(0.3 * G * math.tan(math.radians(60))))


def test_guard_for_a_push_is_the_inverse_of_its_hold() -> None:
    for lean_rad in (0.2, 0.9, 1.4):
        height = guard_for(lean_rad, 0.024, 0.024)
        assert wall_angle(0.048, height) == pytest.approx(lean_rad)


def test_slow_balls_run_down_a_steep_bank() -> None:
    """Standing still on a bank steeper than the contacts hold."""
    steep = curve(ON_RODS, ON_RODS.angle_rad + 0.1)
    least = curve_least(steep, G)
    assert least == pytest.approx(math.sqrt(0.3 * G * math.tan(0.1)))
    assert lean(steep, least**2, G) == pytest.approx(-ON_RODS.angle_rad)
    assert curve_least(curve(ON_RODS, ON_RODS.angle_rad), G) == 0


def test_contacts_take_the_load_of_a_curve() -> None:
    """Loads on both rails from two balances of forces; rolling resistance on their sum."""
    bend, u = curve(ON_RODS, 0.1), 0.5
    b = ON_RODS.angle_rad
    load = G * math.cos(0.1) + u / 0.3 * math.sin(0.1)
    side = u / 0.3 * math.cos(0.1) - G * math.sin(0.1)
    outer = (load / math.cos(b) + side / math.sin(b)) / 2
    inner = (load / math.cos(b) - side / math.sin(b)) / 2
    assert outer > inner > 0
    c = 0.01
    # `resistance` of Roll is over the load across the track: two contacts already counted in.
    roll = Roll(0.4, c / math.cos(b), 0.3, 0.0, G)
    expected = 2 / 1.4 * -c * (outer + inner)
    assert curve_push(bend, roll)(0.0, u) == pytest.approx(expected)
    # Past tipping only the outer rail bears it, and a guard takes the rest with friction.
    u = 4.0
    load = G * math.cos(0.1) + u / 0.3 * math.sin(0.1)
    side = u / 0.3 * math.cos(0.1) - G * math.sin(0.1)
    guard = side - load * math.tan(b)
    assert guard > 0
    expected = 2 / 1.4 * -(c * load / math.cos(b) + 0.3 * guard)
    assert curve_push(bend, roll)(0.0, u) == pytest.approx(expected)

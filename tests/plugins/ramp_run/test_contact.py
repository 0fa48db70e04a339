"""How a ball sits: every contact lies on the ball and on what bears it."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.ramp_run.contact import (
    FallsThrough,
    plane,
    rails,
    ribs_along,
    square_channel,
    u_channel,
    v_channel,
    wall_angle,
    wedges,
)

R = 0.024


@settings(deadline=None, derandomize=True, max_examples=20)
@given(st.floats(0.001, 0.04), st.floats(0.0, 0.02))
def test_ball_touches_both_rods(gauge: float, rod: float) -> None:
    """Centres of ball and rod are as far apart as their radii together."""
    contact = rails(2 * R, gauge, rod)
    height = (R + rod / 2) * math.cos(contact.angle_rad)
    assert math.hypot(gauge / 2, height) == pytest.approx(R + rod / 2)
    assert contact.effective_radius_m == pytest.approx(R * math.cos(contact.angle_rad))
    lowest = height - R
    assert contact.sink_m == pytest.approx(rod / 2 - lowest)


def test_a_gap_of_the_ball_lets_it_through() -> None:
    """Clear gap, not gauge: rods of 8 need a gauge of 56 to let 48 through."""
    assert rails(0.048, 0.0559, 0.008).effective_radius_m > 0
    for gauge, rod in ((0.056, 0.008), (0.048, 0.0), (0.1, 0.01)):
        with pytest.raises(FallsThrough):
            rails(0.048, gauge, rod)


@settings(deadline=None, derandomize=True, max_examples=20)
@given(st.floats(math.radians(20), math.radians(170)))
def test_ball_in_a_vee_touches_both_walls(included: float) -> None:
    """Distance of the centre from each wall is the radius, whatever the angle."""
    contact = v_channel(2 * R, included, 1.0)
    half = included / 2
    contact_x = R * math.sin(contact.angle_rad)
    contact_y = contact_x / math.tan(half)  # on the wall, from the vertex
    centre = contact_y + contact.effective_radius_m
    assert centre * math.sin(half) == pytest.approx(R)
    assert 1.0 - contact.sink_m == pytest.approx(centre - R)


def test_shallow_channels_bear_on_their_rims() -> None:
    """A vee of 2 mm depth, a round channel narrower than the ball, a narrow square one."""
    rim = 2 * 0.002 * math.tan(math.radians(45))
    assert v_channel(2 * R, math.radians(90), 0.002) == rails(2 * R, rim)
    assert u_channel(2 * R, 0.02, 0.05) == rails(2 * R, 0.04)
    assert square_channel(2 * R, 0.03, 0.01) == rails(2 * R, 0.03)
    assert ribs_along(2 * R, 0.03, 0.01) == rails(2 * R, 0.03)


def test_ground_between_ribs_or_walls() -> None:
    """The ball sinks 5.3 mm between edges 30 mm apart: ribs of 5 mm leave it on the ground."""
    assert rails(2 * R, 0.03).sink_m == pytest.approx(0.0052650, abs=1e-6)
    for contact in (ribs_along(2 * R, 0.03, 0.005), square_channel(2 * R, 0.06, 0.03)):
        assert contact.effective_radius_m == plane(2 * R).effective_radius_m
        assert contact.angle_rad == 0


def test_round_channel_lets_the_ball_climb_to_the_rim() -> None:
    """Half a tube holds any push; a quarter deep one up to 60 degrees."""
    assert math.degrees(u_channel(2 * R, 0.04, 0.04).holds_rad) == pytest.approx(90)
    assert math.degrees(u_channel(2 * R, 0.04, 0.02).holds_rad) == pytest.approx(60)
    with pytest.raises(FallsThrough):
        u_channel(2 * R, R, 0.05)


def test_wall_beside_the_ball() -> None:
    """Its top touches at 60 degrees from below if it is half a radius high, at 90 from the
    centre's height on."""
    assert math.degrees(wall_angle(2 * R, R / 2)) == pytest.approx(60)
    assert math.degrees(wall_angle(2 * R, R)) == pytest.approx(90)
    assert math.degrees(wall_angle(2 * R, 3 * R)) == pytest.approx(90)


def test_steep_walls_hold_a_ball_by_friction() -> None:
    """Contacts 80 degrees beside the lowest point: friction above cot 80 = 0.176 jams it."""
    contact = v_channel(2 * R, math.radians(20), 1.0)
    assert not wedges(contact, 0.17)
    assert wedges(contact, 0.18)
    assert not wedges(plane(2 * R), 2.0)

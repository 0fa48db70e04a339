"""Falls from a free end, bounces, and the wall: against small steps and simple sums."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.ramp_run.edges import Roller
from baywright_plugins.ramp_run.flight import (
    Landing,
    bouncing_time,
    first_bounce_past,
    fly,
    land,
    release,
    wall_height,
)

G = 9.81
EDGE = Roller(0.024, 0.4, G)


def test_fast_balls_go_straight_on_and_slow_ones_tip() -> None:
    """The border is v^2 = g r cos t; beyond it the release changes nothing."""
    border = EDGE.lift_off_squared(0.1)
    straight, tips = release(EDGE, border, 0.1), release(EDGE, border * 0.999, 0.1)
    assert straight is not None and tips is not None
    assert not straight.tips and tips.tips
    assert tips.down_rad == pytest.approx(0.1, abs=0.02)
    assert tips.speed_m_s == pytest.approx(straight.speed_m_s, rel=0.01)


@pytest.mark.parametrize("inertia", [0.4, 2 / 3])
@pytest.mark.parametrize("speed", [0.0, 0.2, 0.4])
def test_tipping_off_in_small_steps(inertia: float, speed: float) -> None:
    """Turn about the edge until the weight no longer holds the ball there."""
    roller, step = Roller(0.024, inertia, G), 1e-5
    angle, spin = 1e-7, speed / 0.024
    while G * math.cos(angle) > spin**2 * 0.024:
        spin += G * math.sin(angle) / (0.024 * (1 + inertia)) * step
        angle += spin * step
        if speed == 0 and angle < 1e-4:
            angle, spin = 1e-4, math.sqrt(2 * G * (1 - math.cos(1e-4)) / (0.024 * (1 + inertia)))
    found = release(roller, speed**2, 0.0)
    assert found is not None
    assert found.down_rad == pytest.approx(angle, abs=1e-3)
    assert found.speed_m_s == pytest.approx(spin * 0.024, rel=1e-3)
    assert found.ahead_m == pytest.approx(0.024 * math.sin(angle), rel=2e-3)


def test_uphill_end_throws_and_a_slow_ball_stays() -> None:
    """Ending uphill it flies up first; too slow it does not get over the end."""
    up = release(EDGE, 4.0, -0.3)
    assert up is not None
    flight = fly(up.speed_m_s, 0.0, up.down_rad, G)
    assert flight.time_s == pytest.approx(2 * 2.0 * math.sin(0.3) / G)
    assert release(EDGE, 1e-4, -0.3) is None


def landing(speed: float, drop: float) -> Landing:
    let_go = release(EDGE, speed**2, 0.0)
    assert let_go is not None
    return land(let_go, drop, 0.024, 0.4, speed, G)


def bounced(found: Landing, e: float, ahead: float) -> list[tuple[float, float]]:
    """(place, time) of each touch-down, bounce after bounce."""
    touches, place, time, up = [], found.touch_m, 0.0, found.flight.down_m_s
    for _ in range(300):
        touches.append((place, time))
        up *= e
        place, time = place + ahead * 2 * up / G, time + 2 * up / G
    return touches


@settings(deadline=None, derandomize=True, max_examples=25)
@given(st.floats(0.5, 4), st.floats(0.05, 2), st.floats(0, 0.9))
def test_bounces_add_up(speed: float, drop: float, e: float) -> None:
    """Touch by touch, and their endless sum."""
    found = landing(speed, drop)
    touches = bounced(found, e, 1.3)
    assert found.bounce_m(3, e, 1.3, G) == pytest.approx(touches[3][0])
    assert found.rests_m(e, 1.3, G) == pytest.approx(touches[-1][0])
    assert bouncing_time(found.flight.down_m_s, e, G) == pytest.approx(touches[-1][1])


@settings(deadline=None, derandomize=True, max_examples=25)
@given(st.floats(0.5, 4), st.floats(0.05, 1), st.floats(0.1, 0.8), st.floats(0.05, 3))
def test_no_ball_gets_over_the_wall(speed: float, drop: float, e: float, wall: float) -> None:
    """Sampled along its whole way the top of the ball stays below, at the wall's distance and at
    any speed ahead that the bounce may leave it."""
    found = landing(speed, drop)
    needed = wall_height(found, e, 0.048, wall, G)
    front = wall - 0.024
    for ahead in (found.hop_slow_m_s, found.hop_fast_m_s):
        height = height_at(found, e, ahead, front)
        assert height + 0.048 <= needed + 1e-9


def height_at(found: Landing, e: float, ahead: float, front: float) -> float:
    """Height of the ball's lowest point where its centre is at `front`."""
    if front <= found.touch_m:
        back = min((found.touch_m - front) / found.flight.ahead_m_s, found.flight.time_s)
        return found.flight.down_m_s * back - G * back**2 / 2
    up, place = found.flight.down_m_s, found.touch_m
    for _ in range(200):
        up *= e
        hop = ahead * 2 * up / G
        if front <= place + hop:
            t = (front - place) / ahead
            return up * t - G * t * t / 2
        place += hop
    return 0.0


def test_wall_without_a_distance_is_for_the_first_bounce() -> None:
    """e^2 h + d; far away only the ball itself is left; no wall nearer than the landing."""
    found = landing(1.5, 0.48)
    assert wall_height(found, 0.45, 0.048, None, G) == pytest.approx(0.45**2 * 0.48 + 0.048)
    assert wall_height(found, 0.45, 0.048, 50.0, G) == 0.048
    assert first_bounce_past(found, 0.024) == pytest.approx(found.touch_m + 0.024)


def test_spin_pushes_the_ball_on() -> None:
    """A rolling ball that tips off turns as fast as it goes; on landing its grip adds speed."""
    found = landing(0.1, 0.3)
    assert found.tips
    assert found.hop_fast_m_s > found.hop_slow_m_s or found.flight.ahead_m_s > 0.1
    fast = landing(2.0, 0.3)
    assert fast.hop_fast_m_s == pytest.approx(fast.hop_slow_m_s)

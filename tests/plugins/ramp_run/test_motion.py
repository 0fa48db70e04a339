"""Speed and time along a ramp, against scipy's integration of the laws themselves."""

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from baywright_plugins.ramp_run.ball import Ball, Losses, inertia_about
from baywright_plugins.ramp_run.bends import loop_bottom_speed
from baywright_plugins.ramp_run.contact import plane, rails, u_channel
from baywright_plugins.ramp_run.corners import Unknowns, all_corners
from baywright_plugins.ramp_run.edges import Joint
from baywright_plugins.ramp_run.pieces import Drop, Piece, Shape, Straight, Surface, Turn, Vertical
from baywright_plugins.ramp_run.slip import slipping
from baywright_plugins.ramp_run.state import World
from baywright_plugins.ramp_run.stretch import stepped, uniform
from baywright_plugins.ramp_run.walk import places, run

G = 9.81
BALL = Ball(0.048, 0.041, 0.4)
Force = Callable[[float, float], float]


def integrate(force: Force, speed: float, length: float) -> tuple[float, float]:
    """(speed, time) after `length`, or where the ball stops; force(s, v) is its acceleration."""

    def end(t: float, y: Any) -> float:
        return float(y[0] - length)

    def stop(t: float, y: Any) -> float:
        return float(y[1])

    for event in (end, stop):
        event.terminal = True  # type: ignore[attr-defined]
    stop.direction = -1  # type: ignore[attr-defined]
    found = solve_ivp(
        lambda t, y: (y[1], force(y[0], y[1])),
        (0, 1000),
        (0.0, speed),
        events=(end, stop),
        rtol=1e-9,
        atol=1e-11,
    )
    return float(found.y[1][-1]), float(found.t[-1])


@pytest.mark.parametrize("speed", [0.0, 0.3, 4.0])
@pytest.mark.parametrize("drive", [0.5, 0.0, -0.2])
@pytest.mark.parametrize("brake", [0.0, 1e-6, 0.03, 0.8])
def test_straight_against_scipy(speed: float, drive: float, brake: float) -> None:
    """Every sign of the drive, with and without air, slower and faster than it would settle."""
    end = uniform(speed**2, drive, brake, 3.0)
    if speed == 0 and drive <= 0:
        assert end.stops and end.time_s == 0
        return
    expected = integrate(lambda s, v: (drive - brake * v * v) / 2, speed, 3.0)
    # Near a stop speed is a square root, so it is held to a wider tolerance.
    assert math.sqrt(end.squared) == pytest.approx(expected[0], rel=1e-6, abs=2e-5)
    assert end.time_s == pytest.approx(expected[1], rel=1e-5)


@settings(deadline=None, derandomize=True, max_examples=50)
@given(
    st.floats(0, 10), st.floats(-3, 10), st.floats(0, 2), st.floats(0.01, 20), st.floats(0.1, 0.9)
)
def test_two_halves_make_a_whole(
    squared: float, drive: float, brake: float, length: float, share: float
) -> None:
    """Speed and time add up wherever a straight is cut."""
    whole = uniform(squared, drive, brake, length)
    first = uniform(squared, drive, brake, share * length)
    if whole.stops or first.stops:
        return
    second = uniform(first.squared, drive, brake, (1 - share) * length)
    assert second.squared == pytest.approx(whole.squared, rel=1e-8, abs=1e-9)
    assert first.time_s + second.time_s == pytest.approx(whole.time_s, rel=1e-6, abs=1e-9)


def test_stepped_agrees_with_the_closed_form() -> None:
    """The same law walked in steps; a stop is found where the closed form has it."""
    walked = stepped(1.0, 2.0, lambda s, u: 0.4 - 0.3 * u)
    exact = uniform(1.0, 0.4, 0.3, 2.0)
    assert walked.squared[-1] == pytest.approx(exact.squared, rel=1e-9)
    assert walked.time_s[-1] == pytest.approx(exact.time_s, rel=1e-5)
    stopping = stepped(1.0, 9.0, lambda s, u: -0.5)
    assert stopping.stops and stopping.along_m[-1] == pytest.approx(2.0, rel=1e-6)


def surface(contact: Any, resistance: float = 0.008, friction: float = 0.3) -> Surface:
    return Surface(contact, (resistance, resistance), (friction, friction), True)


def world(drag: float = 0.01, tilt: float = 0.0) -> World:
    return World(BALL, Losses(0.0, 0.0, drag, 0.45, tilt), G)


def go(shapes: Sequence[Shape], on: Surface, speed: float, drag: float = 0.01) -> list[Any]:
    ramp = places([Piece(shape, on) for shape in shapes])
    pick = [(on.resistance[0], on.friction[0])] * len(ramp)
    return run(world(drag), ramp, speed, pick)


@pytest.mark.parametrize(
    "contact", [plane(0.048), rails(0.048, 0.03, 0.008)], ids=["plane", "rails"]
)
def test_ramp_of_many_pieces_against_scipy(contact: Any) -> None:
    """Straight, crest, straight, dip, guarded curve, level: speed and time after each, without a
    kink, rolling resistance on the true load, air, friction on the guard."""
    slope, steep, drag, c, mu = 0.05, 0.25, 0.01, 0.008, 0.3
    shapes: list[Shape] = [
        Straight(0.8, slope),
        Vertical(0.5, steep - slope, 1),
        Straight(0.3, steep),
        Vertical(0.4, steep, -1),
        Turn(0.3, 2.0, 0.0, 0.1, 0.05),
        Straight(0.7, 0.0),
    ]
    j = inertia_about(BALL, contact.effective_radius_m)
    r, held = contact.effective_radius_m, math.tan(contact.angle_rad)

    def track(angle: Callable[[float], float], curvature: float) -> Force:
        def force(s: float, v: float) -> float:
            load = max(0.0, G * math.cos(angle(s)) + curvature * v * v)
            return (G * math.sin(angle(s)) - c * load - drag * v * v) / (1 + j)

        return force

    def curve(s: float, v: float) -> float:
        out = v * v / 0.3
        load = G * math.cos(0.1) + out * math.sin(0.1)
        side = out * math.cos(0.1) - G * math.sin(0.1)
        rub = max(0.0, abs(side) - load * held)
        return (-c * load - mu * rub - drag * v * v) / (1 + j)

    outside, inside = 0.5 + r, 0.4 - r
    laws: list[tuple[Force, float]] = [
        (track(lambda s: slope, 0.0), 0.8),
        (track(lambda s: slope + s / outside, -1 / outside), outside * (steep - slope)),
        (track(lambda s: steep, 0.0), 0.3),
        (track(lambda s: steep - s / inside, 1 / inside), inside * steep),
        (curve, 0.3 * 2.0),
        (track(lambda s: 0.0, 0.0), 0.7),
    ]
    done = go(shapes, surface(contact, c, mu), 0.2, drag)
    speed, time = 0.2, 0.0
    for passed, (law, length) in zip(done, laws, strict=True):
        speed, taken = integrate(law, speed, length)
        time += taken
        assert passed.end.speed_m_s == pytest.approx(speed, rel=2e-5)
        assert passed.end.time_s == pytest.approx(time, rel=2e-5)


def test_round_channel_bears_the_whole_push() -> None:
    """In a U the ball rolls up the side: the load is the resultant, nothing rubs."""
    done = go([Turn(0.3, 3.0, 0.02, 0.0, 0.0)], surface(u_channel(0.048, 0.04, 0.04)), 1.2)

    def force(s: float, v: float) -> float:
        load = math.hypot(G * math.cos(0.02), v * v / 0.3)
        return (G * math.sin(0.02) - 0.008 * load - 0.01 * v * v) / 1.4

    speed, time = integrate(force, 1.2, 0.3 * 3.0 / math.cos(0.02))
    assert done[0].end.speed_m_s == pytest.approx(speed, rel=1e-6)
    assert done[0].end.time_s == pytest.approx(time, rel=1e-4)


@pytest.mark.parametrize("share", [0.99, 1.01])
def test_loop_holds_just_above_its_least_speed(share: float) -> None:
    """Without losses, v^2 = 27/7 g r at the bottom is the border."""
    least = loop_bottom_speed(0.2 - 0.024, 0.4, G)
    assert least == pytest.approx(math.sqrt(27 / 7 * G * 0.176))
    loop = Vertical(0.2, 2 * math.pi, -1, full_loop=True)
    on = surface(plane(0.048), 0.0)
    done = go([Straight(0.1, 0.0), loop], on, share * least, drag=0.0)
    assert (done[1].leaves_at_m is None) == (share > 1)
    assert done[1].end.speed_m_s == pytest.approx(share * least, rel=1e-6)
    if share < 1:
        assert done[1].leaves_at_m == pytest.approx(math.pi * 0.176, rel=0.1)


@settings(deadline=None, derandomize=True, max_examples=15)
@given(
    st.floats(0.02, 0.4), st.floats(0.0, 0.4), st.floats(0.1, 0.6), st.sampled_from([0.4, 2 / 3])
)
def test_no_losses_keep_the_energy(
    slope: float, turn: float, radius: float, inertia: float
) -> None:
    """v^2 = 2 g h/(1 + j), h the fall of the ball's centre, over straights, crests and dips."""
    ball = Ball(0.048, 0.041, inertia)
    on = surface(plane(0.048), 0.0)
    shapes: list[Shape] = [
        Straight(1.0, slope),
        Vertical(radius, turn + 0.001, 1),
        Vertical(radius, turn + 0.001, -1),
        Straight(0.5, slope),
    ]
    ramp = places([Piece(shape, on) for shape in shapes])
    losses = Losses(0.0, 0.0, 0.0, 0.0)
    done = run(World(ball, losses, G), ramp, 0.0, [(0.0, 1.0)] * 4)
    fall = sum(place.laid.fall_m for place in ramp)
    assert done[-1].end.speed_m_s == pytest.approx(
        math.sqrt(2 * G * fall / (1 + inertia)), rel=1e-6
    )


def test_sliding_down_a_steep_straight() -> None:
    """Coulomb friction at the contacts: speed and spin by Newton, then rolling again keeps the
    angular momentum about the contact."""
    slope, mu, length = 0.9, 0.2, 1.0
    slid = slipping(slope, mu, 0.0, BALL, 0.024, 0.0, G)
    speed = math.sqrt(2 * G * (math.sin(slope) - mu * math.cos(slope)) * length)
    spin = mu * G * math.cos(slope) / 0.4 * (2 * length / speed)
    assert slid.drive == pytest.approx(speed**2 / length)
    done = go(
        [Straight(length, slope), Straight(0.1, slope - 0.5)],
        surface(plane(0.048), 0.0, mu),
        0.0,
        0.0,
    )
    assert done[0].slips and not done[1].slips
    assert done[0].end.speed_m_s == pytest.approx(speed)
    assert done[0].end.spin_m_s == pytest.approx(spin)
    assert spin < speed
    # It slides faster than a rolling ball would go, and rolls slower once it grips.
    rolling = math.sqrt(10 / 7 * G * math.sin(slope) * length)
    assert speed > rolling > (speed + 0.4 * spin) / 1.4


def test_from_wide_rails_onto_the_plane_a_ball_speeds_up() -> None:
    """It turns faster on rails: angular momentum about the contact is kept, energy is not made."""
    wide = rails(0.048, 0.04)
    pieces = [
        Piece(Straight(0.5, 0.05), surface(wide, 0.0)),
        Piece(Straight(1e-6, 0.05), surface(plane(0.048), 0.0)),
    ]
    losses = Losses(0.0, 0.0, 0.0, 0.0)
    done = run(World(BALL, losses, G), places(pieces), 0.0, [(0.0, 1.0)] * 2)
    before, after = done[0].end, done[1].end
    spin = before.speed_m_s * 0.024 / wide.effective_radius_m
    assert after.speed_m_s == pytest.approx((before.speed_m_s + 0.4 * spin) / 1.4, rel=1e-4)
    assert after.speed_m_s > before.speed_m_s
    assert 1.4 * after.speed_m_s**2 < before.speed_m_s**2 + 0.4 * spin**2


RAMP: list[Shape] = [
    Straight(0.9, 0.08),
    Joint(0.004, 0.0005),
    Turn(0.25, 1.5, 0.04, 0.15, 0.03),
    Vertical(0.3, 0.1, 1),
    Straight(0.8, 0.12, (0.05, 0.008, None)),
    Straight(0.4, 0.0),
    Drop(0.2, False),
    Straight(0.5, 0.02),
]


@settings(deadline=None, derandomize=True, max_examples=20)
@given(
    st.floats(0, 1),
    st.floats(0, 1),
    st.floats(0, 1),
    st.floats(0, 1),
    st.floats(-1, 1),
    st.booleans(),
)
def test_no_ball_is_outside_the_two_corners(
    resistance: float, friction: float, drag: float, start: float, tilt: float, flies: bool
) -> None:
    """Coefficients drawn between their bounds: speed and time after each piece lie between."""
    on = Surface(plane(0.048), (0.002, 0.012), (0.2, 0.6), False)
    ramp = places([Piece(shape, on) for shape in RAMP])
    unknowns = Unknowns((0.1, 0.5), (0.4, 0.5), (0.45, 0.45), 0.003, 1.2, G)
    slow, fast = all_corners(BALL, unknowns, ramp)
    area = 1.2 * math.pi * 0.024**2 / (2 * 0.041)
    losses = Losses(0.0, 0.0, area * (0.4 + 0.1 * drag), 0.45, 0.003 * tilt)
    pick = [(0.002 + 0.01 * resistance, 0.2 + 0.4 * friction)] * len(ramp)
    done = run(World(BALL, losses, G, flies), ramp, 0.1 + 0.4 * start, pick)
    for one, low, high in zip(done, slow.passed, fast.passed, strict=True):
        assert low.end.speed_m_s - 1e-9 <= one.end.speed_m_s <= high.end.speed_m_s + 1e-9
        assert high.end.time_s - 1e-9 <= one.end.time_s <= low.end.time_s + 1e-9


def test_times_are_in_order() -> None:
    """Clock and path never run back."""
    done = go(RAMP, surface(plane(0.048)), 0.3)
    clock = np.array([t for passed in done for t in passed.time_s])
    assert (np.diff(clock) >= 0).all()

"""Joints, ribs, kinks: against the closed forms for grooves and against motion in small steps."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio import grooves
from baywright_plugins.ramp_run.edges import (
    Joint,
    Roller,
    Swallowed,
    cross,
    joint_sink,
    kink,
    passage,
    release_slope,
    squared_needed,
    tip,
)
from baywright_plugins.ramp_run.ribs import (
    Grade,
    keeps_rolling,
    least_slope,
    over_ribs,
    ribs,
    settled_speed,
)

G = 9.81
HUGS = Roller(0.024, 0.4, G, flies=False)
FLIES = Roller(0.024, 0.4, G, flies=True)


def on(roller: Roller, slope: float, resistance: float = 0.0) -> Grade:
    pull = math.sin(slope) - resistance * math.cos(slope)
    return Grade(slope, 2 * roller.gravity_m_s2 * pull / (1 + roller.inertia), 0.0)


@settings(deadline=None, derandomize=True, max_examples=40)
@given(st.floats(0.002, 0.03), st.floats(0.0, 0.1), st.floats(0.02, 2.0))
def test_a_gap_alone_is_the_groove_of_a_floor(gap: float, slope: float, speed: float) -> None:
    """A second formula, for a solid ball, in floor-tiling-ratio."""
    groove = grooves.Groove(0.048, gap, slope, G)
    joint = Joint(gap)
    needed = math.sqrt(squared_needed(HUGS, joint, slope))
    assert needed == pytest.approx(grooves.critical_speed(groove), abs=1e-9)
    assert release_slope(HUGS, joint) == pytest.approx(groove.angle_rad)
    assert joint_sink(HUGS, joint) == pytest.approx(grooves.sink(0.048, gap))
    if abs(speed - needed) > 1e-6:
        after, expected = cross(HUGS, joint, slope, speed**2), grooves.speed_after(groove, speed)
        assert (after is None) == (expected is None)
        if after is not None and expected is not None:
            assert math.sqrt(after) == pytest.approx(expected, abs=1e-9)


def test_a_step_up_is_the_ridge_of_a_floor() -> None:
    """sqrt(10 g h/7)/(1 - 5h/(7r)): 122 mm/s for 1 mm under a ball of 48."""
    for height in (0.0005, 0.001, 0.004):
        needed = math.sqrt(squared_needed(HUGS, Joint(0.0, height), 0.0))
        assert needed == pytest.approx(grooves.ridge_speed(0.048, height, G))
    assert round(math.sqrt(squared_needed(HUGS, Joint(0.0, 0.001), 0.0)), 3) == 0.122


def simulated(roller: Roller, joint: Joint, slope: float, speed: float) -> float | None:
    """Pivot about the near edge until the far one is touched, strike it, pivot over it."""
    r, j, step = roller.radius_m, roller.inertia, 2e-5
    pull = roller.gravity_m_s2 / (r * (1 + j))
    far = (joint.gap_m, joint.step_m)
    angle, spin = 0.0, speed / r  # from the track's normal, forward

    def centre(a: float) -> tuple[float, float]:
        return r * math.sin(a), r * math.cos(a)

    while math.dist(centre(angle), far) > r:
        spin += pull * math.sin(angle + slope) * step
        angle += spin * step
        if spin <= 0:
            return None
    x, y = centre(angle)
    behind = math.atan2(x - far[0], y - far[1])
    spin *= (j + math.cos(angle - behind)) / (1 + j)
    angle = behind
    while angle < 0:
        spin += pull * math.sin(angle + slope) * step
        angle += spin * step
        if spin <= 0:
            return None
    return spin * r


@pytest.mark.parametrize("inertia", [0.4, 2 / 3, 0.56])
@pytest.mark.parametrize(
    ("gap", "step", "slope"),
    [(0.010, 0.0, 0.0), (0.012, 0.001, 0.01), (0.012, -0.0001, 0.0), (0.016, 0.002, -0.02)],
)
def test_joint_with_a_step_against_small_steps(
    inertia: float, gap: float, step: float, slope: float
) -> None:
    """Solid, hollow and on rails: the same least speed and the same speed after."""
    roller, joint = Roller(0.02, inertia, G, flies=False), Joint(gap, step)
    needed = math.sqrt(squared_needed(roller, joint, slope))
    assert simulated(roller, joint, slope, 0.98 * needed) is None
    assert simulated(roller, joint, slope, 1.02 * needed) is not None
    after = cross(roller, joint, slope, (1.4 * needed) ** 2)
    assert after is not None
    expected = simulated(roller, joint, slope, 1.4 * needed)
    assert math.sqrt(after) == pytest.approx(expected, rel=0.01)


def flown(roller: Roller, joint: Joint, speed: float) -> float:
    """A fast ball over a level gap: flight in small steps, strike, tip; straight from the laws."""
    r, j, t, step = roller.radius_m, roller.inertia, 0.0, 1e-6
    while True:
        t += step
        x, y = speed * t - joint.gap_m, r - roller.gravity_m_s2 * t * t / 2 - joint.step_m
        if math.hypot(x, y) <= r:
            break
        assert t < 1
    down = roller.gravity_m_s2 * t
    # Angular momentum about the far edge, clockwise, over m r: spin and the centre's motion.
    about = (j * r * speed + y * speed - x * -down) / (r * (1 + j))
    after = about**2 - 2 * roller.gravity_m_s2 * (r - y) / (1 + j)
    return math.sqrt(after)


@pytest.mark.parametrize(("gap", "speed"), [(0.006, 0.6), (0.01, 0.8), (0.02, 1.5)])
def test_fast_balls_fly_over_part_of_the_gap(gap: float, speed: float) -> None:
    """They lose less than one that hugs both edges."""
    after = cross(FLIES, Joint(gap), 0.0, speed**2)
    hugging = cross(HUGS, Joint(gap), 0.0, speed**2)
    assert after is not None and hugging is not None
    assert math.sqrt(after) == pytest.approx(flown(FLIES, Joint(gap), speed), rel=1e-4)
    assert hugging < after < speed**2


@settings(deadline=None, derandomize=True, max_examples=50)
@given(
    st.floats(0.0, 0.03),
    st.floats(-0.008, 0.008),
    st.floats(-0.05, 0.3),
    st.floats(0.0, 4.0),
    st.floats(0.0, 1.0),
)
def test_a_faster_ball_stays_the_faster_one(
    gap: float, step: float, slope: float, squared: float, more: float
) -> None:
    """Why two corners bound all balls: maps over joints and kinks rise with the speed, and a
    ball that hugs never ends up above one that flies."""
    joint = Joint(gap, step)
    for roller in (HUGS, FLIES):
        slow, fast = (cross(roller, joint, slope, u) for u in (squared, squared + more))
        assert slow is None or (fast is not None and fast >= slow - 1e-9)
        for after in (slope - 0.4, slope + 0.4):
            low, high = (kink(roller, u, slope, after) for u in (squared, squared + more))
            assert low is None or (high is not None and high.squared >= low.squared - 1e-9)
    hugging, flying = cross(HUGS, joint, slope, squared), cross(FLIES, joint, slope, squared)
    assert hugging is None or (flying is not None and flying >= hugging - 1e-9)


def test_kink_loses_what_the_strike_takes() -> None:
    """Onto a flatter slope: (j + cos a)/(1 + j) of the speed; onto a steeper one nothing while it
    stays on, and a hop of the length of a thrown ball when it flies."""
    flatter = kink(HUGS, 1.0, 0.3, 0.0)
    assert flatter is not None
    lower = HUGS.scale * (math.cos(0.3) - 1)
    assert flatter.squared == pytest.approx(((0.4 + math.cos(0.3)) / 1.4) ** 2 + lower)
    steeper = kink(FLIES, 0.04, 0.0, 0.2)
    assert steeper is not None and steeper.hop_m == 0
    assert steeper.squared == pytest.approx(0.04 + FLIES.scale * (1 - math.cos(0.2)))
    flies = kink(FLIES, 4.0, 0.0, 0.2)
    assert flies is not None
    # A thrown ball meets the slope where g t^2/2 = v t tan(0.2).
    t = 2 * 2.0 * math.tan(0.2) / G
    assert flies.hop_m == pytest.approx(2.0 * t / math.cos(0.2))


def test_ball_does_not_get_over_uphill_edges() -> None:
    """Leaning back it has to rise first; a gap or step of the ball's size takes it in."""
    assert tip(HUGS, 0.0, -0.2, 0.1) is None
    assert tip(HUGS, HUGS.scale * (1 - math.cos(0.2)) * 1.001, -0.2, 0.1) is not None
    for joint in (Joint(0.048), Joint(0.0, 0.024), Joint(0.0, -0.024)):
        with pytest.raises(Swallowed):
            passage(HUGS, joint)


def test_settled_speed_is_the_closed_form_for_grooves() -> None:
    row = ribs(HUGS, 0.0514, 0.006, None)
    slope = math.atan(0.015)
    steady = grooves.steady_speed(grooves.Groove(0.048, 0.006, slope, G), 0.0514)
    found = settled_speed(HUGS, row, on(HUGS, slope))
    assert found is not None and steady is not None
    assert found.leaving_m_s == pytest.approx(steady.leaving_m_s, rel=1e-9)
    assert found.arriving_m_s == pytest.approx(steady.arriving_m_s, rel=1e-9)
    least = grooves.slope_to_keep_rolling(grooves.Groove(0.048, 0.006, 0.0, G), 0.0514)
    assert least_slope(HUGS, row, 0.0) == pytest.approx(least, rel=1e-6)


@pytest.mark.parametrize("height", [None, 0.0003])
@pytest.mark.parametrize("resistance", [0.0, 0.01])
def test_least_slope_is_the_edge_of_stopping(height: float | None, resistance: float) -> None:
    """A thousand ribs: a little steeper rolls on, a little flatter stops. With resistance it is
    more than the resistance takes on the flats alone. Low ribs are climbed one by one."""
    row = ribs(HUGS, 0.04, 0.012, height)
    assert row.on_ground == (height is not None)
    least = least_slope(HUGS, row, resistance)
    for share, stops in ((1.03, False), (0.97, True)):
        grade = on(HUGS, math.atan(math.tan(least) * share), resistance)
        assert keeps_rolling(HUGS, row, grade) is not stops
        course = over_ribs(HUGS, row, grade, 0.09, 3000, 0.0)
        assert course.stops is stops
    assert least > 0.6 * math.atan(resistance)


def test_gap_almost_as_wide_as_the_ball_stops_any_speed() -> None:
    """The strike turns the ball back: no speed, no slope short of release is enough."""
    row = ribs(HUGS, 0.2, 0.0475, None)
    assert squared_needed(HUGS, row.moves[0], 0.05) == math.inf
    assert settled_speed(HUGS, row, on(HUGS, 0.05)) is None
    assert not keeps_rolling(HUGS, row, on(HUGS, 0.05))
    assert least_slope(HUGS, row, 0.01) == pytest.approx(
        release_slope(HUGS, Joint(0.0475)), rel=0.02
    )


def test_counting_the_rest_equals_walking_it() -> None:
    """Once settled, time and place go on as if every rib had been walked."""
    row, grade = ribs(HUGS, 0.05, 0.02, None), on(HUGS, 0.05)
    long = over_ribs(HUGS, row, grade, 0.01, 2000, 0.01)
    short = over_ribs(HUGS, row, grade, 0.01, 1000, 0.0)
    assert long.squared[-2] == pytest.approx(short.squared[-1], rel=1e-12)
    settled = settled_speed(HUGS, row, grade)
    assert settled is not None
    assert math.sqrt(short.squared[-1]) == pytest.approx(settled.leaving_m_s, rel=1e-9)
    assert long.along_m[-1] == pytest.approx(100.01)
    per_pitch = (long.time_s[-2] - short.time_s[-1]) / 1000
    flats = 0.03 * 2 / (settled.leaving_m_s + settled.arriving_m_s)
    gaps = 0.02 * 2 / (settled.leaving_m_s + settled.arriving_m_s)
    assert per_pitch == pytest.approx(flats + gaps, rel=1e-6)

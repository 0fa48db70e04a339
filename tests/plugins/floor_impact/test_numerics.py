"""The time course against scipy, bounds against the time course, panels against hand and twins."""

import doctest
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from baywright_plugins.floor_impact import drop_test, words
from baywright_plugins.floor_impact.contact_law import ContactLaw, most_force
from baywright_plugins.floor_impact.panel_frame import (
    Carried,
    NotHeld,
    Panel,
    mirrored_along,
    places_hit,
)
from baywright_plugins.floor_impact.panel_parts import leans, panel_parts
from baywright_plugins.floor_impact.panel_spec import (
    FLAT,
    ON_EDGE,
    Deck,
    PanelSpec,
    RodKind,
    Seat,
    Supports,
)
from baywright_plugins.floor_impact.peak_force import Blow, Spot, peak, pulse_s
from baywright_plugins.floor_impact.slip import left_over_n_mm, slip_per_hit
from baywright_plugins.floor_impact.study import Bounds, study
from baywright_plugins.floor_impact.swing import follow, two_masses
from baywright_plugins.floor_impact.usage import CHECKS, Strength, force_at
from baywright_plugins.floor_tiling_ratio.panel_strength import RodAndSeat, lying_flat, on_edge

SEAT = Seat(60, 300, 250, 240, 1200)


def rod(name: str, pitch: float, mass_g: float) -> RodKind:
    return RodKind(name, pitch, 8, 12_000, mass_g / 1000, 40, 4, 300)


R60, R85 = rod("R60", 60, 1.43), rod("R85", 84.8, 2.31)


def spec(**changes: Any) -> PanelSpec:
    parts: dict[str, Any] = {
        "along": 4,
        "across": 1,
        "bay": R60,
        "cross": R60,
        "depth": R60,
        "diagonal": R85,
        "pattern": "lean-in",
        "hub_kg": 0.011,
        "seat": SEAT,
        "supports": Supports("ends", 1, 0.0),
    }
    return PanelSpec(**{**parts, **changes})


def test_examples_in_docstrings() -> None:
    """What docstrings show is true."""
    for module in (drop_test, words):
        outcome = doctest.testmod(module)
        assert outcome.attempted > 0 and outcome.failed == 0


COURSES = [
    (1.0, 0.3, 8.0, 4000.0, 1.0, 0.0, (0.0, 0.0)),
    (0.5, 2.0, 60.0, 900.0, 0.45, 0.05, (0.0, 0.0)),
    (2.0, 0.05, 1.0, 9000.0, 0.2, 0.0, (0.0, 0.0)),
    (0.6, 0.4, 20.0, 3000.0, 1.0, 0.1, (4.0, 6.0)),
    (1.5, 0.2, 30.0, 3000.0, 0.6, 0.0, (5.0, 3.0)),
]


@pytest.mark.parametrize("height,ratio,k,dent,e,z,cushion", COURSES)
def test_time_course_against_solve_ivp(
    height: float, ratio: float, k: float, dent: float, e: float, z: float, cushion: Any
) -> None:
    """Two masses, dent and spring: scipy's integrator gives the same forces."""
    m, law, moving = 0.041, ContactLaw(dent, *cushion), 0.041 * ratio
    blow = Blow(m, 1000 * height, 9.81)
    until = 0.6 * 2 * math.pi * math.sqrt((m + moving) / (1000 * k)) + pulse_s(blow, law)
    course = follow(
        two_masses(k, moving), [law], mass_kg=m, speed_m_s=blow.speed_m_s, gravity_m_s2=9.81,
        restitution=e, until_s=until, samples=1500, damping=z,
    )  # fmt: skip
    dulling, omega = 1.6 * (1 - e) / e / (1000 * blow.speed_m_s), math.sqrt(1000 * k / moving)

    def motion(t: float, y: Any) -> list[float]:
        x, v, w, u = y
        stiff, travel = cushion
        soft = stiff * min(max(x - w, 0.0), travel)
        force = soft + dent * max(x - w - travel, 0.0) ** 1.5 * max(1 + dulling * (v - u), 0.0)
        pull = 1000 * (force - k * w) / moving - 2 * z * omega * u
        return [v, 9810 - 1000 * force / m, u, pull]

    start, end = [0.0, 1000 * blow.speed_m_s, 0.0, 0.0], course.time_s[-1]
    run = solve_ivp(
        motion, (0, end), start, method="DOP853", rtol=1e-7, atol=1e-9,
        max_step=end / 150, t_eval=course.time_s,
    )  # fmt: skip
    answer = course.deflection_mm[:, 0]
    assert np.abs(answer - run.y[2]).max() < 0.01 * np.abs(run.y[2]).max()
    assert answer.max() == pytest.approx(run.y[2].max(), rel=3e-3)


@settings(deadline=None, derandomize=True, max_examples=10)
@given(
    st.floats(10, 2000),
    st.floats(-1.5, 1.5),
    st.floats(-1, 2.5),
    st.floats(2.5, 4.5),
    st.sampled_from([1.0, 0.8, 0.45, 0.2]),
)
def test_range_holds_the_time_course(
    height: float, ratio: float, k: float, dent: float, e: float
) -> None:
    """Whatever ball, panel, dent and bounce: the panel's largest answer lies in the range."""
    m, law = 0.041, ContactLaw(10**dent)
    blow, spot = Blow(m, height, 9.81), Spot(10**k, m * 10**ratio)
    found = peak(blow, spot, law, law)
    until = 0.8 * 2 * math.pi * math.sqrt((m + spot.moving_kg) / (1000 * spot.stiffness_n_mm))
    course = follow(
        two_masses(spot.stiffness_n_mm, spot.moving_kg), [law], mass_kg=m,
        speed_m_s=blow.speed_m_s, gravity_m_s2=9.81, restitution=e,
        until_s=until + pulse_s(blow, law), samples=400,
    )  # fmt: skip
    answer = float(course.deflection_mm.max()) * spot.stiffness_n_mm
    whole = course.time_s[-1] > 0.95 * until
    assert answer <= found.high_n * 1.003
    assert answer >= found.low_n * 0.997 or not whole
    assert float(course.touch_n.max()) <= found.touch_high_n * 1.003 or e < 1
    assert found.low_n <= found.series_n <= found.high_n * 1.0001


def test_cushion_makes_it_gentler() -> None:
    """Felt that does not lie flat holds the range down; one that does lets the blow through."""
    blow, spot = Blow(0.041, 480, 9.81), Spot(40.0, 0.002)
    bare = ContactLaw(5000.0)
    soft = ContactLaw(5000.0, 4.0, 12.0)
    thin = ContactLaw(5000.0, 4.0, 1.0)
    forces = [peak(blow, spot, law, law).high_n for law in (bare, thin, soft)]
    assert forces[2] < 0.4 * forces[0] and forces[2] < forces[1] <= forces[0]
    rigid = most_force(soft, blow.weight_n, blow.energy_n_mm)
    assert rigid == pytest.approx(
        blow.weight_n + math.sqrt(blow.weight_n**2 + 2 * 4.0 * blow.energy_n_mm), rel=1e-9
    )
    assert thin.approach_mm(4.0) == pytest.approx(1.0)
    assert soft.energy_n_mm(3.0) == pytest.approx(18.0)
    assert soft.stiffness_n_mm(3.0) == 4.0


def test_trusses_against_statics() -> None:
    """With hubs that turn freely each truss is that of the floor's own statics: stiffness and
    first slip of every inner top hub."""
    limp = spec(hub_kg=0.0, seat=Seat(60, 300, 250, 240, 0.0), cross=rod("R60", 60, 0.0))
    panel = Panel(panel_parts(limp, ON_EDGE))
    # Its stiffness counts the whole pitch as wood, the other one the free length.
    by_hand = on_edge(4, 60, 60, RodAndSeat(8, 12_000, 40, 0, 60, 300, 250, 240, 1e-9))
    strength = Strength.of(panel.rod_bars, limp.seat)
    still = panel.own_weight(0.0)
    for j, point in enumerate(by_hand, start=1):
        hub = panel.parts.top[2 * j, 0]
        assert panel.stiffness_n_mm(hub) == pytest.approx(point.stiffness_n_mm, rel=1e-3)
        one = np.eye(len(panel.points_mm))[:, [hub]]
        slips = force_at(strength, panel.carried.times(one), still, seats_only=True)
        assert float(slips[0]) == pytest.approx(point.first_slip_n, rel=1e-3)


def test_flat_line_against_beam_theory() -> None:
    """One line of rods beside a weightless, limp one: seats turn, rods bend."""
    thin = RodKind("thin", 60, 0.01, 12_000, 0.0, 40, 4, 300)
    panel = Panel(panel_parts(spec(cross=thin), FLAT))
    kit = RodAndSeat(8, 12_000, 40, 0, 60, 300, 250, 240, 1200)
    for j, point in enumerate(lying_flat(4, 60, kit), start=1):
        hub = panel.parts.top[2 * j, 0]
        # An end hub's seat turns under no moment; inner hubs turn as in beam theory.
        assert panel.stiffness_n_mm(hub) == pytest.approx(point.stiffness_n_mm, rel=2e-2)


@pytest.mark.parametrize("orientation", [ON_EDGE, FLAT])
@pytest.mark.parametrize("deck", [None, Deck(3, 7000, 0.3, 680)])
def test_loads_come_down_on_the_supports(orientation: str, deck: Deck | None) -> None:
    """Whatever is hit, supports push up with as much; moments about one end balance."""
    panel = Panel(panel_parts(spec(across=2, deck=deck), orientation))
    assert panel.pushed_n.sum(axis=0) == pytest.approx(np.ones(len(panel.points_mm)), abs=2e-5)
    at = panel.points_mm[list(panel.parts.supports), 0]
    assert at @ panel.pushed_n == pytest.approx(panel.points_mm[:, 0], abs=0.02)


@pytest.mark.parametrize("orientation", [ON_EDGE, FLAT])
def test_masses_add_up(orientation: str) -> None:
    """Rods, hubs and deck by count; swings carry the whole mass."""
    panel = Panel(panel_parts(spec(across=2, deck=Deck(3, 7000, 0.3, 680)), orientation))
    used = panel.parts.rods_used
    rods = used.get("R60", 0) * 1.43e-3 + used.get("R85", 0) * 2.31e-3
    sheet = 240 * 120 * 3 * 680e-9
    assert panel.total_kg == pytest.approx(rods + 0.011 * panel.parts.hubs_count + sheet)
    expected = (15 * 2, 2 * 22 + 15 + 12) if orientation == ON_EDGE else (15, 22)
    assert (panel.parts.hubs_count, sum(used.values())) == expected


def test_one_swing_or_all_agree_where_one_is_all() -> None:
    """A light ball laid on a soft panel: time course in all shapes and steady force agree."""
    panel = Panel(panel_parts(spec(hub_kg=1e-5), ON_EDGE))
    hub = panel.parts.top[4, 0]
    shapes = panel.shapes([hub])
    assert float((shapes.at_hit[:, 0] ** 2 / shapes.omega_rad_s**2).sum() * 1000) == (
        pytest.approx(panel.gives_mm_n[hub, hub], rel=1e-6)
    )
    by_shape = panel.carried_by_shapes()
    amounts = 1000 * shapes.at_hit / shapes.omega_rad_s[:, None] ** 2
    steady = by_shape.times(amounts)
    assert steady.axial_n[:, 0] == pytest.approx(panel.carried.axial_n[:, hub], abs=1e-6)


def test_mirror_images_are_left_out() -> None:
    """A quarter of the places of a symmetric panel; half where diagonals lean one way."""
    even = Panel(panel_parts(spec(across=2), ON_EDGE))
    odd = Panel(panel_parts(spec(along=3, across=2), ON_EDGE))
    assert mirrored_along(even.parts) and not mirrored_along(odd.parts)
    assert max(place.along_mm for place in places_hit(even)) == 120
    assert max(place.along_mm for place in places_hit(odd)) == 180
    whole = study(odd, Blow(0.041, 100, 9.81), _laws, 1.65, Bounds(0.5, 0.02, 0.1))
    assert len(whole.hits) == len(places_hit(odd))


def _laws(kind: str) -> tuple[ContactLaw, ContactLaw]:
    return ContactLaw(2000.0), ContactLaw(6000.0)


def test_study_orders_its_numbers() -> None:
    """Least before most at every place, worst first, and harder with a higher drop."""
    panel = Panel(panel_parts(spec(across=2), ON_EDGE))
    bounds = Bounds(0.4, 0.02, 0.1)
    mild, hard = (study(panel, Blow(0.041, h, 9.81), _laws, 1.65, bounds) for h in (50, 400))
    for found in (mild, hard):
        assert all(hit.used_low <= hit.used_high for hit in found.hits)
        assert all(hit.used_high >= hit.used_still for hit in found.hits)
        assert all(hit.allowed_n <= hit.gives_n <= hit.seat_slips_n * 1.0001 for hit in found.hits)
        assert found.worst_hit.used_high == max(hit.used_high for hit in found.hits)
    assert hard.worst_hit.used_high > 2 * mild.worst_hit.used_high
    assert hard.own_weight == pytest.approx(mild.own_weight)


def test_usage_by_hand() -> None:
    """A rod pulled by 30 N with 120 N mm at one seat and 200 at its middle."""
    bars = panel_parts(spec(), FLAT).bars[:1]
    moment = np.zeros((1, 2, 1, 1))
    moment[0, 0, 0, 0], moment[0, 1, 0, 0] = 120.0, 200.0
    carried = Carried(np.array([[30.0]]), moment)
    used = dict(zip(CHECKS, Strength.of(bars, SEAT).usage(carried)[:, 0, 0], strict=True))
    assert used["seat pulled"] == pytest.approx(30 / 60 + 120 / 240)
    assert used["seat pressed"] == used["rod bows"] == 0.0
    section, area = math.pi * 512 / 32, math.pi * 16
    assert used["rod bent"] == pytest.approx((30 / area + 200 / section) / 40)
    assert used["rod sheared"] == pytest.approx(4 / 3 * (320 / 30) / area / 4)
    reserved = Strength.of(bars, SEAT, 1.65).usage(carried)[:, 0, 0]
    assert reserved[0] == pytest.approx(1.65) and reserved[4] == pytest.approx(used["rod bent"])


def test_limp_grid_is_refused() -> None:
    """A flat grid of hubs that turn freely, and trusses without diagonals, do not stand."""
    limp = Seat(60, 300, 250, 240, 0.0)
    with pytest.raises(NotHeld):
        Panel(panel_parts(spec(seat=limp), FLAT))
    with pytest.raises(NotHeld):
        Panel(panel_parts(spec(seat=limp, diagonal=None, pattern="none"), ON_EDGE))


def test_leaning() -> None:
    """lean-in rises toward the middle, alternating goes up and down, crossed does both."""
    assert [leans("lean-in", k, 4) for k in range(4)] == [(True, False)] * 2 + [(False, True)] * 2
    assert [leans("alternating", k, 3)[0] for k in range(3)] == [True, False, True]
    assert leans("crossed", 0, 1) == (True, True)


def test_slip_by_work() -> None:
    """What a spring cannot hold slides a seat: (F^2 - F1^2)/(2 k) over the pull-out."""
    left = left_over_n_mm(100.0, 60.0, 20.0)
    assert left == pytest.approx((100**2 - 60**2) / 40)
    assert slip_per_hit(left, 60.0) == pytest.approx(left / 60)
    assert left_over_n_mm(50.0, 60.0, 20.0) == 0.0

"""Contact, blow, beam, plate and binomial against what handbooks and standards print."""

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import binom, binomtest

from baywright_plugins.floor_impact.contact_law import ContactLaw, most_force
from baywright_plugins.floor_impact.drop_test import drops_needed, shown_reliability
from baywright_plugins.floor_impact.hertz import (
    DURATION,
    ball_on_plane,
    ball_on_rod,
    crushing_force,
    elastic_blow,
    shared_modulus,
)
from baywright_plugins.floor_impact.panel_frame import Panel
from baywright_plugins.floor_impact.panel_parts import panel_parts
from baywright_plugins.floor_impact.panel_spec import (
    FLAT,
    Deck,
    PanelSpec,
    RodKind,
    Seat,
    Supports,
)
from baywright_plugins.floor_impact.peak_force import (
    Blow,
    half_sine_amplification,
    half_sine_peak,
)
from baywright_plugins.floor_impact.stopping import even_way_mm, spring_way_mm

PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "floor_impact.json").read_text("utf-8")
)
Case = dict[str, Any]


def cases(quantity: str) -> Callable[[Any], Any]:
    """Every published case of a quantity."""
    found = [case for case in PUBLISHED if case["quantity"] == quantity]
    assert found
    return pytest.mark.parametrize("case", found, ids=[case["id"] for case in found])


def held(case: Case, found: float) -> None:
    """Within the printed digits."""
    tolerance = {k: v for k, v in case["tolerance"].items() if k in ("abs", "rel")}
    assert found == pytest.approx(case["expected"], **tolerance)


@cases("impact_factor")
def test_impact_factor_of_a_spring_without_mass(case: Case) -> None:
    """Gere, Goodno: 1 + sqrt(1 + 2 h/delta); a dent so stiff that it takes nothing."""
    ratio = case["inputs"]["h_over_static_deflection"]
    law, weight, give = ContactLaw(1e12), 2.0, 0.25
    force = most_force(law, weight, weight * ratio * weight * give, give)
    held(case, force / weight)


@cases("free_fall_speed")
def test_speed_of_the_fall(case: Case) -> None:
    """v = sqrt(2 g h)."""
    blow = Blow(1.0, 1000 * case["inputs"]["height_m"], case["inputs"]["g"])
    held(case, blow.speed_m_s)


@cases("hertz_sphere_plane")
def test_steel_ball_on_a_plane(case: Case) -> None:
    """Half width and largest pressure of a 50 mm ball under 500 N."""
    _hertz(case, case["inputs"]["ball_diameter_mm"] / 2)


@cases("hertz_two_spheres")
def test_steel_ball_on_its_twin(case: Case) -> None:
    """Two radii in parallel are half of one."""
    _hertz(case, case["inputs"]["ball_diameter_mm"] / 4)


def _hertz(case: Case, radius_mm: float) -> None:
    given = case["inputs"]
    steel = (1000 * given["E_GPa"], given["nu"])
    contact = ball_on_plane(radius_mm, shared_modulus(steel, steel))
    wide = contact.a_mm_per_n13 * given["force_N"] ** (1 / 3)
    rel = case["tolerance"]["rel"]
    assert wide == pytest.approx(case["expected"]["contact_radius_mm"], rel=rel)
    pressure = contact.pressure_n_mm2(given["force_N"])
    assert pressure == pytest.approx(case["expected"]["max_pressure_MPa"], rel=rel)


@cases("hertz_ellipse")
def test_ball_on_a_rod_follows_the_table(case: Case) -> None:
    """alpha, beta, lambda for bodies with K_D = 1 and C_E = 1: 1/4 (B - A)/(B + A) = cos theta."""
    cosine = case["inputs"]["cos_theta"]
    flat, curved = 0.375 * (1 - cosine), 0.375 * (1 + cosine)
    rod = 0.5 / (curved - flat) if cosine else 1e12
    contact = ball_on_rod(0.5 / flat, rod, 1.0)
    found = (contact.a_mm_per_n13, contact.b_mm_per_n13, contact.dent_mm(1.0))
    expected = [case["expected"][key] for key in ("alpha", "beta", "lambda")]
    assert found == pytest.approx(expected, abs=case["tolerance"]["abs"])


@cases("hertz_duration")
def test_duration_of_a_blow(case: Case) -> None:
    """Johnson, equation 11.24, in SI units."""
    m, radius, modulus, v = 0.041, 24.0, 900.0, 3.07
    blow = elastic_blow(ball_on_plane(radius, modulus), m, v)
    scale = (m**2 / (radius / 1000 * (modulus * 1e6) ** 2 * v)) ** 0.2
    held(case, blow.duration_s / scale)


@cases("hertz_duration_over_dent")
def test_duration_over_dent(case: Case) -> None:
    """Landau and Lifshitz."""
    held(case, DURATION)


def test_blow_against_integration() -> None:
    """scipy's solve_ivp of m x'' = -K x^1.5 gives dent, force and duration of a blow."""
    contact, m, v = ball_on_rod(24.0, 4.0, 900.0), 0.041, 3.07
    k = contact.stiffness_n_mm15

    def motion(t: float, y: Any) -> list[float]:
        return [y[1], -1000 * k * max(y[0], 0.0) ** 1.5 / m]

    def leaves(t: float, y: Any) -> float:
        return float(y[0]) if t > 1e-6 else 1.0

    leaves.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(motion, (0, 0.01), [0, 1000 * v], events=leaves, rtol=1e-10, max_step=1e-6)
    blow = elastic_blow(contact, m, v)
    assert run.y[0].max() == pytest.approx(blow.dent_mm, rel=1e-5)
    assert run.t[-1] == pytest.approx(blow.duration_s, rel=1e-4)
    assert k * run.y[0].max() ** 1.5 == pytest.approx(blow.force_n, rel=1e-5)


def test_crushing_never_beats_springing() -> None:
    """Soft yield crushes at p V = E with V = pi a^4/(4 R); hard yield stays elastic."""
    contact, energy = ball_on_plane(24.0, 900.0), 193.0
    elastic = contact.stiffness_n_mm15 * (2.5 * energy / contact.stiffness_n_mm15) ** 0.6
    assert crushing_force(contact, 24.0, 1e6, energy) == pytest.approx(elastic)
    force = crushing_force(contact, 24.0, 3.0, energy)
    a4 = (force / (9.0 * math.pi)) ** 2
    assert 9.0 * math.pi * a4 / (4 * 24.0) == pytest.approx(energy)
    assert force < elastic


@cases("half_sine_velocity_change")
def test_half_sine_pulse(case: Case) -> None:
    """IEC 60068-2-27, table of pulses: the peak that belongs to the printed change of speed."""
    given, printed = case["inputs"], case["expected"]
    found = half_sine_peak(printed, given["duration_ms"] / 1000) / 9.80665
    assert found == pytest.approx(given["peak_g"], rel=case["tolerance"]["abs"] / printed)


@cases("half_sine_spectrum")
def test_half_sine_spectrum(case: Case) -> None:
    """Integrated for pulses of all lengths, the answer never passes the rule, and reaches 1.77."""
    most = 0.0
    for ratio in np.arange(0.1, 4.0, 0.1):

        def motion(t: float, y: Any, ratio: float = float(ratio)) -> list[float]:
            push = math.sin(math.pi * t / ratio) if t < ratio else 0.0
            return [y[1], (2 * math.pi) ** 2 * (push - y[0])]

        run = solve_ivp(motion, (0, ratio + 1), [0, 0], rtol=1e-6, max_step=0.02)
        answer = float(np.abs(run.y[0]).max())
        assert answer <= half_sine_amplification(float(ratio)) * 1.001
        most = max(most, answer)
    held(case, most)


@cases("average_stop_g")
def test_even_stop(case: Case) -> None:
    """h/s in g, and the weight itself on top."""
    drop, stop = case["inputs"]["drop_mm"], case["inputs"]["stop_mm"]
    weight = 2.0
    force = weight * (case["expected"]["average_g"] + 1)
    assert even_way_mm(weight * drop, weight, force) == pytest.approx(stop, rel=1e-4)
    way = spring_way_mm(weight * drop, weight, force)
    assert way is not None and way * force / 2 == pytest.approx(weight * (drop + way))
    assert even_way_mm(1.0, weight, weight) is None
    assert spring_way_mm(1.0, weight, 2 * weight) is None


ROD = RodKind("R", 100, 8, 12_000, 0.01, 40, 4, 300)


def beam(bays: int) -> tuple[Panel, int]:
    """A heavy line of rods with rigid seats beside a weightless twin; its middle hub."""
    weightless = replace(ROD, mass_kg=0.0)
    seat = Seat(60, 300, 1e9, 1e9, 1e9)
    spec = PanelSpec(bays, 1, ROD, weightless, ROD, None, "none", 0.0, seat, Supports("ends", 1, 0))
    panel = Panel(panel_parts(spec, FLAT))
    return panel, panel.parts.top[bays, 0]


@cases("beam_moving")
def test_moving_mass_of_a_beam(case: Case) -> None:
    """17/35 of a simple beam moves with a ball in its middle."""
    panel, point = beam(6)
    held(case, panel.moving_kg(point) / 0.06)
    assert panel.stiffness_n_mm(point) == pytest.approx(48 * ROD.bending_n_mm2 / 600**3, rel=1e-3)


@cases("beam_mean")
def test_mean_shape_of_a_beam(case: Case) -> None:
    """5/8 is the mean deflection over the largest; lumped masses come near from below."""
    panel, point = beam(12)
    shape = panel.gives_mm_n[:, point] / panel.gives_mm_n[point, point]
    held(case, float((panel.mass_kg * shape).sum()) / 0.12)


def test_beam_moment_and_reactions() -> None:
    """F L/4 in the middle, half of the load on each bearer."""
    panel, point = beam(4)
    moment = np.abs(panel.carried.moment_n_mm[..., point]).max()
    assert moment == pytest.approx(400 / 4, rel=1e-9)
    assert sorted(panel.pushed_n[:, point])[-2:] == pytest.approx([0.5, 0.5])


@cases("plate_centre")
def test_deck_against_the_square_plate(case: Case) -> None:
    """Strips every half bay, held at the edge by rods that carry nothing."""
    rod = RodKind("R", 100, 1, 1e-3, 0.0, 40, 4, 300)
    deck = Deck(3, 7000, 0.3, 680)
    seat = Seat(60, 300, 250, 240, 1e-3)
    spec = PanelSpec(6, 4, rod, rod, rod, None, "none", 0.0, seat, Supports("edges", 1, 0), deck)
    spec = replace(spec, across=6)
    panel = Panel(panel_parts(spec, FLAT))
    point = panel.parts.deck[6, 6]
    held(case, panel.gives_mm_n[point, point] * deck.plate_n_mm / 600**2)


@cases("drops_needed")
def test_drops_needed(case: Case) -> None:
    """Handbook tables, each number exactly; one drop less shows less."""
    given = case["inputs"]
    found = drops_needed(given["reliability"], given["confidence"], given["failures"])
    assert found == case["expected"]
    chance = binom.cdf(given["failures"], found - 1, 1 - given["reliability"])
    assert chance > 1 - given["confidence"]


@cases("upper_limit")
def test_upper_limit_of_failures(case: Case) -> None:
    """NIST, exact limits; scipy's binomtest says the same."""
    given = case["inputs"]
    shown = shown_reliability(given["drops"], given["failures"], given["confidence"])
    held(case, 1 - shown)
    test = binomtest(given["failures"], given["drops"], alternative="less")
    limit = test.proportion_ci(given["confidence"], method="exact").high
    assert 1 - shown == pytest.approx(limit, rel=1e-9)


@cases("lower_limit")
def test_lower_limit_of_a_run_without_failure(case: Case) -> None:
    """30 of 30 show 92.6 % with 90 % confidence."""
    given = case["inputs"]
    held(case, shown_reliability(given["drops"], given["failures"], given["confidence"]))
    assert shown_reliability(5, 5, 0.9) == 0.0


@cases("slip_reserve")
def test_reserve_of_friction_couplers(case: Case) -> None:
    """The default reserve is that of couplers that slip at 10 kN and carry 6.1 kN."""
    held(case, case["inputs"]["slip_kN"] / case["inputs"]["design_kN"])

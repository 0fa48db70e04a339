"""Loop, comb, cage and window against other ways to the same number."""

import doctest
import math
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from baywright_plugins.chain_drive import hinge, loading, loop, torque
from baywright_plugins.chain_drive.comb import Comb, best_datum, clearances, widest_tooth
from baywright_plugins.chain_drive.torque import WeakPoint, reverse_efficiency, window
from baywright_plugins.lift_redundancy.chain import length_in_pitches, pitch_diameter

TEETH = st.integers(9, 60)


@settings(deadline=None, derandomize=True, max_examples=8)
@given(TEETH, TEETH, st.floats(25, 80))
def test_the_loop_is_the_hull_of_two_circles(z1: int, z2: int, centre: float) -> None:
    """scipy's convex hull (qhull) of both pitch circles is the taut chain; an arc counts as its
    share of the sprocket's teeth."""
    angles = np.linspace(0.0, 2.0 * np.pi, 6000, endpoint=False)
    circle = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    radii = [pitch_diameter(1.0, z) / 2.0 for z in (z1, z2)]
    points = np.concatenate([radii[0] * circle, radii[1] * circle + (centre, 0.0)])
    corners = points[ConvexHull(points).vertices]
    steps = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    straight = steps[steps > 1.0].sum()
    on_first = np.linalg.norm(corners, axis=1) < radii[0] + 1e-9
    arcs = 0.0
    for own, z, radius in ((on_first, z1, radii[0]), (~on_first, z2, radii[1])):
        both = own & np.roll(own, -1)
        arcs += steps[both & (steps <= 1.0)].sum() / (2.0 * np.pi * radius) * z
    assert loop.exact_length((z1, z2), centre) == pytest.approx(straight + arcs, abs=2e-2)


@settings(deadline=None, derandomize=True, max_examples=50)
@given(TEETH, TEETH, st.floats(30, 50))
def test_exact_and_handbook_length_agree_where_the_handbook_asks(
    z1: int, z2: int, centre: float
) -> None:
    """Centre distance 30 to 50 pitches: makers' rule, see the published cases."""
    exact = loop.exact_length((z1, z2), centre)
    assert exact == pytest.approx(length_in_pitches((z1, z2), centre), abs=0.03)
    assert loop.exact_centre((z1, z2), exact) == pytest.approx(centre, abs=1e-9)


@pytest.mark.parametrize("module", [hinge, loading, loop, torque], ids=lambda m: m.__name__)
def test_examples_in_docstrings_hold(module: ModuleType) -> None:
    assert doctest.testmod(module).failed == 0


def test_sag_of_a_parabola_by_integration() -> None:
    span, sag = 1000.0, 50.0
    x = np.linspace(-span / 2, span / 2, 20001)
    y = 4.0 * sag / span**2 * x * x
    length = np.hypot(np.diff(x), np.diff(y)).sum()
    assert loop.sag_length(span, sag) == pytest.approx(length - span, rel=0.01)


@settings(deadline=None, derandomize=True, max_examples=40)
@given(TEETH, TEETH, st.floats(300, 1200), st.floats(0, 60), st.floats(0, 60))
def test_links_within_reach_are_all_and_only_those(
    z1: int, z2: int, wanted: float, apart: float, together: float
) -> None:
    low, high = wanted - together, wanted + apart
    if low <= 12.7 * loop.least_centre((z1, z2)):
        return
    found = list(loop.even_links_between(12.7, (z1, z2), low, high))
    brute = []
    for links in range(2, 400, 2):
        try:
            centre = 12.7 * loop.exact_centre((z1, z2), links)
        except ValueError:
            continue
        if low - 1e-9 <= centre <= high + 1e-9:
            brute.append(links)
    assert found == brute


def test_wear_reached_is_where_the_adjuster_ends() -> None:
    left = loop.take_up(12.7, (15, 21), 120, 600.0, 650.0, 0.02)
    worn = loop.exact_centre((15, 21), 120 * (1 + left.wear_reached)) * 12.7
    assert worn == pytest.approx(650.0, abs=1e-6)
    assert left.two_out_wear is not None
    shorter = loop.exact_centre((15, 21), 118 * (1 + left.two_out_wear)) * 12.7
    assert shorter == pytest.approx(600.0, abs=1e-6)


def comb(**changes: float) -> Comb:
    given = {
        "ribs": 7,
        "rib_pitch": 12.0,
        "rib_width": 4.0,
        "teeth": 5,
        "tooth_pitch": 12.05,
        "tooth_width": 4.0,
        "first_gap": 1,
        "datum_rib": 0,
        "offset": 0.2,
        "rib_pitch_tol": 0.15,
        "rib_width_tol": 0.1,
        "tooth_pitch_tol": 0.12,
        "tooth_width_tol": 0.08,
        "shared_tols": (0.3, 0.4, 0.2, 0.1),
    }
    return Comb(**{**given, **changes})  # type: ignore[arg-type]


def sampled(given: Comb, runs: int, spread: str) -> np.ndarray:
    """Clearances of `runs` machines built part by part: (runs, teeth, 2)."""
    rng = np.random.default_rng(5)

    def off(tolerance: float, *shape: int) -> np.ndarray:
        if spread == "edges":
            return tolerance * rng.choice([-1.0, 1.0], (runs, *shape))
        return tolerance / 3.0 * rng.standard_normal((runs, *shape))

    steps = given.rib_pitch + off(given.rib_pitch_tol, given.ribs - 1)
    ribs = np.concatenate([np.zeros((runs, 1)), np.cumsum(steps, axis=1)], axis=1)
    ribs += given.datum_rib * given.rib_pitch - ribs[:, [given.datum_rib]]
    half_rib = (given.rib_width + off(given.rib_width_tol, given.ribs)) / 2.0
    half_tooth = (given.tooth_width + off(given.tooth_width_tol, given.teeth)) / 2.0
    between = given.tooth_pitch + off(given.tooth_pitch_tol, given.teeth - 1)
    teeth = np.concatenate([np.zeros((runs, 1)), np.cumsum(between, axis=1)], axis=1)
    teeth -= teeth[:, [(given.teeth - 1) // 2]]  # odd: the middle tooth carries the hook
    middle = given.first_gap + (given.teeth - 1) / 2.0 + 0.5
    whole = np.stack([off(tolerance) for tolerance in given.shared_tols]).sum(axis=0)
    teeth += (middle * given.rib_pitch + given.offset + whole)[:, None]
    first = given.first_gap
    left = (teeth - half_tooth) - (ribs + half_rib)[:, first : first + given.teeth]
    right = (ribs - half_rib)[:, first + 1 : first + 1 + given.teeth] - (teeth + half_tooth)
    return np.stack([left, right], axis=2)


@pytest.mark.parametrize("datum", [0, 3, 6])
def test_comb_against_machines_built_part_by_part(datum: int) -> None:
    """Monte Carlo: no machine at the edges of its tolerances beats the worst case, some come
    close; with three sigma at each tolerance, 0.135 % of machines fall below root-sum-square."""
    given = comb(datum_rib=datum)
    found = clearances(given)
    edges = sampled(given, 20_000, "edges")
    assert (edges.min(axis=0) >= found.worst - 1e-9).all()
    normal = sampled(given, 40_000, "normal")
    assert normal.mean(axis=0) == pytest.approx(found.nominal, abs=0.01)
    sigma = (found.nominal - found.likely) / 3.0
    assert normal.std(axis=0) == pytest.approx(sigma, rel=0.02)
    below = (normal < found.likely).mean(axis=0)
    assert (np.abs(below - 0.00135) < 4 * math.sqrt(0.00135 / 40_000)).all()


def test_worst_case_is_reached_by_one_machine() -> None:
    given = comb(ribs=2, teeth=1, first_gap=0)
    edges = sampled(given, 20_000, "edges")
    assert edges.min(axis=0) == pytest.approx(clearances(given).worst[0][None], abs=1e-9)


def test_widest_tooth_leaves_what_is_wanted() -> None:
    given = comb()
    least = float(clearances(given).worst.min())
    wider = widest_tooth(given, least, 0.3)
    assert float(clearances(comb(tooth_width=wider)).worst.min()) == pytest.approx(0.3)


def test_best_datum_lies_amid_the_teeth() -> None:
    datum, left = best_datum(comb(offset=0.0))
    assert datum in (3, 4)
    assert left > float(clearances(comb(offset=0.0)).worst.min())


@settings(deadline=None, derandomize=True, max_examples=50)
@given(st.floats(-900, 900), st.floats(0.01, 2))
def test_cage_lever_by_all_four_corners_of_play(above: float, play: float) -> None:
    """Brute force: each hinge at either end of its play."""
    cage = hinge.Cage(800.0, above, 150.0, play, 200.0, 0.1)
    share = above / 800.0
    corners = [(0.5 + share) * a + (0.5 - share) * b for a in (-play, play) for b in (-play, play)]
    moved = hinge.displacement(cage).sideways
    assert moved == pytest.approx(max(map(abs, corners)), rel=1e-12)
    assert hinge.most_play(cage, moved) == pytest.approx(play)


def test_a_window_at_its_best_setting_uses_all_its_scatter() -> None:
    found = window(0.4, [WeakPoint("hook", 3.0), WeakPoint("seat", 2.0)], 1.25)
    assert found is not None and found.is_open and found.weakest == "seat"
    assert found.setting_n_m * (1 - found.tolerance_ratio) == pytest.approx(0.4)
    assert found.setting_n_m * (1 + found.tolerance_ratio) == pytest.approx(1.6)
    assert window(0.4, [], 1.25) is None


def test_friction_holds_below_one_half() -> None:
    """Self-locking of a screw or worm: its efficiency is below one half (any handbook of machine
    elements, from memory)."""
    assert reverse_efficiency(0.49) == 0.0 < reverse_efficiency(0.51)


def test_a_ball_on_a_plane_takes_five_sevenths_of_gravity() -> None:
    """a = 5/7 g sin t: any mechanics text."""
    pull = loading.rolling_acceleration(10.0, 48.0, 0.0, 0.0, 9.80665)
    assert pull == pytest.approx(5 / 7 * 9.80665 * math.sin(math.radians(10)))
    assert loading.seconds_to_roll(500.0, pull) == pytest.approx(math.sqrt(1.0 / pull))
    assert loading.rolling_acceleration(1.0, 48.0, 0.0, 0.1, 9.8) == 0.0


def test_least_slope_is_just_in_time() -> None:
    def seconds(slope: float) -> float | None:
        return loading.seconds_to_roll(
            60.0, loading.rolling_acceleration(slope, 48.0, 8.0, 0.01, 9.81)
        )

    slope = loading.least_slope(seconds, 0.5, 60.0)
    assert slope is not None
    assert seconds(slope) == pytest.approx(0.5, abs=1e-5)
    assert loading.least_slope(seconds, 0.01, 60.0) is None

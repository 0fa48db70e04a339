"""Which bays can be braced."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright_plugins.grid_fit.bracing import brace, sway_mm

PITCHES = [60.0, 84.8, 120.0, 169.6, 240.0]


def test_a_square_bay_takes_the_next_rod() -> None:
    """120 x 120 needs 169.71; R170 is 0.11 short (an independent program)."""
    found = brace((120.0, 120.0), PITCHES, play_mm=0.3, mid_hubs=True)
    assert round(found.needed_mm, 2) == 169.71
    assert found.best == found.single
    assert found.best is not None and PITCHES[found.best.rod] == 169.6
    assert round(found.best.misfit_mm, 2) == -0.11


def test_an_oblong_bay_has_no_diagonal() -> None:
    """120 x 84.8 needs 146.94; the nearest rod is 22.66 off, and no pair in line closes."""
    found = brace((120.0, 84.8), PITCHES, play_mm=0.3, mid_hubs=True)
    assert found.best is None
    assert round(found.needed_mm, 2) == 146.94
    assert round(found.single.misfit_mm, 2) == 22.66


def test_two_rods_in_line_need_a_mid_hub() -> None:
    """240 x 240 needs 339.41: two R170 in line are 0.21 short, within the play of two rods."""
    with_hub = brace((240.0, 240.0), PITCHES, play_mm=0.3, mid_hubs=True)
    assert with_hub.best is not None and with_hub.best.in_line_count == 2
    assert round(with_hub.best.misfit_mm, 2) == -0.21
    assert with_hub.best.play_mm == 0.6
    assert brace((240.0, 240.0), PITCHES, play_mm=0.3, mid_hubs=False).best is None


@given(st.floats(10, 500), st.floats(10, 500), st.floats(0, 2))
def test_a_diagonal_closes_only_within_its_play(a: float, b: float, play: float) -> None:
    """No rod of the kit is nearer than the one named."""
    found = brace((a, b), PITCHES, play_mm=play, mid_hubs=False)
    nearest = min(abs(p - math.hypot(a, b)) for p in PITCHES)
    assert abs(found.single.misfit_mm) == pytest.approx(nearest)
    assert (found.best is not None) == (abs(found.single.misfit_mm) <= play)


def test_no_play_has_no_share() -> None:
    """Without play a misfit has no share of it."""
    assert brace((120.0, 120.0), PITCHES, play_mm=0.0, mid_hubs=False).single.share is None


def test_sway_of_a_single_braced_bay() -> None:
    """A square of four rigid sides leans by the give of its diagonal times the square root of 2."""
    side, give = 120.0, 0.3
    lean = 0.0
    for step in range(2_000_000):
        lean = step * 1e-6
        if math.hypot(side + lean, math.sqrt(side**2 - lean**2)) - side * math.sqrt(2) >= give:
            break
    assert sway_mm(give) == pytest.approx(lean, rel=0.01)

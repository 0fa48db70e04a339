"""Round the corner: textbook values, and a search over the angle."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.corners import longest_round_corner, round_corner

PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "doors_passages_vehicles.json").read_text(
        "utf-8"
    )
)
CORRIDOR = st.floats(300.0, 4000.0)
TURNS = np.radians(np.linspace(0, 90, 20_001))


def cases(quantity: str) -> list[Any]:
    return [case for case in PUBLISHED if case["quantity"] == quantity]


@pytest.mark.parametrize("case", cases("rod_round_corner"), ids=lambda c: c["id"])
def test_ladder_round_a_corner(case: Any) -> None:
    """Stewart, Calculus: (a^2/3 + b^2/3)^3/2; the page that prints 20.97 is wrong."""
    corridors = (case["inputs"]["a"], case["inputs"]["b"])
    found = longest_round_corner(0.0, corridors)
    assert found == pytest.approx(case["expected"], abs=case["tolerance"]["abs"])


@pytest.mark.parametrize("case", cases("rectangle_round_corner_mm"), ids=lambda c: c["id"])
def test_box_round_a_corner(case: Any) -> None:
    """L = min over t of (a cos t + b sin t - d) / (sin t cos t)."""
    given_ = case["inputs"]
    found = longest_round_corner(given_["width_mm"], (given_["a_mm"], given_["b_mm"]))
    assert found == pytest.approx(case["expected"], abs=case["tolerance"]["abs"])


def test_equal_corridors_turn_at_45_degrees() -> None:
    """Equal corridors: L = 2 (sqrt 2 a - d), tightest at 45 degrees."""
    length = 2 * (math.sqrt(2) * 1200 - 600)
    corner = round_corner(length, 600.0, (1200.0, 1200.0))
    assert corner.turning_spare_mm == pytest.approx(0.0, abs=1e-9)
    assert corner.angle_deg == pytest.approx(45.0)


@settings(deadline=None, max_examples=200)
@given(st.floats(0.0, 5000.0), st.floats(0.0, 1500.0), CORRIDOR, CORRIDOR)
def test_no_angle_is_tighter(length: float, width: float, a: float, b: float) -> None:
    """A search over 20,001 angles finds no tighter place, and the place named is that tight."""
    corner = round_corner(length, width, (a, b))
    room = a * np.sin(TURNS) + b * np.cos(TURNS) - length * np.sin(TURNS) * np.cos(TURNS) - width
    assert corner.turning_spare_mm <= room.min() + 1e-6
    assert corner.turning_spare_mm == pytest.approx(room.min(), abs=0.01)


@settings(deadline=None, max_examples=100)
@given(st.floats(1.0, 290.0), CORRIDOR, CORRIDOR)
def test_the_longest_box_just_turns(width: float, a: float, b: float) -> None:
    """At the longest length nothing is left; a little longer sticks."""
    length = longest_round_corner(width, (a, b))
    assert round_corner(length, width, (a, b)).turning_spare_mm == pytest.approx(0, abs=1e-3)
    assert round_corner(length * 1.01, width, (a, b)).turning_spare_mm < 0


def test_a_box_may_be_slid_where_it_cannot_turn() -> None:
    """1000 x 1000 in corridors of 1000: no turning, but it slides round."""
    corner = round_corner(1000.0, 1000.0, (1000.0, 1000.0))
    assert corner.turning_spare_mm < -50
    assert corner.sliding_spare_mm == 0.0
    assert corner.way == "sliding"


def test_wider_than_the_corridor() -> None:
    """No length helps a box wider than a corridor."""
    assert longest_round_corner(1300.0, (1200.0, 2000.0)) == 0.0

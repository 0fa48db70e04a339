"""Rectangles in rectangles: Carver's condition, a sweep of angles, published and refused cases."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.rectangle_in_rectangle import (
    best_tilt,
    short_side_needed,
    turned_size,
)

PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "doors_passages_vehicles.json").read_text(
        "utf-8"
    )
)
SIDE = st.floats(1.0, 3000.0)


def cases(quantity: str) -> list[Any]:
    return [case for case in PUBLISHED if case["quantity"] == quantity]


def fits(section: tuple[float, float], opening: tuple[float, float]) -> bool:
    """Straight or leaning, by `best_tilt`."""
    p, q = max(section), min(section)
    a, b = max(opening), min(opening)
    tilt = best_tilt(section, opening)
    return (p <= a and q <= b) or (tilt is not None and tilt.spare_mm >= 0)


def sweep(section: tuple[float, float], opening: tuple[float, float]) -> float:
    """Most room on the tight side over 90,001 angles."""
    p, q = max(section), min(section)
    turn = np.radians(np.linspace(0, 90, 90_001))
    wide = max(opening) - (p * np.cos(turn) + q * np.sin(turn))
    high = min(opening) - (p * np.sin(turn) + q * np.cos(turn))
    return float(np.minimum(wide, high).max())


@pytest.mark.parametrize("case", cases("rectangle_through_opening"), ids=lambda c: c["id"])
def test_published_tilts(case: Any) -> None:
    """Carver, problem E 1225 (1957), and Wetzel (2000): both cases agree with a sweep."""
    section, opening = case["inputs"]["object_mm"], case["inputs"]["opening_mm"]
    assert fits(tuple(section), tuple(opening)) is case["expected"]["fits"]
    needed = short_side_needed(tuple(section), max(opening))
    assert (needed <= min(opening)) is case["expected"]["fits"]


@pytest.mark.parametrize("case", cases("rotated_bounding_box_mm"), ids=lambda c: c["id"])
def test_published_turned_size(case: Any) -> None:
    """w cos t + h sin t by w sin t + h cos t."""
    given_ = case["inputs"]
    found = turned_size(given_["width_mm"], given_["height_mm"], given_["tilt_deg"])
    expected = (case["expected"]["width_mm"], case["expected"]["height_mm"])
    assert found == pytest.approx(expected, abs=case["tolerance"]["abs"])


@pytest.mark.slow
@settings(deadline=None, max_examples=300)
@given(st.tuples(SIDE, SIDE), st.tuples(SIDE, SIDE))
def test_the_lean_agrees_with_carver(
    section: tuple[float, float], opening: tuple[float, float]
) -> None:
    """The room at the best lean is at least 0 exactly where Carver's condition holds."""
    p, q = max(section), min(section)
    a, b = max(opening), min(opening)
    assume(q <= a and p > a)
    needed = short_side_needed(section, a)
    assume(abs(needed - b) > 1e-6)
    assert fits(section, opening) is (needed <= b)


@pytest.mark.slow
@settings(deadline=None, max_examples=150)
@given(st.tuples(SIDE, SIDE), st.tuples(SIDE, SIDE))
def test_no_angle_does_better(section: tuple[float, float], opening: tuple[float, float]) -> None:
    """A sweep of 90,001 angles finds no more room than the straight positions and the best lean."""
    p, q = max(section), min(section)
    a, b = max(opening), min(opening)
    tilt = best_tilt(section, opening)
    best = max(min(a - p, b - q), min(a - q, b - p), -math.inf if tilt is None else tilt.spare_mm)
    assert sweep(section, opening) == pytest.approx(best, abs=0.1)
    assert sweep(section, opening) <= best + 1e-9


def test_a_thin_strip_needs_what_carver_says() -> None:
    """At the least short side the strip touches both ways."""
    b = short_side_needed((2100.0, 100.0), 2000.0)
    tilt = best_tilt((2100.0, 100.0), (2000.0, b))
    assert tilt is not None
    assert tilt.spare_mm == pytest.approx(0.0, abs=1e-9)


def test_too_wide_for_any_lean() -> None:
    """A section whose smaller side exceeds the opening's longer side is refused."""
    with pytest.raises(ValueError, match="exceeds"):
        short_side_needed((300.0, 200.0), 150.0)


def test_a_square_never_gains_by_leaning() -> None:
    """Turning a square only makes it wider."""
    assert best_tilt((700.0, 700.0), (700.0, 700.0)) is None
    assert best_tilt((700.0, 700.0), (650.0, 650.0)) is None

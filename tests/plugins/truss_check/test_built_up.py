"""Laced columns against published forms and against the eigenvalue of an independent frame."""

import json
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.truss_check.built_up import (
    built_up_column,
    lacing_shear_stiffness_n,
    second_order_moment_n_mm,
)

TRUSS = Path(__file__).parents[2] / "data" / "truss"


def case(name: str) -> Any:
    return json.loads((TRUSS / f"{name}.json").read_text("utf-8"))


@pytest.mark.parametrize(
    ("name", "system"), [("buckling_laced_crossed", "crossed"), ("buckling_laced_posts", "posts")]
)
def test_laced_columns(name: str, system: str) -> None:
    """The smaller of Engesser's load and the chords' own: to the closed form, and to the
    eigenvalue of a finer independent model within the tolerance the case states."""
    data = case(name)
    column, expected = data["column"], data["expected"]
    modulus = column["E"]
    shear = lacing_shear_stiffness_n(
        system,
        planes=1,
        diagonal_rigidity_n=modulus * column["diagonal_area"],
        post_rigidity_n=modulus * column.get("post_area", 1.0),
        panel_mm=column["panel"] * 1e3,
        chord_distance_mm=column["chord_distance"] * 1e3,
    )
    found = built_up_column(
        length_mm=column["pin_ended_length"] * 1e3,
        chord_distance_mm=column["chord_distance"] * 1e3,
        chord_rigidity_n=modulus * column["chord_area"],
        chord_bending_n_mm2=modulus * column["chord_inertia"] * 1e6,
        chord_panel_mm=column["panel"] * 1e3,
        shear_stiffness_n=shear,
    )
    assert shear == pytest.approx(expected["shear_stiffness"], rel=1e-9)
    assert found.euler_n == pytest.approx(expected["euler_effective"], rel=1e-9)
    assert found.critical_n == pytest.approx(expected["critical_load"], rel=1e-9)
    assert found.chord_n == pytest.approx(expected["chord_local"], rel=1e-9)
    assert found.governs == "whole-column"
    assert found.critical_n == pytest.approx(expected["frame_eigenvalue"], rel=data["tolerance"])


def test_shear_stiffness_of_the_codes_figure() -> None:
    """EN 1993-1-1 6.4.2, Figure 6.9, two planes, recalled form: the zigzag with 300 mm between
    points of one chord (so a panel of 150), and crossed lacing with one X in 200 mm."""
    zigzag = lacing_shear_stiffness_n(
        "single", planes=2, diagonal_rigidity_n=11900 * 28.274, panel_mm=150, chord_distance_mm=200
    )
    crossed = lacing_shear_stiffness_n(
        "crossed", planes=2, diagonal_rigidity_n=11900 * 28.274, panel_mm=200, chord_distance_mm=200
    )
    assert zigzag == pytest.approx(258401.74, rel=1e-5)
    assert crossed == pytest.approx(475827.14, rel=1e-5)


@pytest.mark.parametrize(
    ("axial", "length", "euler", "shear", "moment"),
    [(200.0, 1500.0, 2500.0, 8000.0, 670.3911), (350.0, 2400.0, 1800.0, 5000.0, 2283.988)],
)
def test_moment_of_a_bowed_column(
    axial: float, length: float, euler: float, shear: float, moment: float
) -> None:
    """EN 1993-1-1 6.4.1 with a bow of L/500, values recomputed independently."""
    assert second_order_moment_n_mm(axial, length, euler, shear) == pytest.approx(moment, rel=1e-4)


def test_a_column_loaded_beyond_its_strength_is_refused() -> None:
    """There is no moment to report where the load reaches the critical load."""
    with pytest.raises(ValueError, match="reaches"):
        second_order_moment_n_mm(2000.0, 1500.0, 2500.0, 8000.0)


def test_chords_can_govern() -> None:
    """Thin chords with long panels bow between lacing points far below the column formula."""
    found = built_up_column(
        length_mm=2000, chord_distance_mm=120, chord_rigidity_n=6e5, chord_bending_n_mm2=2e5,
        chord_panel_mm=400, shear_stiffness_n=2e4, chords=4,
    )  # fmt: skip
    assert found.governs == "chord"
    assert found.critical_n == found.chord_n < 0.01 * found.engesser_n

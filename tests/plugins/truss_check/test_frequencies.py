"""Sway, twist, buckling and frequencies against an independent program, hand values, and nearness
to what a lift shakes with."""

import numpy as np
import pytest

from baywright_plugins.truss_check.frequencies import (
    NoStanding,
    Standing,
    closeness,
    lift_frequencies_hz,
    standing,
    top_rings,
)
from tests.plugins.truss_check.sections import EXPECTED, box_model, model_of

SECTIONS = ("S1", "S2")


@pytest.fixture(scope="module", params=SECTIONS)
def section(request: pytest.FixtureRequest) -> tuple[str, Standing]:
    return f"{request.param}_changed", standing(model_of(request.param))


def test_natural_frequencies(section: tuple[str, Standing]) -> None:
    """Printed to 0.01 Hz by an independent dense program."""
    name, stands = section
    expected = EXPECTED["frequencies_Hz_feet_pinned"][name]
    assert stands.frequencies(count=4).value == pytest.approx(expected, abs=0.006)


def test_sway_stiffness(section: tuple[str, Standing]) -> None:
    """Printed to 0.01 N/mm by an independent dense program."""
    name, stands = section
    expected = EXPECTED["sway_stiffness_N_per_mm"][f"{name}_x_y"]
    assert stands.sway_stiffness_n_per_mm() == pytest.approx(expected, abs=0.006)


def test_twist_stiffness(section: tuple[str, Standing]) -> None:
    """Printed to 1 Nm/rad by an independent dense program."""
    name, stands = section
    expected = EXPECTED["twist_stiffness_Nm_per_rad"][name]
    assert stands.twist_stiffness_nm_per_rad() == pytest.approx(expected, abs=0.6)


def test_buckling_factor(section: tuple[str, Standing]) -> None:
    """Printed to 0.1 by an independent dense program."""
    name, stands = section
    expected = EXPECTED["elastic_buckling_factor_standing"][name]
    assert stands.buckling().value[0] == pytest.approx(expected, abs=0.06)


def test_sway_and_twist_of_a_column_by_hand() -> None:
    """Hand formulas for laced beams (common practice, no source), a box column of one bay a
    level: tip L^3/(3 E I) + L/S with E I = k b^3 and S = k_d b for single diagonals; twist
    G J / L with G J = k_d b^3 for faces that are all crossed."""
    bay, k_axis, k_diagonal = 120.0, 121.986, 119.02
    length = 9 * bay
    single, crossed = (
        standing(box_model((1, 1, 9), side_faces={"default": pattern}, cross_faces={"every": 0}))
        for pattern in ("alternating", "crossed")
    )
    sway = 1.0 / (length**3 / (3 * k_axis * bay**3) + length / (k_diagonal * bay))
    assert single.sway_stiffness_n_per_mm() == pytest.approx((sway, sway), rel=0.02)
    twist = k_diagonal * bay**3 / length / 1000.0
    assert crossed.twist_stiffness_nm_per_rad() == pytest.approx(twist, rel=0.02)


def test_top_rings_are_four_hubs_at_each_corner_column() -> None:
    part = model_of("S1").part
    hubs = top_rings(part)
    assert len(hubs) == 16 and set(part.lattice[hubs, 2].tolist()) == {15}
    assert set(part.lattice[hubs, 0].tolist()) == {0, 1, 4, 5}


@pytest.mark.parametrize(("links", "key"), [(14, None), (28, "with_28_links")])
def test_tooth_passing_against_the_play_section(links: int, key: str | None) -> None:
    """Hooks every 14 links put the teeth 9 % from the sway; every 28 links is clear."""
    lifts = EXPECTED["lifts"]
    expected = lifts[key] if key else lifts
    sources = lift_frequencies_hz(20, links)
    assert sources["tooth"] == pytest.approx(expected["tooth_passing_Hz"], abs=0.006)
    modes = EXPECTED["frequencies_Hz_feet_pinned"]["S2_changed"]
    near = {one.source: one for one in closeness(modes, sources)}["tooth"]
    assert near.mode_hz == expected["nearest_mode_Hz"]
    assert 100 * near.apart_ratio == pytest.approx(expected["apart_percent"], abs=0.5)
    assert near.clear is (links == 28)


def test_closeness_is_a_share_of_the_mode() -> None:
    (near,) = closeness(np.array([2.0, 10.0]), {"hook": 8.0})
    assert near.mode == 1 and near.clear
    assert near.apart_ratio == pytest.approx(0.2)
    assert not closeness([2.0, 10.0], {"hook": 8.1})[0].clear


def test_a_section_without_corner_feet_is_refused() -> None:
    beams = [{"at": [1, 0, 0], "axis": "z", "bays": 2}, {"at": [0, 0, 1], "axis": "x", "bays": 3}]
    with pytest.raises(NoStanding, match="feet"):
        standing(box_model((3, 1, 2), beams=beams))

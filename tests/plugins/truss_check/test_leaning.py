"""People who lean on a section: forces and moments that must balance, loads with their range."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.truss_check.handling import Handling
from baywright_plugins.truss_check.leaning import (
    BARRIER_LOADS,
    FACES,
    HIGHEST_MM,
    PERSON_N,
    NotLeanedOn,
    leaning_case,
    lifted_feet,
    line_load,
    person,
)
from baywright_plugins.truss_check.section import solve_cases
from tests.plugins.truss_check.sections import EXPECTED, model_of


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(FACES)), st.floats(0.0, 1440.0), st.floats(0.0, 600.0))
def test_force_and_moments_are_those_of_the_load(face: str, height: float, along: float) -> None:
    """A person: resultant inward, at the asked height and place; a line load: at mid width."""
    part = model_of("S2").part
    axis, sign = FACES[face]
    up = part.nodes_mm[:, 2] - part.nodes_mm[:, 2].min()
    other = part.nodes_mm[:, 1 - axis] - part.nodes_mm[:, 1 - axis].min()
    one, row = (
        person(part, face, 300.0, height, along_mm=along),
        line_load(part, face, 0.74, height),
    )
    width = float(np.ptp(other))
    assert row.total_n == pytest.approx(0.74 * width)
    for leaning, at in ((one, along), (row, width / 2)):
        force = leaning.force_n[:, axis]
        assert -sign * force.sum() == pytest.approx(leaning.total_n)
        assert np.abs(leaning.force_n).sum() == pytest.approx(leaning.total_n)
        assert -sign * (force @ up) == pytest.approx(leaning.total_n * height, abs=1e-6)
        assert -sign * (force @ other) == pytest.approx(leaning.total_n * at, abs=1e-6)
        outer = part.lattice[np.flatnonzero(force), axis]
        assert set(outer.tolist()) == {0 if sign < 0 else part.lattice[:, axis].max()}


def test_line_load_goes_by_half_gaps() -> None:
    """Level 10 of the play section's long face has hubs at 0, 120, 960 and 1080 mm."""
    leaning = line_load(model_of("S2").part, "y-", 1.0, 1200.0)
    shares = leaning.force_n[:, 1][leaning.force_n[:, 1] > 0]
    assert sorted(shares.tolist()) == pytest.approx([60.0, 60.0, 480.0, 480.0])
    assert leaning.levels == (10,)


def test_a_low_section_is_leaned_on_at_its_top() -> None:
    part = model_of("S4").part
    leaning = person(part, "y+", 300.0)
    assert leaning.height_mm == pytest.approx(9 * 120.0) and leaning.levels == (9,)


def test_a_leaning_adult_tips_the_play_section_by_itself() -> None:
    """300 N at 1.2 m against 175 N on half of 600 mm: 360 Nm against 52 Nm, by hand."""
    model, handling = model_of("S2"), Handling()
    assert EXPECTED["carry"]["lean_300_N_at_1200_Nm"] == 0.3 * 1200
    tips, stays = (
        leaning_case(model.part, handling, person(model.part, "y-", n), "lean", "leaned on")
        for n in (PERSON_N[0], 40.0)
    )
    tipping, staying = solve_cases(model, [tips, stays])
    assert len(lifted_feet(model.part, tipping)) == 2
    assert lifted_feet(model.part, staying) == []
    turning = 300.0 * 1200.0
    feet = model.part.nodes_mm[:, 1] * tipping.reaction_n[:, 2]
    weight = model.part.nodes_mm[:, 1] * model.weight_n
    assert feet.sum() - weight.sum() == pytest.approx(turning, rel=1e-6)
    assert tipping.factor < staying.factor


def test_barrier_loads_lie_in_their_ranges() -> None:
    """EN 1991-1-1 6.4: 0.2 to 1.0 kN/m for category B, not above 1.20 m (a steelwork guide to the
    standard says the same); crowd classes 0.36, 0.74 and 1.5 kN/m."""
    loads = {one.id: one for one in BARRIER_LOADS}
    assert len(loads) == len(BARRIER_LOADS)
    for one in BARRIER_LOADS:
        assert one.range_n_per_mm[0] <= one.line_load_n_per_mm <= one.range_n_per_mm[1]
        assert "memory" in one.set
    assert loads["en-b"].range_n_per_mm == (0.2, 1.0) and HIGHEST_MM == 1200.0
    crowds = [one.line_load_n_per_mm for one in BARRIER_LOADS if one.id.startswith("crowd")]
    assert crowds == [0.36, 0.74, 1.5]


def test_no_such_face_is_refused() -> None:
    with pytest.raises(NotLeanedOn, match="no face"):
        line_load(model_of("S2").part, "z+", 1.0)

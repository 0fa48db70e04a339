"""Rolling over a step: by hand, and the whole section in balance."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from baywright_plugins.truss_check.handling import Handling, feet
from baywright_plugins.truss_check.kerb import (
    NotRolled,
    kerb_case,
    largest_step_mm,
    leading_load_n,
    push_ratio,
)
from baywright_plugins.truss_check.section import solve_cases
from tests.plugins.truss_check.sections import EXPECTED, box_model, model_of


def test_a_wheel_of_50_over_a_step_of_20() -> None:
    """By hand: sqrt(2000 - 400) / 30 = 40/30; the demo machine's threshold says 1.33."""
    assert push_ratio(50.0, 20.0) == pytest.approx(4 / 3)
    assert "1.33" in EXPECTED["carry"]["threshold_20_mm_wheel_radius_50"]


@given(st.floats(5.0, 200.0), st.floats(0.01, 0.99))
def test_the_resultant_points_at_the_edge(radius: float, share: float) -> None:
    """Push and load together must pass through the edge of the step, seen from the axle."""
    step = radius * share
    across = math.sqrt(radius**2 - (radius - step) ** 2)
    assert push_ratio(radius, step) == pytest.approx(across / (radius - step), rel=1e-6)
    assert largest_step_mm(radius, push_ratio(radius, step)) == pytest.approx(step, rel=1e-6)


@pytest.mark.parametrize(("toward", "axis", "sign"), [("x+", 0, 1), ("x-", 0, -1), ("y+", 1, 1)])
def test_the_step_pushes_back_in_the_ratio(toward: str, axis: int, sign: int) -> None:
    """In the solved case the leading feet carry the load that the push was worked out from."""
    model, handling = model_of("S2"), Handling()
    case = kerb_case(
        model, handling, wheel_radius_mm=50.0, step_mm=10.0, toward=toward, push_level=2
    )
    (state,) = solve_cases(model, [case])
    under = feet(model.part)
    assert under is not None and case.force_n is not None
    along = sign * model.part.nodes_mm[under, axis]
    lead = [foot for foot, at in zip(under, along, strict=True) if at > along.mean()]
    upright = state.reaction_n[lead, 2].sum()
    back = -sign * state.reaction_n[lead, axis].sum()
    assert back == pytest.approx(push_ratio(50.0, 10.0) * upright, rel=1e-3)
    assert sign * case.force_n[:, axis].sum() == pytest.approx(back, rel=1e-3)
    assert state.reaction_n[:, 2].sum() == pytest.approx(1.5 * model.weight_n.sum(), rel=1e-6)
    trail = [foot for foot in under if foot not in lead]
    assert (state.reaction_n[trail, 2] > 0).all()


def test_leading_load_by_hand() -> None:
    """100 N in the middle of a wheelbase of 1000, pushed at axle height and 500 above."""
    assert leading_load_n(100.0, 500.0, 1000.0, 0.0, 1.0) == pytest.approx(50.0)
    assert leading_load_n(100.0, 500.0, 1000.0, 500.0, 1.0) == pytest.approx(100.0)


def test_what_cannot_be_rolled_says_so() -> None:
    model = model_of("S1")
    with pytest.raises(NotRolled, match="as high as the axle"):
        push_ratio(50.0, 50.0)
    with pytest.raises(NotRolled, match="radius"):
        push_ratio(0.0, -1.0)
    with pytest.raises(NotRolled, match="pitches"):
        kerb_case(model, Handling(), wheel_radius_mm=50.0, step_mm=20.0)
    with pytest.raises(NotRolled, match="no way"):
        kerb_case(model, Handling(), wheel_radius_mm=50.0, step_mm=20.0, toward="z+")
    with pytest.raises(NotRolled, match="level 99"):
        kerb_case(model, Handling(), wheel_radius_mm=50.0, step_mm=20.0, push_level=99)
    beams = [{"at": [1, 0, 0], "axis": "z", "bays": 2}, {"at": [0, 0, 1], "axis": "x", "bays": 3}]
    with pytest.raises(NotRolled, match="castors"):
        kerb_case(box_model((3, 1, 2), beams=beams), Handling(), wheel_radius_mm=50, step_mm=5)


def test_push_is_shared_by_the_trailing_hubs() -> None:
    model = model_of("S2")
    case = kerb_case(model, Handling(), wheel_radius_mm=50.0, step_mm=5.0, push_level=3)
    assert case.force_n is not None
    pushed = np.flatnonzero(case.force_n[:, 0])
    assert len(pushed) == 4
    assert {tuple(row) for row in model.part.lattice[pushed][:, [0, 2]].tolist()} == {(0, 3)}

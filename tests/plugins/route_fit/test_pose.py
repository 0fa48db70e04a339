"""How things lie in openings: every turn is a rotation and spans what its way states."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.route import Clearances
from baywright_plugins.route_fit import RouteFit
from baywright_plugins.route_fit.carried import Carried, Solid
from baywright_plugins.route_fit.examples import EXAMPLES
from baywright_plugins.route_fit.passage import Doorway
from baywright_plugins.route_fit.pose import pose, span_mm
from baywright_plugins.route_fit.rolled import opening_ways

SIDES = st.integers(20, 2400).map(float)
DOORS = st.tuples(st.integers(500, 1500).map(float), st.integers(600, 2300).map(float))


@settings(max_examples=120, deadline=None, derandomize=True)
@given(size=st.tuples(SIDES, SIDES, SIDES), door=DOORS, nose=st.integers(0, 2))
def test_every_way_through_an_opening_has_its_turn(
    size: tuple[float, float, float], door: tuple[float, float], nose: int
) -> None:
    x, y, z = size
    blocks = (Solid((0, 0, 0), size), Solid((0, 0, z), (x / 2, y / 2, z + 60.0)))
    carried = Carried("S1", (x, y, z + 60.0), blocks) if nose else Carried("S1", size)
    for way in opening_ways(carried, Doorway(*door, 0.0), None, Clearances()):
        turn = pose(carried, way)
        assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(turn) == pytest.approx(1)
        width, length, height = span_mm(carried, turn)
        assert (width, height) == pytest.approx((way.width_mm, way.height_mm), abs=0.5)
        assert length == pytest.approx(way.length_mm)


def test_the_examples_in_their_openings() -> None:
    """What passes lies inside the clear opening where it is led straight or leaning."""
    route = RouteFit()
    for example in EXAMPLES:
        inputs = route.load(example.inputs)
        scene = route.scene(inputs, route.calculate(inputs))
        assert scene.passings
        for each in scene.passings:
            corners = np.array(
                [
                    [(low, high)[(k >> axis) & 1][axis] for axis in range(3)]
                    for low, high in each.blocks_mm
                    for k in range(8)
                ]
            )
            width, _, height = np.ptp(corners @ np.array(each.turn).T, axis=0)
            fits = width <= each.opening_mm[0] and height + each.lifted_mm <= each.opening_mm[1]
            assert fits or not each.passes, each.words

"""The quick answer to whether a section folds, against the rank of its geometry."""

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.design_search.folding import mechanisms_at_least
from baywright_plugins.frame import Frame, LayoutSchema, build_frame
from baywright_plugins.grid_fit.examples import KIT
from baywright_plugins.kit import Kit, KitSchema
from baywright_plugins.truss_check.stability import internal_stability

KIT_OF_TESTS = Kit.from_inputs(KitSchema().load(KIT))
patterns = st.sampled_from(["none", "single", "alternating", "lean-in", "crossed"])


def section(bays: tuple[int, ...], faces: dict[str, Any], every: int) -> Frame:
    rods = {
        axis: [{"rod": "R120", "count": count}] for axis, count in zip("xyz", bays, strict=True)
    }
    spec = {"id": "S", "rods": rods, "side_faces": faces, "cross_faces": {"every": every}}
    return build_frame(LayoutSchema().load({"sections": [spec]}), KIT_OF_TESTS).part(0)


@given(
    st.tuples(*[st.integers(1, 5)] * 3),
    st.fixed_dictionaries({"default": patterns, "z_plus": patterns, "x_minus": patterns}),
    st.sampled_from([0, 1, 3]),
)
@settings(deadline=None, derandomize=True, max_examples=15)
def test_it_folds_where_the_rank_says_so(
    bays: tuple[int, ...], faces: dict[str, Any], every: int
) -> None:
    """Never more mechanisms than there are, and some wherever there are some."""
    part = section(bays, faces, every)
    found = mechanisms_at_least(part)
    there = internal_stability(part.nodes_mm, part.start, part.end).mechanisms
    assert found <= there and (found > 0) == (there > 0)


def test_box_beam_without_cross_faces() -> None:
    """A box beam of six bays with bare ends lozenges in two ways, by Maxwell's rule already."""
    ends = {"default": "alternating", "x_minus": "none", "x_plus": "none"}
    assert mechanisms_at_least(section((6, 1, 1), ends, 0)) == 2
    assert mechanisms_at_least(section((6, 1, 1), {**ends, "x_minus": "single"}, 0)) == 1
    assert mechanisms_at_least(section((6, 1, 1), {"default": "alternating"}, 0)) == 0

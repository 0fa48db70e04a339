"""Bearers to add: no span too long, and as few as can be."""

import itertools
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.laid.bearers import bearers_for
from baywright_plugins.floor_tiling_ratio.laid.run import JointGiven, StretchGiven, run_of
from baywright_plugins.floor_tiling_ratio.laid.sheet import Laying, run_through
from baywright_plugins.floor_tiling_ratio.made_of import Pitch

BAY = Pitch("bay", Fraction(10), Fraction(0), {}, 1)


@settings(deadline=None, derandomize=True, max_examples=40)
@given(
    st.integers(2, 9),
    st.sets(st.integers(0, 9)),
    st.sets(st.integers(0, 9)),
    st.integers(4, 45),
    st.integers(4, 30),
)
def test_panels_that_hold_together_get_the_fewest_bearers(
    bays: int, bare: set[int], absent: set[int], span: int, panel: int
) -> None:
    """Where a bearer may stand anywhere, no fewer would do; every span is within the limit."""
    stretch = StretchGiven("S", [BAY] * bays, frozenset(bare | absent), frozenset(absent))
    run = run_of([stretch], [])
    sheet = run_through(run, Laying(Fraction(panel), Fraction(1), Fraction(2))).sheets[0]
    found = bearers_for(run, sheet, play=Fraction(1), free_span=Fraction(span), loose=False)
    at = [bearer.at for bearer in found]
    assert at[0] == 0 and at[-1] == 10 * bays
    assert all(b - a <= span for a, b in itertools.pairwise(at))
    lying = {plane.at for plane in run.planes if plane.carries} | {Fraction(0), run.length}
    assert lying <= set(at)
    nodes = {plane.at for plane in run.planes if not plane.carries}
    kinds = {bearer.at: bearer.kind for bearer in found}
    assert all(
        kinds[x] == ("add-at-node" if x in nodes else "add-between") for x in set(at) - lying
    )
    if span >= 10 and not absent - {0, bays}:  # node planes alone are near enough
        assert len(found) == _fewest(sorted(lying), sorted(nodes), span)
    if not nodes - lying:  # no node to prefer: as few as the lengths allow
        gaps = itertools.pairwise(sorted(lying))
        assert len(set(at) - lying) == sum(-(-(b - a) // span) - 1 for a, b in gaps)


def _fewest(lying: list[Fraction], nodes: list[Fraction], span: int) -> int:
    """Every set of nodes tried, smallest first."""
    for count in range(len(nodes) + 1):
        for more in itertools.combinations(nodes, count):
            places = sorted({*lying, *more})
            if all(b - a <= span for a, b in itertools.pairwise(places)):
                return len(places)
    raise AssertionError("all nodes together are near enough")


def test_loose_panels_get_one_under_every_edge() -> None:
    """Edges at 25, 50 and 75: the one at 50 lies on a bearer, 25 and 75 on none."""
    run = run_of([StretchGiven("S", [BAY] * 10, frozenset({2}))], [])
    sheet = run_through(run, Laying(Fraction(25), Fraction(1), Fraction(2), loose=True)).sheets[0]
    found = bearers_for(run, sheet, play=Fraction(1), free_span=Fraction(99), loose=True)
    added = {float(b.at): b.kind for b in found if b.kind != "frame"}
    assert added == {25: "add-between", 75: "add-between"}
    near = bearers_for(run, sheet, play=Fraction(5), free_span=Fraction(99), loose=True)
    assert {float(b.at): b.kind for b in near if b.kind != "frame"} == {}


def test_every_section_bears_its_own_floor() -> None:
    """The two planes at a joint carry, even where the span would reach over it."""
    stretches = [StretchGiven(name, [BAY] * 3, frozenset(range(4))) for name in "AB"]
    run = run_of(stretches, [JointGiven(Fraction(4))])
    sheet = run_through(run, Laying(Fraction(8), Fraction(1), Fraction(2))).sheets[0]
    found = bearers_for(run, sheet, play=Fraction(1), free_span=Fraction(100), loose=False)
    assert [(float(b.at), b.kind) for b in found] == [
        (0, "add-at-node"),
        (30, "add-at-node"),
        (34, "add-at-node"),
        (64, "add-at-node"),
    ]

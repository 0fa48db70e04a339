"""Edges, corners, meshes and spacers: geometry against published rules and brute force."""

import itertools
import json
import math
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.laid.openings import is_held, largest_ball_through
from baywright_plugins.floor_tiling_ratio.laid.rim import corner_gap, edge_gap, edge_piece
from baywright_plugins.floor_tiling_ratio.laid.spacers import (
    NetWanted,
    SpacerKind,
    net_fits,
    spread_evenly,
)

PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "floor_layout.json").read_text("utf-8")
)


def cases(quantity: str) -> pytest.MarkDecorator:
    found = [case for case in PUBLISHED if case["quantity"] == quantity]
    assert found
    return pytest.mark.parametrize("case", found, ids=[case["id"] for case in found])


@cases("ball_passes_rigid_opening")
def test_a_ball_passes_the_small_ball_gauge_or_not(case: dict[str, Any]) -> None:
    """16 CFR 1117.2(b): a rigid hole of 44.45 mm."""
    ball, hole = case["inputs"]["ball_mm"], case["inputs"]["opening_mm"]
    assert is_held(ball, hole, hole, cord=False) is not case["expected"]


@cases("mesh_holds_ball")
def test_meshes_in_use_hold_their_ball_as_wire_and_as_cord(case: dict[str, Any]) -> None:
    """ITF, Facilities Guide: 45 or 50 mm mesh for balls of 65 mm; by our rule even of cord."""
    ball, mesh = case["inputs"]["ball_mm"], case["inputs"]["opening_mm"]
    for cord in (False, True):
        assert is_held(ball, mesh, mesh, cord=cord) is case["expected"]


def test_cord_gives_way_to_a_circle_of_the_same_girth() -> None:
    """A square mesh of side a: 4 a = pi d."""
    through = largest_ball_through(40, 40, cord=True)
    assert math.pi * through == pytest.approx(160)
    assert largest_ball_through(40, 25, cord=False) == 25


@settings(deadline=None, derandomize=True, max_examples=40)
@given(st.floats(10, 200), st.floats(0, 1.2), st.floats(0, 1.2))
def test_a_ball_at_the_wall_touches_wall_and_edge(ball: float, share: float, other: float) -> None:
    """Where it hangs its centre is a radius from wall and from the floor's edge (or corner)."""
    radius = ball / 2
    gap = edge_gap(ball, share * ball)
    assert gap.kind == ("swallows" if share >= 1 else "sinks" if 2 * share > 1 else "closed")
    if gap.kind == "sinks":
        height = radius - gap.sink_mm
        assert math.hypot(share * ball - radius, height) == pytest.approx(radius)
        assert gap.slope_percent == pytest.approx(100 * (share * ball - radius) / height)
    corner = corner_gap(ball, share * ball, other * ball)
    if corner.kind == "sinks" and min(share, other) > 0.5:
        height = radius - corner.sink_mm
        assert math.hypot(share * ball - radius, other * ball - radius, height) == pytest.approx(
            radius
        )
    side = edge_gap(ball, max(share, other) * ball)
    assert corner.kind == "swallows" or corner.sink_mm >= side.sink_mm - 1e-9


def test_two_gaps_that_hold_may_leave_a_corner_that_does_not() -> None:
    """From equal gaps of r (1 + 1/sqrt 2) on: 41.0 mm for a ball of 48."""
    limit = 24 * (1 + 1 / math.sqrt(2))
    assert edge_gap(48, limit + 0.01).kind == "sinks"
    assert corner_gap(48, limit + 0.01, limit + 0.01).kind == "swallows"
    assert corner_gap(48, limit - 0.01, limit - 0.01).kind == "sinks"
    assert corner_gap(48, 45, 20) == edge_gap(48, 45)
    assert corner_gap(48, -1, 20).kind == "runs-in"


def test_a_piece_at_the_edge_rests_and_stays_down() -> None:
    """Balance about the outer bearer: half of it may hang over."""
    assert edge_piece(50, 25).stays_down
    assert not edge_piece(50, 25.1).stays_down
    assert edge_piece(50, 49).rests and not edge_piece(50, 50).rests


@cases("even_distribution")
def test_spacers_of_one_kind_are_spread_as_the_book_spreads_lines(case: dict[str, Any]) -> None:
    """Concrete Mathematics, section 3.4: 37 things in five groups."""
    kinds = [SpacerKind("washer", Fraction(1))]
    gaps = spread_evenly([case["inputs"]["things"]], kinds, case["inputs"]["groups"])
    assert sorted(gaps, reverse=True) == case["expected"]


@settings(deadline=None, derandomize=True, max_examples=35)
@given(
    st.integers(40, 200),
    st.integers(15, 150),
    st.lists(st.integers(1, 30), min_size=0, max_size=3, unique=True),
    st.integers(0, 4),
    st.integers(0, 3),
    st.integers(2, 40),
)
def test_no_set_of_spacers_beats_the_fits(
    bay: int, panel: int, lengths: list[int], most: int, play: int, below: int
) -> None:
    """Every number of panels and spacers tried for each number of bays."""
    kinds = [SpacerKind(f"s{x}", Fraction(x)) for x in lengths]
    half = Fraction(play, 2)
    wanted = NetWanted(Fraction(bay), half, Fraction(panel), half, kinds, most, Fraction(below))
    bays = range(1, 5)
    found = {fit.bays: fit for fit in net_fits(wanted, bays, most=99).fits}
    for count in bays:
        best: tuple[int, Fraction] | None = None
        for panels in range(1, 4 * bay // panel + 3):
            for spacers in itertools.product(range(most + 1), repeat=len(kinds)):
                if sum(spacers) > most:
                    continue
                run = panels * panel + sum(n * x for n, x in zip(spacers, lengths, strict=True))
                fits = abs(count * bay - run) <= (count + panels) * half
                if fits and max(spread_evenly(spacers, kinds, panels)) < below:
                    key = (sum(spacers), Fraction(abs(count * bay - run)))
                    best = key if best is None else min(best, key)
        fit = found.get(count)
        assert (None if fit is None else (fit.spacers_in_all, abs(fit.misfit))) == best


def test_a_net_meets_posts_with_two_washers_in_two_bays() -> None:
    """2 x 120 = 3 x 78 + 2 x 3."""
    kinds = [SpacerKind("one", Fraction(1)), SpacerKind("three", Fraction(3))]
    wanted = NetWanted(
        Fraction(120), Fraction(0), Fraction(78), Fraction(0), kinds, 6, Fraction(48)
    )
    fit = net_fits(wanted, range(1, 13), most=5).fits[0]
    assert (fit.bays, fit.panels, fit.spacers) == (2, 3, (0, 2))
    assert (float(fit.misfit), float(fit.widest_gap)) == (0, 3)

"""A slope from whole steps: the best that can be, and the even patterns that books print."""

import itertools
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.laid.answer_slope import Ground, slope_record
from baywright_plugins.floor_tiling_ratio.laid.datum import best_datum
from baywright_plugins.floor_tiling_ratio.laid.schemas import SlopeSchema
from baywright_plugins.floor_tiling_ratio.laid.slope import (
    SlopeWanted,
    build_slope,
    falls,
    kinks,
)
from baywright_plugins.floor_tiling_ratio.laid.stacks import PieceKind, nearest_support, stacks_of

PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "floor_layout.json").read_text("utf-8")
)
NO_PIECES = stacks_of([], 0)


def cases(quantity: str) -> pytest.MarkDecorator:
    found = [case for case in PUBLISHED if case["quantity"] == quantity]
    assert found
    return pytest.mark.parametrize("case", found, ids=[case["id"] for case in found])


def steps_down(onsets: int, steps: int) -> list[int]:
    """Spans between module steps of a slope of onsets/steps module a span, one period long."""
    module = 2 * steps
    wanted = SlopeWanted([2 * onsets * k for k in range(2 * steps + 1)], 0, 0, 0, module, NO_PIECES)
    levels = [support.modules for support in build_slope(wanted).supports]
    rises = [k for k, (a, b) in enumerate(itertools.pairwise(levels)) if b > a]
    assert all(b - a in (0, 1) for a, b in itertools.pairwise(levels))
    return [b - a for a, b in itertools.pairwise(rises)][:onsets]


@cases("euclidean_rhythm")
def test_steps_of_a_slope_are_as_even_as_a_euclidean_rhythm(case: dict[str, Any]) -> None:
    """Toussaint 2005: k onsets in n slots as even as can be; the same cycle, turned."""
    found = steps_down(**case["inputs"])
    expected = case["expected"]
    turned = [expected[k:] + expected[:k] for k in range(len(expected))]
    mirrored = [row[::-1] for row in turned]
    assert found in turned + mirrored


@cases("even_distribution")
def test_long_columns_and_short_ones(case: dict[str, Any]) -> None:
    """Concrete Mathematics, section 3.4: 37 lines in five columns. The module steps of a slope
    that rises 37 modules over five spans come in spans of 8 and 7, as many of each."""
    things, groups = case["inputs"]["things"], case["inputs"]["groups"]
    module = 2 * groups
    wanted = SlopeWanted([2 * things * k for k in range(groups + 1)], 0, 0, 0, module, NO_PIECES)
    levels = [support.modules for support in build_slope(wanted).supports]
    assert sorted((b - a for a, b in itertools.pairwise(levels)), reverse=True) == case["expected"]


@cases("rise_of_a_fall")
def test_rise_of_a_published_fall(case: dict[str, Any]) -> None:
    """Height at the wall: rise + bed + tile + what the slab is lower there."""
    inputs = case["inputs"]
    given_ = SlopeSchema().load(
        {
            "along_percent": inputs["fall_percent"],
            "low_edge_min_mm": inputs["bed_mm"] + inputs["tile_mm"] + inputs["slab_mm"],
            "pieces": [{"item": "bed", "height_mm": 1}],
        }
    )
    record = slope_record(given_, Ground([0.0, inputs["length_mm"]], [0.0]))
    assert max(record["supports"]["wanted_mm"]) == case["expected"]


@settings(deadline=None, derandomize=True, max_examples=40)
@given(st.lists(st.integers(0, 400), min_size=1, max_size=6), st.integers(2, 60))
def test_whole_modules_alone_reach_the_known_least_error(rises: list[int], module: int) -> None:
    """Least largest error = (module - widest gap of the rises on the circle of a module)/2."""
    rises, module = [2 * rise for rise in rises], 2 * module
    low = 10 * module
    built = build_slope(SlopeWanted(rises, low, low + module, 0, module, NO_PIECES))
    places = sorted({rise % module for rise in rises})
    widest = max((b - a) for a, b in itertools.pairwise([*places, places[0] + module]))
    assert built.largest_error == -(-(module - widest) // 2)
    assert built.proven


@settings(deadline=None, derandomize=True, max_examples=35)
@given(
    st.lists(st.integers(0, 40), min_size=1, max_size=4),
    st.integers(0, 12),
    st.sampled_from([0, 7, 12]),
    st.lists(st.integers(1, 9), min_size=1, max_size=3, unique=True),
    st.integers(1, 3),
)
def test_datum_and_stacks_are_never_beaten(
    rises: list[int], window: int, module: int, heights: list[int], most: int
) -> None:
    """Every low edge, every number of modules and every stack tried."""
    rises = [2 * rise for rise in rises]
    kinds = [PieceKind(f"p{h}", 2 * h, 2) for h in heights]
    low, high, base = 20, 20 + 2 * window, 8
    stacks = stacks_of(kinds, most)
    built = build_slope(SlopeWanted(rises, low, high, base, 2 * module, stacks))
    tried = sorted(itertools.product(range(3), repeat=len(heights)), key=sum, reverse=True)
    sums = {
        sum(2 * h * n for h, n in zip(heights, counts, strict=True)): sum(counts)
        for counts in tried
        if sum(counts) <= most
    }
    pieces = stacks.counts.sum(axis=1)
    assert dict(zip(stacks.heights.tolist(), pieces.tolist(), strict=True)) == sums
    steps = range(40) if module else range(1)
    reached = {base + 2 * module * n + s for n in steps for s in sums}
    best = min(
        max(min(abs(datum + rise - h) for h in reached) for rise in rises)
        for datum in range(low, high + 1)
    )
    assert built.largest_error == best
    heights_built = [support.height for support in built.supports]
    errors = [abs(h - built.low - r) for h, r in zip(heights_built, rises, strict=True)]
    assert max(errors) == best
    assert all(support.height in reached for support in built.supports)


def test_of_two_equally_near_the_one_of_fewer_pieces() -> None:
    """10 up: two modules of 5, or one piece of 10 on none; the piece stands aside."""
    stacks = stacks_of([PieceKind("ten", 10, 1), PieceKind("one", 1, 2)], 3)
    support = nearest_support(10, 0, 5, stacks)
    assert (support.modules, int(stacks.counts[support.stack].sum())) == (2, 0)


def test_a_support_is_never_lower_than_its_base() -> None:
    """5 could only be reached from a module below the base of 8: 8 itself is nearest."""
    support = nearest_support(5, 8, 10, stacks_of([PieceKind("seven", 7, 1)], 1))
    assert (support.modules, support.height, support.error) == (0, 8, 3)


def test_search_cut_short_says_so() -> None:
    """With one stretch kept at a time the answer is still a height, and is called unproven."""
    heights = np.array([0, 17, 31, 59, 83], dtype=np.int64)

    def error(lows: "np.ndarray[Any, np.dtype[np.int64]]") -> "np.ndarray[Any, np.dtype[np.int64]]":
        return np.asarray(np.abs(lows[:, None] - heights[None, :]).min(axis=1), dtype=np.int64)

    assert best_datum(error, 1, 90, most_parts=1).proven is False
    exact = best_datum(error, 1, 90)
    assert (exact.low, exact.error, exact.proven) == (17, 0, True)


def test_falls_and_kinks_have_the_sign_a_ball_feels() -> None:
    """0, 2 and 3 mm lower over 100 mm each: 2 % then 1 %, flatter by 1 %, so the ball knocks."""
    found = falls([0.0, 100.0, 200.0], [10.0, 8.0, 7.0], to_back=True)
    assert [fall.percent for fall in found] == pytest.approx([2.0, 1.0])
    (kink,) = kinks(found, to_back=True)
    assert [kink.at_mm, kink.change_percent] == pytest.approx([100.0, -1.0])
    assert 0.999 < kink.speed_kept_ratio < 1
    back = falls([0.0, 100.0, 200.0], [7.0, 8.0, 10.0], to_back=False)
    (steeper,) = kinks(back[::1], to_back=False)
    assert [fall.percent for fall in back] == pytest.approx([1.0, 2.0])
    assert steeper.change_percent == pytest.approx(-1.0)


def test_two_way_slope_is_the_sum_of_both() -> None:
    """2 % along and 1 % across on 500 by 300 mm: corners 13, 10, 3 and 0 above the low one."""
    given_ = SlopeSchema().load(
        {
            "along_percent": 2,
            "across_percent": 1,
            "low_edge_min_mm": 50,
            "pieces": [
                {"item": "shim", "height_mm": 1, "most_per_support_count": 8},
                {"item": "ten", "height_mm": 10, "most_per_support_count": 8},
            ],
            "base_mm": 40,
            "most_pieces_per_support_count": 6,
        }
    )
    record = slope_record(given_, Ground([0.0, 500.0], [0.0, 300.0]))
    assert record["supports"]["wanted_mm"] == pytest.approx([63, 53, 60, 50])
    assert record["error_max_mm"] == 0
    assert record["fall_across_min_percent"] == pytest.approx(1)
    assert record["rise_mm"] == pytest.approx(13)
    assert {piece["item"]: piece["count"] for piece in record["pieces"]} == {"shim": 6, "ten": 6}


def test_fractions_of_a_micrometre_do_not_matter() -> None:
    """A rise that is no whole micrometre is rounded to the nearest one."""
    given_ = SlopeSchema().load({"along_percent": 1, "low_edge_min_mm": 60, "module_mm": 60})
    record = slope_record(given_, Ground([0.0, float(Fraction(1000, 3))], [0.0]))
    assert record["supports"]["height_mm"] == [60.0, 60.0]
    assert record["error_max_mm"] == pytest.approx(10 / 3, abs=1e-3)

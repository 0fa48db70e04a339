"""Where to start the panels: never beaten by trying every start."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.laid.run import JointGiven, Run, StretchGiven, run_of
from baywright_plugins.floor_tiling_ratio.laid.sheet import Laying, run_through, start_anew
from baywright_plugins.floor_tiling_ratio.laid.starts import (
    PREFERENCES,
    Ground,
    order,
    scores,
    starts_that_matter,
    trade_offs,
)
from baywright_plugins.floor_tiling_ratio.made_of import Pitch

EVEN = st.integers(1, 40).map(lambda n: 2 * n)


@st.composite
def grounds(draw: st.DrawFn) -> Ground:
    """Small floors in whole numbers, with joints, landings and overhang."""
    panel = draw(st.integers(4, 25)) * 2
    play = draw(st.integers(0, (panel - 2) // 4)) * 2
    bays = draw(st.lists(EVEN, min_size=1, max_size=7))
    planes = np.cumsum([0, *bays])
    carries = draw(st.lists(st.booleans(), min_size=len(planes), max_size=len(planes)))
    start = -2 * draw(st.integers(0, 8))
    end = int(planes[-1]) + 2 * draw(st.integers(0, 8))
    joints = draw(st.sets(st.integers(0, len(bays) - 1), max_size=2))
    gaps = [(planes[k], planes[k + 1]) for k in sorted(joints)]
    zone = sorted(draw(st.lists(EVEN, min_size=2, max_size=2, unique=True)))
    clear = [zone] if draw(st.booleans()) else []
    is_bearer = np.array(carries)
    return Ground(
        start,
        end,
        panel,
        play,
        draw(st.integers(1, 10)) * 2,
        planes[is_bearer],
        planes[~is_bearer],
        np.array(gaps, dtype=np.int64).reshape(-1, 2),
        np.array(clear, dtype=np.int64).reshape(-1, 2),
        draw(st.booleans()),
    )


def by_hand(ground: Ground, start: int) -> tuple[int, ...]:
    """Every count of one start, worked out panel edge by panel edge."""
    edges = []
    x = start
    while x <= ground.end + ground.play:
        edges.append(x)
        x += ground.panel
    strips = []
    if not edges:
        strips.append((ground.start, ground.end))
    else:
        strips += [(ground.start, start), (edges[-1], ground.end)]
    cut = [(a, b) for a, b in strips if b - a > ground.play]
    bad = [
        (a, b)
        for a, b in cut
        if b - a < ground.least_strip or any(a < v and u < b for u, v in ground.clear.tolist())
    ]

    def landed(places: list[int]) -> int:
        return sum(any(abs(x - at) <= ground.play for at in places) for x in edges)

    crossed = sum(
        not any(u - ground.play <= x <= v + ground.play for x in edges)
        for u, v in ground.gaps.tolist()
    )
    bearers, nodes = ground.bearers.tolist(), ground.nodes.tolist()
    away = [
        min(abs(x - at) for at in places) for places in (bearers, nodes) if places for x in edges
    ]
    off = sum(distance for distance in away if distance <= ground.play)
    return len(edges), landed(bearers), landed(nodes), crossed, len(cut), len(bad), off


@settings(deadline=None, derandomize=True, max_examples=40)
@given(grounds())
def test_counts_are_those_of_laying_panel_by_panel(ground: Ground) -> None:
    """Whole arrays at once give what a loop over panel edges gives, for every start."""
    every = np.arange(ground.start, ground.start + ground.panel, dtype=np.int64)
    found = scores(ground, every)
    columns = zip(
        found.edges,
        found.on_bearers,
        found.on_nodes,
        found.crossing,
        found.strips,
        found.bad_strips,
        found.off,
        strict=True,
    )
    for start, row in zip(every.tolist(), columns, strict=True):
        assert tuple(int(x) for x in row) == by_hand(ground, start), start


@settings(deadline=None, derandomize=True, max_examples=40)
@given(grounds(), st.sampled_from(PREFERENCES))
def test_no_start_at_all_beats_the_best_of_those_that_matter(ground: Ground, prefer: str) -> None:
    """Every whole number is tried; lengths are even, so each stretch of starts holds one."""
    few = scores(ground, starts_that_matter(ground))
    every = scores(ground, np.arange(ground.start, ground.start + ground.panel, dtype=np.int64))

    def key(found: object, place: int) -> tuple[int, ...]:
        names = ("bad_strips", "edges", "on_bearers", "on_nodes", "crossing", "strips", "off")
        bad, edges, on, nodes, crossing, strips, off = (
            int(getattr(found, name)[place]) for name in names
        )
        missing = edges - on if ground.loose else 0
        first = {
            "least-work": (missing + strips + crossing,),
            "bearers": (-on, crossing),
            "apart": (crossing,),
            "whole": (strips, crossing),
        }[prefer]
        return (bad, *first, -on, -nodes, crossing, strips, off)

    best = key(few, int(order(ground, few, prefer)[0]))
    assert best == min(key(every, k) for k in range(len(every.starts)))
    facts = {
        (-int(a), int(b), int(c))
        for a, b, c, bad in zip(
            every.on_bearers, every.crossing, every.strips, every.bad_strips, strict=True
        )
        if bad == every.bad_strips.min()
    }

    def beaten(fact: tuple[int, int, int]) -> bool:
        no_worse = (g for g in facts if all(x <= y for x, y in zip(g, fact, strict=True)))
        return any(g != fact for g in no_worse)

    front = {fact for fact in facts if not beaten(fact)}
    kept = trade_offs(few, order(ground, few, prefer), most=1000)
    shown = {(-int(few.on_bearers[k]), int(few.crossing[k]), int(few.strips[k])) for k in kept}
    assert shown == front


def bay(length: str, nodes: int = 1) -> Pitch:
    return Pitch(f"bay-{length}", Fraction(length), Fraction("0.3"), {}, nodes)


def four_sections() -> Run:
    counts = (5, 9, 9, 7)
    stretches = [StretchGiven(f"S{k}", [bay("120")] * n) for k, n in enumerate(counts, 1)]
    return run_of(stretches, [JointGiven(Fraction(60), Fraction(26))] * 3)


def test_panels_narrower_than_the_joint_always_part_in_it() -> None:
    """A joint of 60 mm holds an edge of 51.4 mm panels wherever they start."""
    laying = Laying(Fraction("51.4"), Fraction("0.9"), Fraction(10))
    search = run_through(four_sections(), laying)
    assert {sheet.coming_off for sheet in search.sheets} == {0}
    anew = start_anew(four_sections(), laying).sheets[0]
    assert anew.on_bearers == 2 + 4 + 4 + 3  # one every third of 5, 9, 9 and 7 bays, and the first
    assert all(sheet.on_bearers < anew.on_bearers for sheet in search.sheets)


@settings(deadline=None, derandomize=True, max_examples=40)
@given(
    st.lists(st.integers(1, 6), min_size=1, max_size=3),
    st.fractions(30, 400, max_denominator=7),
    st.integers(0, 90),
    st.sampled_from(PREFERENCES),
)
def test_pieces_fill_the_run_without_hole_or_overlap(
    bays: list[int], panel: Fraction, joint: int, prefer: str
) -> None:
    """Both ways; what stays open or is pressed in at a joint is within the play."""
    play = Fraction(1, 2)
    stretches = [StretchGiven(f"S{k}", [bay("84.8")] * n) for k, n in enumerate(bays)]
    run = run_of(stretches, [JointGiven(Fraction(joint))] * (len(bays) - 1))
    laying = Laying(panel, play, Fraction(10), Fraction(3), Fraction(7), (), prefer)
    for search in (run_through(run, laying), start_anew(run, laying)):
        for sheet in search.sheets:
            pieces = sheet.pieces
            assert abs(pieces[0].start - Fraction(-3)) <= play
            assert abs(pieces[-1].end - (run.length + 7)) <= play
            for a, b in zip(pieces, pieces[1:], strict=False):
                assert abs(b.start - a.end) <= play
            assert all(piece.width == panel for piece in pieces if not piece.cut)
            assert all(0 < piece.width <= panel for piece in pieces if piece.cut)
            assert sheet.whole + sheet.cuts == len(pieces)


def test_search_says_the_same_as_the_pieces_it_lays() -> None:
    """Crossed joints and strips counted by the search are those of the pieces."""
    run = run_of(
        [StretchGiven("A", [bay("120")] * 5), StretchGiven("B", [bay("84.8")] * 9)],
        [JointGiven(Fraction(60))],
    )
    for prefer in PREFERENCES:
        laying = Laying(Fraction(240), Fraction(2), Fraction(10), prefer=prefer)
        for sheet in run_through(run, laying).sheets:
            inner = [piece.end for piece in sheet.pieces[:-1]]
            parts = any(598 <= x <= 662 for x in inner)
            assert sheet.coming_off == (not parts)
            whole = [piece for piece in sheet.pieces if not piece.cut]
            assert sheet.edges == len({x for piece in whole for x in (piece.start, piece.end)})


def test_one_panel_may_lie_across_two_joints() -> None:
    """A section shorter than a panel: both its joints are in the way of the same panel."""
    sections = [
        StretchGiven(name, [bay(length)])
        for name, length in zip("ABC", ("300", "60", "300"), strict=True)
    ]
    run = run_of(sections, [JointGiven(Fraction(0))] * 2)
    sheet = run_through(
        run, Laying(Fraction(220), Fraction(1), Fraction(5), prefer="whole")
    ).sheets[0]
    assert [piece.gaps for piece in sheet.pieces if piece.comes_off] == [(0, 1)]
    assert sheet.coming_off == 1


def test_common_practice_five_sixths_of_a_short_rod() -> None:
    """Common practice, no source: 6 panels = 2.5 bays = 5 short rods; so over 10 bays of two rods
    a panel edge meets a bearer every 5 bays and a node inside the third and eighth bay."""
    rod = Fraction(60)
    frame = run_of([StretchGiven("S", [bay("120", nodes=2)] * 10)], [])
    sheet = run_through(frame, Laying(rod * 5 / 6, Fraction(0), Fraction(5))).sheets[0]
    assert sheet.starts == (Fraction(0),)
    assert (sheet.whole, sheet.cuts) == (24, 0)
    assert (sheet.on_bearers, sheet.on_nodes) == (3, 2)


@pytest.mark.parametrize("count", [0, 2])
def test_a_joint_stands_between_each_two_stretches(count: int) -> None:
    with pytest.raises(ValueError, match="one joint"):
        run_of([StretchGiven(s, [bay("60")]) for s in "AB"], [JointGiven(Fraction(1))] * count)

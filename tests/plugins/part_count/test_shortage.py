"""Two rods in line for one: which pairs close, how many the shelf allows."""

from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.kit import Kit, KitSchema
from baywright_plugins.part_count.examples import KIT
from baywright_plugins.part_count.shortage import (
    Limits,
    Way,
    in_line_limit_n,
    most_pairs,
    ways_to_make,
)

BODY = Kit.from_inputs(KitSchema().load(KIT))


def ways(rods: list[str], kit: Kit = BODY) -> list[tuple[str, str, str, float]]:
    assert kit.middle_hub is not None
    found = ways_to_make(
        [kit.rod_index[rod] for rod in rods],
        kit,
        kit.middle_hub,
        turning_stiffness_n_mm_per_rad=1200.0,
        margin=1.5,
    )
    names = [rod.id for rod in kit.rods]
    return [(names[w.rod], names[w.first], names[w.second], w.misfit_mm) for w in found]


def test_pairs_that_close() -> None:
    """84.8 + 84.8 = 169.6 and 60 + 60 = 120, exactly; nothing makes 84.8 or 60."""
    assert ways(["R170", "R120", "R85", "R60"]) == [
        ("R170", "R85", "R85", 0.0),
        ("R120", "R60", "R60", 0.0),
    ]


@pytest.mark.parametrize(("pitch", "closes"), [(85.1, True), (85.11, False), (84.5, True)])
def test_a_pair_closes_within_the_play_of_its_four_seats(pitch: float, closes: bool) -> None:
    """4 x 0.15 = 0.6 mm: two of 85.1 are 0.6 too long and close, two of 85.11 do not."""
    rods = [dict(rod, pitch_mm=pitch) if rod["id"] == "R85" else rod for rod in KIT["rods"]]
    kit = Kit.from_inputs(KitSchema().load({**KIT, "rods": rods}))
    assert bool(ways(["R170"], kit)) is closes


def test_a_mid_hub_needs_opposite_ports() -> None:
    hubs = [dict(hub) for hub in KIT["hubs"]]
    hubs[2]["ports"] = [[1, 0, 0], [0, 1, 0]]
    kit = Kit.from_inputs(KitSchema().load({**KIT, "hubs": hubs}))
    assert ways(["R170"], kit) == []


def test_compression_limit_of_a_pair_by_energy() -> None:
    """Two rigid bars: the load at which work of the load equals the spring's energy, found by
    pushing the middle sideways and comparing both numerically."""
    a, b, stiffness, aside = 70.0, 110.0, 1200.0, 1e-3
    shortening = a - (a * a - aside**2) ** 0.5 + b - (b * b - aside**2) ** 0.5
    angle = aside / a + aside / b
    by_energy = 0.5 * stiffness * angle**2 / shortening
    assert in_line_limit_n(stiffness, a, b, margin=1.0) == pytest.approx(by_energy, rel=1e-5)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 1), st.integers(2, 4), st.integers(2, 4)), min_size=1, max_size=3
    ),
    st.tuples(*[st.integers(0, 5)] * 2),
    st.tuples(*[st.integers(0, 7)] * 3),
    st.integers(0, 6),
    st.tuples(*[st.integers(0, 5)] * 2),
    st.none() | st.integers(0, 3),
)
def test_no_other_choice_covers_more(
    made: Any, short: Any, free: Any, mids: int, places: Any, pool: int | None
) -> None:
    """Against every number of pairs of every way, small cases."""
    found = [Way(rod, min(a, b), max(a, b), 0.0, None) for rod, a, b in made]
    shelf = [0, 0, *free]
    limits = Limits(dict(enumerate(short)), shelf, mids, dict(enumerate(places)), pool)
    chosen = most_pairs(found, limits)

    def allowed(pairs: Any) -> bool:
        by_rod = [sum(n for n, w in zip(pairs, found, strict=True) if w.rod == r) for r in (0, 1)]
        spent = [
            sum(n * ((w.first == p) + (w.second == p)) for n, w in zip(pairs, found, strict=True))
            for p in range(5)
        ]
        beyond = sum(max(by_rod[r] - places[r], 0) for r in (0, 1))
        return (
            sum(pairs) <= mids
            and all(by_rod[r] <= short[r] for r in (0, 1))
            and all(spent[p] <= shelf[p] for p in range(2, 5))
            and beyond <= (pool or 0)
        )

    assert allowed(chosen)
    every = product(range(6), repeat=len(found))
    assert sum(chosen) == max(sum(pairs) for pairs in every if allowed(pairs))


def test_an_earlier_way_is_used_first() -> None:
    """Of two ways that cover equally the nearer fit is taken."""
    both = [Way(0, 1, 1, 0.0, None), Way(0, 2, 2, 0.2, None)]
    assert most_pairs(both, Limits({0: 3}, [0, 9, 9], 9, {0: 9})) == [3, 0]

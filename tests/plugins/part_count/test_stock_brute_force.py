"""The stock programme against trying everything, on small instances."""

from functools import cache
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.part_count import PartCount
from baywright_plugins.part_count.examples import KIT
from baywright_plugins.part_count.programme.cutting import fewest_lengths
from baywright_plugins.part_count.programme.sheet import NoWholeAnswer, Sheet, in_order

CALCULATOR = PartCount()
BOX = {"id": "A", "rods": {axis: [{"rod": "R120", "count": 2}] for axis in "xyz"}}
FRAME = {"layout": {"sections": [BOX]}}
PRICE = {"R60": 0.05, "R85": 0.06, "R120": 0.08, "R170": 0.11, "H18": 0.4, "MID": 0.2}
FEW = settings(max_examples=5, deadline=None, derandomize=True)
MANY = settings(max_examples=30, deadline=None, derandomize=True)


@cache
def needed() -> dict[str, int]:
    return dict(CALCULATOR.calculate(CALCULATOR.load({"kit": KIT, "frame": FRAME})).value["counts"])


def run(body: dict[str, Any]) -> Any:
    return CALCULATOR.calculate(CALCULATOR.load(body)).value["programme"]


def cheapest(pieces: int, packs: list[dict[str, Any]], single: float) -> float:
    """Least price of so many pieces: for each number the best last pack, from none upwards."""
    if not packs:
        return max(pieces, 0) * single
    best = [0.0]
    for number in range(1, pieces + 1):
        best.append(min(p["price"] + best[max(number - p["pieces_count"], 0)] for p in packs))
    return best[max(pieces, 0)]


shelves = st.fixed_dictionaries(
    {
        "R60": st.integers(0, 12),
        "R85": st.integers(0, 12),
        "R120": st.integers(42, 56),
        "R170": st.integers(24, 44),
        "MID": st.integers(0, 6),
    }
)
offers = st.lists(
    st.fixed_dictionaries(
        {
            "item": st.sampled_from(["R60", "R85", "R120", "R170", "MID"]),
            "pieces_count": st.integers(1, 6),
            "price": st.integers(0, 40).map(lambda n: n / 20),
        }
    ),
    max_size=3,
)


def least_cost(shelf: dict[str, int], packs: list[dict[str, Any]], pair: float) -> float:
    """Every number of pairs for each rod, and the cheapest purchase then."""
    want = needed()
    best = float("inf")
    price: dict[str, list[float]] = {}
    for item in PRICE:
        own = [p for p in packs if p["item"] == item]
        price[item] = [cheapest(n, own, PRICE[item]) for n in range(200)]
    for long, short in product(range(want["R170"] + 1), range(want["R120"] + 1)):
        use = {
            "R170": want["R170"] - long,
            "R120": want["R120"] - short,
            "R85": 2 * long,
            "R60": 2 * short,
            "MID": long + short,
        }
        cost = pair * (long + short)
        for item, pieces in use.items():
            cost += price[item][max(pieces - shelf[item], 0)]
        best = min(best, cost)
    return best


def holds(shelf: dict[str, int], packs: list[dict[str, Any]], pair: float) -> None:
    rows = [{"item": item, "on_hand_count": n} for item, n in {**shelf, "H18": 99}.items()]
    got = run(
        {
            "kit": KIT,
            "frame": FRAME,
            "stock": {"counts": rows},
            "programme": {"offers": packs, "pair_cost": pair, "recheck_strength": False},
        }
    )
    assert all(r["uncrossed_count"] == r["positions_count"] for r in got["light_positions"])
    assert got["proven_best"]
    assert got["cost"] == pytest.approx(least_cost(shelf, packs, pair), abs=1e-6)


@FEW
@given(shelves, offers, st.sampled_from([0.0, 0.03, 0.2]))
def test_pairs_and_packs_cost_least(
    shelf: dict[str, int], packs: list[dict[str, Any]], pair: float
) -> None:
    holds(shelf, packs, pair)


@pytest.mark.slow
@MANY
@given(shelves, offers, st.sampled_from([0.0, 0.01, 0.03, 0.1, 0.2]))
def test_pairs_and_packs_cost_least_at_length(
    shelf: dict[str, int], packs: list[dict[str, Any]], pair: float
) -> None:
    holds(shelf, packs, pair)


groups = st.lists(
    st.tuples(
        st.integers(0, 30), st.dictionaries(st.sampled_from(["R120", "R170"]), st.integers(1, 20))
    ).filter(lambda group: bool(group[1])),
    min_size=1,
    max_size=6,
)


def covered(old: list[tuple[int, dict[str, int]]], short: int) -> None:
    """Least minutes over every set of groups that covers; none where even all of them do not."""
    want = needed()
    missing = {"R120": short, "R170": short // 2}
    sets = [
        sum(minutes for (minutes, _), taken in zip(old, chosen, strict=True) if taken)
        for chosen in product((0, 1), repeat=len(old))
        if all(
            sum(parts.get(item, 0) for (_, parts), taken in zip(old, chosen, strict=True) if taken)
            >= pieces
            for item, pieces in missing.items()
        )
    ]
    rows = [
        {"item": "H18", "on_hand_count": 99},
        *({"item": i, "on_hand_count": want[i] - missing[i]} for i in missing),
    ]
    listed = [
        {
            "id": f"g{number}",
            "dismantle_min": minutes,
            "parts": [{"item": item, "count": n} for item, n in parts.items()],
        }
        for number, (minutes, parts) in enumerate(old)
    ]
    salvage = [{"id": "old", "usable_ratio": 1, "groups": listed}]
    got = run(
        {
            "kit": KIT,
            "frame": FRAME,
            "stock": {"counts": rows},
            "programme": {"ways": [], "salvage": salvage, "may_buy": False},
        }
    )
    if sets:
        assert got["missing_count"] == 0
        assert got["dismantle_min"] == pytest.approx(min(sets))
    else:
        assert got["missing_count"] > 0


@FEW
@given(groups, st.integers(1, 30))
def test_salvage_takes_the_fewest_minutes(old: Any, short: int) -> None:
    covered(old, short)


@pytest.mark.slow
@MANY
@given(groups, st.integers(1, 30))
def test_salvage_takes_the_fewest_minutes_at_length(old: Any, short: int) -> None:
    covered(old, short)


def lengths_by_search(length: int, pieces: list[int], kerf: int) -> int:
    """Fewest lengths by trying every place for every piece, largest first."""
    order = sorted((piece + kerf for piece in pieces), reverse=True)
    best = len(order)

    def put(number: int, rooms: list[int]) -> None:
        nonlocal best
        if len(rooms) >= best:
            return
        if number == len(order):
            best = len(rooms)
            return
        for k in range(len(rooms)):
            if rooms[k] >= order[number] and rooms[k] not in rooms[:k]:
                put(number + 1, [*rooms[:k], rooms[k] - order[number], *rooms[k + 1 :]])
        put(number + 1, [*rooms, length + kerf - order[number]])

    put(0, [])
    return best


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    st.integers(20, 40),
    st.lists(st.integers(3, 20), min_size=1, max_size=9),
    st.integers(0, 3),
)
def test_fewest_lengths(length: int, pieces: list[int], kerf: int) -> None:
    demand = {size: pieces.count(size) for size in sorted(set(pieces))}
    plan = fewest_lengths(length, demand, kerf)
    assert plan.lengths == plan.at_least == lengths_by_search(length, pieces, kerf)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=2, max_size=4),
    st.lists(
        st.tuples(st.lists(st.integers(-3, 4), min_size=4, max_size=4), st.integers(-4, 9)),
        min_size=1,
        max_size=3,
    ),
)
def test_aims_in_order(aims: list[tuple[int, int]], rows: list[tuple[list[int], int]]) -> None:
    """Every point of a small grid: the least first aim, then the least second one."""
    sheet = Sheet()
    columns = [sheet.variable(3, first=float(a), second=float(b)) for a, b in aims]
    for terms, least in rows:
        sheet.row(dict(zip(columns, map(float, terms), strict=False)), least=float(least))
    points = [
        point
        for point in product(range(4), repeat=len(aims))
        if all(
            sum(t * x for t, x in zip(terms, point, strict=False)) >= least for terms, least in rows
        )
    ]
    if not points:
        with pytest.raises(NoWholeAnswer):
            in_order(sheet, ["first", "second"])
        return
    best = min(
        tuple(sum(aim[k] * x for aim, x in zip(aims, point, strict=True)) for k in (0, 1))
        for point in points
    )
    found = in_order(sheet, ["first", "second"])
    assert found.optimal
    assert (found.values["first"], found.values["second"]) == best

"""Sawing, whole-number programmes and spares against published instances and tables."""

from itertools import product
from typing import Any

import pytest
from scipy import stats

from baywright_plugins.part_count.programme.breakage import by_rate, share
from baywright_plugins.part_count.programme.cutting import (
    cut_patterns,
    fewest_lengths,
    pieces_per_length,
)
from baywright_plugins.part_count.programme.sheet import Sheet, in_order
from tests.plugins.part_count.conftest import DATA, read

CASES = {case["id"]: case for case in read(DATA / "published" / "stock_programme.json")}


def of(quantity: str) -> list[Any]:
    return [pytest.param(c, id=c["id"]) for c in CASES.values() if c["quantity"] == quantity]


def test_cutting_stock_of_thirteen_widths() -> None:
    """Encyclopedia article Cutting stock problem: 73 rolls, no fewer; waste 0.401 %."""
    given, expected = CASES["cut-jumbo"]["inputs"], CASES["cut-jumbo"]["expected"]
    demand = dict(zip(given["lengths"], given["demand"], strict=True))
    plan = fewest_lengths(given["stock"], demand, 0)
    assert plan.lengths == plan.at_least == expected["stock_used"]
    assert plan.complete
    waste = plan.lengths * given["stock"] - expected["total_length"]
    assert 100 * waste / (plan.lengths * given["stock"]) == pytest.approx(
        expected["waste_pct"], abs=0.001
    )
    for place, (length, wanted) in enumerate(demand.items()):
        assert sum(cut.count * cut.pattern.pieces[place] for cut in plan.cuts) >= wanted, length


def test_patterns_of_thirteen_widths() -> None:
    """The same article: 308 patterns. Ours are those that leave no room; all others are parts of
    them."""
    given = CASES["jumbo-patterns"]["inputs"]
    found = cut_patterns(given["stock"], given["lengths"], 0)
    assert found.complete
    every = {
        part for way in found.ways for part in product(*(range(n + 1) for n in way.pieces))
    } - {(0,) * len(given["lengths"])}
    assert len(every) == CASES["jumbo-patterns"]["expected"]["patterns"]
    for way in found.ways:
        used = sum(n * length for n, length in zip(way.pieces, given["lengths"], strict=True))
        assert way.offcut_um == given["stock"] - used
        assert way.offcut_um < min(given["lengths"])


def test_bin_packing_of_eleven_items() -> None:
    """Solver documentation: four bins of 100."""
    given = CASES["bin-11"]["inputs"]
    demand: dict[int, int] = {}
    for size in given["items"]:
        demand[size] = demand.get(size, 0) + 1
    plan = fewest_lengths(given["capacity"], demand, 0)
    assert plan.lengths == plan.at_least == CASES["bin-11"]["expected"]["bins"]


@pytest.mark.parametrize("case", of("pieces_per_stock"))
def test_pieces_from_a_bar_with_kerf(case: Any) -> None:
    given = case["inputs"]
    micro = [round(1000 * given[key]) for key in ("stock_mm", "piece_mm", "kerf_mm")]
    assert pieces_per_length(*micro) == case["expected"]
    (way,) = cut_patterns(micro[0], [micro[1]], micro[2]).ways
    assert way.pieces == (case["expected"],)


def test_a_piece_longer_than_the_length_is_refused() -> None:
    with pytest.raises(ValueError, match="longer"):
        fewest_lengths(100, {101: 1}, 0)


def test_many_patterns_are_cut_short_and_still_serve_each_piece() -> None:
    """Of 20 m of dowel thousands of patterns; those of one length stand among the first."""
    pieces = [40_000, 64_800, 100_000, 149_600, 220_000]
    found = cut_patterns(20_000_000, pieces, 2_000)
    assert not found.complete
    for place, piece in enumerate(pieces):
        most = max(way.pieces[place] for way in found.ways)
        assert most == pieces_per_length(20_000_000, piece, 2_000)


def test_whole_numbers_of_two_variables() -> None:
    """SciPy documentation, scipy.optimize.milp: the largest y is 2."""
    given = CASES["milp-scipy"]["inputs"]
    sheet = Sheet()
    x, y = sheet.variable(), sheet.variable(worth=-1.0)
    for (a, b), most in zip(given["matrix"], given["most"], strict=True):
        sheet.row({x: float(a), y: float(b)}, most=float(most))
    found = in_order(sheet, ["worth"])
    assert found.optimal and found.x[y] == CASES["milp-scipy"]["expected"]["y"]


@pytest.mark.parametrize("case", of("assignment"))
def test_assignment(case: Any) -> None:
    """As an integer programme: the cost of linear_sum_assignment's example, and of a textbook's."""
    cost = case["inputs"]["cost"]
    sheet = Sheet()
    at = [[sheet.variable(1, cost=float(value)) for value in row] for row in cost]
    for line in (*at, *zip(*at, strict=True)):
        sheet.row(dict.fromkeys(line, 1.0), least=1.0, most=1.0)
    found = in_order(sheet, ["cost"])
    assert found.optimal
    assert found.values["cost"] == pytest.approx(case["expected"]["cost"])
    if "columns" in case["expected"]:
        chosen = [[found.x[v] for v in row].index(1) for row in at]
        assert chosen == case["expected"]["columns"]


def test_a_bound_on_work_leaves_a_proven_gap() -> None:
    """One node for a hard cover: the answer is no better than the optimum, the bound no worse."""

    def cover() -> Sheet:
        sheet, seed = Sheet(), 3
        weights: list[list[int]] = []
        for _ in range(6):
            row = []
            for _ in range(30):
                seed = (1103515245 * seed + 12345) % 2**31
                row.append(100 + seed // 65536 % 900)
            weights.append(row)
        columns = [sheet.variable(1, cost=float(w + 100)) for w in weights[0]]
        for row in weights[1:]:
            terms = {c: float(w) for c, w in zip(columns, row, strict=True)}
            sheet.row(terms, least=float(sum(row) // 2))
        return sheet

    best = in_order(cover(), ["cost"])
    assert best.optimal and best.gap == 0.0
    rough = in_order(cover(), ["cost"], most_nodes=1)
    assert rough.bounds["cost"] <= best.values["cost"] <= rough.values["cost"]
    assert rough.gap > 0 and not rough.optimal
    assert rough.gap == pytest.approx(1 - rough.bounds["cost"] / rough.values["cost"])


@pytest.mark.parametrize("case", of("poisson_cumulative"))
def test_spares_by_printed_poisson_tables(case: Any) -> None:
    """With a mean of 2 or 5: the fewest spares for each printed probability."""
    mean, tolerance = case["inputs"]["mean"], case["tolerance"]["abs"]
    for k, probability in zip(case["inputs"]["k"], case["expected"]["probability"], strict=True):
        if probability < 0.5:
            continue
        found = by_rate(1000, mean / 1000, 1, probability - 2 * tolerance)
        assert found.count == k
        assert found.expected == pytest.approx(mean)
        assert found.enough == pytest.approx(probability, abs=tolerance)


def test_spares_are_the_fewest() -> None:
    for mean in (0.0, 0.3, 7.5, 400.0):
        found = by_rate(1, mean, 1, 0.95)
        assert stats.poisson.cdf(found.count, mean) >= 0.95
        assert found.count == 0 or stats.poisson.cdf(found.count - 1, mean) < 0.95


def test_a_share_is_counted_in_exact_decimals() -> None:
    """7 % of 100 is 7, not 8; 1 % of 101 is 2."""
    assert share(100, 0.07).count == 7
    assert share(101, 0.01).count == 2

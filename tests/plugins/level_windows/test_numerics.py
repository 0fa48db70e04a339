"""Closures, conflicts and chains by hand, and what docstrings show."""

import doctest
import importlib
import inspect
import pkgutil

import numpy as np
import pytest

import baywright_plugins.level_windows as package
from baywright_plugins.level_windows import (
    conflicts,
    critical_chain,
    decision_order,
    difference_constraints,
    most_slack,
    shortest_walk,
    total_slack,
)
from baywright_plugins.level_windows.difference_constraints import NoAnswer, Rows, close

from .ladders import NM, Item, Small

MODULES = [module.name for module in pkgutil.iter_modules(package.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    """Every example of a module of this calculator."""
    module = importlib.import_module(f"{package.__name__}.{name}")
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize(
    "function",
    [
        difference_constraints.close,
        most_slack.least_slack,
        most_slack.place,
        conflicts.smallest_conflict,
        critical_chain.chain_to,
        decision_order.decide,
    ],
    ids=lambda f: f.__name__,
)
def test_methods_name_their_source(function: object) -> None:
    assert "Source:" in (inspect.getdoc(function) or "")


def chain_of_rows(items: list[Item], snapped: tuple[bool, ...], module: int) -> Small:
    return Small(module, snapped, tuple(items))


def test_a_contradiction_is_found_before_numbers_run_away() -> None:
    """200 levels in a ring that each lie above the next: refused, with nothing overflowing."""
    items: list[Item] = [(k + 1, (k + 1) % 200 + 1, 90_000, None) for k in range(200)]
    small = chain_of_rows(items, (True,) * 200, 60)
    with pytest.raises(NoAnswer):
        close(small.rows, small.grid)


def shared_rows() -> Small:
    """Two smallest conflicts, both eight rows long: one of eight members, one of seven.

    Levels 1 to 7 and the floor form a ring of eight snapped levels that climbs 10. Levels 8 to 11
    (a, b, c, d; snapped) meet through free levels 12 and 13 (f, g): a to b and c to d each pass
    f and g and are rounded up; the row from f to g serves both.
    """
    ring: list[Item] = [(k, k + 1, 10, None) for k in range(7)] + [(0, 7, None, 60)]
    a, b, c, d, f, g = range(8, 14)
    shared: list[Item] = [
        (a, f, 3, None), (c, f, 5, None), (f, g, 1, None), (g, b, 1, None), (g, d, 6, None),
        (b, c, -10, None), (d, a, -10, None),
    ]  # fmt: skip
    return Small(10, (True,) * 11 + (False,) * 2, tuple(ring + shared))


def test_a_member_used_twice_counts_once() -> None:
    """By hand: a to b climbs 10, c to d 20, the ways back give 20: 10 too much with 7 members."""
    small = shared_rows()
    conflict = conflicts.smallest_conflict(small.rows, small.grid)
    assert conflict is not None and conflict.smallest
    assert sorted(conflict.members) == list(range(8, 15))
    assert len(conflict.walk) == 8


def test_without_work_to_prove_it_no_set_is_called_smallest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The ring of eight stays the answer, and says that it may not be the smallest."""
    monkeypatch.setattr(conflicts, "_PROOF_WORK_NS", 0)
    small = shared_rows()
    conflict = conflicts.smallest_conflict(small.rows, small.grid)
    assert conflict is not None and not conflict.smallest
    assert sorted(conflict.members) == list(range(8))


def test_without_work_for_all_levels_the_search_looks_from_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Still a conflict, no longer called smallest."""
    monkeypatch.setattr(shortest_walk, "_SHORTEST_WORK", 0)
    items: list[Item] = [(0, 1, 100, None), (1, 2, 30, None), (0, 2, None, 120)]
    small = chain_of_rows(items, (True, True), 10)
    conflict = conflicts.smallest_conflict(small.rows, small.grid)
    assert conflict is not None and not conflict.smallest
    assert sorted(conflict.members) == [0, 1, 2] and conflict.missing_nm == 10 * NM


def test_giving_is_found_either_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """Way by way round, or halved in: 20 of 100 must go (15 and the rounding of 45 to 50)."""
    items: list[Item] = [(0, 1, 100, None), (1, 2, 45, None), (0, 2, None, 135)]
    small = chain_of_rows(items, (True, True), 10)
    conflict = conflicts.smallest_conflict(small.rows, small.grid)
    assert conflict is not None
    assert conflicts.give_needed(0, conflict, small.rows, small.grid) == 20 * NM
    monkeypatch.setattr(conflicts, "_MOST_CUTS", 0)
    assert conflicts.give_needed(0, conflict, small.rows, small.grid) == 20 * NM


def test_a_total_cut_short_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the programme gives nothing, the smallest slack is still the largest."""
    monkeypatch.setattr(total_slack._Programme, "solve", lambda self, whole: None)
    items: list[Item] = [(0, 1, 15, 45), (1, 2, 15, 80), (0, 2, None, 100)]
    small = chain_of_rows(items, (True, True), 10)
    placed = most_slack.place(small.rows, small.grid, enough_nm=30 * NM)
    assert placed.least_nm == 15 * NM and not placed.proven
    slack = most_slack.slack_of(small.rows, placed.height_nm)
    assert slack.min() == 15 * NM


def test_heights_without_a_grid_need_not_be_whole() -> None:
    """Between 0 and 25: two distances of 4 or more keep 8.5 at 12.5 each, by hand."""
    items: list[Item] = [(0, 1, 4, None), (1, 2, 4, None), (0, 2, 25, 25)]
    small = chain_of_rows(items, (True, True), 10)
    placed = most_slack.place(small.rows, small.grid.off(), enough_nm=20 * NM)
    assert placed.least_nm == 8.5 * NM and placed.proven
    assert placed.height_nm.tolist() == [0, 12.5 * NM, 25 * NM]


def test_total_without_a_grid_by_hand() -> None:
    """The first has room for 0.5 either way and sets the smallest slack; of the 30.5 that the
    others share one takes all that counts, 20: the total is 31."""
    items: list[Item] = [(0, 1, 4, 5), (1, 2, 3, None), (0, 2, None, 38)]
    small = chain_of_rows(items, (True, True), 10)
    placed = most_slack.place(small.rows, small.grid.off(), enough_nm=20 * NM)
    slack = most_slack.slack_of(small.rows, placed.height_nm)
    assert placed.least_nm == 0.5 * NM and placed.proven
    assert sorted(slack) == [0.5 * NM, 0.5 * NM, 10.5 * NM, 20 * NM]


def test_levels_that_nothing_holds_stand_on_the_floor() -> None:
    """A pair that floats: the lower one on the floor, the other by what is asked."""
    items: list[Item] = [(1, 2, 35, None)]
    small = chain_of_rows(items, (True, True), 10)
    closure = close(small.rows, small.grid)
    assert most_slack.lowest(closure).tolist() == [0, 0, 40 * NM]
    assert most_slack.highest(closure).tolist() == [0, 0, 40 * NM]


def test_all_ties_of_a_chain_and_none_of_its_echoes() -> None:
    """Two ways of equal length to level 4, an equality on one of them, and a loose way."""
    items: list[Item] = [
        (0, 1, 10, None), (1, 2, 20, 20), (2, 4, 5, None), (0, 3, 35, None), (3, 4, 0, None),
        (0, 4, 34, None),
    ]  # fmt: skip
    small = chain_of_rows(items, (True,) * 4, 1)
    closure = close(small.rows, small.grid)
    chain = critical_chain.chain_to(4, small.rows, small.grid, closure.window()[0])
    assert chain is not None and chain.ways == 2
    on_chain = {int(small.rows.member[row]) for row in chain.rows}
    assert on_chain == {0, 1, 2, 3, 4}
    assert all(small.rows.least_nm[row] >= 0 for row in chain.rows)


def test_rows_can_be_turned_upside_down() -> None:
    """Lower ends of the turned ladder are upper ends, negated."""
    small = chain_of_rows([(0, 1, 12, 47), (1, 2, 3, 30)], (True, False), 10)
    low, high = close(small.rows, small.grid).window()
    turned: Rows = small.rows.upside_down()
    down, up = close(turned, small.grid.upside_down()).window()
    assert (down == -high).all() and (up == -low).all()
    assert np.array_equal(low // NM, [0, 20, 23]) and np.array_equal(high // NM, [0, 40, 70])

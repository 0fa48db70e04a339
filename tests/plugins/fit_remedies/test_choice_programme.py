"""The solver of choices: published optima, brute force, and what it says when broken off."""

from collections.abc import Sequence
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.fit_remedies.choice_programme import (
    Condition,
    NoChoice,
    Programme,
    cheapest,
    not_all,
)

Cases = dict[str, Any]


def knapsacks(
    profits: Sequence[Sequence[float]],
    weights: Sequence[Sequence[float]],
    capacities: Sequence[float],
    *,
    may_stay: bool,
) -> Programme:
    """Each thing is a group: which knapsack it goes into, or (last) that it stays out."""
    things = range(len(weights[0]))
    stays = (0.0,) if may_stay else ()
    costs = tuple((*(-float(row[k]) for row in profits), *stays) for k in things)
    plain = Programme(costs)
    limits = tuple(
        Condition(
            tuple(plain.column(k, sack) for k in things),
            tuple(float(weights[sack][k]) for k in things),
            -np.inf,
            float(most),
        )
        for sack, most in enumerate(capacities)
    )
    return Programme(costs, (), limits)


@pytest.mark.parametrize("name", ["knapsack-8", "knapsack-7", "multiple-knapsack-10-2"])
def test_published_knapsacks(published: Cases, name: str) -> None:
    """Totals printed by the programs of Martello and Toth, and in the adagio manual."""
    case = published[name]["inputs"]
    profits = [case["profit"]] * len(case["capacity"])
    programme = knapsacks(profits, case["weight"], case["capacity"], may_stay=True)
    answer = cheapest(programme)
    assert answer.proven
    assert -answer.cost == pytest.approx(published[name]["expected"], abs=1e-9)


def test_published_generalised_assignment(published: Cases) -> None:
    """Martello and Toth, Knapsack Problems (1990), chapter 7: seven things, two knapsacks, 40."""
    case = published["generalized-assignment-7-2"]
    data = case["inputs"]
    programme = knapsacks(data["profits"], data["weight"], data["capacity"], may_stay=False)
    assert -cheapest(programme).cost == pytest.approx(case["expected"], abs=1e-9)


def test_published_assignment(published: Cases) -> None:
    """The example of scipy.optimize.linear_sum_assignment: cost 5, columns 1, 0, 2."""
    case = published["assign-scipy"]
    cost = [tuple(map(float, row)) for row in case["inputs"]["cost"]]
    plain = Programme(tuple(cost))
    once = tuple(
        Condition(tuple(plain.column(k, j) for k in range(3)), (1.0,) * 3, 1.0, 1.0)
        for j in range(3)
    )
    answer = cheapest(Programme(plain.costs, (), once))
    assert answer.cost == case["expected"]["cost"]
    assert list(answer.options) == case["expected"]["columns"]


@given(data=st.data())
@settings(max_examples=15, deadline=None, derandomize=True)
def test_all_choices_in_order_of_cost(data: Any) -> None:
    """Cutting off one choice after another lists them as brute force does, until none is left."""
    whole = st.integers(0, 9)
    sizes = data.draw(st.lists(st.integers(1, 3), min_size=1, max_size=3))
    costs = tuple(tuple(float(data.draw(whole)) for _ in range(n)) for n in sizes)
    weights = [[data.draw(whole) for _ in range(n)] for n in sizes]
    most = data.draw(st.integers(0, 20))
    columns = tuple(range(sum(sizes)))
    limit = Condition(columns, tuple(float(w) for g in weights for w in g), -np.inf, float(most))
    programme = Programme(costs, (), (limit,))
    listed: list[int] = []
    cuts: list[Condition] = []
    while True:
        try:
            answer = cheapest(programme, cuts)
        except NoChoice as none:
            assert none.proven
            break
        assert answer.proven and answer.bound == pytest.approx(answer.cost)
        listed.append(round(answer.cost))
        cuts.append(not_all([[programme.column(g, k)] for g, k in enumerate(answer.options)]))
    brute = sorted(
        round(sum(costs[g][k] for g, k in enumerate(options)))
        for options in product(*map(range, sizes))
        if sum(weights[g][k] for g, k in enumerate(options)) <= most
    )
    assert listed == brute


def test_a_search_broken_off_says_so() -> None:
    """With one node for a hard knapsack the answer is not called proven; its bound holds still."""
    rng = np.random.default_rng(1)
    weights = [float(w) for w in rng.integers(900, 1100, 60)]
    most = 0.5 * sum(weights) - 0.5
    answer = cheapest(knapsacks([weights], [weights], [most], may_stay=True), most_nodes=1)
    assert not answer.proven
    assert -most <= answer.bound <= answer.cost


def test_a_switch_is_paid_where_a_condition_turns_it_on() -> None:
    """Two groups that must choose alike, or pay 3."""
    costs = ((0.0, 5.0), (5.0, 0.0))
    alike = Condition((0, 2, 4), (1.0, -1.0, -1.0), -np.inf, 0.0)
    answer = cheapest(Programme(costs, (3.0,), (alike,)))
    assert (answer.options, answer.switches, answer.cost) == ((0, 1), (True,), 3.0)
    dear = cheapest(Programme(costs, (6.0,), (alike,)))
    assert (dear.switches, dear.cost) == ((False,), 5.0)

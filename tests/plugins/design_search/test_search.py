"""Small spaces whole, large ones by a seeded search whose share is told."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.design_search import DesignSearch, nearest, search
from baywright_plugins.design_search.machines import machine_at
from baywright_plugins.design_search.reading import problem_of
from baywright_service.contract import Inputs, Result
from baywright_service.envelope import envelope
from baywright_service.json_writer import plain

Json = dict[str, Any]
Run = Callable[[Json], Result]


@pytest.fixture
def whole(run: Run, small: Callable[..., Json]) -> Json:
    """The complete answer, before spaces are made to seem large."""
    return dict(run(small()).value)


@pytest.fixture
def large(whole: Json, monkeypatch: pytest.MonkeyPatch) -> None:
    """As if every space were too large to be gone through."""
    for module in (search, nearest):
        monkeypatch.setattr(module, "ENUMERABLE", 0)
    for name, value in {"ROUNDS": 3, "FIRST_DRAW": 12, "DRAW": 6}.items():
        monkeypatch.setattr(search, name, value)


def answer(body: Json) -> Result:
    calculator = DesignSearch()
    return calculator.calculate(calculator.load(body))


def test_small_spaces_are_complete(run: Run, small: Callable[..., Json]) -> None:
    """Removed and worked out add up to all there are, and each check hands on what it leaves."""
    value = run(small()).value
    space = value["space"]
    assert space["exact"] and space["method"] == "complete enumeration"
    assert space["pruned_count"] + space["evaluated_count"] == space["machines_count"]
    assert (space["unseen_count"], space["seen_ratio"]) == (0, 1.0)
    looked = [row["looked_at_count"] for row in value["checks"]]
    left = [row["left_count"] for row in value["checks"]]
    assert looked[0] == space["machines_count"] and looked[1:] == left[:-1]
    for row in value["checks"]:
        assert sum(reason["machines_count"] for reason in row["reasons"]) == row["removed_count"]


@pytest.mark.usefixtures("large")
def test_a_seeded_search_tells_its_share_and_finds_no_more_than_there_is(
    whole: Json, small: Callable[..., Json]
) -> None:
    """Every machine it works out has the values that the complete one gives it."""
    body = small(seed=5)
    result = answer(body)
    found = result.value
    assert whole["space"]["exact"]
    space = found["space"]
    assert space["method"] == "seeded search" and not space["exact"] and space["seed"] == 5
    seen = space["pruned_count"] + space["evaluated_count"]
    assert space["unseen_count"] == space["machines_count"] - seen > 0
    assert space["seen_ratio"] == pytest.approx(seen / space["machines_count"])
    known = {one["number"]: one for one in [*whole["machines"], *whole["lost"]]}
    for one in [*found["machines"], *found["lost"]]:
        assert one["strength_reserve_ratio"] == known[one["number"]]["strength_reserve_ratio"]
        assert one["pieces_count"] == known[one["number"]]["pieces_count"]
    assert "space-not-exhausted" in {one.code for one in result.findings}


@pytest.mark.usefixtures("large")
def test_same_seed_same_bytes(small: Callable[..., Json]) -> None:
    body = small(seed=11)
    first, second = (plain(envelope(DesignSearch(), answer(body), ())) for _ in range(2))
    assert first == second
    other = answer({**body, "seed": 12}).value
    assert other["space"]["seed"] == 12
    seen = [
        {one["number"] for one in [*value["machines"], *value["lost"]]}
        for value in (first["result"], other)
    ]
    assert seen[0] != seen[1]


def test_few_evaluations_leave_machines_unseen(run: Run, small: Callable[..., Json]) -> None:
    """Two machines worked out and no more, of each kind in turn; the rest is told as unseen."""
    value = run(small(most_evaluations=2)).value
    space = value["space"]
    assert (space["evaluated_count"], space["stopped_by"]) == (2, "most-evaluations")
    assert space["unseen_count"] > 0 and not space["exact"]


def test_work_on_strength_is_bounded(
    small: Callable[..., Json], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bound on the work ends the search, whatever most_evaluations allows."""
    monkeypatch.setattr("baywright_plugins.design_search.study.MOST_WORK", 150.0)
    space = answer(small()).value["space"]
    assert space["stopped_by"] == "work-limit"
    assert 0 < space["sections_checked_count"] <= 3
    assert space["unseen_count"] > 0


def test_largest_space_ends_soon(
    load: Callable[[Json], Inputs], small: Callable[..., Json], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Thousands of millions of machines: the checks and the bound on work end it."""
    monkeypatch.setattr(search, "FIRST_DRAW", 2000)
    monkeypatch.setattr(search, "DRAW", 100)
    sections = [{"id": f"S{k}"} for k in range(3)]
    body = small(
        envelope={"length_max_mm": 3000, "width_max_mm": 500, "height_max_mm": 900},
        splits=[{"id": "three", "sections": sections}],
        joint_rod="R60",
        most_evaluations=3,
    )
    problem = problem_of(load(body))
    assert problem.space.count > 10**7
    last = problem.space.looked(problem.space.first[1:] - 1)[-1]
    assert machine_at(problem, last, 0).number == problem.space.count - 1
    value = answer(body).value
    space = value["space"]
    assert space["evaluated_count"] <= 3 and space["machines_count"] == problem.space.count
    assert 0 < space["unseen_count"] < problem.space.count
    mixed = sum(block.count for block in problem.space.blocks if len(set(block.rods)) > 1)
    bracing = next(row for row in value["checks"] if row["check"] == "bracing")
    assert bracing["removed_count"] >= mixed > problem.space.count / 2

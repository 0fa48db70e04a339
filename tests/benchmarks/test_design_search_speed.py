"""Speed of design-search beside plain loops over the calculators, in one run:
`pytest -m benchmark -n 0 -s`."""

from time import perf_counter
from typing import Any

import pytest

from baywright_plugins.design_search import DesignSearch, nearest, search
from baywright_plugins.design_search.floors import Floors
from baywright_plugins.design_search.machines import Counting, machine_at
from baywright_plugins.design_search.plans import layout_of
from baywright_plugins.design_search.reading import problem_of
from baywright_plugins.design_search.shapes import Drawings
from baywright_plugins.grid_fit.examples import KIT
from baywright_plugins.part_count import PartCount
from baywright_plugins.truss_check import TrussCheck

pytestmark = pytest.mark.benchmark

Json = dict[str, Any]


def body(**more: Any) -> Json:
    """Three sections in a row of R120, two of them twins: a few hundred machines."""
    return {
        "kit": KIT,
        "envelope": {
            "length_min_mm": 1300, "length_max_mm": 1700, "width_min_mm": 380,
            "width_max_mm": 520, "height_max_mm": 760,
        },
        "bay_rods": ["R120"],
        "joint_rod": "R60",
        "splits": [
            {
                "id": "three",
                "sections": [
                    {"id": "tower", "length_min_mm": 380, "length_max_mm": 520,
                     "height_min_mm": 620},
                    {"id": "left", "length_min_mm": 380, "height_min_mm": 380,
                     "height_max_mm": 520},
                    {"id": "right", "twin_of": "left"},
                ],
            }
        ],
        "bracings": [
            {"id": "lean-in", "side_faces": {"default": "lean-in"}},
            {"id": "crossed", "side_faces": {"default": "crossed"}},
        ],
        "strength": {"handling": {"cases": ["stand", "carry-upright", "carry-on-back"]}},
    } | more  # fmt: skip


def answer(given: Json) -> tuple[float, Json]:
    calculator = DesignSearch()
    inputs = calculator.load(given)
    start = perf_counter()
    value = dict(calculator.calculate(inputs).value)
    return perf_counter() - start, value


def test_sections_alike_are_worked_out_once() -> None:
    """A machine in a search takes at most a third of the time of its own runs of part-count and
    truss-check, since sections that are alike are built and checked once."""
    taken, found = answer(body())
    count = found["space"]["evaluated_count"]
    problem = problem_of(DesignSearch().load(body()))
    drawings = Drawings(problem)
    counting = Counting(problem, drawings, Floors(problem))
    numbers = sorted(one["number"] for one in [*found["machines"], *found["lost"]])[:12]
    parts, truss = PartCount(), TrussCheck()
    start = perf_counter()
    for number in numbers:
        (looked,) = problem.space.looked(problem.space.first[:1] + number)
        machine = machine_at(problem, looked, 0)
        layout = layout_of(problem, machine, counting.of(machine).shapes, drawings)
        frame = {"kit": KIT, "frame": {"layout": layout}}
        parts.calculate(parts.load(frame))
        truss.calculate(
            truss.load(frame | {"analyses": ["linear"], "seek_remedies": False}
                       | body()["strength"])
        )  # fmt: skip
    alone = (perf_counter() - start) / len(numbers)
    each = taken / count
    print(
        f"\n{count} machines, {found['space']['sections_checked_count']} shapes in {taken:.2f} s: "
        f"{1000 * each:.1f} ms each; one by one {1000 * alone:.1f} ms: {alone / each:.1f} times"
    )
    assert found["space"]["exact"] and alone > 3 * each


def test_a_seeded_search_finds_most_of_the_set(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same space as if it were too large: share of the complete set that is found."""
    _, whole = answer(body())
    for module in (search, nearest):
        monkeypatch.setattr(module, "ENUMERABLE", 0)
    monkeypatch.setattr(search, "FIRST_DRAW", 60)
    monkeypatch.setattr(search, "DRAW", 20)
    wanted = {one["number"] for one in whole["machines"]}
    shares = []
    for seed in range(4):
        _, value = answer(body(seed=seed, most_evaluations=80))
        found = {one["number"] for one in value["machines"]}
        shares.append(len(found & wanted) / len(wanted))
        space = value["space"]
        print(
            f"\nseed {seed}: {space['evaluated_count']} of {space['machines_count']} machines "
            f"worked out, {len(found & wanted)} of {len(wanted)} of the set"
        )
    assert sum(shares) / len(shares) > 0.5


def test_a_wide_space_ends_in_time() -> None:
    """Hundreds of millions of machines: the bounds on draws and on work end it; printed."""
    wide = {"length_min_mm": 0, "length_max_mm": 4000, "width_max_mm": 900, "height_max_mm": 1900}
    splits = [{"id": "free", "sections": [{"id": f"S{k}"} for k in range(3)]}]
    taken, value = answer(body(envelope=wide, splits=splits, bay_rods=["R120", "R170"]))
    space = value["space"]
    print(
        f"\n{space['machines_count']} machines: {space['evaluated_count']} worked out in "
        f"{taken:.2f} s, {len(value['machines'])} in the set"
    )
    assert space["machines_count"] > 10**8 and taken < 30

"""Each machine as a plan, run through the service: its numbers are the machine's own."""

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from baywright_plugins.design_search import DesignSearch
from baywright_service.contract import Result

Json = dict[str, Any]


@pytest.fixture(scope="module")
def machines(run: Callable[[Json], Result], small: Callable[..., Json]) -> Json:
    """A row of two with everything asked for: route, floor, lifts, stock, substitutes, leaning."""
    body = small(
        bay_rods=["R120"],
        joint_rod="R60",
        splits=[
            {
                "id": "pair",
                "title": "Pair",
                "sections": [
                    {"id": "A", "title": "tower", "length_max_mm": 280, "height_min_mm": 390,
                     "fittings": [{"title": "motor", "mass_kg": 2, "levels": [-1]}]},
                    {"id": "B", "length_min_mm": 390, "height_max_mm": 280},
                ],
            }
        ],
        envelope={
            "length_max_mm": 760, "width_min_mm": 270, "width_max_mm": 280, "height_min_mm": 390,
            "height_max_mm": 400,
        },
        bracings=[{"id": "grips", "title": "lean-in, second diagonals at grips",
                   "side_faces": {"default": "lean-in"}, "second_at_grips": "around-lower"}],
        passages=[{"id": "door", "title": "Door", "width_mm": 500, "height_mm": 700}],
        protrusions=[{"sections": ["A"], "side": "z-plus", "mm": 40}],
        floor={"panels": [{"id": "tile", "pitch_mm": 51.4, "play_mm": 0.1}], "sections": ["B"]},
        lifts={"required_balls_per_min": 30, "capacity_per_min": 18, "fewest_count": 3,
               "most_count": 3, "mass_each_kg": 0.5, "parts_each": [{"item": "R60", "count": 4}],
               "levels": [0]},
        accessories=[{"item": "R60", "count": 10, "title": "shelves"}],
        stock={"counts": [
            {"item": "R60", "on_hand_count": 30}, {"item": "R120", "on_hand_count": 120},
            {"item": "R170", "on_hand_count": 60}, {"item": "H18", "on_hand_count": 70},
        ]},
        use_substitutes=True,
        build={"first_bay_min": 6, "learning_ratio": 0.85, "floor_min": 2},
        strength={"handling": {"cases": ["stand", "carry-on-back", "carry-upright"],
                               "dynamic_factor": 1.4},
                  "leaning": {"person_n": 4, "height_mm": 200}},
    )  # fmt: skip
    value: Json = dict(run(body).value)
    return value


def step(answer: Json, id: str) -> Json:
    found = next(one for one in answer["steps"] if one["id"] == id)
    assert found["status"] == "done", found
    envelope: Json = found["envelope"]
    return envelope


def test_the_plan_of_every_machine_says_the_same(client: FlaskClient, machines: Json) -> None:
    """Grid, route, strength, floor, lifts and parts, each calculated by its own calculator."""
    assert machines["space"]["exact"] and machines["machines"]
    for machine in machines["machines"]:
        response = client.post("/v1/plans/run", json=machine["plan"])
        assert response.status_code == 200, response.text
        answer = response.get_json()
        grid, parts = step(answer, "grid")["result"], step(answer, "parts")["result"]
        assert grid["overall_outside_mm"] == pytest.approx(
            {axis: machine[f"{name}_mm"] for axis, name in
             (("x", "length"), ("y", "width"), ("z", "height"))}
        )  # fmt: skip
        assert [one["over_hubs_mm"] for one in grid["sections"]] == [
            one["over_hubs_mm"] for one in machine["sections"]
        ]
        assert all(one["passes"] for one in step(answer, "route")["result"]["sections"])
        totals = parts["totals"]
        assert totals["pieces_count"] == machine["pieces_count"]
        assert totals["hubs_count"] == machine["hubs_count"]
        assert totals["rods_count"] == machine["rods_count"]
        assert totals["bays_count"] == machine["bays_count"]
        assert totals["mass_kg"] == pytest.approx(machine["mass_kg"], abs=1e-6)
        assert parts["build"]["hours"] == pytest.approx(machine["build_hours_h"])
        to_buy = {row["item"]: row["to_buy_count"] for row in parts["parts"]}
        assert sum(to_buy.values()) == machine["to_buy_count"] > 0
        assert {i: n for i, n in to_buy.items() if n} == {
            row["item"]: row["count"] for row in machine["to_buy"]
        }
        strength = step(answer, "strength")["result"]["sections"]
        for section, own in zip(strength, machine["sections"], strict=True):
            reserve = min(
                case["first_slip_factor"] / case["required_factor"] for case in section["cases"]
            )
            assert reserve == pytest.approx(own["strength_reserve_ratio"], rel=1e-9)
        assert machine["strength_reserve_ratio"] == min(
            own["strength_reserve_ratio"] for own in machine["sections"]
        )
        lifts = step(answer, "lifts")["result"]
        assert lifts["lift_count"] == machine["chosen"]["lifts_count"]
        stopped = next(row for row in lifts["by_stopped"] if row["stopped_count"] == 1)
        assert stopped["flow_worst_per_min"] >= 30
        floor = step(answer, "floor-2")["result"]
        assert floor["floor"]["panels_needed_count"] == machine["panels_count"]
        met = [pair for pair in floor["pairs"] if pair["second"] == "panel"]
        assert all(pair["ratios"] for pair in met)


def test_plans_hold_kit_and_stock(machines: Json) -> None:
    """Nothing else is needed to run one; second diagonals stand in the layout."""
    plan = machines["machines"][0]["plan"]
    assert {"title", "about", "kit", "stock", "steps"} == set(plan)
    assert [one["id"] for one in plan["steps"]] == [
        "grid", "route", "strength", "floor-2", "lifts", "parts",
    ]  # fmt: skip
    sections = plan["steps"][0]["inputs"]["layout"]["sections"]
    assert all(section["second_diagonals"] for section in sections)
    assert sections[0]["fittings"][-1] == {"title": "lifts", "mass_kg": 1.5, "levels": [0]}


def test_a_plan_without_anything_asked_for(
    client: FlaskClient, run: Callable[[Json], Result], small: Callable[..., Json]
) -> None:
    """Only grid, strength and parts; the example's own inputs load again."""
    machine = run(small()).value["machines"][0]
    assert [one["id"] for one in machine["plan"]["steps"]] == ["grid", "strength", "parts"]
    answer = client.post("/v1/plans/run", json=machine["plan"]).get_json()
    assert step(answer, "parts")["result"]["totals"]["pieces_count"] == machine["pieces_count"]
    assert DesignSearch.name == "design-search"

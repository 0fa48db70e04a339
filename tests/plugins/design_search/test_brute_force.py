"""The whole search against plain loops over the calculators themselves."""

from collections.abc import Callable, Iterator
from itertools import product
from math import hypot
from typing import Any

import pytest

from baywright_plugins.grid_fit.examples import KIT
from baywright_plugins.part_count import PartCount
from baywright_plugins.route_fit import RouteFit
from baywright_plugins.truss_check import TrussCheck
from baywright_service.contract import Calculator, Result

Json = dict[str, Any]
Run = Callable[[Json], Result]

PITCH = {rod["id"]: rod["pitch_mm"] for rod in KIT["rods"]}
OBJECTIVES = ("pieces_count", "mass_kg", "strength_reserve_ratio", "build_hours_h", "to_buy_count")


def value(calculator: Calculator, body: Json) -> Any:
    return calculator.calculate(calculator.load(body)).value


def counts(pitch: float, low: float, high: float) -> list[int]:
    return [n for n in range(1, 41) if low <= n * pitch + 34 <= high]


def by_hand(body: Json) -> Iterator[tuple[str, Json | None]]:
    """Every machine of one section, and what it is worth; None where it will not do."""
    box = body["envelope"]
    for rods in product(body["bay_rods"], repeat=3):
        ranges = [
            counts(PITCH[rod], box[f"{name}_min_mm"], box[f"{name}_max_mm"])
            for rod, name in zip(rods, ("length", "width", "height"), strict=True)
        ]
        for x, y, z in product(*ranges):
            for bracing in body["bracings"]:
                yield bracing["id"], worth(body, rods, (x, y, z), bracing)


def worth(body: Json, rods: Any, bays: Any, bracing: Json) -> Json | None:
    diagonals = [hypot(PITCH[rods[a]], PITCH[rods[b]]) for a, b in ((0, 1), (0, 2), (1, 2))]
    if any(min(abs(p - d) for p in PITCH.values()) > 0.3 for d in diagonals):
        return None
    section = {
        "id": "S1",
        "rods": {
            axis: [{"rod": rod, "count": n}] for axis, rod, n in zip("xyz", rods, bays, strict=True)
        },
        "side_faces": bracing["side_faces"],
    }
    frame = {"kit": KIT, "frame": {"layout": {"sections": [section]}}}
    passages = {"passages": body["passages"]}
    if not all(one["passes"] for one in value(RouteFit(), frame | passages)["sections"]):
        return None
    parts = value(PartCount(), frame | {"stock": body["stock"]})
    short = sum(row["to_buy_count"] for row in parts["parts"])
    if short > body["most_to_buy_count"]:
        return None
    checked = value(TrussCheck(), frame | {"analyses": ["linear"], "seek_remedies": False}
                    | body["strength"])["sections"][0]  # fmt: skip
    reserve = min(case["first_slip_factor"] / case["required_factor"] for case in checked["cases"])
    if reserve < 1:
        return None
    totals, hours = parts["totals"], parts["build"]["hours"]
    found = (totals["pieces_count"], totals["mass_kg"], reserve, hours, short)
    return dict(zip(OBJECTIVES, found, strict=True))


def key(one: Json) -> tuple[float, ...]:
    """As compared: the less the better, rounded."""
    digits = dict(zip(OBJECTIVES, (0, 3, 4, 3, 0), strict=True))
    signs = {"strength_reserve_ratio": -1.0}
    return tuple(signs.get(name, 1.0) * round(one[name], digits[name]) for name in OBJECTIVES)


@pytest.mark.parametrize(
    ("most", "highest"),
    [(150, 400), *(pytest.param(most, 520, marks=pytest.mark.slow) for most in (150, 400))],
)
def test_the_set_is_that_of_plain_loops(
    run: Run, small: Callable[..., Json], most: int, highest: float
) -> None:
    """Route, shelf and strength asked of the calculators one machine at a time, and dominance by
    its definition, give the same set; counters add up."""
    body = small(
        passages=[{"id": "hatch", "width_mm": 400, "height_mm": 480}],
        stock={"counts": [
            {"item": "R120", "on_hand_count": 160}, {"item": "R170", "on_hand_count": 90},
            {"item": "R240", "on_hand_count": 40}, {"item": "H18", "on_hand_count": 60},
        ]},
        most_to_buy_count=most,
        strength={"handling": {"cases": ["stand", "carry-on-back"], "dynamic_factor": 12}},
    )  # fmt: skip
    body["envelope"]["height_max_mm"] = highest
    found = run(body).value
    machines = list(by_hand(body))
    good = [one for _, one in machines if one is not None]
    best = {
        key(one) for one in good
        if not any(
            all(a <= b for a, b in zip(key(o), key(one), strict=True)) and key(o) != key(one)
            for o in good
        )
    }  # fmt: skip
    assert {key(one) for one in found["machines"]} == best
    assert len(found["machines"]) == len(best) > 1
    space = found["space"]
    assert space["exact"] and space["machines_count"] == len(machines)
    assert space["feasible_count"] == len(good) < len(machines)
    assert space["pruned_count"] + space["evaluated_count"] == len(machines)
    assert len(found["lost"]) + len(found["machines"]) == space["evaluated_count"]


def test_each_loser_is_beaten_by_what_it_is_told(run: Run, small: Callable[..., Json]) -> None:
    """The machine named is no worse in anything, and the amounts are the differences."""
    found = run(small(bay_rods=["R120"])).value
    by_id = {one["id"]: one for one in found["machines"]}
    beaten = [one for one in found["lost"] if one["reason"] == "dominated"]
    assert beaten
    fields = {row["id"]: row["field"] for row in found["objectives"]}
    for one in beaten:
        winner = by_id[one["beaten_by"]]
        apart = {row["objective"]: row["by"] for row in one["worse_by"]}
        assert set(apart) == set(fields) and max(apart.values()) > 0
        for name, by in apart.items():
            sign = -1 if name == "strength_reserve" else 1
            assert by >= 0
            assert by == pytest.approx(sign * (one[fields[name]] - winner[fields[name]]), abs=2e-3)

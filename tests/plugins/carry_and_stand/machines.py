"""Machines that the tests of carry-and-stand share."""

import json
from pathlib import Path
from typing import Any

from baywright_plugins.carry_and_stand import CarryAndStand
from baywright_service.contract import Finding, Result

Json = dict[str, Any]

CALCULATOR = CarryAndStand()
DATA = Path(__file__).parents[2] / "data"
EXPECTED: Json = json.loads((DATA / "returns-desk" / "expected.json").read_text())["expected"]


def published(topic: str) -> list[Json]:
    """Published cases of one quantity."""
    cases = json.loads((DATA / "published" / "carry_and_stand.json").read_text())
    found = [case for case in cases if case["quantity"] == topic]
    assert found
    return found


def returns_desk(which: str = "changed", **more: Any) -> Json:
    """The whole machine with eighty balls of 41 g, and a trolley 150 mm high."""
    folder = DATA / "returns-desk"
    return {
        "kit": json.loads((folder / "kit.json").read_text()),
        "frame": {"layout": json.loads((folder / f"{which}.json").read_text())},
        "first_node_plane_mm": 42,
        "loose_kg": 80 * 0.041,
        "trolley": {"raised_mm": 150, "inset_mm": 40, "wheel_radius_mm": 50, "step_mm": 20},
        **more,
    }


def stated(*sections: Json, **more: Any) -> Json:
    return {"sections": list(sections), **more}


def box(name: str = "A", mass: float = 20, size: tuple[float, ...] = (600, 600, 900)) -> Json:
    return {"id": name, "mass_kg": mass, "size_mm": list(size)}


def run(inputs: Json) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(inputs))


def finding(result: Result, code: str) -> Finding:
    return next(f for f in result.findings if f.code == code)


def codes(result: Result) -> set[str]:
    return {f.code for f in result.findings}

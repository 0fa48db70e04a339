"""Floors over sections that several tests start from."""

import copy
import json
from pathlib import Path
from typing import Any

from baywright_plugins.floor_tiling_ratio import FloorTilingRatio
from baywright_service.contract import Finding, Result, merge_patch

CALCULATOR = FloorTilingRatio()
DATA = Path(__file__).parents[2] / "data"
DESK = DATA / "returns-desk"


def read(name: str) -> Any:
    return json.loads((DESK / f"{name}.json").read_text("utf-8"))


EXPECTED = read("expected")["expected"]["floor"]
PITCHES = [
    {"id": "bay", "pitch_mm": 120, "play_per_seat_mm": 0.15},
    {"id": "tile", "pitch_mm": 51.4},
]
BALL = {"diameter_mm": 48, "mass_kg": 0.041, "restitution_ratio": 0.45}


def desk(**changes: Any) -> dict[str, Any]:
    """The floor of the whole changed machine, read from its frame."""
    body = {
        "pitches": PITCHES,
        "kit": read("kit"),
        "ball": BALL,
        "lay": {"frame": {"layout": read("changed")}, "panel_item": "R60"},
    }
    return dict(merge_patch(body, changes))


def rows(*, along: str = "9", across: int = 5, joint: float = 60, **lay: Any) -> dict[str, Any]:
    """Sections of so many bays along ("5 9"), one width across."""
    sections = [
        {"id": f"S{k}", "bays": [{"pitch": "bay", "count": int(n)}]}
        for k, n in enumerate(along.split(), 1)
    ]
    joints = [{"pitch_mm": joint, "clear_gap_mm": max(0, joint - 34)}] * (len(sections) - 1)
    wide = {"stretches": [{"id": "width", "bays": [{"pitch": "bay", "count": across}]}]}
    floor = {"along": {"stretches": sections, "joints": joints}, "across": wide}
    return {"pitches": copy.deepcopy(PITCHES), "ball": BALL, "lay": {**floor, **lay}}


def run(body: dict[str, Any], *, remedies: bool = False) -> Result:
    """The result; no remedies are looked for unless asked."""
    return CALCULATOR.calculate(CALCULATOR.load(body, proving=not remedies))


def finding(result: Result, code: str) -> Finding:
    return next(f for f in result.findings if f.code == code)


def codes(result: Result) -> set[str]:
    return {f.code for f in result.findings}


EDGES = [{"side": side, "wall_mm": 20} for side in ("front", "back", "near")]


def assert_mended(body: dict[str, Any], code: str, level: str) -> None:
    found = finding(run(body, remedies=True), code)
    assert found.level == level
    assert found.remedy is not None and found.remedy.patch is not None, found.message
    after = run(merge_patch(body, found.remedy.patch))
    assert (code, found.at) not in {(f.code, f.at) for f in after.findings}


def slope(**changes: Any) -> dict[str, Any]:
    """A slope of spacers on the bearers of one section."""
    steps = {
        "along_percent": 1.5,
        "low_edge_min_mm": 402,
        "module_mm": 60,
        "base_mm": 42,
        "pieces": [
            {"item": "s10", "height_mm": 10, "most_per_support_count": 5},
            {"item": "s2", "height_mm": 2, "most_per_support_count": 4},
        ],
        "most_pieces_per_support_count": 6,
    }
    return {**rows(along="9"), "slope_steps": {**steps, **changes}}


def net(**changes: Any) -> dict[str, Any]:
    """Walls round one section, ball and drop of the machine."""
    netting = {
        "net": {"pitch_mm": 78, "height_mm": 52, "opening_mm": 40},
        "spacers": [{"item": "three", "length_mm": 3}],
    }
    body = {**rows(along="9", across=6), "drop": {"height_mm": 480}}
    return {**body, "netting": dict(merge_patch(netting, changes))}

"""What the sheet for the workbench says: steps, tables to fill in, how many tests."""

from collections.abc import Mapping, Sequence
from typing import Any

from .fractile import FEWEST_TESTS, TOLERANCE, UNKNOWN, factor

MOST_ROWS = 17
SIZES = (3, 4, 5, 6, 8, 10, 12, 15, 20, 30)


def sheet(
    inputs: Mapping[str, Any], tests: int, strengths: int, fraction: float, design_n: float | None
) -> dict[str, Any]:
    """The sheet as words; `tests` are made already, `strengths` of them gave way."""
    unit = {"kgf": "kg", "lbf": "lb", "N": "N"}[inputs["reading_unit"]]
    return {
        "title": "Pull test sheet",
        "tested": inputs["title"] or "Rod and hub:",
        "steps": _steps(inputs, unit),
        "tables": [
            _pulls(tests, unit),
            _grid("Taken apart and put together again", "assembly", ("1", "5", "10", "20", "40")),
            _grid("Left standing under load", "days", ("1", "7", "30")),
            _factors(inputs["method"], fraction),
        ],
        "advice": _advice(inputs["method"], (tests, strengths), fraction, design_n),
    }


def _steps(inputs: Mapping[str, Any], unit: str) -> list[str]:
    limit = f" ({inputs['scale_limit']:g} {unit})" if "scale_limit" in inputs else ""
    what = (
        "Snap a hub on both ends of a rod; the weaker seat decides."
        if inputs["tested"] == "whole-rod"
        else "Snap one hub on one end; clamp the rod, not the hub."
    )
    held = {
        "one-piece": "Hold the hub as its other rods would.",
        "held": "Tie the two halves of the hub together, as both diagonals of a face do.",
        "free": "Leave the halves of the hub free to slide.",
    }[inputs["halves"]]
    return [
        "Take rods and hubs from the tub you build from, not the best ones. Fresh ones each pull.",
        f"{what} {held} Press until it seats; draw a pencil line at the hub.",
        "Hang the scale on one hub and fix the other. Pull along the rod, slowly: 5 s to the peak.",
        "Stop when the pencil line moves. Write the peak. That is the strength.",
        f"Scale at its limit{limit}, or pull stopped before it slipped: tick “held”. That is a "
        "proof, not a strength.",
        "Pull 3 mm further and write the force it still holds.",
        "Do not leave out a weak one. Leave out only a pull that went wrong, and say why.",
    ]


def _pulls(tests: int, unit: str) -> dict[str, Any]:
    columns = ["no.", "rod", "hub", f"peak, {unit}", "held", f"3 mm on, {unit}", "note"]
    rows = [[str(tests + k + 1), *[""] * (len(columns) - 1)] for k in range(MOST_ROWS)]
    return {"title": "Pulls to the first slip", "columns": columns, "rows": rows}


def _grid(title: str, first: str, cells: Sequence[str]) -> dict[str, Any]:
    columns = [first, "pull 1", "pull 2", "pull 3", "mean"]
    return {"title": title, "columns": columns, "rows": [[cell, "", "", "", ""] for cell in cells]}


def _factors(method: str, fraction: float) -> dict[str, Any]:
    name = {TOLERANCE: "75 % confidence", UNKNOWN: "Annex D"}.get(method, "Annex D, known scatter")
    return {
        "title": "Strength to count on = mean less factor times scatter",
        "columns": ["tests", *[str(n) for n in SIZES]],
        "rows": [[name, *[f"{factor(method, n, fraction):.2f}" for n in SIZES]]],
    }


def _advice(
    method: str, made: tuple[int, int], fraction: float, design_n: float | None
) -> list[str]:
    tests, strengths = made
    now = f"Made so far: {tests}." if tests else "None made so far."
    if strengths >= FEWEST_TESTS:
        now += f" Factor {factor(method, strengths, fraction):.2f} on the scatter"
        now += f", design strength {design_n:.1f} N." if design_n is not None else "."
    ten = factor(method, 10, fraction)
    return [
        now,
        f"Three are the least, ten are good (factor {ten:.2f}); beyond twenty each pull brings "
        "little. A smaller scatter brings more than more tests.",
    ]

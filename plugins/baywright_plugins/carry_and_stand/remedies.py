"""Ways to let the machine stand a leaning person, each worked out again with the change."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from .machine import lean_of

Row = Mapping[str, Any]
#: The machine's row for the inputs with a patch merged in.
Again = Callable[[Row], Row]

#: Least height of ties and rails that is proposed, mm. Common practice, no source.
_TIE_MM = 1200.0


def remedies_of(value: Row, inputs: Row, again: Again) -> list[dict[str, Any]]:
    """Rail, ballast, outriggers and tie, in that order; none where the machine stands."""
    standing, holding = value["machine"]["standing"], inputs["holding"]
    if standing["lean_ok"] or "tie_height_mm" in holding:
        return []
    lean, gravity = lean_of(inputs), inputs["gravity_m_s2"]
    weight, at = standing["mass_kg"] * gravity, standing["lean_at_mm"]
    lever = 1000 * standing["holding_moment_nm"] / weight
    along = math.cos(math.radians(inputs["slope_deg"]))
    found: list[dict[str, Any]] = [_rail(standing, again)]
    ballast = lean.ballast_n(weight, lever, at)
    if ballast is not None and holding["ballast_kg"] + ballast / gravity <= 19_000:
        total = math.ceil(ballast / gravity - 1e-9)
        found.append(
            {
                "kind": "ballast",
                "message": f"Lay {total} kg of ballast low down over the middle of the feet.",
                "ballast_kg": float(total),
                "patch": {"holding": {"ballast_kg": holding["ballast_kg"] + total}},
            }
        )
    length = math.ceil(lean.outrigger_mm(weight, lever, at) / along - 1e-9)
    if holding["outrigger_mm"] + length <= 5000:
        found.append(
            {
                "kind": "outriggers",
                "message": f"Put outriggers of {length} mm under it, to the front and to the back.",
                "outrigger_mm": float(length),
                "patch": {"holding": {"outrigger_mm": holding["outrigger_mm"] + length}},
            }
        )
    tie_mm = min(max(_TIE_MM, standing["centre_mm"]), value["machine"]["size_mm"][2])
    if 100 <= tie_mm <= 10_000:
        pull = lean.tie_n(weight, lever, at, tie_mm)
        found.append(
            {
                "kind": "tie",
                "message": f"Tie it to the wall at {tie_mm:.0f} mm, both ways; each way must hold "
                f"{math.ceil(pull)} N.",
                "tie_n": pull,
                "tie_at_mm": tie_mm,
                "patch": {"holding": {"tie_height_mm": tie_mm}},
            }
        )
    for row in found[1:]:
        row["proven"] = stands_then(again(row["patch"]))
    return found


def _rail(standing: Row, again: Again) -> dict[str, Any]:
    most = math.floor(standing["lean_most_n"])
    row: dict[str, Any] = {
        "kind": "rail",
        "message": f"Keep people off it by a rail that stands by itself: no more than {most} N at "
        f"{standing['lean_at_mm']:.0f} mm may reach the machine.",
        "leaning_most_n": float(most),
        "tie_at_mm": standing["lean_at_mm"],
        "patch": {"leaning": {"force_n": float(most)}},
    }
    return row | {"proven": stands_then(again(row["patch"]))}


def stands_then(machine: Row) -> bool:
    """Whether the machine then stands the leaning person, by itself or by the ties it has."""
    return bool(machine["standing"]["lean_ok"]) or "tie_n" in machine

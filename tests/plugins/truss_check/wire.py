"""Trusses of the check files, on the wire: SI to the units of the API."""

import json
from pathlib import Path
from typing import Any

DATA = Path(__file__).parents[2] / "data"


def check_files(*kinds: str) -> list[dict[str, Any]]:
    """Every truss file of these kinds that holds nodes and members."""
    found = [json.loads(path.read_text()) for path in sorted((DATA / "truss").glob("*.json"))]
    return [case for case in found if case.get("kind") in kinds and "nodes" in case]


def body_of(case: dict[str, Any]) -> dict[str, Any]:
    """The request that posts a check file."""
    members = case["members"]
    columns: dict[str, Any] = {
        "start": [m["i"] for m in members],
        "end": [m["j"] for m in members],
        "axial_stiffness_n": [m["EA"] for m in members],
    }
    if "tension_capacity" in members[0]:
        columns["tension_n"] = [m["tension_capacity"] for m in members]
        columns["compression_n"] = [m["compression_capacity"] for m in members]
    body: dict[str, Any] = {
        "structure": {
            "nodes_mm": [[1000 * x for x in node] for node in case["nodes"]],
            "members": columns,
            "supports": [
                {"node": s["node"], "fixed": [axis for axis in "xyz" if s[axis]]}
                for s in case["supports"]
            ],
            "load_cases": [
                {
                    "id": load["name"],
                    "forces": [
                        {"node": f["node"], "n": [f["fx"], f["fy"], f["fz"]]} for f in load["loads"]
                    ],
                }
                for load in case["load_cases"]
            ],
        }
    }
    if "node_mass" in case:
        body["node_mass_kg"] = case["node_mass"]
    return body


def desk(name: str) -> Any:
    """A document of the demo machine: kit, planned or changed."""
    return json.loads((DATA / "returns-desk" / f"{name}.json").read_text())


def expected_desk() -> Any:
    return json.loads((DATA / "truss" / "returns-desk.json").read_text())

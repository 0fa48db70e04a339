"""Machines that several tests of ball-flow use."""

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.ball_flow import BallFlow
from baywright_service.contract import Result

DATA = Path(__file__).parents[2] / "data"
CALCULATOR = BallFlow()


@pytest.fixture(scope="session")
def run() -> Callable[[dict[str, Any]], Result]:
    """Load and calculate."""

    def calculate(inputs: dict[str, Any]) -> Result:
        return CALCULATOR.calculate(CALCULATOR.load(inputs))

    return calculate


@pytest.fixture(scope="session")
def desk() -> Callable[..., dict[str, Any]]:
    """The Returns Desk with so many lifts, as this calculator takes it."""
    planned = json.loads((DATA / "returns-desk" / "lifts.json").read_text("utf-8"))["planned"]
    chain = planned["chain"]
    speed = chain["hooks_per_min"] * chain["hook_spacing_links_count"] * chain["pitch_mm"] / 60.0

    def inputs(lifts: int, **changes: Any) -> dict[str, Any]:
        body = {
            key: copy.deepcopy(planned[key])
            for key in ("required_balls_per_min", "stations", "paths")
        }
        body["queue"] = dict(planned["queue"])
        body["lifts"] = [
            {
                "id": "lift",
                "count": lifts,
                "hooks_per_min": chain["hooks_per_min"],
                "fill_ratio": chain["fill_ratio"],
                "loaded_height_mm": chain["loaded_height_mm"],
                "chain_speed_mm_s": speed,
            }
        ]
        return body | changes

    return inputs


@pytest.fixture(scope="session")
def station() -> Callable[..., dict[str, Any]]:
    """Balls by chance to one station, out by a drain; what finds it full goes away."""

    def inputs(rate_per_min: float, place: dict[str, Any], **changes: Any) -> dict[str, Any]:
        links: list[dict[str, Any]] = [
            {"start": "in", "end": "it"},
            {"start": "it", "end": "out"},
        ]
        if "places_count" in place:
            links.append({"start": "it", "end": "away", "overflow": True})
        else:
            links[1]["share_ratio"] = 0.5
            links.append({"start": "it", "end": "away", "share_ratio": 0.5})
        places = [
            {"id": "in", "kind": "feed", "rate_per_min": rate_per_min, "times": "exponential"},
            {"id": "it", "kind": "station", **place},
            {"id": "out", "kind": "drain"},
            {"id": "away", "kind": "drain"},
        ]
        body = {"network": {"places": places, "links": links}, "routing": "random"}
        return body | changes

    return inputs

"""What the tests of ramp-run start from."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.ramp_run import RampRun
from baywright_service.contract import Result

DATA = Path(__file__).parents[2] / "data"
Json = dict[str, Any]
Run = Callable[[Json], Result]


@pytest.fixture(scope="session")
def ramp_run() -> RampRun:
    """The calculator."""
    return RampRun()


@pytest.fixture(scope="session")
def run(ramp_run: RampRun) -> Run:
    """Inputs in, result out."""

    def go(body: Json) -> Result:
        return ramp_run.calculate(ramp_run.load(body))

    return go


@pytest.fixture(scope="session")
def body() -> Callable[..., Json]:
    """A small valid ramp without air, on a plane; segments and other fields as given."""

    def make(segments: list[Json], **fields: Any) -> Json:
        return {
            "ball": {"diameter_mm": 48, "mass_kg": 0.041, "restitution_min_ratio": 0.45},
            "rolling_resistance": {"min_ratio": 0, "max_ratio": 0},
            "air": {"density_kg_per_m3": 0},
            "supports": [{"id": "plane", "kind": "plane"}],
            "segments": segments,
            **fields,
        }

    return make


@pytest.fixture(scope="session")
def desk() -> Any:
    """What an independent program found for the demo machine, by topic."""
    text = (DATA / "returns-desk" / "expected.json").read_text("utf-8")
    return json.loads(text)["expected"]

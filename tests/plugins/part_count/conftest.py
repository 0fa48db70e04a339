"""What every test of part-count starts from."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.part_count import PartCount
from baywright_service.contract import Result

DATA = Path(__file__).parents[2] / "data"
DESK = DATA / "returns-desk"

#: Coupling rods come from the joints of the frame; these stand beside it.
ACCESSORIES = [
    {"item": "R60", "count": 60, "title": "half-level shelves"},
    {"item": "R85", "count": 64, "title": "lift frames"},
    {"item": "R240", "count": 35, "title": "back rails of the lifts"},
]

Json = dict[str, Any]
Count = Callable[..., Result]


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def desk_inputs() -> Callable[[str], Json]:
    """Inputs for the demo machine, "planned" or "changed", with its shelf."""
    parts = {name: read(DESK / f"{name}.json") for name in ("kit", "stock", "planned", "changed")}

    def inputs(which: str) -> Json:
        return deepcopy(
            {
                "kit": parts["kit"],
                "stock": parts["stock"],
                "frame": {"layout": parts[which]},
                "accessories": ACCESSORIES,
            }
        )

    return inputs


@pytest.fixture(scope="session")
def count() -> Count:
    """Run the calculator on a body."""
    calculator = PartCount()

    def run(body: Json, **more: Any) -> Result:
        return calculator.calculate(calculator.load({**body, **more}))

    return run

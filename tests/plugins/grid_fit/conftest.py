"""What every test of grid-fit starts from."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.grid_fit import GridFit
from baywright_service.contract import Result

DATA = Path(__file__).parents[2] / "data"
Json = dict[str, Any]
Run = Callable[[Json], Result]


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def grid() -> Any:
    """The demo machine's route, spans, and what an independent program found for them."""
    return read(DATA / "returns-desk" / "grid.json")


@pytest.fixture(scope="session")
def desk(grid: Any) -> Callable[[str], Json]:
    """Inputs for the demo machine, "planned" or "changed"."""
    parts = {
        name: read(DATA / "returns-desk" / f"{name}.json")
        for name in ("kit", "stock", "planned", "changed")
    }

    def inputs(which: str) -> Json:
        return deepcopy(
            {
                "kit": parts["kit"],
                "stock": parts["stock"],
                "layout": parts[which],
                **grid["route"],
            }
        )

    return inputs


@pytest.fixture(scope="session")
def run() -> Run:
    calculator = GridFit()
    return lambda body: calculator.calculate(calculator.load(body))

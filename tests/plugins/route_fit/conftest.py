"""What every test of route-fit starts from."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.route_fit import RouteFit
from baywright_service.contract import Result

DATA = Path(__file__).parents[2] / "data"
Json = dict[str, Any]


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def published() -> dict[str, Any]:
    """Cases with their sources, by id."""
    return {case["id"]: case for case in read(DATA / "published" / "route_fit.json")}


@pytest.fixture(scope="session")
def expected() -> Any:
    """What an independent program computed for the demo machine's doors."""
    return read(DATA / "returns-desk" / "expected.json")["expected"]["doors"]


@pytest.fixture(scope="session")
def desk() -> Callable[[str], Json]:
    """Inputs for the demo machine, "planned" or "changed"."""
    folder = DATA / "returns-desk"
    parts = {name: read(folder / f"{name}.json") for name in ("kit", "planned", "changed")}
    route = read(folder / "grid.json")["route"]

    def inputs(which: str) -> Json:
        return deepcopy({"kit": parts["kit"], "frame": {"layout": parts[which]}, **route})

    return inputs


@pytest.fixture(scope="session")
def run() -> Callable[[Json], Result]:
    calculator = RouteFit()
    return lambda body: calculator.calculate(calculator.load(body))

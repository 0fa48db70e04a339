"""What every test of fit-remedies starts from."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.fit_remedies import FitRemedies
from baywright_plugins.grid_fit.examples import KIT
from baywright_service.contract import Result

DATA = Path(__file__).parents[2] / "data"
Json = dict[str, Any]
Run = Callable[[Json], Result]


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def published() -> dict[str, Any]:
    """Published cases by id."""
    return {case["id"]: case for case in read(DATA / "published" / "fit_remedies.json")}


@pytest.fixture(scope="session")
def expected() -> Any:
    """What an independent program computed for the doors of The Returns Desk."""
    return read(DATA / "returns-desk" / "expected.json")["expected"]["doors"]


@pytest.fixture(scope="session")
def desk() -> Callable[..., Json]:
    """Inputs for The Returns Desk as planned; further inputs by name."""
    folder = DATA / "returns-desk"
    parts = {name: read(folder / f"{name}.json") for name in ("kit", "planned", "grid")}

    def inputs(**more: Any) -> Json:
        route = parts["grid"]["route"]
        return deepcopy({"kit": parts["kit"], "frame": {"layout": parts["planned"]}} | route | more)

    return inputs


@pytest.fixture(scope="session")
def run() -> Run:
    calculator = FitRemedies()
    return lambda body: calculator.calculate(calculator.load(body))


def row(rod: str, count: int) -> list[Json]:
    return [{"rod": rod, "count": count}]


@pytest.fixture(scope="session")
def small() -> Callable[..., Json]:
    """A machine of R120 boxes in a row along x, each given as (x, y, z) bays, and one door."""

    def inputs(
        *bays: tuple[int, int, int], width_mm: float, height_mm: float = 4000, **more: Any
    ) -> Json:
        names = [f"S{k + 1}" for k in range(len(bays))]
        sections = [
            {"id": name, "rods": {"x": row("R120", x), "y": row("R120", y), "z": row("R120", z)}}
            for name, (x, y, z) in zip(names, bays, strict=True)
        ]
        joints = [
            {"between": [a, b], "axis": "x", "rod": "R60"}
            for a, b in zip(names[:-1], names[1:], strict=True)
        ]
        return deepcopy(
            {
                "kit": KIT,
                "frame": {"layout": {"sections": sections, "joints": joints}},
                "passages": [{"id": "door", "width_mm": width_mm, "height_mm": height_mm}],
            }
            | more
        )

    return inputs

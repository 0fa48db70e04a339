"""What every test of design-search starts from."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.design_search import DesignSearch
from baywright_plugins.grid_fit.examples import KIT
from baywright_service.contract import Inputs, Result

DATA = Path(__file__).parents[2] / "data"
Json = dict[str, Any]
Run = Callable[[Json], Result]

#: One bracing of one diagonal a face, one of two.
BRACINGS = [
    {"id": "lean-in", "side_faces": {"default": "lean-in"}},
    {"id": "crossed", "side_faces": {"default": "crossed"}},
]


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def published() -> dict[str, Any]:
    """Published cases by id."""
    return {case["id"]: case for case in read(DATA / "published" / "design_search.json")}


@pytest.fixture(scope="session")
def load() -> Callable[[Json], Inputs]:
    return DesignSearch().load


@pytest.fixture(scope="session")
def run() -> Run:
    """Answers to bodies, each worked out once."""
    calculator = DesignSearch()
    known: dict[str, Result] = {}

    def answer(body: Json) -> Result:
        key = json.dumps(body, sort_keys=True)
        if key not in known:
            known[key] = calculator.calculate(calculator.load(body))
        return known[key]

    return answer


@pytest.fixture(scope="session")
def small() -> Callable[..., Json]:
    """One section of R120 or R170, a few bays each way; further inputs by name."""

    def inputs(**more: Any) -> Json:
        body = {
            "kit": KIT,
            "envelope": {
                "length_min_mm": 270,
                "length_max_mm": 400,
                "width_min_mm": 270,
                "width_max_mm": 400,
                "height_min_mm": 370,
                "height_max_mm": 520,
            },
            "bay_rods": ["R120", "R170"],
            "bracings": BRACINGS,
            "strength": {"handling": {"cases": ["stand"]}},
        }
        return deepcopy(body | more)

    return inputs

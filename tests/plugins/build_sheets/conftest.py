"""What every test of build-sheets starts from."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.build_sheets import BuildSheets
from baywright_service.contract import Drawing, Inputs, Result

DATA = Path(__file__).parents[2] / "data"

Json = dict[str, Any]


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def published() -> Json:
    """Published facts by id."""
    rows = read(DATA / "published" / "build_sheets.json")
    return {row["id"]: row["expected"] for row in rows}


@pytest.fixture(scope="session")
def desk_body() -> Json:
    """The demo machine as it is built."""
    parts = {n: read(DATA / "returns-desk" / f"{n}.json") for n in ("kit", "stock", "changed")}
    return {
        "kit": parts["kit"],
        "stock": parts["stock"],
        "frame": {"layout": parts["changed"]},
    }


@pytest.fixture(scope="session")
def run() -> Callable[..., tuple[Inputs, Result]]:
    """Run the calculator on a body."""
    calculator = BuildSheets()

    def go(body: Json, **more: Any) -> tuple[Inputs, Result]:
        inputs = calculator.load(deepcopy({**body, **more}))
        return inputs, calculator.calculate(inputs)

    return go


@pytest.fixture(scope="session")
def desk(run: Any, desk_body: Json) -> tuple[Inputs, Result]:
    return run(desk_body)  # type: ignore[no-any-return]


@pytest.fixture(scope="session")
def desk_sheets(desk: tuple[Inputs, Result]) -> dict[str, Drawing]:
    """A few sheets of the demo machine by id."""
    inputs, result = desk
    calculator = BuildSheets()
    wanted = ("section-S2", "layer-S2-1", "beam-S2-1", "beam-S1-9", "joint-S1-S2")
    found = {}
    for sheet in wanted:
        value = {**result.value, "sheet": sheet}
        found[sheet] = calculator.draw(inputs, Result(value), "sheet")
    return found

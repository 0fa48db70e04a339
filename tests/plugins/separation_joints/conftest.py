"""What every test of separation-joints starts from."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

DATA = Path(__file__).parents[2] / "data"


def read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def published() -> dict[str, Any]:
    """The published cases of this calculator by id."""
    return {case["id"]: case for case in read(DATA / "published" / "separation_joints.json")}


@pytest.fixture(scope="session")
def desk_data() -> dict[str, Any]:
    """The demo machine, and what an independent program computed for it."""
    names = ("kit", "planned", "changed", "expected")
    return {name: read(DATA / "returns-desk" / f"{name}.json") for name in names}


@pytest.fixture(scope="session")
def desk(desk_data: dict[str, Any]) -> Callable[[str], dict[str, Any]]:
    """Inputs for the demo machine, "planned" or "changed"."""
    return lambda which: deepcopy({"kit": desk_data["kit"], "frame": {"layout": desk_data[which]}})


@pytest.fixture(scope="session")
def truss() -> Callable[[str], dict[str, Any]]:
    """A reference truss by name."""
    return lambda name: dict(read(DATA / "truss" / f"{name}.json"))

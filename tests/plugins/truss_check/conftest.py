"""Truss-check in process: load, calculate, and the demo machine's answers, computed once."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.truss_check import TrussCheck
from baywright_service.contract import Inputs, Result
from tests.plugins.truss_check.wire import desk

Check = Callable[[Any], Result]


@pytest.fixture(scope="session")
def calculator() -> TrussCheck:
    return TrussCheck()


@pytest.fixture(scope="session")
def check(calculator: TrussCheck) -> Check:
    """Load a body and calculate."""

    def run(body: Any) -> Result:
        return calculator.calculate(calculator.load(body))

    return run


def desk_body(layout: str) -> dict[str, Any]:
    return {"kit": desk("kit"), "frame": {"layout": desk(layout)}, "gravity_m_s2": 9.81}


@pytest.fixture(scope="session")
def planned(calculator: TrussCheck) -> tuple[Inputs, Result]:
    """The demo machine as planned, with remedies."""
    inputs = calculator.load(desk_body("planned"))
    return inputs, calculator.calculate(inputs)


@pytest.fixture(scope="session")
def changed(calculator: TrussCheck) -> tuple[Inputs, Result]:
    """The demo machine as changed."""
    inputs = calculator.load(desk_body("changed"))
    return inputs, calculator.calculate(inputs)

"""What a kit may not say."""

import copy
from typing import Any

import pytest

from baywright_plugins.design_search import DesignSearch
from baywright_plugins.grid_fit import GridFit
from baywright_plugins.part_count import PartCount
from baywright_service.contract import Calculator, InvalidInputs


@pytest.mark.parametrize("calculator", [GridFit(), PartCount(), DesignSearch()])
def test_a_seat_that_faces_nowhere_is_named(calculator: Calculator) -> None:
    inputs: Any = copy.deepcopy(
        next(one.inputs for one in calculator.examples if one.inputs.get("kit", {}).get("hubs"))
    )
    inputs["kit"]["hubs"][0]["ports"][1] = [0, 0, 0]
    with pytest.raises(InvalidInputs) as caught:
        calculator.load(inputs)
    assert ("/kit/hubs/0/ports/1", "out-of-range") in [
        (place, fault.code) for place, fault in caught.value.faults
    ]

"""carry-and-stand: can people carry it, and does it stand?"""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import (
    Calculator,
    Drawing,
    Inputs,
    Result,
    TableData,
    merge_patch,
)

from .answer import answer, machine_row
from .assumptions import ASSUMPTIONS, CAUTIONS, SOURCES
from .drawing import VIEWS, draw_view
from .examples import EXAMPLES
from .findings import cautions_of, findings_of
from .machine import machine_of
from .remedies import remedies_of
from .schemas import CarryAndStandInputs
from .schemas_result import CarryAndStandResult
from .tables import sections_table


class CarryAndStand(Calculator):
    name = "carry-and-stand"
    version = "1.0.0"
    title = "Carry and stand"
    summary = (
        "Can people carry each section, level and on stairs, and how many does it take? Does it "
        "stand: alone, on castors, on a slope, pushed and leaned on? In which order is it set up, "
        "and what is on the label?"
    )
    inputs_schema = CarryAndStandInputs
    result_schema = CarryAndStandResult
    examples = EXAMPLES
    sources = SOURCES
    cautions = CAUTIONS
    views = VIEWS
    tabular = True
    table_title = "Carrying and setting up"

    def calculate(self, inputs: Inputs) -> Result:
        machine = machine_of(inputs)
        value = answer(machine, inputs)
        if not inputs.proving:

            def again(patch: Mapping[str, Any]) -> Mapping[str, Any]:
                # None of the patches changes a section, so the frame need not be built anew.
                patched = self.load(merge_patch(inputs.raw, patch), proving=True)
                return machine_row(machine, patched)

            value["machine"]["remedies"] = remedies_of(value, inputs, again)
        return Result(value, findings_of(value, inputs), ASSUMPTIONS, cautions_of(value))

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return draw_view(result.value, view)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        return sections_table(result.value)


__all__ = ["CarryAndStand"]

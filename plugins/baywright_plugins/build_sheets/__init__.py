"""Build-sheets: drawings to build from, a sheet for each section, level, beam and joint."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Drawing,
    Fault,
    Inputs,
    InputSchema,
    InvalidInputs,
    Result,
    ResultSchema,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID
from .drawing import sheet_drawing
from .examples import EXAMPLES
from .findings import findings_of
from .machine import Machine, machine_again, machine_of
from .rows import part_columns, sheet_row, step_rows
from .schemas import InputsSchema, SheetsSchema
from .sheets import MOST_SHEETS, Sheet, sheets_of
from .table import tick_table

#: Pages of one file.
MOST_PAGES = 150

_ASSUMPTIONS = (
    "Lengths are between hub centres, in whole micrometres; over hub ends twice the overhang "
    "of the kit's first frame hub is added.",
    "A level counts the rods that lie in it; rods between levels are named there and counted on "
    "the sheet of the section. Beams that meet share bays, so sheets of beams do not add up.",
    "Accessories beside the frame are on no sheet, and two rods in line in place of one are not "
    "drawn: the parts list has both.",
    "Where hubs of several kinds fit, which one stands where is as in the parts list; which way "
    "the open end of a two-part hub faces is left to the builder.",
)


class BuildSheets(Calculator):
    name = "build-sheets"
    version = "1.0.0"
    title = "Build sheets"
    summary = (
        "Drawings to build from: a sheet for each section, level, beam and joint with rods by "
        "pitch, kinds of hub, counts, dimensions over the hub ends, bay numbers and the order of "
        "assembly; on A4 and A3 at a standard scale, as DXF in true millimetres, and as a list to "
        "tick off."
    )
    inputs_schema: ClassVar[type[InputSchema]] = InputsSchema
    result_schema: ClassVar[type[ResultSchema]] = SheetsSchema
    examples = EXAMPLES
    sources = (
        Source("ISO 5455:1979, Technical drawings – Scales", "5.1, recommended scales"),
        Source(
            "ISO 128-2:2020, Technical product documentation – basic conventions for lines",
            "types 01, 02 and 05, series of widths (from memory)",
        ),
        Source(
            "ISO 129-1:2018, Presentation of dimensions and tolerances",
            "values above the line, read from below or the right; equal spacings as number × "
            "spacing (the latter from memory); a point stands for its decimal comma",
        ),
        Source("ISO 3098-1:2015, Lettering", "nominal sizes from 1.8 mm (from memory)"),
        Source("ISO 5456-2:1996, Orthographic representations", "third-angle projection"),
        Source("Order of assembly by levels and braced steps", "as in the parts list; derived"),
    )
    cautions = (
        "Small parts are a choking hazard: keep rods, hubs and bags from small children.",
        "A frame that is not yet braced can fold: hold it, and keep heads and hands from under.",
        "Finished sections are heavy and can tip: plan who lifts before they are built.",
        PLANNING_AID,
    )
    views: ClassVar[Mapping[str, str]] = {
        "sheet": "The sheet that the input `sheet` names; the first one without it.",
    }
    tabular = True
    table_title = "Rods and hubs to tick off"

    def calculate(self, inputs: Inputs) -> Result:
        machine = machine_of(inputs)
        _known_sections(inputs, machine)
        sheets = _sheets(inputs, machine)
        chosen = _chosen(inputs, sheets)
        rods, hubs = machine.items(
            np.arange(len(machine.frame.start)), np.arange(len(machine.frame.nodes_mm))
        )
        listed = [sheet_row(machine, sheet, inputs["paper"]) for sheet in sheets]
        value: dict[str, Any] = {
            "sheet": chosen.id,
            "paper": inputs["paper"],
            "sheets_count": len(sheets),
            "sheets": listed,
            "rods_total": rods,
            "hubs_total": hubs,
            "steps": step_rows(machine),
            "by_bays": machine.order.by_bays,
            **part_columns(machine),
        }
        said = list(_ASSUMPTIONS)
        if not machine.order.by_bays:
            said.append("Too many bays for a build order bay by bay: each level is one step.")
        return Result(value, findings_of(value, machine), said)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        machine = machine_again(inputs, result.value)
        sheet = next(s for s in _sheets(inputs, machine) if s.id == result.value["sheet"])
        return sheet_drawing(machine, sheet, inputs["paper"])

    def drawings(self, inputs: Inputs, result: Result) -> Sequence[Drawing]:
        machine = machine_again(inputs, result.value)
        sheets = _sheets(inputs, machine)
        if len(sheets) > MOST_PAGES:
            reason = f"One file holds at most {MOST_PAGES} sheets; these are {len(sheets)}."
            raise CannotCalculate("/kinds", f"{reason} Ask for fewer kinds or sections at a time.")
        return [sheet_drawing(machine, sheet, inputs["paper"]) for sheet in sheets]

    def table(self, inputs: Inputs, result: Result) -> TableData:
        machine = machine_again(inputs, result.value)
        sheets = _sheets(inputs, machine)
        if "sheet" in inputs:
            return tick_table(machine, [s for s in sheets if s.id == inputs["sheet"]])
        once = ("section", "joint")
        return tick_table(machine, sheets_of(machine, once, inputs["sections"]))


def _sheets(inputs: Inputs, machine: Machine) -> list[Sheet]:
    sheets = sheets_of(machine, inputs["kinds"], inputs["sections"])
    if len(sheets) > MOST_SHEETS:
        reason = f"These are more than the {MOST_SHEETS} sheets that are made at once."
        raise CannotCalculate("/kinds", f"{reason} Ask for fewer kinds or sections at a time.")
    if not sheets:
        reason = "There is no sheet of these kinds: no beams are known, or nothing is coupled."
        raise CannotCalculate("/kinds", reason)
    return sheets


def _known_sections(inputs: Inputs, machine: Machine) -> None:
    known = [section.id for section in machine.frame.sections]
    faults = [
        (f"/sections/{place}", Fault("unknown-reference", f"There is no section “{name}”."))
        for place, name in enumerate(inputs["sections"])
        if name not in known
    ]
    if faults:
        raise InvalidInputs(faults)


def _chosen(inputs: Inputs, sheets: Sequence[Sheet]) -> Sheet:
    if "sheet" not in inputs:
        return sheets[0]
    found = next((sheet for sheet in sheets if sheet.id == inputs["sheet"]), None)
    if found is None:
        some = ", ".join(sheet.id for sheet in sheets[:8])
        more = ", …" if len(sheets) > 8 else ""
        detail = f"There is no sheet “{inputs['sheet']}”; there are {some}{more}."
        raise InvalidInputs([("/sheet", Fault("unknown-reference", detail))])
    return found

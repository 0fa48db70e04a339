"""grid-fit: which rods close on the envelope, can the bays be braced, does it pass the doors?"""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import (
    Calculator,
    Drawing,
    Fault,
    Finding,
    Inputs,
    InvalidInputs,
    Result,
    Scene,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, section_cautions
from ..kit import Kit, available_counts
from .answer_envelope import envelope_answers
from .answer_frame import bay_answers, built, frame_answers, section_masses_kg
from .answer_loops import loop_answers
from .answer_route import route_answers
from .answer_spans import span_answers
from .assumptions import assumptions
from .context import Context, Value
from .drawing import VIEWS, draw_view
from .examples import EXAMPLES
from .scene import scene_of
from .schemas import GridFitInputs, GridFitResult
from .tables import rows_table


class GridFit(Calculator):
    """One published calculation: rods on the grid, sections through the doors."""

    name = "grid-fit"
    version = "1.0.0"
    title = "Grid fit"
    summary = (
        "Which rods, end to end, close on the envelope; can every bay be braced; do the sections "
        "get through every door, lift and corner, and what is the smallest change if not?"
    )
    inputs_schema = GridFitInputs
    result_schema = GridFitResult
    examples = EXAMPLES
    sources = (
        Source("W. B. Carver, problem E 1225, American Mathematical Monthly 64 (1957)", "tilting"),
        Source("J. E. Wetzel, Rectangles in rectangles, Mathematics Magazine 73 (2000)", "tilting"),
        Source("J. Stewart, Calculus", "section on optimisation: a ladder round a corner"),
        Source("S. Martello and P. Toth, Knapsack Problems (1990)", "chapter 3: bounded knapsack"),
        Source("Closing rule, play against misfit: common practice, no source"),
    )
    cautions = (
        "Measure each opening with the door held open, at its narrowest: handles, closers and "
        "rebates count. The tape measure decides, not the plan.",
        "Keep hands clear of the frame's sides in an opening, and lift with enough people: size "
        "and mass may each call for one more.",
        PLANNING_AID,
    )
    views = VIEWS
    tabular = True
    table_title = "Each section in each passage"
    spatial = True

    def calculate(self, inputs: Inputs) -> Result:
        context = self._context(inputs)
        value: Value = {}
        findings: list[Finding] = []
        raw_layout = inputs.raw.get("layout")
        if inputs["spans"]:
            value["spans"], found = span_answers(context)
            findings += found
        if "envelope" in inputs:
            records, found, best = envelope_answers(context)
            value |= records
            findings += found
            raw_layout = raw_layout or best
        _check_names(inputs, raw_layout)
        here = built(context, raw_layout) if raw_layout else None
        if here is not None:
            records, found = frame_answers(context, here)
            value |= records
            findings += found
        value["bays"], found = bay_answers(context, here)
        findings += found
        records, found = route_answers(context, here, value)
        value |= records
        findings += found
        if inputs["loops"]:
            value["loops"], found = loop_answers(context)
            findings += found
        masses = section_masses_kg(context, here) if here is not None else ()
        return Result(value, findings, assumptions(context, value), section_cautions(masses))

    def _context(self, inputs: Inputs) -> Context:
        return Context(
            inputs=inputs,
            kit=Kit.from_inputs(inputs["kit"]),
            available=available_counts(inputs["stock"]) if "stock" in inputs else None,
            rerun=lambda patch: self.rerun(inputs, patch),
            load=lambda body: self.load(body, proving=True),
        )

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return draw_view(result.value, view, Kit.from_inputs(inputs["kit"]))

    def table(self, inputs: Inputs, result: Result) -> TableData:
        return rows_table(result.value)

    def scene(self, inputs: Inputs, result: Result) -> Scene:
        return scene_of(self._context(inputs), result.value)


def _check_names(inputs: Inputs, raw_layout: Mapping[str, Any] | None) -> None:
    """Raises InvalidInputs: a protrusion of a section that is not there, a box named as one."""
    ids = {spec["id"] for spec in raw_layout["sections"]} if raw_layout else set()
    faults = [
        (
            f"/protrusions/{k}/sections/{n}",
            Fault("unknown-reference", f"There is no section {name}."),
        )
        for k, part in enumerate(inputs["protrusions"])
        for n, name in enumerate(part.get("sections", ()))
        if name not in ids
    ]
    faults += [
        (f"/boxes/{k}/id", Fault("not-unique", f"{box['id']} already names a section."))
        for k, box in enumerate(inputs["boxes"])
        if box["id"] in ids
    ]
    if faults:
        raise InvalidInputs(faults)


__all__ = ["GridFit"]

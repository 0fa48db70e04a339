"""route-fit: from the workshop to the place of show, does every section get through?"""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import (
    Calculator,
    Caution,
    Drawing,
    Finding,
    Inputs,
    Result,
    Scene,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID
from .answer import Route, route_of, route_value, stuck_cases
from .assumptions import assumptions
from .drawing import VIEWS, draw_view
from .effort import most_tries
from .examples import EXAMPLES
from .findings import route_findings
from .load import load_answers
from .passage import clearances_from_inputs
from .published_openings import OPENINGS, PALLETS
from .records import change_record
from .remedies import Change, changes_that_help
from .scene import scene_of
from .schemas import RouteFitInputs, RouteFitResult
from .tables import rows_table
from .things import things_of, weight_cautions
from .vehicle import VEHICLE_ASSUMPTIONS, VEHICLE_CAUTIONS, VEHICLE_SOURCES


class RouteFit(Calculator):
    """One published calculation: sections and boxes along the whole route."""

    name = "route-fit"
    version = "1.0.0"
    title = "Route fit"
    summary = (
        "From the workshop to the place of show: does every section get through each door, round "
        "each corner, up the stairs, into the lift and the van; in which attitude, with how much "
        "to spare, which passage governs, and how is the van packed?"
    )
    inputs_schema = RouteFitInputs
    result_schema = RouteFitResult
    examples = EXAMPLES
    sources = (
        Source("W. B. Carver, problem E 1225, American Mathematical Monthly 64 (1957)", "leaning"),
        Source("J. Stewart, Calculus", "section on optimisation: a ladder round a corner"),
        *(Source(*one) for one in dict.fromkeys((o.source, o.clause) for o in OPENINGS.values())),
        Source(f"{PALLETS}-1, flat pallet 800 x 1200", "from memory"),
        *VEHICLE_SOURCES,
        Source("Room for hands, lifting, carriers and on stairs: common practice, no source"),
    )
    cautions = (
        "Measure each opening with the door held open, at its narrowest: handles, closers and "
        "rebates count. The tape measure decides, not the plan.",
        "Keep hands clear of the frame's sides in an opening. On stairs let nobody stand below a "
        "load that could slide, rest on every landing, and stop when a grip slips.",
        "Tipping a tall section up or down needs a person at its foot and a clear floor as long "
        "as it is high.",
        PLANNING_AID,
    )
    views = VIEWS
    tabular = True
    table_title = "Each section in each passage, and its place in the van"
    spatial = True

    def calculate(self, inputs: Inputs) -> Result:
        things = things_of(inputs, inputs.raw, again=inputs.proving)
        if inputs.proving:
            stuck = sorted(stuck_cases(inputs, things))
            return Result({"stuck": stuck})
        route = route_of(inputs, things)
        value = route_value(route)
        changes = self._changes(inputs, route)
        value["changes"] = [change_record(change) for change in changes]
        findings: list[Finding] = route_findings(
            value,
            changes,
            places={thing.id: thing.pointer for thing in things},
            little_mm=route.clearances.little_spare_mm,
        )
        lines, cautions = assumptions(route), weight_cautions(things)
        if "vehicle" in inputs:
            value["vehicle"], found = load_answers(inputs["vehicle"], things)
            findings += found
            lines += VEHICLE_ASSUMPTIONS
            cautions += [Caution(text) for text in VEHICLE_CAUTIONS]
        return Result(value, findings, lines, cautions)

    def _changes(self, inputs: Inputs, route: Route) -> list[Change]:
        if not route.stuck:
            return []

        def stuck_after(patch: Mapping[str, Any]) -> set[tuple[str, str]] | None:
            after = self.rerun(inputs, patch)
            return None if after is None else set(after.value["stuck"])

        most = most_tries(route.effort_ms)
        return changes_that_help(inputs.raw, route.stuck, stuck_after, most_tries=most)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        little = clearances_from_inputs(inputs.get("clearances")).little_spare_mm
        return draw_view(result.value, view, little)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        return rows_table(result.value)

    def scene(self, inputs: Inputs, result: Result) -> Scene:
        return scene_of(inputs, route_of(inputs, things_of(inputs, inputs.raw)))


__all__ = ["RouteFit"]

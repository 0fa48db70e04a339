"""fit-remedies: the smallest change that brings every section through the whole route."""

from typing import Any

from baywright_service.contract import (
    Calculator,
    Drawing,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID
from .alternatives import MOST_SETS, Setting, alternatives
from .context import Context, context_of
from .drawing import VIEWS, draw_view
from .examples import EXAMPLES
from .findings import all_findings, assumptions
from .records import alternative_record, identity_record, search_record, state_record
from .remedies import remedies
from .schemas import FitRemediesInputs, FitRemediesResult
from .state import State
from .tables import ways_table
from .ways import way_records


class FitRemedies(Calculator):
    """The smallest change over all sections at once, by an exact search on the grid."""

    name = "fit-remedies"
    version = "1.0.0"
    title = "Remedies for fit"
    summary = (
        "Sections that do not get through: which bays, rods, joints or cuts to change, over all "
        "sections at once and as few parts as can be, whether twins stay twins and coupled faces "
        "meet, with the best few ways, each proven by building it again."
    )
    inputs_schema = FitRemediesInputs
    result_schema = FitRemediesResult
    examples = EXAMPLES
    sources = (
        Source(
            "S. Martello and P. Toth, Knapsack Problems (1990)",
            "chapters 2, 6 and 7: choices under linear conditions",
        ),
        Source("scipy.optimize.milp (HiGHS)", "branch and cut"),
        Source("W. B. Carver, problem E 1225, American Mathematical Monthly 64 (1957)", "tilting"),
        Source("J. E. Wetzel, Rectangles in rectangles, Mathematics Magazine 73 (2000)", "tilting"),
        Source("J. Stewart, Calculus", "section on optimisation: a ladder round a corner"),
        Source(
            "Coupled faces flush, hands, lifting: common practice, no source",
        ),
    )
    cautions = (
        "Measure each opening with the door held open, at its narrowest: the tape measure "
        "decides, not the plan.",
        "A section that is cut, shortened or handed bays is another structure: check its strength "
        "and its bracing before it is lifted; a frame whose bays lost their diagonals can fold up "
        "in the hands.",
        "A lower or narrower machine tips at another angle: work out tipping again, and fix the "
        "machine before the public comes near. Balls under 44.45 mm are a choking hazard for small "
        "children (16 CFR 1500.18(a)(17)).",
        "Lift with enough people: size and mass may each call for one more.",
        PLANNING_AID,
    )
    views = VIEWS
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        context = context_of(inputs, lambda patch: self.rerun(inputs, patch))
        journey = context.journey()
        here = context.state(journey)
        value = state_record(here, journey.passages, journey.clearances)
        if inputs.proving:
            return Result(value)
        value |= {"ways": [], "alternatives": [], "frame_after": {"layout": here.raw}}
        if not here.passes:
            answer = remedies(context, here, journey)
            value["ways"] = way_records(answer, value, context)
            value["search"] = search_record(answer)
            if answer.identity is not None:
                value["identity"] = identity_record(answer.identity)
            if answer.found.ways:
                best = answer.of(answer.found.ways[0])
                value["frame_after"] = {"layout": dict(best.changed.layout)}
            value["alternatives"] = self._alternatives(context, here)
        findings = all_findings(value, little_mm=journey.clearances.little_spare_mm)
        said = assumptions(
            most_bays=inputs["most_bays"], overhang_mm=context.kit.frame_hub.overhang_mm
        )
        return Result(value, findings, said)

    def _alternatives(self, context: Context, here: State) -> list[dict[str, Any]]:
        """What helps without touching the grid; what serves is proven by calculating again."""
        raw = context.inputs.raw
        setting = Setting(
            tuple(raw["passages"]),
            tuple(context.raw_protrusions),
            tuple(context.inputs["flush_axes"]),
        )
        records: list[dict[str, Any]] = []
        for one in alternatives(setting, here, context.kit, context.journey_of):
            prove = one.passes and len(records) < MOST_SETS
            again = context.rerun(one.patch) if prove else None
            proven = again is not None and bool(again.value["passes"])
            records.append(alternative_record(one, proven=proven))
        return records

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return draw_view(result.value, view)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        return ways_table(result.value)


__all__ = ["FitRemedies"]

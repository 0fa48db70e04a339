"""design-search: which machines fill an envelope, pass the doors, hold, and which are best?"""

from baywright_service.contract import (
    Calculator,
    Drawing,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID
from .assumptions import assumptions
from .drawing import VIEWS, draw_view
from .examples import EXAMPLES
from .findings import all_findings, cautions_of
from .records import result_of
from .schemas import DesignSearchInputs
from .schemas_result import DesignSearchResult
from .study import study_of
from .tables import machines_table


class DesignSearch(Calculator):
    """Machines that no other one beats, why the others lost, and each as a plan."""

    name = "design-search"
    version = "1.0.0"
    title = "Design search"
    summary = (
        "Which machines of this kit fill the envelope, pass every door, carry the floor and the "
        "lifts and hold; which of them no other one beats in parts, mass, strength, build time "
        "and pieces to buy; and why each other one lost?"
    )
    inputs_schema = DesignSearchInputs
    result_schema = DesignSearchResult
    examples = EXAMPLES
    sources = (
        Source(
            "K. Deb, Multi-Objective Optimization using Evolutionary Algorithms, 2001",
            "definition 2.5, dominance; section 2.1, example of a cantilever (from memory)",
        ),
        Source(
            "K. Deb, A. Pratap, S. Agarwal, T. Meyarivan, IEEE Trans. Evolutionary Computation 6",
            "number 2, pages 182-197, 2002: non-dominated sorting",
        ),
        Source("H. T. Kung, F. Luccio, F. P. Preparata, J. ACM 22 (1975), from memory", "maxima"),
        Source("grid-fit, route-fit, floor-tiling-ratio, lift-redundancy, part-count, truss-check",
               "each check is that calculator's own numerics; its sources are listed there"),
        Source("Order of the checks, second diagonals at the grips: common practice, no source"),
    )  # fmt: skip
    cautions = (
        "Never overhead, never for people: a frame of rods and snap-in hubs gives without notice.",
        "Guard every pinch point of chain lifts; one stop button within reach stops them all.",
        "Lift with enough people; a tall light section tips long before it breaks, so rail it off, "
        "tie it or ballast it.",
        "Balls under 44.45 mm are a choking hazard for small children (16 CFR 1500.18(a)(17)).",
        PLANNING_AID,
    )
    views = VIEWS
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        study = study_of(inputs)
        value = result_of(study)
        findings = all_findings(study, value, lambda patch: self.rerun(inputs, patch))
        return Result(value, findings, assumptions(study), cautions_of(study))

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return draw_view(result.value, view)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        return machines_table(result.value)


__all__ = ["DesignSearch"]

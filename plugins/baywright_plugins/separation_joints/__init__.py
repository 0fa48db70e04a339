"""separation-joints: where does the machine come apart, and does each section stand alone?"""

from baywright_service.contract import (
    Calculator,
    Drawing,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, section_cautions
from .drawing import VIEWS, draw_view
from .examples import EXAMPLES
from .joints_result import SeparationJointsResult
from .schemas import SeparationJointsInputs
from .study import study
from .tables import joints_table

_ASSUMPTIONS = (
    "Hubs are ball joints and rods keep their length; whether seats turn stiffly enough to hold a "
    "section or a joint is left out, on the safe side. So are slack in the faces and give under "
    "load.",
    "Counts are of infinitesimal motions: rigid is not strong. Check strength with truss-check.",
    "A frame given rod by rod has no faces and no grid: bracing of faces, what to add and cuts "
    "are told of layouts only. A hub belongs to the section of the first rod that ends in it.",
    "Standing means that the four bottom corner hubs, or else the lowest hubs, cannot slip.",
    "Coupling rods must slide straight out of their seats. Pull-out is the design value, a low "
    "one: new seats hold more, so a pull may take more people than stated.",
    "A section's mass is without coupling rods and bridging pieces, which are packed apart.",
    "A cut leaves the brace patterns as they are stated for the section; each piece applies them "
    "to itself.",
)


class SeparationJoints(Calculator):
    name = "separation-joints"
    version = "1.0.0"
    title = "Separation joints"
    summary = (
        "Where does the machine come apart; is each section rigid and square by itself; what gap "
        "and play do the joints have, what bridges them, in which order do they come apart, and "
        "where could a section be cut?"
    )
    inputs_schema = SeparationJointsInputs
    result_schema = SeparationJointsResult
    examples = EXAMPLES
    sources = (
        Source(
            "Pellegrino and Calladine, Matrix analysis of statically and kinematically "
            "indeterminate frameworks, Int. J. Solids Structures 22(4), 1986 (from memory)",
            "rank of the equilibrium matrix",
        ),
        Source("Calladine, Int. J. Solids Structures 14, 1978 (from memory)", "Maxwell's rule"),
        Source(
            "Whiteley, Infinitesimally rigid polyhedra I, Trans. Amer. Math. Soc. 285, 1984",
            "Alexandrov's theorem: a convex box with braced faces is rigid",
        ),
        Source(
            "Bolker and Crapo, Bracing rectangular frameworks, SIAM J. Appl. Math. 36, 1979 "
            "(from memory)",
            "ways a grid of squares racks",
        ),
        Source(
            "ISO 13854:2017, minimum gaps to avoid crushing (read in summaries)",
            "25 mm for fingers",
        ),
        Source(
            "HSE L23, Manual handling, guideline figures for pushing and pulling",
            "starting a load: 200 N men, 150 N women",
        ),
        Source("Tilt, sideways slack, bearing: plane geometry, derived here"),
        Source(
            "Common practice, no source",
            "two braced cross faces, one near each end of a box beam; friction 0.4 of feet",
        ),
    )
    cautions = (
        "A section that is coupled may fall when its neighbour goes: hold each one while a joint "
        "is opened or closed, tall ones at the top.",
        "Keep fingers out of the gap while sections go together, and away from hub ends that come "
        "free with a jerk.",
        "Stop and lock lifts, and open chains that cross a joint, before it is undone.",
        "Gather coupling rods and balls at once: small parts are a choking hazard for small "
        "children, and balls on the floor make people fall.",
        "Lift with enough people; size may call for one more than mass.",
        PLANNING_AID,
    )
    views = VIEWS
    tabular = True
    table_title = "Joints"

    def calculate(self, inputs: Inputs) -> Result:
        value, found = study(
            inputs,
            lambda body: self.load(body, proving=True),
            lambda patch: self.rerun(inputs, patch),
        )
        cautions = section_cautions(row["mass_kg"] for row in value["sections"])
        return Result(value, found, _ASSUMPTIONS, cautions)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return draw_view(result.value, view)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        return joints_table(result.value)


__all__ = ["SeparationJoints"]

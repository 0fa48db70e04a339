"""level-windows: how high may each level lie, what sets it, and what cannot hold together?"""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import (
    Calculator,
    Caution,
    Drawing,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, ball_cautions
from . import drawing
from .answer import result_of
from .answer_conflicts import conflicts_out
from .answer_proposal import proposal_out
from .examples import EXAMPLES
from .findings import conflict_findings, height_findings, proposal_findings
from .ladder import build, nanometres
from .remedies import with_cures
from .schemas import LevelWindowsInputs
from .schemas_out import LevelWindowsResult
from .study import Study, study

TABLE_COLUMNS = (
    "id",
    "title",
    "snapped",
    "low_mm",
    "high_mm",
    "choices_count",
    "free_low_mm",
    "free_high_mm",
    "loss_low_mm",
    "loss_high_mm",
    "height_mm",
    "plane_count",
)


class LevelWindows(Calculator):
    """Heights that depend on one another, on a module grid and off it."""

    name = "level-windows"
    version = "1.0.0"
    title = "Heights that depend on one another"
    summary = (
        "How high may each level lie, on the module grid and without it; which heights keep the "
        "most slack, in which order to decide them, what sets the top, and which fewest "
        "requirements cannot hold together."
    )
    inputs_schema = LevelWindowsInputs
    result_schema = LevelWindowsResult
    examples = EXAMPLES
    sources = (
        Source(
            "Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, 3rd ed.",
            "section 24.4, difference constraints; 25.2, Floyd-Warshall",
        ),
        Source(
            "Leiserson and Saxe, A mixed-integer linear programming problem which is efficiently "
            "solvable, Journal of Algorithms 9 (1988), from memory"
        ),
        Source(
            "Ignatiev et al., Smallest MUS extraction with minimal hitting set dualization"
            " (2015), from memory"
        ),  # fmt: skip
        Source("Heizer and Render, Operations Management, from memory", "critical path method"),
        Source("15 mm above what passes under a door: common practice, no source"),
    )
    cautions = (
        "Guard the pinch points of every lift, and let one button stop them all.",
        "A tall section tips: two people at least set it up and roll it, one of them watching.",
        "Measure doors with the door held open, threshold and floor finish included.",
        PLANNING_AID,
    )
    views = {
        "ladder": "Every level with its window and height, requirements as brackets beside them.",
        "conflict": "The way through the requirements that cannot hold together, step by step.",
    }
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        wanted = inputs.get("slack_wanted_mm")
        enough = None if wanted is None else nanometres(wanted)
        worked = study(
            build(inputs), objective=inputs["objective"], enough_nm=enough, brief=inputs.proving
        )
        value = result_of(worked)
        value["conflicts"] = conflicts_out(worked)
        found = [*conflict_findings(value), *height_findings(value, wanted)]
        proposal = proposal_out(worked)
        if proposal is not None:
            value["proposal"] = proposal
        found += proposal_findings(value)
        if not inputs.proving:
            found = with_cures(value, found, inputs, lambda patch: self.rerun(inputs, patch))
        return Result(value, found, _assumptions(worked), _cautions(inputs))

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return drawing.VIEWS[view](result.value)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        """Levels, one a row."""
        rows = [[level.get(column) for column in TABLE_COLUMNS] for level in result.value["levels"]]
        return TableData(TABLE_COLUMNS, rows)


def _cautions(inputs: Mapping[str, Any]) -> list[Caution]:
    balls = {
        item["ball_clearance"]["ball_diameter_mm"]
        for item in inputs["requirements"]
        if "ball_clearance" in item
    }
    return [caution for diameter in sorted(balls) for caution in ball_cautions(diameter)]


def _assumptions(worked: Study) -> list[str]:
    said = [
        "Levels are flat and the frame does not sag: a sloping part counts with the one end that "
        "is named as its level.",
        "Lengths are counted in whole nanometres; seats' play and bent rods are left out: they "
        "come off the slack.",
    ]
    if "grid" in worked.ladder.inputs:
        said.append("All snapped levels share one grid; a level on a coarser one is not modelled.")
    if worked.denied or worked.conflicts:
        said.append(
            "A conflict is the smallest set that cannot hold together; where several are as "
            "small, one of them is told, and others that share none of its members."
        )
    return said


__all__ = ["LevelWindows"]

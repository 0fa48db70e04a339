"""ramp-run: how balls roll down a ramp, where they stop, leave or land."""

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Drawing,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, ball_cautions
from . import answer, drawing, findings, schemas
from .answer_segments import Ramp
from .assumptions import assumptions
from .corners import all_corners
from .examples import EXAMPLES
from .pieces import Drop, Surface
from .reading import read_ball, read_pieces, read_surfaces, read_unknowns
from .remedies import with_remedies
from .table import COLUMNS, rows
from .walk import UnfitSegment, places


class RampRun(Calculator):
    """One ball down a whole ramp, slowest and fastest, from lift to floor."""

    name = "ramp-run"
    version = "1.0.0"
    title = "Ramp run"
    summary = (
        "How fast and how long balls roll down a ramp of straights, curves, crests, joints and "
        "falls; where they stall, slip, leave or land, and how high the wall must be."
    )
    inputs_schema = schemas.Inputs
    result_schema = schemas.RampResult
    examples = EXAMPLES
    sources = (
        Source("Rolling without slipping, any mechanics text", "a = g sin t/(1 + I/(m r^2))"),
        Source("KoMaL, Mathematical and Physical Journal for High Schools", "problem P.4699"),
        Source("Halliday, Resnick, Fundamentals of Physics, from memory", "rolling ball in a loop"),
        Source("Putnam competition 1958", "problem A2, cos = 10/17"),
        Source(
            "Banked curve, flight from a ramp, series of bounces: any introductory physics text"
        ),
        Source("Joints, ribs and kinks: derived here from energy and angular momentum"),
        Source("Rolling-resistance coefficient table (encyclopedia), from memory"),
    )
    cautions = (
        "Balls that leave a track hit people: close curves, ends and landings, and keep faces "
        "away from where balls fall.",
        PLANNING_AID,
    )
    views = {
        "profile": "The whole ramp from the side, with speeds and trouble spots.",
        "landing": "Where balls land and bounce after the last free end, and the wall.",
        "section": "A ball on each support, cut across.",
    }
    tabular = True
    table_title = "Pieces of track"

    def calculate(self, inputs: Inputs) -> Result:
        about, surfaces = _ramp(inputs)
        value = answer.result(about, surfaces, inputs)
        found = findings.all_findings(value, inputs)
        if not inputs.proving:
            found = with_remedies(found, value, inputs, lambda patch: self.rerun(inputs, patch))
        cautions = ball_cautions(inputs["ball"]["diameter_mm"])
        return Result(value, tuple(found), assumptions(value, inputs), cautions)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return drawing.VIEWS[view](result.value, inputs)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        """The segments in order."""
        return TableData(COLUMNS, rows(result.value))


def _ramp(inputs: Inputs) -> tuple[Ramp, dict[str, Surface]]:
    ball, unknowns = read_ball(inputs["ball"]), read_unknowns(inputs)
    surfaces = read_surfaces(ball, inputs)
    pieces = read_pieces(surfaces, inputs)
    for k, piece in enumerate(pieces):
        if isinstance(piece.shape, Drop) and piece.shape.fall_m < ball.radius_m:
            reason = "Less than half a ball is no fall: give it as a joint with a step down."
            raise CannotCalculate(f"/segments/{k}/drop_mm", reason)
    try:
        ramp = places(pieces)
    except UnfitSegment as error:
        raise CannotCalculate(f"/segments/{error.segment}/{error.field}", error.why) from error
    corners = all_corners(ball, unknowns, ramp)
    return Ramp(ball, unknowns, ramp, corners, inputs["segments"]), surfaces


__all__ = ["RampRun"]

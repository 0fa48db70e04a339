"""ball-flow: how many balls, where they are, where they gather, what a stopped lift does."""

from typing import Any

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Caution,
    Drawing,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, ball_cautions
from . import drawing
from .answer import value_of
from .assumptions import assumptions_of
from .examples import EXAMPLES
from .findings import flow_findings, stop_findings
from .fluid import fluid_stop
from .results import BallFlowResult
from .schemas import BallFlowInputs
from .study import Refused, study
from .table import COLUMNS, rows_of
from .wording import statement


class BallFlow(Calculator):
    """The whole circuit as a graph: settled, and followed ball by ball."""

    name = "ball-flow"
    version = "1.0.0"
    title = "Balls going round"
    summary = (
        "How many balls does the machine need, where are they, where do they pile up, and what "
        "happens when lifts stop and come back: when does it overflow, how many balls leave the "
        "machine, when is it back to usual?"
    )
    inputs_schema = BallFlowInputs
    result_schema = BallFlowResult
    examples = EXAMPLES
    sources = (
        Source("J. D. C. Little, Operations Research 9 (1961)", "pages 383-387, L = lambda W"),
        Source(
            "D. Gross and C. M. Harris, Fundamentals of Queueing Theory",
            "M/M/c/K, Erlang's formulas, M/G/1 (Pollaczek-Khinchine), M/G/infinity; from memory",
        ),
        Source(
            "NIST/SEMATECH e-Handbook of Statistical Methods",
            "1.3.5.2, Student's t interval; 7.2.4.1, Wilson's interval for a proportion",
        ),
        Source("M. E. O'Neill, PCG random numbers, Harvey Mudd College HMC-CS-2014-0905", "PCG64"),
        Source(
            "Common practice, no source", "spares as a share, 95 % of a capacity as nearly full"
        ),
    )
    cautions = (
        "Balls on the floor of the hall are a slip hazard: catch what overflows in a basket.",
        "Put balls back with all lifts running and hands away from chain, hooks and sprockets.",
        "Isolate the drive before clearing a jam; one stop button must stop every lift.",
        PLANNING_AID,
    )
    views = {
        "circuit": "The machine as boxes: balls a minute and balls there; where they gather",
        "timeline": "Balls waiting and off the machine over time, with the spread of the runs",
    }
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        try:
            worked = study(inputs, simulate=not inputs.proving)
        except Refused as refused:
            raise CannotCalculate(refused.pointer, refused.reason) from None
        value: dict[str, Any] = value_of(worked, fluid_stop(worked, inputs), inputs)
        lifts = len(worked.machine.indices("lift"))
        value["statement"] = statement(value, lifts)
        found = flow_findings(inputs, value, self.rerun) + stop_findings(value, lifts)
        return Result(value, found, assumptions_of(worked, inputs), _cautions(inputs))

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return drawing.VIEWS[view](inputs, result.value)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        """Places, one a row."""
        return TableData(COLUMNS, rows_of(result.value))


def _cautions(inputs: Inputs) -> tuple[Caution, ...]:
    if "ball_diameter_mm" not in inputs:
        return ()
    return ball_cautions(inputs["ball_diameter_mm"])


__all__ = ["BallFlow"]

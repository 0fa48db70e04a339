"""lift-redundancy: parallel lifts, the way round them, and the chain of one lift."""

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

from ..cautions import PLANNING_AID, DriveGuard, ball_cautions, drive_cautions
from . import deeper_drawing, deeper_study, drawing, study
from .assumptions import assumptions_of
from .chain_study import chain_result
from .circuit import Circuit, circuit_of, lifts_of
from .examples import EXAMPLES
from .failure_states import StateSpace, TooManyStates, all_states
from .findings import all_findings
from .improvements import improvement_results
from .overflow import TooManySteps
from .ride_through import may_stop
from .schemas import LiftRedundancyInputs, LiftRedundancyResult

TABLE_COLUMNS = (
    "stopped",
    "lifts_stopped_count",
    "ways_count",
    "enough",
    "probability_ratio",
    "probability_with_crews_ratio",
    "capacity_per_min",
    "flow_per_min",
    "short_by_per_min",
    "peak_extra_balls",
    "overflow_s",
)


_States = tuple[StateSpace, list[study.StateFlow], study.Shares | None, list[int] | None]


class LiftRedundancy(Calculator):
    """What comes round when lifts stop, how often, and what to change."""

    name = "lift-redundancy"
    version = "1.1.0"
    title = "Lifts, spares and the way round"
    summary = (
        "Do enough balls come round when a lift stops, how much of the day, which parts is there "
        "no way around, how soon does the return lane overflow, how many balls are needed, and "
        "which chain, hooks, speed and torque make one lift?"
    )
    inputs_schema = LiftRedundancyInputs
    result_schema = LiftRedundancyResult
    examples = EXAMPLES
    sources = (
        Source(
            "L. R. Ford and D. R. Fulkerson, Flows in Networks; T. H. Cormen et al., Introduction "
            "to Algorithms",
            "max-flow min-cut; section 26.2",
        ),
        Source("NIST/SEMATECH e-Handbook of Statistical Methods", "8.1.8.4, r out of n model"),
        Source("MIL-HDBK-338B, Electronic Reliability Design Handbook", "inherent availability"),
        Source(
            "B. Epstein and I. Weissman, Mathematical Models for Systems Reliability",
            "chapters 5 and 7: birth-death models with repair crews",
        ),
        Source(
            "R. E. Barlow and F. Proschan, Statistical Theory of Reliability and Life Testing",
            "importance of components; bridge network",
        ),
        Source("NUREG/CR-4780, common cause failures", "beta factor (from memory)"),
        Source(
            "W. K. Grassmann, M. I. Taksar, D. P. Heyman, Operations Research 33 (1985)",
            "long-run shares of a Markov chain",
        ),
        Source("A. K. Erlang (1917), loss formula", "spares that come back to the box"),
        Source("J. D. C. Little, Operations Research 9 (1961)", "pages 383-387, L = lambda W"),
        Source("ISO 606 / ANSI B29.1, roller chains", "length of chain, pitch diameter"),
        Source("Common practice, no source", "20 percent distance between frequencies, margins"),
    )
    cautions = (
        "Guard every pinch point of chain, sprocket and hook; children's fingers are thin.",
        "One stop button within reach must stop every lift; isolate the drive before clearing a "
        "jam.",
        "Mains wiring is for a licensed electrician; keep to protected extra-low voltage where "
        "you can.",
        "Balls on the floor of the hall are a slip hazard: catch what overflows in a basket.",
        PLANNING_AID,
    )
    views = {
        "network": "The way round as boxes with what each lets through; the bottleneck marked",
        "overflow": "Extra balls on the return lane over time, by lifts stopped",
        "chain": "The two sprockets, the links and the hooks",
        "improvements": "Minutes short a day now and after each improvement",
        "importance": "What most often makes the flow fall short, part by part",
    }
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        value: dict[str, Any] = {}
        chain = None
        if "chain" in inputs:
            chain = value["chain"] = _chain(inputs)
        circuit, flows = None, []
        if "lifts" in inputs or "network" in inputs:
            lifts = lifts_of(inputs, None if chain is None else chain.get("hooks_per_min"))
            circuit = circuit_of(inputs, lifts)
            flows = self._machine(inputs, value, circuit, chain)
        if "tour" in inputs:
            value["spares"] = deeper_study.spare_results(inputs["tour"])
        findings = all_findings(inputs, value, circuit, flows, self.rerun)
        return Result(value, findings, assumptions_of(inputs, value), _cautions(inputs))

    def _machine(
        self,
        inputs: Inputs,
        value: dict[str, Any],
        circuit: Circuit,
        chain: dict[str, Any] | None,
    ) -> list[study.StateFlow]:
        required = inputs.get("required_balls_per_min")
        transit_s = study.lift_transit(inputs, chain)
        space = _states(circuit)
        try:
            flows = study.state_flows(circuit, space, inputs, transit_s)
        except TooManySteps:
            reason = "The transit times are too many and too unlike to follow; join some tracks."
            raise CannotCalculate("/paths", reason) from None
        order = deeper_study.mending_order(inputs, space, flows)
        shares = study.shares_of(space, inputs["repair_crews_count"], order)
        value["lift_count"] = len(circuit.lifts)
        value["lift_capacity_per_min"] = [lift.capacity_per_min for lift in circuit.lifts]
        if flows[0].flow_per_min is not None:
            value["flow_per_min"] = flows[0].flow_per_min
        if flows[0].capacity_per_min is not None:
            value["capacity_per_min"] = flows[0].capacity_per_min
        if required is not None:
            value["required_balls_per_min"] = required
            needed = study.needed_lifts(circuit, flows, required)
            if circuit.lifts and needed is not None:
                value["needed_lift_count"] = needed
        value["units"] = study.unit_results(circuit, space, flows, shares)
        value["states"] = study.state_results(flows, shares, required)
        followed = sum(flow.gathering is not None for flow in flows)
        if 0 < followed < len(flows):
            value["states_followed_count"] = followed
        if circuit.lifts:
            value["by_stopped"] = study.by_stopped_results(circuit, flows, shares, required)
        if shares is not None:
            value["availability"] = study.availability_result(
                space, flows, shares, inputs, spells=not inputs.proving, order=order
            )
        value |= study.structure_results(
            circuit, required, own_network="network" in inputs, sets=not inputs.proving
        )
        value |= study.lane_results(inputs, circuit)
        balls = study.balls_result(inputs, transit_s)
        if balls is not None:
            value["balls"] = balls
        if not inputs.proving:
            value |= self._deeper(inputs, value, circuit, (space, flows, shares, order), transit_s)
        return flows

    def _deeper(
        self,
        inputs: Inputs,
        value: dict[str, Any],
        circuit: Circuit,
        states: _States,
        transit_s: float | None,
    ) -> dict[str, Any]:
        """What a proof by running again does not need."""
        space, flows, shares, order = states
        found: dict[str, Any] = {}
        rows = may_stop(circuit, inputs, transit_s, flows)
        if rows:
            found["may_stop"] = rows
        if shares is None:
            return found
        found["importance"] = deeper_study.importance_results(circuit, space, flows, shares, inputs)
        show = deeper_study.show_result(space, flows, inputs, order)
        if show is not None:
            found["show"] = show
        found |= deeper_study.planned_results(space, flows, shares, inputs, order)
        limited_by = [part["id"] for part in value["limited_by"]]
        found |= improvement_results(inputs, circuit, limited_by, self.load, len(space.stopped))
        return found

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        views = {**drawing.VIEWS, **deeper_drawing.VIEWS}
        return views[view](inputs, result.value)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        rows = [
            [
                " ".join(state["stopped"]) or "none",
                *(state.get(column, "") for column in TABLE_COLUMNS[1:]),
            ]
            for state in result.value.get("states", [])
        ]
        return TableData(TABLE_COLUMNS, rows)


def _chain(inputs: Inputs) -> dict[str, Any]:
    try:
        return chain_result(inputs["chain"], inputs["gravity_m_s2"])
    except ValueError:
        key = "links_count" if "links_count" in inputs["chain"] else "centre_distance_mm"
        reason = "The chain does not reach around both sprockets: they would overlap."
        raise CannotCalculate(f"/chain/{key}", reason) from None


def _states(circuit: Circuit) -> StateSpace:
    try:
        return all_states(circuit.units)
    except TooManyStates as error:
        where = "/lifts" if circuit.lifts else "/network"
        reason = (
            f"{error.count} failure states; at most 4096 are gone through. Make parts alike, or "
            "leave out failure times of parts that hardly fail."
        )
        raise CannotCalculate(where, reason) from None


def _cautions(inputs: Inputs) -> tuple[Caution, ...]:
    """What a chain in reach and balls of a known size call for."""
    found: tuple[Caution, ...] = ()
    if "chain" in inputs:
        found += drive_cautions(DriveGuard(height_mm=0.0))
    if "ball_diameter_mm" in inputs:
        found += ball_cautions(inputs["ball_diameter_mm"])
    return found

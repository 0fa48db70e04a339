"""What the builder should know, from inputs and result; remedies are proven by running again."""

from collections.abc import Sequence

from baywright_service.contract import Finding, Inputs

from .chain_findings import chain_findings
from .circuit import Circuit
from .deeper_findings import deeper_findings
from .lift_findings import lift_findings, not_met
from .study import StateFlow
from .way_findings import way_findings
from .wording import Rerun, Value


def all_findings(
    inputs: Inputs,
    value: Value,
    circuit: Circuit | None,
    flows: Sequence[StateFlow],
    rerun: Rerun,
) -> list[Finding]:
    """Lifts first, then the way round and its balls, then the chain."""
    found: list[Finding] = []
    if circuit is not None and "required_balls_per_min" in inputs:
        if circuit.lifts:
            found += lift_findings(inputs, value, circuit, flows, rerun)
        elif not flows[0].enough:
            found.append(not_met(inputs, value, None))
    if circuit is not None:
        found += way_findings(inputs, value, circuit, rerun)
    found += deeper_findings(inputs, value)
    if "chain" in value:
        found += chain_findings(inputs, value["chain"], rerun)
    return found

"""How many lifts may stop, whichever they are, before a ball leaves the machine, and how long."""

from collections.abc import Mapping, Sequence
from typing import Any

from .circuit import Circuit
from .failure_states import StateSpace, TooManyStates, Unit, all_states
from .study import StateFlow, state_flows

WORDS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
WITHIN_S = 120.0
MOST_SETS, MOST_TANGLED = 1024, 64  # a request's time


def may_stop(
    circuit: Circuit,
    inputs: Mapping[str, Any],
    transit_s: float | None,
    known: Sequence[StateFlow],
) -> list[dict[str, Any]]:
    """A row for each number of lifts stopped: the worst of all sets of so many lifts.

    `known` are the states of the machine; they are these sets where only lifts can stop, each
    alone.

    Empty where tracks, lift time or free places are not known.
    """
    free = inputs.get("queue", {}).get("free_places_count")
    if not circuit.lifts or free is None or transit_s is None or "paths" not in inputs:
        return []
    flows = known
    if any(len(unit.lifts) != 1 for unit in circuit.units):
        try:
            space = _lift_space(circuit)
        except TooManyStates:
            return []
        if len(space.stopped) > (MOST_SETS if circuit.network.is_plain() else MOST_TANGLED):
            return []
        flows = state_flows(circuit, space, inputs, transit_s)
    count = len(circuit.lifts)
    rows = []
    for stopped in range(1, count + 1):
        those = [flow for flow in flows if flow.lifts_stopped == stopped]
        if any(flow.gathering is None for flow in those):
            return []
        rows.append(_row(stopped, count, those))
    return rows


def _lift_space(circuit: Circuit) -> StateSpace:
    """All sets of single lifts; lifts that fail alike and stand alike count together."""
    alike = {unit.lifts[0]: unit.alike for unit in circuit.units if len(unit.lifts) == 1}
    return all_states(
        [Unit(x.id, (x.id,), (x.id,), alike.get(x.id, f"lift {x.id}")) for x in circuit.lifts]
    )


def _row(stopped: int, count: int, flows: Sequence[StateFlow]) -> dict[str, Any]:
    over = [
        (flow.gathering.overflow_s, flow.row, flow)
        for flow in flows
        if flow.gathering is not None and flow.gathering.overflow_s is not None
    ]
    delivered = [flow.flow_per_min for flow in flows if flow.flow_per_min is not None]
    row: dict[str, Any] = {
        "stopped_count": stopped,
        "sets_count": sum(flow.ways for flow in flows),
        "sets_that_overflow_count": sum(flow.ways for _, _, flow in over),
    }
    if delivered:
        row["flow_worst_per_min"] = min(delivered)
    lasts = None
    if over:
        lasts, _, worst = min(over, key=lambda item: item[:2])
        row |= {"lasts_s": lasts, "worst_set": list(worst.stopped)}
    return row | {"statement": statement(stopped, count, lasts)}


def statement(stopped: int, count: int, lasts_s: float | None) -> str:
    """One sentence; times are rounded down.

    >>> statement(2, 4, 26.4)
    'Any two of four lifts may stop for 26 seconds before a ball leaves the machine.'
    >>> statement(1, 5, None)
    'Any one of five lifts may stop for as long as it takes: no ball leaves the machine.'
    """
    who = f"Any {WORDS[stopped]} of {WORDS[count]} lifts"
    if stopped == count:
        who = "The only lift" if count == 1 else f"All {WORDS[count]} lifts"
    if lasts_s is None:
        return f"{who} may stop for as long as it takes: no ball leaves the machine."
    if lasts_s >= WITHIN_S:
        minutes = int((lasts_s + 1e-6) // 60.0)
        return f"{who} may stop for {minutes} minutes before a ball leaves the machine."
    seconds = int(lasts_s + 1e-6)
    length = "less than a second" if seconds == 0 else f"{seconds} second{'s' * (seconds > 1)}"
    return f"{who} may stop for {length} before a ball leaves the machine."

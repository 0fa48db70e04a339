"""What the model leaves out, said only where it matters."""

from collections.abc import Mapping
from typing import Any


def assumptions_of(inputs: Mapping[str, Any], value: Mapping[str, Any]) -> list[str]:
    """One sentence for each thing the model leaves out that bears on this result."""
    said: list[str] = []
    if "units" in value:
        said.append(
            "Balls may take any way that is open: the throughput of a state is its largest flow. "
            "A stopped part lets nothing through."
        )
    if inputs.get("lifts") and not any("power_supply" in lift for lift in inputs["lifts"]):
        said.append(
            "No power supply is named: one cable or supply for all lifts would be one more single "
            "point of failure."
        )
    if any(len(unit["lifts"]) > 1 for unit in value.get("units", [])):
        said.append(
            "Lifts on one motor or supply count as one lift, with the shortest running time and "
            "the longest mending time among them, unless shared_causes gives the motor its own."
        )
    if "availability" in value:
        said.append(
            "Lifts fail and are mended independently, at constant rates; with fewer repairers than "
            "stopped lifts the repairers share their time equally among them."
        )
    if "states_followed_count" in value:
        said.append(
            f"What gathers on the return lane was followed in {value['states_followed_count']} of "
            f"{len(value['states'])} failure states only, those with the fewest lifts stopped: "
            "more would take too long. Where no time or peak stands, none is known."
        )
    said += _deeper(inputs, value)
    if any("time_s" in row for row in value.get("by_stopped", [])):
        said.append(
            "Routing: every track takes its fixed share at every moment, and balls are a fluid. If "
            "each ball chooses its track at random, the real peak on the return lane is about a "
            "third higher (simulated: a quarter to a third). Balls share the lifts in proportion "
            "to what each brings up."
        )
    if "shaft_torque_n_m" in value.get("chain", {}):
        said.append(
            "Torque takes every hook of the rising run as full; the weights of the two chain runs "
            "cancel."
        )
    if "chain" in value and "excitations" not in value["chain"]:
        said.append("No own frequencies of the frame are given: the drive is not held against any.")
    return said


def _deeper(inputs: Mapping[str, Any], value: Mapping[str, Any]) -> list[str]:
    said = []
    if "importance" in value:
        said.append(
            "Importance takes everything as mended at once; with few repairers what is slow to "
            "mend weighs more. Improvements are worked with the repairers given."
        )
    if inputs["repair_order"] != "shared" and "availability" in value:
        said.append("A repairer leaves what is being mended for what comes first in the order.")
    if "planned_work" in value:
        said.append(
            "Somebody else does the planned work; the repairers go on. Lifts on one motor are out "
            "together. Planned work is not taken to make stops rarer."
        )
    if "measures_now" in value:
        said.append(
            "Own motors and supplies are taken to stop only as the lifts' own times say. "
            "Each improvement is worked alone, by running the study again. Spills count stops that "
            "outlast the room on the return lane, each from the usual queue on."
        )
    elif "availability" in value:
        said.append(
            "Improvements were not compared: too many failure states (over 512, or over 64 where "
            "lanes feed several lifts)."
        )
    if "may_stop" in value:
        said.append(
            "How long lifts may stop is counted from a machine in steady running, for all sets of "
            "so many lifts, with balls as a fluid."
        )
    if "common_cause" in inputs:
        said.append(
            "Stops in common are taken at the share given of a lift's mean rate; no record of your "
            "own machine went into it."
        )
    if "spares" in value:
        said.append(
            "Breakages come at a constant rate, one by one; where broken ones come back, an empty "
            "box is helped out from elsewhere."
        )
    return said

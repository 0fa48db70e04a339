"""What to improve next: each candidate is a change of the inputs, and the study is run again."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from baywright_service.contract import CannotCalculate, Inputs, InvalidInputs, merge_patch

from .circuit import Circuit
from .cross_checks import MOST_LIFTS
from .evaluation import Measures, measures_of
from .failure_states import TooManyStates
from .lift_findings import with_more_lifts
from .overflow import TooManySteps
from .wording import and_words, num

MOST_COMPARED_STATES, MOST_TANGLED = 512, 64  # a request's time
FASTER, QUICKER, FEWER, WIDER, LONGER = 1.25, 0.5, 2.0, 1.5, 2.0

Load = Callable[[Mapping[str, Any]], Inputs]
Candidate = tuple[str, str, dict[str, Any]]


def improvement_results(
    inputs: Inputs, circuit: Circuit, limited_by: list[str], load: Load, states: int
) -> dict[str, Any]:
    """`measures_now` and `improvements`, best first: minutes saved, for the money where costs are
    given, then spills, then the order of the list."""
    if states > (MOST_COMPARED_STATES if circuit.network.is_plain() else MOST_TANGLED):
        return {}
    now = _measured(load, inputs.raw, {})
    if now is None:
        return {}
    costs = {entry["kind"]: entry["cost"] for entry in inputs["improvement_costs"]}
    rows = []
    for kind, text, patch in candidates(inputs, circuit, limited_by):
        after = _measured(load, inputs.raw, patch)
        if after is None:
            continue
        saved = now.minutes_short - after.minutes_short
        row = {"kind": kind, "text": text, **after.as_result(), "minutes_saved_min": saved}
        if kind in costs:
            row["cost"] = costs[kind]
            row["minutes_saved_per_cost"] = saved / costs[kind]
        rows.append(row)
    whole = bool(rows) and all("cost" in row for row in rows)
    key = "minutes_saved_per_cost" if whole else "minutes_saved_min"
    rows.sort(key=lambda row: (-round(row[key], 9), round(row.get("spills_per_day", math.inf), 9)))
    for place, row in enumerate(rows, 1):
        row["rank"] = place
    return {"measures_now": now.as_result(), "improvements": rows}


def _measured(load: Load, raw: Mapping[str, Any], patch: Mapping[str, Any]) -> Measures | None:
    try:
        return measures_of(load(merge_patch(raw, patch)))
    except (CannotCalculate, InvalidInputs, TooManyStates, TooManySteps, ValueError):
        return None


def candidates(inputs: Inputs, circuit: Circuit, limited_by: list[str]) -> list[Candidate]:
    """Kind, words and patch of each change that can be made to these inputs."""
    found: list[Candidate] = []
    if circuit.lifts:
        found += _about_lifts(inputs, circuit)
    crews = inputs["repair_crews_count"]
    if crews < sum(1 for unit in circuit.units if unit.odds_down):
        text = f"Have {crews + 1} people at hand who can mend, in place of {crews}."
        found.append(("one-more-repairer", text, {"repair_crews_count": crews + 1}))
    found += _about_stations(inputs, limited_by)
    free = inputs.get("queue", {}).get("free_places_count")
    if free:
        text = (
            f"Make room for {num(free * LONGER)} balls on the return lane, in place of {num(free)}."
        )
        patch = {"queue": {"free_places_count": min(free * LONGER, 100_000)}}
        found.append(("longer-return-lane", text, patch))
    return found


def _about_lifts(inputs: Inputs, circuit: Circuit) -> list[Candidate]:
    raw = inputs.raw
    found: list[Candidate] = []
    if len(circuit.lifts) < MOST_LIFTS and "network" not in inputs:
        text = f"Build one more lift like {raw['lifts'][0]['id']}: {len(circuit.lifts) + 1} in all."
        found.append(("one-more-lift", text, with_more_lifts(inputs, 1)))
    found.append(("faster-lifts", "Run the lifts a quarter faster.", _faster(raw)))
    timed = [entry for entry in raw["lifts"] if "mtbf_h" in entry]
    if timed:
        quick = [_times(entry, "mttr_h", QUICKER, 0.0001) for entry in raw["lifts"]]
        few = [_times(entry, "mtbf_h", FEWER, 1e7) for entry in raw["lifts"]]
        found.append(("quicker-repair", "Mend a lift in half the time.", {"lifts": quick}))
        found.append(
            (
                "fewer-stops",
                "Halve how often a lift stops: clear chains, spare hooks.",
                {"lifts": few},
            )
        )
    shared = [unit for unit in circuit.units if len(unit.lifts) > 1]
    if any(("motor" in entry or "power_supply" in entry) for entry in raw["lifts"]) and shared:
        apart = [
            {k: v for k, v in entry.items() if k not in ("motor", "power_supply")}
            for entry in raw["lifts"]
        ]
        patch: dict[str, Any] = {"lifts": apart}
        if raw.get("shared_causes"):
            patch["shared_causes"] = []
        text = "Give every lift a motor and a power supply of its own."
        found.append(("own-motors-and-supplies", text, patch))
    beta = inputs.get("common_cause", {}).get("beta_ratio", 0.0)
    if beta > 0.0:
        text = f"Halve the stops that all lifts have in common, to {num(50 * beta)} percent."
        found.append(("fewer-common-stops", text, {"common_cause": {"beta_ratio": beta / 2}}))
    return found


def _times(entry: Mapping[str, Any], key: str, factor: float, limit: float) -> dict[str, Any]:
    if key not in entry:
        return dict(entry)
    value = entry[key] * factor
    return {**entry, key: max(value, limit) if factor < 1.0 else min(value, limit)}


def _faster(raw: Mapping[str, Any]) -> dict[str, Any]:
    """Hooks or capacity of every lift, or of the chain that sets them, a quarter up."""
    lifts = []
    for entry in raw["lifts"]:
        key = "hooks_per_min" if "hooks_per_min" in entry else "capacity_per_min"
        lifts.append(_times(entry, key, FASTER, 100_000.0))
    patch: dict[str, Any] = {"lifts": lifts}
    for key in ("hooks_per_min", "shaft_turns_per_min"):
        if key in raw.get("chain", {}):
            patch["chain"] = {key: min(raw["chain"][key] * FASTER, 100_000.0)}
    return patch


def _about_stations(inputs: Inputs, limited_by: list[str]) -> list[Candidate]:
    found: list[Candidate] = []
    parts = [dict(part) for part in inputs.raw.get("station_parts", [])]
    for k, part in enumerate(parts):
        count = inputs["station_parts"][k]["count"]
        if count < 4 and ("mtbf_h" in part or "availability_ratio" in part):
            changed = [*parts[:k], {**part, "count": count + 1}, *parts[k + 1 :]]
            words = part["id"].replace("-", " ")
            text = f"Put one more {words} beside the {words} there is, each carrying all."
            found.append(("second-station", text, {"station_parts": changed}))
    stations = inputs.get("stations", {})
    tight = [
        key for key in stations if key.removesuffix("_per_min").replace("_", "-") in limited_by
    ]
    if tight:
        wide = {key: min(stations[key] * WIDER, 100_000.0) for key in tight}
        names = and_words([key.removesuffix("_per_min").replace("_", " ") for key in tight])
        found.append(("wider-station", f"Widen the {names} by half.", {"stations": wide}))
    return found

"""From validated inputs to a task for the programme, and its answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs, escape

from ...truss_check.handling import Handling
from ..kit_parts import kit_parts
from ..references import nearest
from .breakage import Reserve, by_rate, share
from .choices import PAIRS, WAYS
from .machines import MOST_PIECES, Kits, Machine, kits_of, machines_of
from .model import Costs
from .positions import Known, Survey, alternatives, machine_ways
from .rounds import Chosen, Task, choose
from .schemas_in import ProgrammeSchema
from .sheet import NoWholeAnswer
from .strength import Loads
from .supply import supply_of


@dataclass(frozen=True)
class Answer:
    """The task, its sites as stated, what was chosen, and what spares were asked for by item.
    unsolved: sections whose loads are not known, and why."""

    task: Task
    chosen: Chosen
    needed: Mapping[str, int]
    reserve: Mapping[str, Reserve]
    unsolved: Sequence[str]
    searched_more: bool


def wants_programme(inputs: Mapping[str, Any]) -> bool:
    """Whether the request asks for a stock programme."""
    return "programme" in inputs or "machines" in inputs or bool(inputs["more_shelves"])


def answer_of(inputs: Mapping[str, Any]) -> Answer:
    """The programme solved. Raises InvalidInputs, CannotCalculate."""
    options = {**inputs, "programme": _defaults(inputs)}
    kits = kits_of(options)
    _check_names(options, kits)
    machines = machines_of(options)
    needed = _needed(machines)
    _check_size(needed, options)
    wanted = list(needed) + [h.id for m in machines for h in m.kit.hubs if h.id not in needed]
    if PAIRS in options["programme"]["ways"]:
        wanted += [r.id for m in machines for r in m.kit.rods if r.id not in needed]
    wanted = list(dict.fromkeys(wanted))
    supply = supply_of(options, kits, wanted)
    reserve = _reserve(options, needed)
    loads = _loads(options)
    survey = Survey(loads, options["port_tolerance_deg"])
    sites = [
        survey.site(machines, number, section)
        for number, machine in enumerate(machines)
        for section in range(len(machine.frame.sections))
    ]
    ways = [machine_ways(machine, options) for machine in machines]
    task = Task(
        machines,
        [own for own, _ in ways],
        [worth for _, worth in ways],
        _known(options),
        loads,
        supply,
        {item: spares.count for item, spares in reserve.items() if spares.count},
        _costs(options["programme"]),
        options["port_tolerance_deg"],
        options["programme"]["recheck_strength"],
    )
    try:
        chosen = choose(task, sites)
        more = _asks_for_more(chosen, options["programme"])
        if more:
            chosen = choose(task, alternatives(survey, sites, machines, options))
    except NoWholeAnswer as fault:
        reason = f"No whole-number answer was found within the bound on work: {fault}."
        raise CannotCalculate("/programme", reason) from fault
    return Answer(task, chosen, needed, reserve, survey.unsolved, more)


def _defaults(inputs: Mapping[str, Any]) -> dict[str, Any]:
    options: dict[str, Any] = dict(inputs.get("programme") or ProgrammeSchema().load({}))
    options.setdefault("ways", [PAIRS])
    return options


def _asks_for_more(chosen: Chosen, options: Mapping[str, Any]) -> bool:
    """Whether other ways are asked for and something would have to be paid or is missing."""
    values = chosen.solved.values
    short = any(values[aim] > 0 for aim in ("missing", "spares_missing", "cost", "bought"))
    return short and bool(set(options["ways"]) & set(WAYS) - {PAIRS})


def _needed(machines: Sequence[Machine]) -> dict[str, int]:
    """Pieces by item in all machines as stated, in the order of their kits."""
    needed: dict[str, int] = {}
    for machine in machines:
        for item, use in machine.tally.uses.items():
            if use.total:
                needed[item] = needed.get(item, 0) + use.total * machine.count
    return needed


def _check_size(needed: Mapping[str, int], options: Mapping[str, Any]) -> None:
    most = max(needed.values(), default=0)
    if most > MOST_PIECES:
        where = "/machines" if "machines" in options else "/programme"
        reason = f"It takes {most} of one part; the programme is exact up to {MOST_PIECES}."
        raise CannotCalculate(where, reason)


def _reserve(options: Mapping[str, Any], needed: Mapping[str, int]) -> dict[str, Reserve]:
    general = options["reserve_ratio"]
    found = {item: share(count, general) for item, count in needed.items()} if general else {}
    breakage = options["programme"].get("breakage")
    if breakage is None:
        return found
    for row in breakage["parts"]:
        pieces = needed.get(row["item"], 0)
        if "share_ratio" in row:
            found[row["item"]] = share(pieces, row["share_ratio"])
        else:
            found[row["item"]] = by_rate(
                pieces,
                row["broken_per_1000_pieces_per_show"] / 1000,
                breakage["shows_count"],
                breakage["confidence_ratio"],
            )
    worst = max(found, key=lambda item: found[item].count, default="")
    if worst and found[worst].count > MOST_PIECES:
        reason = f"{found[worst].count} spares of {worst}: the tour is too long for its breakage."
        raise CannotCalculate("/programme/breakage", reason)
    return found


def _loads(options: Mapping[str, Any]) -> Loads:
    given = dict(options["programme"].get("handling", {}))
    if "cases" in given:
        given["cases"] = tuple(given["cases"])
    return Loads(
        Handling(**given),
        options["gravity_m_s2"],
        options["buckling_margin_ratio"],
        options["required_slip_factor"],
    )


def _known(options: Mapping[str, Any]) -> Known:
    light: dict[tuple[str, str | None], int] | None = None
    if "light_positions" in options:
        light = {}
        for row in options["light_positions"]:
            at = (row["section"], row.get("rod"))
            light[at] = light.get(at, 0) + row["light_positions_count"]
    return Known(options.get("member_compression_n"), light)


def _costs(options: Mapping[str, Any]) -> Costs:
    cut = options.get("sawing", {}).get("cut_cost", 0.0)
    return Costs(options["pair_cost"], cut, options["minute_cost"], options["shelf_value_ratio"])


def _check_names(options: Mapping[str, Any], kits: Kits) -> None:
    known = list(dict.fromkeys(part.id for kit, _ in kits.values() for part in kit_parts(kit)))
    programme = options["programme"]
    rows: list[tuple[str, str]] = [
        (f"/programme/offers/{place}/item", row["item"])
        for place, row in enumerate(programme["offers"])
    ]
    for place, row in enumerate(programme.get("breakage", {}).get("parts", ())):
        rows.append((f"/programme/breakage/parts/{place}/item", row["item"]))
    faults = [
        (where, Fault("unknown-reference", f"There is no part “{item}”.{nearest(item, known)}"))
        for where, item in rows
        if item not in known
    ]
    bars = programme.get("sawing", {}).get("bars", ())
    for place, bar in enumerate(bars):
        if bar["id"] in known:
            fault = Fault("not-unique", f"“{bar['id']}” already names a part of a kit.")
            faults.append((escape("programme", "sawing", "bars", place, "id"), fault))
    if faults:
        raise InvalidInputs(faults)

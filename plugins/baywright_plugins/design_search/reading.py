"""From validated inputs to the problem: names put in place, sizes in whole micrometres."""

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any

from baywright_service.contract import CannotCalculate, Inputs

from ..fit_remedies.box_parts import patterns_of
from ..fit_remedies.journey import Journey
from ..floor_tiling_ratio.continued_fractions import exact
from ..frame.grid import AXES
from ..grid_fit.sections import overhangs_mm
from ..kit import Kit, available_counts
from ..part_count.schemas import BuildSchema
from ..route_fit.passing import clearances_from_inputs, passages_from_inputs
from .problem import Bracing, Fitting, Lifts, Limits, Panel, Problem, Section, Split, Triple
from .references import check_references
from .schemas import BracingSchema
from .space import Block, Space, TooManyMachines, bay_counts, space_of

#: Bays in a row of one section, at most.
MOST_BAYS = 40

_USUAL_BRACINGS = (
    {"id": "alternating", "title": "one diagonal on every side face"},
    {
        "id": "crossed",
        "title": "both diagonals on every side face",
        "side_faces": {"default": "crossed"},
    },
)


def problem_of(inputs: Inputs) -> Problem:
    """The problem that validated inputs state.

    Raises InvalidInputs for names that are not there; CannotCalculate where there are more
    machines than can be numbered.
    """
    kit = Kit.from_inputs(inputs["kit"])
    over = overhangs_mm(kit, ())
    ends = [2 * round(1000 * over[axis]) for axis in AXES]
    limits = _limits(inputs["envelope"])
    splits = _splits(inputs, limits)
    check_references(inputs, kit, [section.id for split in splits for section in split.sections])
    bracings = tuple(_bracing(one) for one in _bracings(inputs))
    panels = tuple(_panel(one, inputs) for one in inputs.get("floor", {}).get("panels", ()))
    lifts = _lifts(inputs["lifts"]) if "lifts" in inputs else None
    options = (len(bracings), max(1, len(panels)), 1 if lifts is None else len(lifts.counts))
    problem = Problem(
        inputs=inputs,
        kit=kit,
        free=available_counts(inputs["stock"]) if "stock" in inputs else None,
        limits=limits,
        ends_um=(ends[0], ends[1], ends[2]),
        joint=kit.rod_index[inputs["joint_rod"]] if "joint_rod" in inputs else None,
        splits=splits,
        bracings=bracings,
        panels=panels,
        lifts=lifts,
        extras=_extras(inputs["accessories"]),
        build=inputs.get("build") or BuildSchema().load({}),
        journey=_journey(inputs),
        protruding_mm=_protruding(inputs["protrusions"], splits),
        space=_space(inputs, kit, (ends[0], ends[1], ends[2]), limits, splits, options),
    )
    return problem


def _limits(envelope: Mapping[str, float]) -> Limits:
    def pair(name: str) -> tuple[int, int]:
        return (
            round(1000 * envelope[f"{name}_min_mm"]),
            round(1000 * envelope[f"{name}_max_mm"]),
        )

    return Limits(pair("length"), pair("width"), pair("height"))


def _splits(inputs: Mapping[str, Any], limits: Limits) -> tuple[Split, ...]:
    given = inputs.get("splits") or [{"id": "one", "title": "", "alike_count": 1, "fittings": []}]
    return tuple(
        Split(one["id"], one["title"] or one["id"], tuple(_sections(one, limits))) for one in given
    )


def _sections(split: Mapping[str, Any], limits: Limits) -> list[Section]:
    if "alike_count" in split:
        fittings = _fittings(split["fittings"])
        alone = split["alike_count"] == 1
        length = limits.length_um if alone else (0, limits.length_um[1])
        return [
            Section(f"S{k + 1}", "", 0, length, limits.height_um, fittings)
            for k in range(split["alike_count"])
        ]
    own: dict[str, int] = {}
    found: list[Section] = []
    for one in split["sections"]:
        twin = one.get("twin_of")
        place = own[twin] if twin is not None else len(own)
        if twin is None:
            own[one["id"]] = place
        length = (one["length_min_mm"], one.get("length_max_mm", limits.length_um[1] / 1000))
        height = (
            one["height_min_mm"],
            one.get("height_max_mm", limits.height_um[1] / 1000),
        )
        found.append(
            Section(
                one["id"], one["title"], place,
                (round(1000 * length[0]), round(1000 * length[1])),
                (round(1000 * height[0]), round(1000 * height[1])),
                _fittings(one["fittings"]),
            )
        )  # fmt: skip
    return found


def _fittings(given: Sequence[Mapping[str, Any]]) -> tuple[Fitting, ...]:
    return tuple(
        Fitting(one["title"], one["mass_kg"], tuple(int(k) for k in one["levels"])) for one in given
    )


def _bracings(inputs: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    if "bracings" in inputs:
        given: Sequence[Mapping[str, Any]] = inputs["bracings"]
        return given
    return [BracingSchema().load(one) for one in _USUAL_BRACINGS]


def _bracing(one: Mapping[str, Any]) -> Bracing:
    faces = {name: dict(one[name]) for name in ("side_faces", "cross_faces") if name in one}
    seconds = {
        name: tuple(
            (tuple(int(k) for k in ends[0]), tuple(int(k) for k in ends[1])) for ends in pairs
        )
        for name, pairs in one["second_diagonals"].items()
    }
    title = one["title"] or one["id"]
    return Bracing(one["id"], title, faces, patterns_of(faces), one["second_at_grips"], seconds)


def _panel(one: Mapping[str, Any], inputs: Mapping[str, Any]) -> Panel:
    pitch = one.get("pitch_mm")
    if pitch is None:
        pitch = next(i["pitch_mm"] for i in inputs["kit"]["items"] if i["id"] == one["item"])
    return Panel(one["id"], one.get("item"), exact(pitch), exact(one["play_mm"]))


def _lifts(one: Mapping[str, Any]) -> Lifts:
    levels = one.get("levels", (0, 1))
    return Lifts(
        one["required_balls_per_min"],
        one["may_fail_count"],
        one["capacity_per_min"],
        tuple(range(one["fewest_count"], one["most_count"] + 1)),
        {row["item"]: row["count"] for row in one["parts_each"]},
        one["mass_each_kg"],
        one.get("section"),
        tuple(int(k) for k in levels),
    )


def _extras(accessories: Sequence[Mapping[str, Any]]) -> dict[str, int]:
    found: dict[str, int] = {}
    for row in accessories:
        found[row["item"]] = found.get(row["item"], 0) + row["count"]
    return found


def _journey(inputs: Mapping[str, Any]) -> Journey | None:
    if not inputs["passages"]:
        return None
    clearances = clearances_from_inputs(inputs.get("clearances"))
    return Journey(passages_from_inputs(inputs["passages"]), clearances)


def _protruding(
    parts: Sequence[Mapping[str, Any]], splits: Sequence[Split]
) -> dict[tuple[str, str], float]:
    """The furthest part on each side that is not taken off, both sides of an axis summed."""
    everywhere = {section.id for split in splits for section in split.sections}
    reach: dict[tuple[str, str], float] = {}
    for part in parts:
        if part["taken_off"] and part["removable"]:
            continue
        for name in part.get("sections", sorted(everywhere)):
            key = (name, part["side"])
            reach[key] = max(reach.get(key, 0.0), part["mm"])
    found: dict[tuple[str, str], float] = {}
    for (name, side), mm in sorted(reach.items()):
        found[name, side[0]] = found.get((name, side[0]), 0.0) + mm
    return found


def _space(
    inputs: Mapping[str, Any],
    kit: Kit,
    ends_um: Triple,
    limits: Limits,
    splits: Sequence[Split],
    options: Triple,
) -> Space:
    rods = [_rods_along(inputs, kit, axis) for axis in AXES]
    blocks = []
    for x, y, z in product(*rods):
        px, py, pz = (kit.rods[k].pitch_um for k in (x, y, z))
        depths = tuple(bay_counts(py, ends_um[1], *limits.width_um, MOST_BAYS))
        for place, split in enumerate(splits):
            lengths = tuple(
                tuple(bay_counts(px, ends_um[0], *one.length_um, MOST_BAYS)) for one in split.own
            )
            heights = tuple(
                tuple(bay_counts(pz, ends_um[2], *one.height_um, MOST_BAYS)) for one in split.own
            )
            blocks.append(Block((x, y, z), place, depths, lengths, heights, options))
    try:
        return space_of(blocks)
    except TooManyMachines:
        reason = (
            "There are more than nine thousand million million machines to choose from; give "
            "narrower sizes, fewer rods, or make more sections twins."
        )
        raise CannotCalculate("/envelope", reason) from None


def _rods_along(inputs: Mapping[str, Any], kit: Kit, axis: str) -> list[int]:
    names = inputs.get(f"bay_rods_{axis}", inputs.get("bay_rods"))
    if names is None:
        return list(range(min(len(kit.rods), 8)))
    return sorted({kit.rod_index[name] for name in names})

"""One machine as a plan that runs as it is: grid, route, strength, floor, lifts, parts."""

from collections.abc import Mapping
from typing import Any

from .machines import Contents, Machine, machine_words, panel_of
from .problem import Problem
from .shapes import Drawings, Shape, titled
from .strength import strength_body

Json = dict[str, Any]

_FRAME = {"$ref": "#/steps/grid/result/frame"}


def plan_of(
    problem: Problem, machine: Machine, contents: Contents, drawings: Drawings, title: str
) -> Json:
    """The plan of a machine, with kit and stock in it."""
    layout = layout_of(problem, machine, contents.shapes, drawings)
    raw = problem.inputs.raw
    documents = {name: raw[name] for name in ("kit", "stock") if name in raw}
    steps = [
        _step("grid", "Does the grid close?", "grid-fit", {"layout": layout}),
        *_route(problem, machine),
        _step(
            "strength", "Does every section hold, standing and in the hands?", "truss-check",
            {"frame": _FRAME, **strength_body(problem.inputs)},
        ),
        *_floors(problem, machine),
        *_lifts(problem, machine),
        _parts(problem, contents.extras),
    ]  # fmt: skip
    about = machine_words(problem, machine)
    return {"title": title, "about": about, **documents, "steps": steps}


def layout_of(
    problem: Problem, machine: Machine, shapes: tuple[Shape, ...], drawings: Drawings
) -> Json:
    """The layout of a machine, as on the wire."""
    sections = problem.splits[machine.split].sections
    specs = [
        titled(drawings.spec(shape), section)
        for section, shape in zip(sections, shapes, strict=True)
    ]
    layout: Json = {"title": problem.splits[machine.split].title, "sections": specs}
    if len(sections) > 1:
        rod = problem.inputs["joint_rod"]
        layout["joints"] = [
            {"between": [a.id, b.id], "axis": "x", "rod": rod}
            for a, b in zip(sections[:-1], sections[1:], strict=True)
        ]
    return layout


def _step(id: str, title: str, calculator: str, inputs: Mapping[str, Any]) -> Json:
    return {"id": id, "title": title, "calculator": calculator, "inputs": dict(inputs)}


def _route(problem: Problem, machine: Machine) -> list[Json]:
    raw = problem.inputs.raw
    if not raw.get("passages"):
        return []
    names = [section.id for section in problem.splits[machine.split].sections]
    inputs: Json = {"frame": _FRAME, "passages": raw["passages"]}
    if "clearances" in raw:
        inputs["clearances"] = raw["clearances"]
    protrusions = []
    for part in raw.get("protrusions", ()):
        mine = [name for name in part.get("sections", names) if name in names]
        if mine:
            protrusions.append({**part, "sections": mine})
    if protrusions:
        inputs["protrusions"] = protrusions
    return [_step("route", "Does every section get through?", "route-fit", inputs)]


def _floors(problem: Problem, machine: Machine) -> list[Json]:
    """A step for each size of floor."""
    panel = panel_of(problem, machine)
    if panel is None:
        return []
    given = next(one for one in problem.inputs.raw["floor"]["panels"] if one["id"] == panel.id)
    play = problem.kit.frame_hub.seat.play_mm
    names = ("bay",) if machine.rods[0] == machine.rods[1] else ("bay-x", "bay-y")
    pitches: list[Json] = [
        {"id": name, "pitch_mm": problem.kit.rods[rod].pitch_mm, "play_per_seat_mm": play}
        for name, rod in zip(names, machine.rods, strict=False)
    ]
    pitches.append(
        {"id": "panel", "pitch_mm": float(panel.pitch_mm), "tolerance_mm": given.get("play_mm", 0)}
    )
    steps, seen = [], set()
    for place, (section, bays) in enumerate(
        zip(problem.splits[machine.split].sections, machine.bays, strict=True)
    ):
        if not problem.has_floor(section.id) or bays[:2] in seen:
            continue
        seen.add(bays[:2])
        at = f"#/steps/grid/result/sections/{place}"
        floor = {
            "along_mm": {"$ref": f"{at}/floor_length_mm"},
            "across_mm": {"$ref": f"{at}/floor_width_mm"},
            "bay_along": names[0],
            "bay_across": names[-1],
        }
        inputs = {
            "pitches": pitches,
            "floor": floor,
            "most_repeats_count": problem.inputs["floor"]["most_bays_count"],
        }
        title = f"How do panels lie on {section.id}?"
        steps.append(_step(f"floor-{place + 1}", title, "floor-tiling-ratio", inputs))
    return steps


def _lifts(problem: Problem, machine: Machine) -> list[Json]:
    lifts = problem.lifts
    if lifts is None:
        return []
    inputs = {
        "required_balls_per_min": lifts.required_per_min,
        "tolerate_stopped_count": lifts.may_fail,
        "lifts": [
            {"id": "lift", "count": machine.lifts, "capacity_per_min": lifts.capacity_per_min}
        ],
    }
    return [_step("lifts", "Do the lifts keep up when one stops?", "lift-redundancy", inputs)]


def _parts(problem: Problem, extras: Mapping[str, int]) -> Json:
    inputs: Json = {"frame": _FRAME}
    if extras:
        inputs["accessories"] = [
            {"item": item, "count": count} for item, count in sorted(extras.items())
        ]
    if problem.inputs["use_substitutes"]:
        inputs["use_substitutes"] = True
    if "build" in problem.inputs.raw:
        inputs["build"] = problem.inputs.raw["build"]
    return _step("parts", "What does it take, and is it on the shelf?", "part-count", inputs)

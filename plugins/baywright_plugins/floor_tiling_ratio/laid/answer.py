"""Ties a floor over sections together: what each part of the inputs adds to the result."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import CannotCalculate, Finding

from ...kit import Kit
from ..made_of import Pitch
from .answer_edges import corner_records, edge_records, size_records
from .answer_lay import LaidFloor, lay_floor
from .answer_net import Wall, net_record, walls_around
from .answer_slope import Ground, slope_record
from .findings_lay import lay_findings, ratio_findings
from .findings_net import net_findings
from .findings_slope import slope_findings
from .parts import in_kit, laid_lines, lines, net_lines, plain_lines, slope_lines

Value = dict[str, Any]


def add_laid(value: Value, inputs: Mapping[str, Any], pitches: Sequence[Pitch]) -> list[Finding]:
    """Everything that `lay`, `slope_steps` and `netting` ask for, and the parts to count."""
    found: list[Finding] = []
    counted = []
    ball_mm = inputs["ball"]["diameter_mm"] if "ball" in inputs else None
    if "lay" in inputs:
        lay = inputs["lay"]
        floor = lay_floor(inputs, pitches)
        panel = lay.get("panel_item", lay.get("panel", pitches[-1].id))
        record = _laid(floor, lay, panel, ball_mm)
        value["laid"] = record
        found += ratio_findings(record, frozenset(pitch.id for pitch in pitches))
        found += lay_findings(lay, record, panel)
        counted.append(laid_lines(lay, floor, record, panel))
    elif "floor" in value:
        counted.append(plain_lines(value["floor"]))
    if "slope_steps" in inputs:
        given = inputs["slope_steps"]
        value["slope_steps"] = slope_record(given, _ground(value, given))
        found += slope_findings(given, value["slope_steps"], value.get("rolling"))
        counted.append(slope_lines(value["slope_steps"]))
    if "netting" in inputs:
        given = inputs["netting"]
        bay = next(p for p in pitches if p.id == given.get("bay", pitches[0].id))
        value["netting"] = net_record(
            given,
            bay,
            _walls(given, value, bay),
            ball_mm=ball_mm,
            needed_mm=given.get("wall_needed_mm", value.get("drop", {}).get("wall_needed_mm")),
        )
        found += net_findings(given, value["netting"], ball_mm)
        counted.append(net_lines(given, value["netting"]))
    if counted:
        found += _count(value, inputs, counted)
    return found


def _laid(
    floor: LaidFloor, lay: Mapping[str, Any], panel: str, ball_mm: float | None
) -> dict[str, Any]:
    edges = edge_records(floor, lay["edges"], ball_mm)
    sizes = size_records(floor, panel=panel, strip=lay.get("strip_item"))
    off = [way.chosen.sheet.coming_off for way in (floor.along, floor.across)]
    rows = [len(way.chosen.sheet.pieces) for way in (floor.along, floor.across)]
    return {
        "along": floor.along.record,
        "across": floor.across.record,
        "edges": edges,
        "corners": corner_records(floor, edges, ball_mm),
        "sizes": sizes,
        "panels_needed_count": sum(size["count"] for size in sizes if size["item"] == panel),
        "coming_off_count": off[0] * rows[1] + off[1] * rows[0] - off[0] * off[1],
    }


def _ground(value: Value, given: Mapping[str, Any]) -> Ground:
    """Supports as given; else the bearers of the laid floor; else the bays of the floor."""
    along, across, joints, play = None, None, None, 0.0
    if "laid" in value:
        laid = value["laid"]["along"]
        side = value["laid"]["across"]["stretches"]
        along, across = laid["bearers"]["at_mm"], [side[0]["start_mm"], side[-1]["end_mm"]]
        joints = sorted({*laid["pieces"]["start_mm"], *laid["pieces"]["end_mm"]})
        play = laid["joint_play_mm"]
    elif "floor" in value:
        row, side = value["floor"]["along"], value["floor"]["across"]
        along = [k * row["bay_mm"] for k in range(row["bays_count"] + 1)]
        across = [0.0, side["length_mm"]]
        joints, play = row["joints_mm"], row["joint_play_mm"]
    if "supports_mm" in given:
        along = given["supports_mm"].tolist()
    if "lines_mm" in given:
        across = given["lines_mm"].tolist()
    if along is None:
        raise CannotCalculate(
            "/slope_steps/supports_mm", "Say where the supports stand, or give lay or floor."
        )
    if not 2 <= len(along) <= 400:
        reason = f"A slope needs 2 to 400 supports along the floor; there are {len(along)}."
        raise CannotCalculate("/slope_steps/supports_mm", reason)
    if any(b - a < 0.01 for a, b in zip(along, along[1:], strict=False)):
        reason = "Two bearers lie at one place: name the supports."
        raise CannotCalculate("/slope_steps/supports_mm", reason)
    return Ground(along, across or [0.0], joints, play)


def _walls(given: Mapping[str, Any], value: Value, bay: Pitch) -> list[Wall]:
    if "walls" in given:
        return [Wall(w["side"], w.get("section", ""), w["bays_count"]) for w in given["walls"]]
    if "laid" in value:
        return walls_around({w: value["laid"][w]["stretches"] for w in ("along", "across")}, bay)
    if "floor" in value:
        stretches = {
            way: [_one_stretch(value["floor"][way]["length_mm"], value["floor"][way]["bays_count"])]
            for way in ("along", "across")
        }
        return walls_around(stretches, bay)
    raise CannotCalculate("/netting/walls", "Name the walls, or give lay or floor.")


def _one_stretch(length_mm: float, bays: int) -> dict[str, Any]:
    return {"id": "floor", "start_mm": 0.0, "end_mm": length_mm, "bays_count": bays}


def _count(
    value: Value, inputs: Mapping[str, Any], counted: Sequence[Sequence[dict[str, Any]]]
) -> list[Finding]:
    """Parts for part-count; what a given kit does not know is listed apart."""
    known = None
    if "kit" in inputs:
        kit = Kit.from_inputs(inputs["kit"])
        known = frozenset(
            [*(r.id for r in kit.rods), *(h.id for h in kit.hubs), *(i.id for i in kit.items)]
        )
    there, strange = in_kit(lines(*counted), known)
    value["parts_for_count"] = there
    if not strange:
        return []
    value["parts_not_in_kit"] = strange
    names = ", ".join(sorted({line["item"] for line in strange}))
    message = (
        f"The kit has no {names}, so part-count cannot count them: add them to the kit, or name "
        f"the kit's own items here."
    )
    return [Finding("parts-not-in-kit", "watch", message, ("/kit",))]


def assumptions(inputs: Mapping[str, Any]) -> list[str]:
    """What the numbers of this part rest on."""
    said = []
    if "lay" in inputs:
        held = (
            "Panels hold together and span from bearer to bearer along the floor."
            if inputs["lay"]["panels_are"] == "held-together"
            else "Loose panels: every joint along the floor needs a bearer."
        )
        said += [
            f"{held} Bearers run across the floor, as wide as it; sections stand in a row along.",
            "Starts of the panel grid are compared completely: between two that were compared "
            "nothing changes. Cut pieces of one size come side by side from panels.",
        ]
        if "level" not in inputs["lay"]:
            said.append("Every node plane carries a bearer unless it is called bare.")
        if inputs["lay"]["edges"]:
            said.append("At edges: level floor, upright wall, sharp edges; a ball at rest.")
    if "slope_steps" in inputs:
        said.append(
            "Supports do not give; the floor is straight between neighbouring ones; heights are "
            "rounded to whole micrometres."
        )
    if "netting" in inputs:
        said.append(
            "Walls end on posts; spacers stand between net panels, spread evenly. A ball thrown by "
            "hand, or struck sideways by another, may clear the wall."
        )
    return said

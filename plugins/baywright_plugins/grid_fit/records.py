"""Numerics' results as the records of the answer."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..kit import Kit, Rod
from .changes import Change
from .closed_loops import Loop
from .closing_rows import ClosingRow, ClosingRows
from .corners import longest_round_corner
from .envelope import AxisRows, Solution
from .layout_edits import runs_of
from .passages import AXES, Position
from .route import CornerWay, Passage, Stop
from .sections import BayKind, JointFacts, SectionFacts

Record = dict[str, Any]


def row_record(row: ClosingRow, rods: Sequence[Rod], play_um: int) -> Record:
    """One row of rods, the longest rods first."""
    used = [(rod, n) for rod, n in zip(rods, row.counts, strict=True) if n]
    used.sort(key=lambda pair: -pair[0].pitch_um)
    record = {
        "rods": [{"rod": rod.id, "count": n, "pitch_mm": rod.pitch_mm} for rod, n in used],
        "length_mm": row.length_um / 1000,
        "misfit_mm": row.misfit_um / 1000,
        "play_mm": row.rod_count * play_um / 1000,
        "rod_count": row.rod_count,
        "kind_count": row.kind_count,
        "closes": row.closes,
    }
    if row.share is not None:
        record["play_used_ratio"] = row.share
    return record


def rows_record(rows: ClosingRows, rods: Sequence[Rod], play_um: int) -> Record:
    """The best rows, how many there are, and the nearest miss."""
    record: Record = {
        "ways_count": rows.ways_count,
        "closes": bool(rows.rows),
        "rows": [row_record(row, rods, play_um) for row in rows.rows],
    }
    if rows.nearest is not None:
        record["nearest"] = row_record(rows.nearest, rods, play_um)
    return record


def counts_record(counts: Mapping[str, int]) -> list[Record]:
    return [{"rod": rod, "count": n} for rod, n in counts.items()]


def axis_record(axis: AxisRows, rods: Sequence[Rod], play_um: int) -> Record:
    return {
        "axis": axis.axis,
        "wanted_mm": axis.wanted_um / 1000,
        "joints_mm": axis.joints_um / 1000,
        **rows_record(axis.rows, rods, play_um),
    }


def solution_record(
    solution: Solution,
    axes: Sequence[AxisRows],
    rods: Sequence[Rod],
    play_um: int,
    overhangs_mm: Mapping[str, float],
    passes_route: bool,
) -> Record:
    identical = solution.identical_axes
    return {
        "axes": [
            {
                "axis": axis.axis,
                "row": row_record(row, rods, play_um),
                "sections": [runs_of(rods) for rods in solution.sections[k]],
                "identical": identical[k],
            }
            for k, (axis, row) in enumerate(zip(axes, solution.rows, strict=True))
        ],
        "outside_mm": {
            axis.axis: (row.length_um + axis.joints_um) / 1000 + 2 * overhangs_mm[axis.axis]
            for axis, row in zip(axes, solution.rows, strict=True)
        },
        "passes_route": passes_route,
        "unbraceable_pairs_count": solution.unbraceable_pairs_count,
        "in_line_pairs_count": solution.in_line_pairs_count,
        "kind_count": solution.kind_count,
        "bays_count": sum(row.rod_count for row in solution.rows),
        "identical": all(identical),
    }


def bay_record(kind: BayKind, kit: Kit, sway_mm: float) -> Record:
    bracing = kind.bracing
    best = bracing.best
    record: Record = {
        "rods": list(kind.rods),
        "needed_mm": bracing.needed_mm,
        "closes": best is not None,
        "nearest_rod": kit.rods[bracing.single.rod].id,
        "nearest_misfit_mm": bracing.single.misfit_mm,
        "faces_count": kind.faces_count,
        "bare_faces_count": kind.bare_faces_count,
        "sections": list(kind.sections),
    }
    if best is not None:
        record |= {
            "rod": kit.rods[best.rod].id,
            "in_line_count": best.in_line_count,
            "misfit_mm": best.misfit_mm,
            "sway_mm": sway_mm,
        }
        if best.share is not None:
            record["play_used_ratio"] = best.share
    return record


def section_record(facts: SectionFacts) -> Record:
    outside = facts.outside_mm
    record: Record = {
        "id": facts.id,
        "title": facts.title,
        "bays": dict(facts.bays),
        "centreline_mm": dict(facts.centreline_mm),
        "over_hubs_mm": dict(facts.over_hubs_mm),
        "outside_mm": dict(outside),
        "node_planes_mm": {axis: list(planes) for axis, planes in facts.planes_mm.items()},
        "protrusions": [{"side": side, "mm": reach} for side, reach in facts.protruding_mm.items()],
        "floor_length_mm": facts.centreline_mm["x"],
        "floor_width_mm": facts.centreline_mm["y"],
        "tipping_up_mm": (outside["y"] ** 2 + outside["z"] ** 2) ** 0.5,
        "hubs_count": facts.hubs_count,
        "rods": counts_record(facts.rods),
        "bare_side_faces_count": facts.bare_side_faces_count,
        "unbraceable_faces_count": facts.unbraceable_faces_count,
    }
    if facts.twin_of is not None:
        record["twin_of"] = facts.twin_of
    return record


def joint_record(facts: JointFacts) -> Record:
    return {
        "between": list(facts.between),
        "axis": facts.axis,
        "rods_count": facts.rods_count,
        "possible_count": facts.possible_count,
        "matches": facts.matches,
    }


def position_record(position: Position) -> Record:
    return {
        "attitude": position.attitude,
        "travel_axis": position.travel,
        "angle_deg": position.angle_deg,
        "width_mm": position.width_mm,
        "height_mm": position.height_mm,
        "spare_mm": position.spare_mm,
        "tight_side": position.tight,
    }


def stop_record(name: str, passage: Passage, stop: Stop, outside_mm: Mapping[str, float]) -> Record:
    """How a section fares at a passage; `corners` (every way round) is for the caller to take."""
    record: Record = {"section": name, "passage": passage.id, "passes": stop.passes}
    record["outside_mm"] = dict(outside_mm)
    ways = [corner_record(name, passage, way) for way in stop.corners]
    record["corners"] = ways
    passing, corner = stop.passing, stop.corner
    if corner is not None:
        record["corner"] = ways[stop.corners.index(corner)]
    if passing is not None:
        best = passing.best
        record |= {
            "upright": best.passes and best.attitude == "upright" and stop.passes,
            "attitude": best.attitude,
            "travel_axis": best.travel,
            "angle_deg": best.angle_deg,
            "tight_side": best.tight,
            "needed_mm": best.needed_mm,
            "allowed_mm": best.allowed_mm,
            "spare_mm": best.spare_mm,
            "turning_helps": passing.turning_helps,
            "tipping_up_mm": _tipping_up(best.attitude, outside_mm),
        }
        for name, position in (
            ("upright_position", passing.upright),
            ("turned_position", passing.turned),
            ("tilted_position", passing.tilted),
        ):
            if position is not None:
                record[name] = position_record(position)
        if best.tight_axis is not None:
            record["tight_axis"] = best.tight_axis
    if corner is not None and (passing is None or corner.corner.spare_mm < passing.best.spare_mm):
        spare = corner.corner.spare_mm
        record |= {
            "tight_side": "corner",
            "needed_mm": corner.width_mm,
            "allowed_mm": corner.width_mm + spare,
            "spare_mm": spare,
        }
        record.pop("tight_axis", None)
        if passing is None:
            record |= {
                "upright": corner.attitude == "upright" and corner.passes,
                "attitude": corner.attitude,
                "travel_axis": max(
                    (a for a in AXES if a != _UP[corner.attitude]), key=lambda a: outside_mm[a]
                ),
                "angle_deg": 0.0,
                "turning_helps": True,
                "tipping_up_mm": _tipping_up(corner.attitude, outside_mm),
            }
    return record


def corner_record(name: str, passage: Passage, way: CornerWay) -> Record:
    corner = way.corner
    corridors = passage.corner_mm or (0.0, 0.0)
    return {
        "section": name,
        "passage": passage.id,
        "attitude": way.attitude,
        "carried": way.carried,
        "length_mm": way.length_mm,
        "width_mm": way.width_mm,
        "spare_mm": corner.spare_mm,
        "way": corner.way,
        "turning_spare_mm": corner.turning_spare_mm,
        "sliding_spare_mm": corner.sliding_spare_mm,
        "angle_deg": corner.angle_deg,
        "carriers_mm": way.carriers_mm,
        "longest_mm": longest_round_corner(way.width_mm, corridors),
        "passes": way.passes,
    }


def opening_record(passage: Passage, rows: Sequence[Record]) -> Record:
    record: Record = {
        "id": passage.id,
        "title": passage.title,
        "all_pass": all(row["passes"] for row in rows),
    }
    if passage.opening is not None and passage.clear_mm is not None:
        record |= {
            "clear_width_mm": passage.clear_mm[0],
            "clear_height_mm": passage.clear_mm[1],
            "allowed_width_mm": passage.opening.width_mm,
            "allowed_height_mm": passage.opening.height_mm,
            "lifted_mm": passage.lifted_mm,
        }
        if passage.opening.depth_mm is not None:
            record["allowed_depth_mm"] = passage.opening.depth_mm
    if passage.corner_mm is not None:
        record["corner_mm"] = list(passage.corner_mm)
        record["longest_rod_mm"] = longest_round_corner(0.0, passage.corner_mm)
    return record


def change_record(change: Change) -> Record:
    candidate = change.candidate
    bare, loose = change.left_without_diagonal, change.mechanisms
    record: Record = {
        "kind": candidate.kind,
        "message": candidate.message,
        "sections": list(candidate.sections),
        "passages": list(candidate.passages),
        "passes": change.passes,
        "proven": change.proven,
        "clears": [{"section": section, "passage": stop} for section, stop in change.cleared],
        "sticking_count": change.sticking_count,
        "outside_mm": change.outside_mm,
        "spare_mm": change.spare_mm,
        "hubs_saved_count": change.hubs_saved_count,
        "rods_saved": counts_record(change.rods_saved),
        "parts_changed_count": change.parts_changed_count,
        "twins_kept": change.twins_broken_count == 0,
        "twins_broken_count": change.twins_broken_count,
        "coupling_faces_match": change.joints_mismatched_count == 0,
        "coupling_faces_mismatched_count": change.joints_mismatched_count,
        "left_without_diagonal": [
            {"section": name, "faces_count": count}
            | ({"mechanisms_count": loose[name]} if name in loose else {})
            for name, count in bare.items()
        ],
        "leaves_bays_unbraced": bool(bare),
        "asks_the_venue": candidate.asks_the_venue,
        "stale": list(change.stale),
        "notes": list(candidate.notes),
        "patch": dict(candidate.patch),
    }
    if candidate.axis:
        record["axis"] = candidate.axis
    if change.spare_mm < 0:
        record["over_mm"] = -change.spare_mm
    return record


def loop_record(name: str, loop: Loop) -> Record:
    record: Record = {
        "id": name,
        "closes": loop.closes,
        "misclosure_mm": list(loop.misclosure_mm),
        "gap_mm": loop.gap_mm,
    }
    if loop.share is not None:
        record |= {"play_used_ratio": loop.share, "give_mm": list(loop.give_mm)}
    return record


_UP = {"upright": "z", "on-back": "y", "on-end": "x"}


def _tipping_up(attitude: str, outside_mm: Mapping[str, float]) -> float:
    """Ceiling needed to stand a lying section up again: the diagonal of the face it turns in."""
    across = "x" if attitude == "on-end" else "y"
    return float((outside_mm[across] ** 2 + outside_mm["z"] ** 2) ** 0.5)

"""Numerics' results as the records of the answer."""

import math
from collections.abc import Sequence
from typing import Any

from ..grid_fit.corners import longest_round_corner
from ..grid_fit.passages import AXES
from .allowed import room
from .carried import Triple
from .journey import Turning
from .passage import Flight, RouteClearances, RoutePassage
from .published_openings import OPENINGS
from .remedies import Change
from .things import Thing
from .way import Crossing, Way

Record = dict[str, Any]

#: what stands for a size of which nothing is left
_MOST_OVER_MM = 1e7


def way_record(way: Way) -> Record:
    spare = max(way.spare_mm, -_MOST_OVER_MM)
    needed = min(way.needed_mm, _MOST_OVER_MM)
    record: Record = {
        "obstacle": way.obstacle,
        "attitude": way.attitude,
        "how": way.how,
        "carried": way.carried,
        "travel_axis": way.travel,
        "passes": way.passes,
        "spare_mm": spare,
        "governs": way.tight,
        "needed_mm": needed,
        "allowed_mm": needed + spare,
        "angle_deg": way.angle_deg,
        "width_mm": way.width_mm,
        "height_mm": way.height_mm,
        "length_mm": way.length_mm,
        "exactness": way.exactness,
    }
    if way.tight_axis:
        record["tight_axis"] = way.tight_axis
    if way.face_down:
        record["face_down"] = way.face_down
    return record


def row_record(thing: Thing, crossing: Crossing) -> Record:
    """A thing at a passage: the way that decides, and the others."""
    return {
        "section": thing.id,
        "passage": crossing.passage,
        **way_record(crossing.governs),
        "passes": crossing.passes,
        "exactness": crossing.exactness,
        "upright": crossing.passes and all(way.attitude == "upright" for way in crossing.ways),
        "ways": [way_record(way) for way in crossing.ways],
        "others": [way_record(way) for way in crossing.others],
    }


def thing_record(
    thing: Thing, crossings: Sequence[Crossing], turnings: Sequence[Turning]
) -> Record:
    worst = min(crossings, key=lambda c: (c.passes, c.spare_mm))
    carried = thing.carried
    record: Record = {
        "id": thing.id,
        "title": thing.title,
        "kind": thing.kind,
        "outside_mm": _axes(carried.size_mm),
        "keep_upright": carried.keep_upright,
        "passes": all(crossing.passes for crossing in crossings),
        "governing_passage": worst.passage,
        "spare_mm": max(worst.spare_mm, -_MOST_OVER_MM),
        "attitude": worst.attitude,
        "how": worst.how,
        "governs": worst.governs.tight,
        "turnings_count": len(turnings),
    }
    if thing.mass_kg is not None:
        record["mass_kg"] = thing.mass_kg
    if thing.over_hubs_mm is not None:
        record["over_hubs_mm"] = _axes(thing.over_hubs_mm)
    if not carried.is_box:
        record["outline"] = [
            {"low_mm": list(block.low_mm), "high_mm": list(block.high_mm)}
            for block in carried.projections
        ]
    if thing.twin_of != thing.id:
        record["twin_of"] = thing.twin_of
    return record


def governing_record(rows: Sequence[Record]) -> Record:
    row = min(rows, key=lambda row: (row["passes"], row["spare_mm"]))
    names = (
        "section", "passage", "obstacle", "passes", "spare_mm", "attitude", "how", "governs",
        "needed_mm", "allowed_mm", "exactness",
    )  # fmt: skip
    return {name: row[name] for name in names}


def opening_record(
    passage: RoutePassage, clearances: RouteClearances, rows: Sequence[Record]
) -> Record:
    tightest = min(rows, key=lambda row: (row["passes"], row["spare_mm"]))
    record: Record = {
        "id": passage.id,
        "title": passage.title,
        "kind": passage.kind,
        "all_pass": all(row["passes"] for row in rows),
        "tightest": tightest["section"],
        "spare_mm": tightest["spare_mm"],
    }
    doorway, inside = passage.doorway, passage.inside
    if doorway is not None:
        allowed = room(doorway, clearances)
        record |= {
            "clear_width_mm": doorway.width_mm,
            "clear_height_mm": doorway.height_mm,
            "allowed_width_mm": allowed[0],
            "allowed_height_mm": allowed[1],
            "lifted_mm": max(clearances.lifted_mm, doorway.threshold_mm),
            "threshold_mm": doorway.threshold_mm,
            "hardware": [
                {
                    "side": part.side,
                    "projects_mm": part.projects_mm,
                    "from_mm": part.from_mm,
                    "to_mm": part.to_mm,
                }
                for part in doorway.hardware
            ],
        } | _known(
            reveal_mm=doorway.reveal_mm, before_mm=doorway.before_mm, behind_mm=doorway.behind_mm
        )
        if inside is not None:
            record |= _known(
                depth_mm=inside.depth_mm,
                inside_width_mm=inside.width_mm,
                inside_height_mm=inside.height_mm,
            )
    if passage.corridors_mm:
        widths = passage.corridors_mm
        record["corridors_mm"] = list(widths)
        record["legs_mm"] = list(passage.legs_mm)
        record["longest_rod_mm"] = min(
            longest_round_corner(0.0, pair) for pair in zip(widths, widths[1:], strict=False)
        )
    if passage.flight is not None:
        record["flight"] = _flight_record(passage.flight)
    record |= _known(ceiling_mm=passage.ceiling_mm)
    if passage.library:
        record["library"] = passage.library
    return record


def _flight_record(flight: Flight) -> Record:
    return {
        "going_mm": flight.going_mm,
        "rise_mm": flight.rise_mm,
        "width_mm": flight.width_mm,
        "headroom_mm": flight.headroom_mm,
        "slope_deg": math.degrees(flight.slope),
        "perpendicular_headroom_mm": flight.headroom_mm * math.cos(flight.slope),
        "landings": [
            {
                "turn": landing.turn,
                "length_mm": landing.length_mm,
                "width_mm": landing.width_mm,
                "headroom_mm": landing.headroom_mm,
            }
            for landing in flight.landings
        ],
    }


def turning_record(thing: Thing, turning: Turning) -> Record:
    return {
        "section": thing.id,
        "from_attitude": turning.from_attitude,
        "to_attitude": turning.to_attitude,
        "height_needed_mm": turning.height_needed_mm,
    } | _known(
        after=turning.after,
        before=turning.before,
        ceiling_mm=turning.ceiling_mm,
        fits=turning.fits,
    )


def change_record(change: Change) -> Record:
    return {
        "kind": change.kind,
        "message": change.message,
        "clears": [{"section": section, "passage": stop} for section, stop in change.clears],
        "sticking_count": change.sticking_count,
        "asks_the_venue": change.asks_the_venue,
        "patch": dict(change.patch),
    }


def library_records(passages: Sequence[RoutePassage]) -> list[Record]:
    """Each published opening that a passage names, once."""
    found = []
    for name in dict.fromkeys(p.library for p in passages if p.library):
        entry = OPENINGS[name]
        found.append(
            {
                "name": name,
                "title": entry.title,
                "source": entry.source,
                "clause": entry.clause,
                "status": entry.status,
                "note": entry.note,
                "upper_bound": entry.upper_bound,
                "passages": [p.id for p in passages if p.library == name],
            }
        )
    return found


def _known(**values: Any) -> Record:
    return {name: value for name, value in values.items() if value is not None}


def _axes(size: Triple) -> Record:
    return dict(zip(AXES, size, strict=True))

"""What was found, as members of the result."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..frame.grid import AXES
from ..grid_fit.sections import JointFacts, SectionFacts, overall_mm
from ..route_fit.passing import Crossing, RouteClearances, RoutePassage
from ..route_fit.straight import room
from .alternatives import FLUSH, LEAF, Alternative
from .journey import Size
from .remedies import Identity, Remedies
from .state import Fare, State

Record = dict[str, Any]


def state_record(
    state: State, passages: Sequence[RoutePassage], room_kept: RouteClearances
) -> Record:
    """The machine as it is."""
    return {
        "passes": state.passes,
        "sections": [
            section_record(one, fare, bare)
            for one, fare, bare in zip(state.sections, state.fares, state.bare, strict=True)
        ],
        "joints": [_joint(joint) for joint in state.joints],
        "parts": {"hubs_count": state.hubs, "rods": counts(state.rods)},
        "overall_centreline_mm": overall_mm(state.frame),
        "passages": [_passage(stop, room_kept) for stop in passages],
    }


def section_record(one: SectionFacts, fare: Fare, bare: int) -> Record:
    record: Record = {
        "id": one.id,
        "bays": dict(one.bays),
        "outside_mm": dict(one.outside_mm),
        "hubs_count": one.hubs_count,
        "unbraced_faces_count": bare,
        "passes": fare.passes,
        **_crossing(fare.tightest),
        "sticks_at": [c.passage for c in fare.crossings if not c.passes],
    }
    if one.twin_of is not None:
        record["twin_of"] = one.twin_of
    return record


def alternative_record(one: Alternative, *, proven: bool) -> Record:
    record: Record = {
        "kinds": [action.kind for action in one.actions],
        "message": " ".join(action.message for action in one.actions),
        "passes": one.passes,
        "proven": proven,
        "section": one.section,
        "passage": one.crossing.passage,
        "outside_mm": _axes(one.size_mm),
        "spare_mm": one.crossing.spare_mm,
        "sticking_count": one.sticking,
        "asks_the_venue": any(action.kind == LEAF for action in one.actions),
        "stale": list(one.stale),
        "patch": dict(one.patch),
    }
    if one.crossing.spare_mm < 0:
        record["over_mm"] = -one.crossing.spare_mm
    if any(action.kind == FLUSH for action in one.actions):
        record["hubs_exchanged_count"] = one.hubs_exchanged
    return record


def search_record(answer: Remedies) -> Record:
    found = answer.found
    return {
        "options_count": found.options,
        "options_used_count": found.columns,
        "exhausted": found.exhausted,
        "broken_off": found.broken_off,
        "refused_count": found.refused,
        "hopeless_sections": list(answer.hopeless),
        "proven": all(way.proven for way in found.ways) and (bool(found.ways) or found.exhausted),
    }


def identity_record(identity: Identity) -> Record:
    record: Record = {"twins_count": identity.twins, "proven": identity.proven}
    if identity.kept is not None:
        record["kept_parts_changed_count"] = identity.kept
    if identity.free is not None:
        record["free_parts_changed_count"] = identity.free
    if identity.kept is not None and identity.free is not None:
        record["extra_parts_count"] = identity.kept - identity.free
    return record


def counts(rods: Mapping[str, int]) -> list[Record]:
    return [{"rod": rod, "count": count} for rod, count in rods.items()]


def _crossing(crossing: Crossing) -> Record:
    way = crossing.governs
    return {
        "passage": crossing.passage,
        "attitude": way.attitude,
        "how": way.how,
        "obstacle": way.obstacle,
        "tight": way.tight,
        "needed_mm": way.needed_mm,
        "allowed_mm": way.allowed_mm,
        "spare_mm": crossing.spare_mm,
        "width_mm": way.width_mm,
        "height_mm": way.height_mm,
        "length_mm": way.length_mm,
        "angle_deg": way.angle_deg,
    }


def _joint(joint: JointFacts) -> Record:
    return {
        "between": list(joint.between),
        "axis": joint.axis,
        "rods_count": joint.rods_count,
        "matches": joint.matches,
    }


def _passage(stop: RoutePassage, room_kept: RouteClearances) -> Record:
    doorway = stop.doorway
    record: Record = {"id": stop.id, "title": stop.title}
    if doorway is not None:
        width, height = room(doorway, room_kept)
        record |= {
            "clear_width_mm": doorway.width_mm,
            "clear_height_mm": doorway.height_mm,
            "allowed_width_mm": width,
            "allowed_height_mm": height,
            "lifted_mm": max(room_kept.lifted_mm, doorway.threshold_mm),
        }
    return record


def _axes(size_mm: Size) -> Record:
    return dict(zip(AXES, size_mm, strict=True))

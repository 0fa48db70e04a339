"""Where a long section could be cut: every plane of an axis, as if the cut were made."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs

from ..frame import Frame, frame_of, node_masses_kg
from ..frame.grid import AXES
from ..grid_fit.layout_edits import middle_out
from ..grid_fit.sections import rods_along
from ..kit import Kit
from ..truss_check.stability import RankUndecided
from .answer_sections import bays_of, outside_mm, xyz
from .cut_layout import Cut, NoCut, piece_names, pieces_of
from .effort import MOST_CUT_WORK, guessed_mechanisms, work_of
from .made import Load
from .standing_alone import built, mechanisms_alone

Json = dict[str, Any]

#: Planes that are tried at most.
MOST_PLANES = 40


@dataclass(frozen=True)
class Search:
    """A section as on the wire, to be cut across an axis with a coupling rod; `pointer` is where
    that was asked, `share` its part of the work that trying cuts may take."""

    spec: Mapping[str, Any]
    axis: int
    rod: str
    closed: bool
    pointer: str
    share: float = 1.0


@dataclass(frozen=True)
class Piece:
    """One piece: its frame alone, mass and mechanisms."""

    frame: Frame
    mass_kg: float
    mechanisms: int


@dataclass(frozen=True)
class Place:
    after_bay: int
    pieces: tuple[Piece, Piece]
    hubs: int
    rods: Counter[int]
    coupling_rods: int

    @property
    def heaviest_kg(self) -> float:
        return max(piece.mass_kg for piece in self.pieces)

    @property
    def rigid(self) -> bool:
        return not any(piece.mechanisms for piece in self.pieces)

    @property
    def alike(self) -> bool:
        return built(self.pieces[0].frame) == built(self.pieces[1].frame)


def longest_axis(spec: Mapping[str, Any], kit: Kit) -> int:
    """The axis along which a section is longest."""
    pitch = {rod.id: rod.pitch_mm for rod in kit.rods}
    lengths = [sum(pitch[rod] for rod in rods_along(spec, axis)) for axis in AXES]
    return lengths.index(max(lengths))


def cut_places(search: Search, kit: Kit, raw_kit: Any, load: Load, limit_kg: float | None) -> Json:
    """Every plane tried, ranked: rigid pieces first, then light enough; then the lighter heaviest
    piece (in steps of a twentieth of the section) and the shorter longest one (in tenths), the
    other way round among those that are light enough; then twins, then fewest extra hubs.

    Raises CannotCalculate and InvalidInputs.
    """
    count = len(rods_along(search.spec, AXES[search.axis]))
    if count < 2:
        reason = f"{search.spec['id']} has one bay along {AXES[search.axis]}: nothing to cut."
        raise CannotCalculate(search.pointer, reason)
    if search.rod not in kit.rod_index:
        detail = f"The kit has no rod {search.rod}."
        raise InvalidInputs([(f"{search.pointer}/rod", Fault("unknown-reference", detail))])
    whole = _frame([dict(search.spec)], [], kit, raw_kit, load)
    each = work_of(len(whole.nodes_mm), guessed_mechanisms(whole))
    most = max(1, min(MOST_PLANES, int(search.share * MOST_CUT_WORK // each)))
    planes = [k for k in (index + 1 for index in middle_out(count - 1))][:most]
    known: dict[tuple[bytes, ...], int] = {}
    tried, reason = [], ""
    for plane in sorted(planes):
        try:
            tried.append(_place(search, plane, kit, raw_kit, load, known))
        except (NoCut, InvalidInputs, RankUndecided) as no:
            reason = str(no)
    if not tried:
        raise CannotCalculate(search.pointer, f"No plane of it can be cut: {reason}")
    return _value(search, whole, tried, count - 1, kit, limit_kg)


def _place(
    search: Search, plane: int, kit: Kit, raw_kit: Any, load: Load,
    known: dict[tuple[bytes, ...], int],
) -> Place:  # fmt: skip
    name = search.spec["id"]
    cut = Cut(name, search.axis, plane, search.rod, search.closed)
    names = piece_names(name, [name])
    pair = pieces_of(search.spec, cut, names)
    joint = {"between": list(names), "axis": AXES[search.axis], "rod": search.rod}
    frame = _frame(list(pair), [joint], kit, raw_kit, load)
    pieces = []
    for number in (0, 1):
        part = frame.part(number)
        key = built(part)
        if key not in known:
            known[key] = mechanisms_alone(part).mechanisms
        pieces.append(Piece(part, float(node_masses_kg(part, kit).sum()), known[key]))
    coupling = int((frame.section < 0).sum())
    return Place(
        plane, (pieces[0], pieces[1]), len(frame.nodes_mm), Counter(frame.rod.tolist()), coupling
    )


def _frame(
    sections: Sequence[Json], joints: Sequence[Json], kit: Kit, raw_kit: Any, load: Load
) -> Frame:
    layout = {"sections": list(sections), "joints": list(joints)}
    return frame_of(load({"kit": raw_kit, "frame": {"layout": layout}})["frame"], kit)


def _longest_mm(place: Place, axis: int, kit: Kit) -> float:
    """Length of the longer piece along the axis that is cut."""
    return max(float(outside_mm(piece.frame.nodes_mm, kit)[axis]) for piece in place.pieces)


def _value(
    search: Search, whole: Frame, tried: Sequence[Place], planes: int, kit: Kit,
    limit_kg: float | None,
) -> Json:  # fmt: skip
    rods_before = Counter(whole.rod.tolist())
    mass_step = sum(piece.mass_kg for piece in tried[0].pieces) / 20 or 1.0
    length_step = float(outside_mm(whole.nodes_mm, kit)[search.axis]) / 10

    def light(place: Place) -> bool:
        return limit_kg is None or place.heaviest_kg <= limit_kg

    def worth(place: Place) -> tuple[float, ...]:
        mass = round(place.heaviest_kg / mass_step)
        length = round(_longest_mm(place, search.axis, kit) / length_step)
        first = (length, mass) if limit_kg is not None and light(place) else (mass, length)
        return (
            not place.rigid, not light(place), *first, not place.alike, place.hubs,
            round(place.heaviest_kg, 9), place.after_bay,
        )  # fmt: skip

    order = sorted(tried, key=worth)
    rank = {place.after_bay: k + 1 for k, place in enumerate(order)}
    rows = []
    for place in tried:
        extra = {rod: place.rods[rod] - rods_before[rod] for rod in range(len(kit.rods))}
        row: Json = {
            "after_bay": place.after_bay,
            "rank": rank[place.after_bay],
            "pieces": [
                {
                    "bays": bays_of(piece.frame.sections[0].bays or (0, 0, 0)),
                    "outside_mm": xyz(outside_mm(piece.frame.nodes_mm, kit)),
                    "mass_kg": piece.mass_kg,
                    "mechanisms_count": piece.mechanisms,
                }
                for piece in place.pieces
            ],
            "heaviest_kg": place.heaviest_kg,
            "rigid": place.rigid,
            "alike": place.alike,
            "extra_hubs_count": place.hubs - len(whole.nodes_mm),
            "extra_rods": [{"rod": kit.rods[rod].id, "count": n} for rod, n in extra.items() if n],
            "coupling_rods_count": place.coupling_rods,
        }
        if limit_kg is not None:
            row["light_enough"] = light(place)
        rows.append(row)
    return {
        "section": search.spec["id"],
        "axis": AXES[search.axis],
        "rod": search.rod,
        "ends": "closed" if search.closed else "open",
        "tried_count": len(tried),
        "left_out_count": planes - len(tried),
        "best_after_bay": order[0].after_bay,
        "places": rows,
    }

"""A section after its rows have been edited: as it stands on the wire."""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..frame import LayoutFault
from ..frame.grid import AXES
from ..grid_fit.layout_edits import runs_of, without_bay
from ..kit import Kit
from .listed_diagonals import LISTS, Listed, with_listed
from .rows import BAY_OUT, Edits, RowEdit, split_axis

Spec = dict[str, Any]


@dataclass(frozen=True)
class Pieces:
    """What a section becomes: one spec, or two where it is split, and the diagonals given one by
    one that found no place."""

    specs: tuple[Spec, ...]
    dropped_diagonals: int


def pieces_of(
    spec: Mapping[str, Any], edits: Edits, names: Sequence[str], listed: Listed, kit: Kit
) -> Pieces:
    """The section with its rows edited; `names` are the ids of its pieces.

    Diagonals given one by one go along with their faces; those whose face is gone are dropped.
    Where the section is split, equipment goes with its levels, or is shared out by bays.

    Raises LayoutFault where a beam given one by one runs across a bay that is taken out.
    """
    specs = []
    kept = 0
    for part, name in enumerate(names):
        new, found = with_listed(_piece(spec, edits, part), listed.in_piece(edits, part), kit)
        specs.append({**new, "id": name})
        kept += found
    return Pieces(tuple(specs), max(listed.count - kept, 0))


def _piece(spec: Mapping[str, Any], edits: Edits, part: int) -> Spec:
    """A piece without the diagonals given one by one."""
    new = copy.deepcopy({key: value for key, value in spec.items() if key not in LISTS})
    if "beams" in new:
        new["beams"] = _beams(new, edits)
    new["rods"] = {
        axis: runs_of(edit.segment(part)) for axis, edit in zip(AXES, edits, strict=True)
    }
    if "fittings" in new:
        new["fittings"] = _fittings(new["fittings"], edits, part)
    return new


def _beams(spec: Spec, edits: Edits) -> list[dict[str, Any]]:
    """Beams given one by one, moved up where bays are taken out."""
    for axis, edit in zip(AXES, edits, strict=True):
        if edit.kind != BAY_OUT:
            continue
        for at in edit.bays_out():
            edited = without_bay(spec, axis, at)
            if edited is None:
                detail = "A beam runs across the bay to be taken out."
                raise LayoutFault("/layout/sections", "out-of-range", detail)
            spec = edited.spec
    beams: list[dict[str, Any]] = spec["beams"]
    return beams


def _fittings(
    fittings: Sequence[Mapping[str, Any]], edits: Edits, part: int
) -> list[dict[str, Any]]:
    axis = split_axis(edits)
    found = []
    for row in fittings:
        levels = _levels(row["levels"], edits[2], part)
        share = 1.0
        if axis == 2:
            both = sum(len(_levels(row["levels"], edits[2], k)) for k in range(2))
            share = len(levels) / both
        elif axis is not None:
            bays = [len(segment) for segment in edits[axis].segments]
            share = bays[part] / sum(bays)
        if levels:
            found.append({**row, "mass_kg": row["mass_kg"] * share, "levels": levels})
    return found


def _levels(levels: Sequence[float], edit: RowEdit, part: int) -> list[int]:
    """Levels after an edit of the height; counted from the top they stay so while the section is
    whole, and one whose plane is handed over moves to the nearest that is left."""
    planes = len(edit.planes)
    if edit.is_split:
        places = [edit.plane(int(level) % planes, part) for level in levels]
        return sorted({place for place in places if place is not None})
    found: dict[int, None] = {}
    for level in map(int, levels):
        if level < 0:
            found[level] = None
            continue
        place = edit.plane(level % planes, 0)
        if place is None:
            below = edit.plane(0, 0) is None and level < planes // 2
            place = 0 if below else len(edit.segments[0])
        found[place] = None
    return list(found)

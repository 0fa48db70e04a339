"""A section cut in two, as the layout would have it: the plane doubled, a joint between."""

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..frame.grid import AXES, Cells, cells_of, grown
from ..grid_fit.layout_edits import runs_of
from ..grid_fit.sections import rods_along

Spec = dict[str, Any]


@dataclass(frozen=True)
class Cut:
    """Which section is cut after how many bays along an axis (0, 1, 2), by which coupling rod,
    and whether each piece gets beams on its new end."""

    section: str
    axis: int
    after_bay: int
    rod: str
    closed: bool


class NoCut(ValueError):
    """A cut that cannot be made; `field` is what is wrong with it, the reason in words."""

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(reason)
        self.field, self.reason = field, reason


def pieces_of(spec: Mapping[str, Any], cut: Cut, names: tuple[str, str]) -> tuple[Spec, Spec]:
    """The two sections that a cut leaves, as on the wire.

    Rods, beams, diagonals given one by one and equipment go to the piece they lie in; diagonals
    in the plane of the cut go to both, equipment is shared by hubs (that of a level in the plane
    of a level cut stays below). A box frame cut open keeps its beams as they are; cut closed each
    piece has a beam on every edge.

    Raises NoCut: no bay left on one side, or no bay of the frame there.
    """
    axis = AXES[cut.axis]
    bays = [len(rods_along(spec, a)) for a in AXES]
    if not 1 <= cut.after_bay < bays[cut.axis]:
        reason = f"{spec['id']} has {bays[cut.axis]} bays along {axis}: cut it before the last one."
        raise NoCut("after_bay", reason)
    size = (bays[0], bays[1], bays[2])
    whole = cells_of(spec, size, "")
    ranges = ((0, cut.after_bay), (cut.after_bay, bays[cut.axis]))
    shares = _shares(spec, whole, cut)
    made = []
    for (first, last), name, fittings in zip(ranges, names, shares, strict=True):
        piece = {key: copy.deepcopy(value) for key, value in spec.items() if key != "at_mm"}
        piece["id"] = name
        piece["rods"] = {**piece["rods"], axis: runs_of(rods_along(spec, axis)[first:last])}
        beams = spec.get("beams") or (None if cut.closed else _edge_beams(size))
        if beams is not None:
            piece["beams"] = list(_clipped(beams, cut.axis, first, last))
            if not piece["beams"]:
                reason = f"No beam of {spec['id']} lies on one side of the cut."
                raise NoCut("after_bay", reason)
        mine = [last - first if k == cut.axis else count for k, count in enumerate(size)]
        cells = cells_of(piece, (mine[0], mine[1], mine[2]), "")
        for field in ("second_diagonals", "left_out_diagonals"):
            if field in piece:
                moved = [_moved(pair, cut.axis, first) for pair in spec[field]]
                piece[field] = [pair for pair in moved if on_face(cells, pair)]
        if "fittings" in piece:
            piece["fittings"] = fittings
        made.append(piece)
    if "at_mm" in spec:
        made[0]["at_mm"] = list(spec["at_mm"])
    return made[0], made[1]


@dataclass(frozen=True)
class Parted:
    """A layout with one section cut; `source` holds for each of its joints the joint it was, None
    for the one that the cut makes."""

    layout: dict[str, Any]
    source: tuple[int | None, ...]


def cut_layout(
    layout: Mapping[str, Any], cut: Cut, names: tuple[str, str], pitch_mm: float
) -> Parted:
    """The layout with one section cut: its pieces in its place, the joint between them after the
    other joints. Sections placed beyond the cut move away by the coupling rod's pitch.

    A joint of the cut section along the same axis goes to the piece it faces, one along another
    axis to both pieces: to the second one behind all joints, so that it does not decide where that
    piece stands. Raises NoCut as `pieces_of`.
    """
    place = next(k for k, s in enumerate(layout["sections"]) if s["id"] == cut.section)
    spec = layout["sections"][place]
    pair = pieces_of(spec, cut, names)
    others = [copy.deepcopy(dict(s)) for s in layout["sections"]]
    if "at_mm" in spec:
        start = spec["at_mm"][cut.axis]
        for other in others:
            if "at_mm" in other and other["at_mm"][cut.axis] > start:
                other["at_mm"] = [
                    x + pitch_mm * (k == cut.axis) for k, x in enumerate(other["at_mm"])
                ]
    sections = [*others[:place], *pair, *others[place + 1 :]]
    first: list[tuple[dict[str, Any], int | None]] = []
    second: list[tuple[dict[str, Any], int | None]] = []
    for number, joint in enumerate(layout.get("joints", ())):
        renamed = list(_renamed(joint, cut, names))
        first.append((renamed[0], number))
        second += [(other, number) for other in renamed[1:]]
    between = {"between": list(names), "axis": AXES[cut.axis], "rod": cut.rod}
    joints = [*first, (between, None), *second]
    made = {**layout, "sections": sections, "joints": [joint for joint, _ in joints]}
    return Parted(made, tuple(number for _, number in joints))


def piece_names(section: str, taken: Sequence[str]) -> tuple[str, str]:
    """Names for the two pieces of a section that no other section has.

    >>> piece_names("S2", ["S1", "S2"])
    ('S2-a', 'S2-b')
    """
    stem = section[:48]
    for mark in ("", *(str(k) for k in range(2, 1000))):
        names = (f"{stem}-a{mark}", f"{stem}-b{mark}")
        if not set(names) & set(taken):
            return names
    raise NoCut("section", "Too many sections have names like it.")


def on_face(cells: Cells, pair: Sequence[Sequence[int]]) -> bool:
    """Whether two grid places are opposite corners of a face of some bay.

    >>> on_face(np.ones((1, 1, 1), dtype=bool), [[0, 0, 0], [1, 1, 0]])
    True
    """
    a, b = ([int(x) for x in end] for end in pair)
    if min(*a, *b) < 0 or sorted(abs(x - y) for x, y in zip(a, b, strict=True)) != [0, 1, 1]:
        return False
    normal = next(k for k in range(3) if a[k] == b[k])
    low = [min(x, y) for x, y in zip(a, b, strict=True)]
    for step in (0, -1):
        bay = [x + step * (k == normal) for k, x in enumerate(low)]
        inside = all(0 <= x < n for x, n in zip(bay, cells.shape, strict=True))
        if inside and cells[tuple(bay)]:
            return True
    return False


def _renamed(
    joint: Mapping[str, Any], cut: Cut, names: tuple[str, str]
) -> Iterator[dict[str, Any]]:
    first, second = joint["between"]
    if cut.section not in (first, second):
        yield dict(joint)
        return
    along = joint.get("axis", "x") == AXES[cut.axis]
    for name in names:
        if first == cut.section and (not along or name == names[1]):
            yield {**joint, "between": [name, second]}
        if second == cut.section and (not along or name == names[0]):
            yield {**joint, "between": [first, name]}


def _edge_beams(size: tuple[int, int, int]) -> list[dict[str, Any]]:
    """The beams of a box frame, one on every edge, as a list."""
    beams = []
    for k, axis in enumerate(AXES):
        others = [n for n in range(3) if n != k]
        for one in sorted({0, size[others[0]] - 1}):
            for two in sorted({0, size[others[1]] - 1}):
                at = [0, 0, 0]
                at[others[0]], at[others[1]] = one, two
                beams.append({"at": at, "axis": axis, "bays": size[k]})
    return beams


def _clipped(
    beams: Sequence[Mapping[str, Any]], axis: int, first: int, last: int
) -> Iterator[dict[str, Any]]:
    """Beams between bays `first` and `last` of an axis, counted from `first`."""
    for beam in beams:
        start = int(beam["at"][axis])
        along = beam["axis"] == AXES[axis]
        stop = start + (int(beam["bays"]) if along else 1)
        low, high = max(start, first), min(stop, last)
        if low >= high:
            continue
        at = [int(x) for x in beam["at"]]
        at[axis] = low - first
        bays = high - low if along else int(beam["bays"])
        yield {**copy.deepcopy(dict(beam)), "at": at, "bays": bays}


def _moved(pair: Sequence[Sequence[int]], axis: int, first: int) -> list[list[int]]:
    return [[int(x) - first * (k == axis) for k, x in enumerate(place)] for place in pair]


def _shares(
    spec: Mapping[str, Any], cells: Cells, cut: Cut
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The equipment of the two pieces: mass by the hubs of its levels that lie in each."""
    hubs = grown(cells, (0, 1, 2))
    lower: list[dict[str, Any]] = []
    upper: list[dict[str, Any]] = []
    top = hubs.shape[2]
    for fitting in spec.get("fittings", ()):
        levels = sorted({int(level) % top for level in fitting["levels"]})
        mine = [k for k in levels if cut.axis == 2 and k <= cut.after_bay or cut.axis != 2]
        rest = [k for k in levels if cut.axis == 2 and k > cut.after_bay or cut.axis != 2]
        weights = [_hubs_before(hubs, mine, cut), _hubs_behind(hubs, rest, cut)]
        total = sum(weights)
        for piece, some, weight in ((lower, mine, weights[0]), (upper, rest, weights[1])):
            if total and weight:
                shift = cut.after_bay if cut.axis == 2 and piece is upper else 0
                share = fitting["mass_kg"] * weight / total
                piece.append({**fitting, "mass_kg": share, "levels": [k - shift for k in some]})
    return lower, upper


def _hubs_before(hubs: Cells, levels: Sequence[int], cut: Cut) -> float:
    some = np.moveaxis(hubs[:, :, list(levels)], cut.axis, 0)
    if cut.axis == 2:
        return float(some.sum())
    return float(some[: cut.after_bay].sum() + some[cut.after_bay].sum() / 2)


def _hubs_behind(hubs: Cells, levels: Sequence[int], cut: Cut) -> float:
    some = np.moveaxis(hubs[:, :, list(levels)], cut.axis, 0)
    if cut.axis == 2:
        return float(some.sum())
    return float(some[cut.after_bay + 1 :].sum() + some[cut.after_bay].sum() / 2)

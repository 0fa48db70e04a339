"""Shapes of sections: what two sections must share to be built, counted and strong alike."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..fit_remedies.box_parts import BoxCounter, Parts
from ..fit_remedies.listed_diagonals import Listed, listed_of, with_listed
from ..fit_remedies.rows import KEPT, FacePlace, RowEdit
from ..frame.grid import AXES
from ..kit import Kit
from ..truss_check.handling import lying_levels
from .problem import Bracing, Fitting, Pair, Pairs, Problem, Section, Triple

Spec = dict[str, Any]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Shape:
    """Rods (places in the kit) and bays along x, y, z, the way to brace, what it carries, and
    second diagonals given one by one."""

    rods: Triple
    bays: Triple
    bracing: int
    fittings: tuple[Fitting, ...]
    seconds: Pairs


def shape_of(
    problem: Problem, section: Section, rods: Triple, bays: Triple, bracing: int, lifts: int
) -> Shape:
    """The shape of one section; `lifts` are those whose mass it carries."""
    fittings = section.fittings
    known = problem.lifts
    if lifts and known is not None and known.mass_each_kg:
        more = Fitting("lifts", lifts * known.mass_each_kg, known.levels)
        fittings = (*fittings, more)
    seconds = problem.bracings[bracing].seconds.get(section.id, ())
    return Shape(rods, bays, bracing, fittings, seconds)


def bay_count(bays: Triple) -> int:
    """Bays of a box with a beam on every edge: at least two of three indices first or last.

    Source: counted out; the tests hold it against frames that are built.

    >>> bay_count((9, 5, 12)), bay_count((1, 1, 1))
    (88, 1)
    """
    (a, p), (b, q), (c, r) = ((min(n, 2), max(n - 2, 0)) for n in bays)
    return a * b * c + p * b * c + a * q * c + a * b * r


def grip_faces(bays: Triple, where: str) -> tuple[FacePlace, ...]:
    """Faces of the corner columns beside the grips of a lying section, as (normal, station, u, v).

    below-lower: the four faces of each corner column in the bay below the lower grips;
    around-lower: in the bays on either side of them; around-both: of the upper grips too.

    Source: common practice, no source; the grips are those of the strength check.

    >>> len(grip_faces((5, 5, 15), "below-lower"))
    16
    """
    if where == "none":
        return ()
    low, high = lying_levels(bays[2])
    wanted = {"below-lower": 1, "around-lower": 2, "around-both": 4}[where]
    beside = (low - 1, low, high - 1, high)[:wanted]
    levels = sorted({min(max(k, 0), bays[2] - 1) for k in beside})
    found = []
    for normal, along in ((0, 1), (1, 0)):
        for station in sorted({0, 1, bays[normal] - 1, bays[normal]}):
            for u in sorted({0, bays[along] - 1}):
                found += [(normal, station, u, level) for level in levels]
    return tuple(found)


def crosses_a_face(ends: Pair, rods: Triple, bays: Ints, kit: Kit) -> Bools:
    """Whether a diagonal between two grid places crosses a face that a rod of the kit braces.

    Args:
        ends: grid places. rods: places in the kit along x, y, z. bays: of many boxes with a beam
            on every edge, shape (n, 3).

    Returns:
        shape (n,). A face is there where it belongs to a bay of the box.
    """
    steps = [abs(a - b) for a, b in zip(*ends, strict=True)]
    if sorted(steps) != [0, 1, 1]:
        return np.zeros(len(bays), dtype=bool)
    normal = steps.index(0)
    across = [k for k in range(3) if k != normal]
    if kit.rod_spanning(math.hypot(*(kit.rods[rods[k]].pitch_mm for k in across))) is None:
        return np.zeros(len(bays), dtype=bool)
    station, many = ends[0][normal], bays[:, normal]
    inside = station <= many
    outer = np.zeros(len(bays), dtype=np.int64)
    for k in across:
        place = min(ends[0][k], ends[1][k])
        inside &= place < bays[:, k]
        outer += _is_outer(place, bays[:, k])
    below = (station > 0) & (_is_outer(station - 1, many) + outer >= 2)
    above = (station < many) & (_is_outer(station, many) + outer >= 2)
    return np.asarray(inside & (below | above))


def _is_outer(index: int, bays: Ints) -> Ints:
    return np.asarray((index == 0) | (index == bays - 1), dtype=np.int64)


class Drawings:
    """Sections as on the wire, and their parts counted without building them; remembered."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._counter = BoxCounter(problem.kit)
        self._parts: dict[Shape, Parts] = {}
        self._specs: dict[Shape, Spec] = {}

    def spec(self, shape: Shape) -> Spec:
        """The section as on the wire, without a name."""
        if shape not in self._specs:
            problem = self._problem
            self._specs[shape] = _spec(shape, problem.bracings[shape.bracing], problem.kit)
        return self._specs[shape]

    def fault(self, shape: Shape) -> str:
        """Why second diagonals given one by one do not go in; empty where they do."""
        for ends in shape.seconds:
            if not crosses_a_face(ends, shape.rods, np.array([shape.bays]), self._problem.kit)[0]:
                a, b = (list(end) for end in ends)
                return f"the second diagonal {a} to {b} crosses no face there"
        return ""

    def parts(self, shape: Shape) -> Parts:
        """Hubs and rods of a section by itself, without second diagonals that do not go in."""
        if shape not in self._parts:
            problem = self._problem
            names = [problem.kit.rods[k].id for k in shape.rods]
            x, y, z = (_row(name, count) for name, count in zip(names, shape.bays, strict=True))
            bracing = problem.bracings[shape.bracing]
            faces = grip_faces(shape.bays, bracing.at_grips)
            if shape.seconds and not self.fault(shape):
                faces = listed_of(self.spec(shape), problem.kit).second
            listed = Listed(faces)
            self._parts[shape] = self._counter.count((x, y, z), 0, bracing.patterns, listed)
        return self._parts[shape]


@lru_cache(maxsize=4096)
def _row(rod: str, count: int) -> RowEdit:
    return RowEdit(KEPT, ((rod,) * count,), ())


def _bare(shape: Shape, bracing: Bracing, kit: Kit) -> Spec:
    rods = {
        axis: [{"rod": kit.rods[rod].id, "count": count}]
        for axis, rod, count in zip(AXES, shape.rods, shape.bays, strict=True)
    }
    spec: Spec = {"id": "S", "rods": rods, **bracing.faces}
    if shape.fittings:
        spec["fittings"] = [
            {"title": one.title, "mass_kg": one.mass_kg, "levels": list(one.levels)}
            for one in shape.fittings
        ]
    return spec


def _spec(shape: Shape, bracing: Bracing, kit: Kit) -> Spec:
    spec = _bare(shape, bracing, kit)
    given = _lists(shape.seconds)
    if bracing.at_grips != "none":
        faces = grip_faces(shape.bays, bracing.at_grips)
        spec, _ = with_listed(spec, Listed(faces), kit)
        there = {frozenset(map(tuple, pair)) for pair in given}
        by_rule = spec.get("second_diagonals", [])
        given += [pair for pair in by_rule if frozenset(map(tuple, pair)) not in there]
    if given:
        spec["second_diagonals"] = given
    return spec


def _lists(pairs: Pairs) -> list[list[list[int]]]:
    return [[list(a), list(b)] for a, b in pairs]


def coupling_rods(first: Triple, second: Triple) -> int:
    """Rods that couple two sections in a row along x: the two outermost rows and columns of hubs
    that face each other. The sections stand on one floor and have the same depth.

    Source: counted out; the tests hold it against frames that are built.

    >>> coupling_rods((5, 5, 15), (9, 5, 12))
    16
    """
    return min(first[1] + 1, 4) * min(first[2] + 1, second[2] + 1, 4)


def sum_of(shapes: Sequence[Shape], drawings: Drawings) -> tuple[int, Counter[int]]:
    """Hubs, and rods by place in the kit, of several sections."""
    hubs = 0
    rods: Counter[int] = Counter()
    for shape in shapes:
        parts = drawings.parts(shape)
        hubs += parts.hubs
        rods.update({k: n for k, n in enumerate(parts.rods) if n})
    return hubs, rods


def titled(spec: Mapping[str, Any], section: Section) -> Spec:
    """The section with its own name."""
    title = {"title": section.title} if section.title else {}
    return {**spec, "id": section.id, **title}

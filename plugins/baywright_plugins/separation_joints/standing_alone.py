"""Each section by itself: is it rigid, does it stand, how does it fold, and what stops it."""

from dataclasses import dataclass, replace

import numpy as np

from ..frame import Frame, node_masses_kg
from ..frame.model import Ints
from ..kit import Kit
from ..truss_check.handling import feet
from ..truss_check.mend import Culprit, culprits
from ..truss_check.stability import Stability, internal_stability
from .effort import MOST_WORK, guessed_mechanisms, work_of
from .folding import folding_words
from .relative_motion import MOST_MOTIONS, Body, body, standing_mechanisms
from .squareness import Plane, Stations, braced_stations, outer_planes

#: Above so much work (multiplications) no search for missing diagonals is made.
MOST_SEARCH_WORK = 1e9
#: Ways of folding that are put in words.
MOST_FOLDS = 20
#: Above so many numbers in its matrix neither.
MOST_NUMBERS = 2e7


@dataclass(frozen=True)
class Alone:
    """A section by itself: its number, its frame alone and its nodes' numbers in the whole;
    `like` is the number of the first section built alike; `folds` are words, one for each of
    the first MOST_FOLDS `culprits`; `searched` is False where no search for missing diagonals was
    made."""

    number: int
    part: Frame
    nodes: Ints
    like: int
    held: Stability
    seen: Body
    standing_mechanisms: int | None
    culprits: tuple[Culprit, ...]
    folds: tuple[str, ...]
    searched: bool
    planes: tuple[Plane, ...]
    stations: tuple[Stations, ...]
    mass_kg: float
    bare_faces: int
    no_rod_faces: int

    @property
    def rigid(self) -> bool:
        return self.held.mechanisms == 0


class Undecided(ArithmeticError):
    """Whether a section is rigid cannot be told; `section` is its number."""

    def __init__(self, section: int, reason: str) -> None:
        super().__init__(reason)
        self.section, self.reason = section, reason


def stand_alone(frame: Frame, kit: Kit) -> list[Alone]:
    """Every section of a frame by itself. Sections built alike are worked out once.

    Raises Undecided.
    """
    known: dict[tuple[bytes, ...], Alone] = {}
    found = []
    work = 0.0
    for number in range(len(frame.sections)):
        nodes = np.flatnonzero(frame.node_section == number)
        part = frame.part(number)
        key = built(part)
        mass = float(node_masses_kg(part, kit).sum())
        if key not in known:
            ways = guessed_mechanisms(part)
            work += work_of(len(nodes), ways)
            if work > MOST_WORK:
                reason = f"it can fold in {ways} ways or more, too many to tell apart"
                raise Undecided(number, reason)
            known[key] = _alone(number, part, nodes, kit)
        first = known[key]
        seen = Body(part.nodes_mm, first.seen.motions)
        found.append(replace(first, number=number, part=part, nodes=nodes, seen=seen, mass_kg=mass))
    return found


def built(part: Frame) -> tuple[bytes, ...]:
    """Equal for sections that are built alike, wherever they stand and whatever they carry."""
    low = part.nodes_mm.min(axis=0) if len(part.nodes_mm) else 0.0
    away = np.round(part.nodes_mm - low, 6) + 0.0
    columns = (away, part.lattice, part.start, part.end, part.rod, part.role)
    return tuple(column.tobytes() for column in columns)


def mechanisms_alone(part: Frame) -> Stability:
    """The mechanisms of a section by itself. Raises RankUndecided."""
    return internal_stability(part.nodes_mm, part.start, part.end)


def feet_of(part: Frame) -> list[int]:
    """The hubs it stands on: the four bottom corners of its grid, else its lowest hubs."""
    corners = feet(part) if part.has_grid else None
    if corners is not None:
        return corners
    heights = part.nodes_mm[:, 2]
    return np.flatnonzero(heights <= heights.min() + 1.0).tolist()


def _alone(number: int, part: Frame, nodes: Ints, kit: Kit) -> Alone:
    try:
        held = mechanisms_alone(part)
        seen = body(part.nodes_mm, held.modes)
        standing = None
        if seen.freedoms <= MOST_MOTIONS:
            standing = standing_mechanisms([seen], [], [feet_of(part)])
        planes = tuple(outer_planes(part)) if part.has_grid else ()
    except ArithmeticError as reason:
        raise Undecided(number, str(reason)) from reason
    numbers = float(part.nodes_mm.size) * 2 * len(part.faces)
    work = numbers * held.mechanisms**2
    searched = part.has_grid and numbers <= MOST_NUMBERS and work <= MOST_SEARCH_WORK
    found: list[Culprit] = []
    if held.mechanisms and searched:
        found = culprits(part, held.modes, kit)
    folds = [folding_words(part.nodes_mm, one.movement) for one in found[:MOST_FOLDS]]
    if held.mechanisms and not folds:
        folds = [folding_words(part.nodes_mm, held.modes[0])]
    return Alone(
        number=number,
        part=part,
        nodes=nodes,
        like=number,
        held=held,
        seen=seen,
        standing_mechanisms=standing,
        culprits=tuple(found),
        folds=tuple(folds),
        searched=searched,
        planes=planes,
        stations=tuple(braced_stations(part)) if part.has_grid else (),
        mass_kg=0.0,
        bare_faces=sum(f.kind == "side" and f.diagonals == 0 for f in part.faces),
        no_rod_faces=_no_rod_faces(part, kit),
    )


def _no_rod_faces(part: Frame, kit: Kit) -> int:
    if not part.faces:
        return 0
    corners = np.array([face.corners for face in part.faces])
    away = part.nodes_mm[corners[:, 3]] - part.nodes_mm[corners[:, 0]]
    lengths, count = np.unique(np.round(np.linalg.norm(away, axis=1), 6), return_counts=True)
    spans = [kit.rod_spanning(float(length)) is not None for length in lengths]
    return int(count[~np.array(spans)].sum())

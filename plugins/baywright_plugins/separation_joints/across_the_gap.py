"""Rods across the gap of a joint: where they brace it, and with which coupling rod they close."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..frame import Frame
from ..frame.model import Floats
from ..kit import Kit
from .couplings import Coupling, Pair
from .relative_motion import bar_screws, relative_moves

#: A seat takes rods within this of its own direction: the sine of one degree.
SEAT_SLACK = math.sin(math.radians(1.0))

_AXIS_WORDS = ("lengthwise", "front to back", "up and down")


@dataclass(frozen=True)
class GapDiagonal:
    """A coupling rod and a rod across the gap that closes with it, by their places in the kit."""

    coupling: int
    diagonal: int
    grid_mm: float
    needed_mm: float
    misfit_mm: float


def moves_left(frame: Frame, joint: Coupling, bars: Sequence[Pair]) -> Floats:
    """Motions of the two sections, each rigid, that these bars leave, shape (6, m); rows as in
    `relative_motion.bar_screws`. Raises RankUndecided."""
    return relative_moves(_screws(frame, joint, bars)) if bars else np.eye(6)


def _screws(frame: Frame, joint: Coupling, bars: Sequence[Pair]) -> Floats:
    """Bars of a joint as `bar_screws`, about the middle of the coupling rods, with their reach."""
    centre = joint_centre_mm(frame, joint)
    places = frame.nodes_mm[np.array(joint.coupled)].reshape(-1, 3) - centre
    a, b = (frame.nodes_mm[[pair[k] for pair in bars]] for k in (0, 1))
    away = b - a
    unit = away / np.linalg.norm(away, axis=1)[:, None]
    return bar_screws((a + b) / 2 - centre, unit, float(np.abs(places).max()))


def joint_centre_mm(frame: Frame, joint: Coupling) -> Floats:
    """The middle of the coupling rods."""
    nodes = np.array(joint.coupled)
    places: Floats = frame.nodes_mm[nodes]
    return np.asarray((places.min(axis=(0, 1)) + places.max(axis=(0, 1))) / 2)


def move_words(moves: Floats) -> list[str]:
    """The motions left at a joint, in words: those along or about one axis by name, others by
    their number."""
    if not moves.shape[1]:
        return []
    held = moves @ moves.T
    words = []
    for axis, how in enumerate(_AXIS_WORDS):
        if held[axis, axis] > 1 - 1e-6:
            words.append(f"slide {how}")
    for axis in range(3):
        if held[3 + axis, 3 + axis] > 1 - 1e-6:
            words.append(f"turn about {'xyz'[axis]}")
    more = moves.shape[1] - len(words)
    if more > 0:
        words.append(f"{more} more way{'s' if more > 1 else ''} of sliding and turning at once")
    return words


def bracing_pairs(frame: Frame, joint: Coupling, there: Sequence[Pair]) -> list[Pair]:
    """Rods across the gap that take away what the bars `there` leave, one after the other.

    Each joins a coupled hub of the first section to the partner of its neighbour in the row or
    column; the one that the motions left stretch most comes first, among equals the lowest.
    Empty where no such rods are enough.

    Source: greedy choice, common practice, no source; what it leaves is for the rank to say.
    """
    options = _crossing_pairs(frame, joint)
    if not options:
        return []
    screws = _screws(frame, joint, options)
    left = moves_left(frame, joint, there)
    chosen: list[Pair] = []
    while left.shape[1]:
        size = np.round(((screws @ left) ** 2).sum(axis=1), 9)
        best = int(size.argmax())
        if size[best] < 1e-6 or options[best] in chosen:
            return []
        chosen.append(options[best])
        left = moves_left(frame, joint, [*there, *chosen])
    return chosen


def _crossing_pairs(frame: Frame, joint: Coupling) -> list[Pair]:
    """Hub of the first section and partner of its next neighbour along each axis of the gap."""
    places = np.rint(frame.nodes_mm[[a for a, _ in joint.coupled]] * 1000).astype(np.int64)
    found: list[Pair] = []
    for along, other in (joint.across, joint.across[::-1]):
        order = np.lexsort((places[:, along], places[:, other]))
        for one, two in zip(order[:-1].tolist(), order[1:].tolist(), strict=True):
            if places[one, other] == places[two, other] and _near(frame, joint, one, two, along):
                found.append((joint.coupled[one][0], joint.coupled[two][1]))
                found.append((joint.coupled[two][0], joint.coupled[one][1]))
    return found


def _near(frame: Frame, joint: Coupling, one: int, two: int, along: int) -> bool:
    """Whether two coupled hubs are neighbours on the grid, or as near as grid hubs are."""
    a, b = joint.coupled[one][0], joint.coupled[two][0]
    if frame.has_grid:
        return bool(abs(frame.lattice[a, along] - frame.lattice[b, along]) == 1)
    apart = abs(float(frame.nodes_mm[a, along] - frame.nodes_mm[b, along]))
    return apart <= 4 * abs(joint.gap_mm) + 1.0


def bar_length_mm(frame: Frame, pair: Pair) -> float:
    return float(np.linalg.norm(frame.nodes_mm[pair[0]] - frame.nodes_mm[pair[1]]))


def seat_in(kit: Kit, direction: Floats) -> bool:
    """Whether the frame hub has a seat in a direction, turned any way about the grid's axes.

    The hub's ports are compared as they are given and with their axes exchanged.
    """
    size = np.sort(np.abs(direction / np.linalg.norm(direction)))
    for port in kit.frame_hub.ports:
        length = math.sqrt(sum(x * x for x in port))
        if length and np.abs(size - np.sort(np.abs(port)) / length).max() <= SEAT_SLACK:
            return True
    return False


def closes_across(frame: Frame, kit: Kit, pair: Pair) -> bool:
    """Whether the kit has a rod for a pair of hubs across the gap, and the hub a seat for it."""
    away = frame.nodes_mm[pair[1]] - frame.nodes_mm[pair[0]]
    return kit.rod_spanning(float(np.linalg.norm(away))) is not None and seat_in(kit, away)


def closing_options(kit: Kit, grid_mm: Sequence[float]) -> list[GapDiagonal]:
    """Coupling rods with which a rod across the gap closes, for hubs so far apart along the gap.

        needed = sqrt(c^2 + p^2), within the play of two seats, in the direction of a seat

    Source: Pythagoras; the closing rule is common practice, no source.
    """
    found = []
    for place, rod in enumerate(kit.rods):
        for apart in grid_mm:
            needed = math.hypot(rod.pitch_mm, apart)
            diagonal = kit.rod_spanning(needed)
            if diagonal is not None and seat_in(kit, np.array([rod.pitch_mm, apart, 0.0])):
                misfit = kit.rods[diagonal].pitch_mm - needed
                found.append(GapDiagonal(place, diagonal, apart, needed, misfit))
    return found

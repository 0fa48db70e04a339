"""What is worked out of one joint: play and tilt, the motions left, what would brace it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..frame import Frame
from ..frame.model import Floats
from ..kit import Kit
from .across_the_gap import (
    GapDiagonal,
    bar_length_mm,
    bracing_pairs,
    closes_across,
    closing_options,
    move_words,
    moves_left,
)
from .couplings import Coupling, Pair
from .play import gap_change_mm, rod_play_mm, sideways_mm, tilt_rad


@dataclass(frozen=True)
class Tilt:
    """Turning of the sections against each other about the axis across `across`, each way."""

    across: int
    rods_apart_mm: float
    tilt_rad: float
    opens_at_edge_mm: float
    drifts_at_end_mm: float


@dataclass(frozen=True)
class JointFacts:
    """Of one joint; `fastened` are pairs of hubs that fastened pieces hold like rods; `needed`
    are rods across the gap that would take away the motions left, `braced` the ways left then."""

    joint: Coupling
    play_mm: float
    clear_gap_mm: float
    misfit_mm: float
    sideways_mm: float
    tilts: tuple[Tilt, ...]
    fastened: tuple[Pair, ...]
    moves: tuple[str, ...]
    mechanisms: int
    rods_only_mechanisms: int
    needed: tuple[Pair, ...]
    braced_mechanisms: int
    diagonal_needed_mm: float | None
    diagonal_closes: bool
    options: tuple[GapDiagonal, ...]

    @property
    def bars(self) -> tuple[Pair, ...]:
        """All pairs of hubs held at their distance across the gap."""
        return (*self.joint.coupled, *self.joint.diagonals, *self.fastened)


def facts_of(frame: Frame, kit: Kit, joint: Coupling, fastened: Sequence[Pair] = ()) -> JointFacts:
    """What one joint of a frame does. Raises RankUndecided.

    Leaves out: how stiffly seats turn and give; hubs count as ball joints, the sections as rigid.
    """
    play = rod_play_mm(kit.frame_hub.seat.play_mm)
    bars = [*joint.coupled, *joint.diagonals, *fastened]
    moves = moves_left(frame, joint, bars)
    rods_only = moves_left(frame, joint, joint.coupled)
    needed = bracing_pairs(frame, joint, bars) if moves.shape[1] else []
    braced = moves_left(frame, joint, [*bars, *needed]).shape[1]
    shortest = min(needed, key=lambda pair: bar_length_mm(frame, pair), default=None)
    steps = sorted({_step_mm(frame, joint, pair) for pair in needed})
    return JointFacts(
        joint=joint,
        play_mm=play,
        clear_gap_mm=joint.gap_mm - 2 * kit.frame_hub.overhang_mm,
        misfit_mm=worst_misfit_mm(frame, kit, joint),
        sideways_mm=sideways_mm(joint.gap_mm, play),
        tilts=tuple(_tilts(frame, joint, play)),
        fastened=tuple(fastened),
        moves=tuple(move_words(moves)),
        mechanisms=moves.shape[1],
        rods_only_mechanisms=rods_only.shape[1],
        needed=tuple(needed),
        braced_mechanisms=braced,
        diagonal_needed_mm=None if shortest is None else bar_length_mm(frame, shortest),
        diagonal_closes=bool(needed) and all(closes_across(frame, kit, pair) for pair in needed),
        options=tuple(closing_options(kit, steps)),
    )


def worst_misfit_mm(frame: Frame, kit: Kit, joint: Coupling) -> float:
    """Distance of hubs less the pitch of their coupling rod, the worst of the joint."""
    misfits = [
        bar_length_mm(frame, pair) - kit.rods[rod].pitch_mm
        for pair, rod in zip(joint.coupled, joint.rods, strict=True)
    ]
    return max(misfits, key=abs)


def span_mm(frame: Frame, joint: Coupling, axis: int) -> tuple[float, float]:
    """Lowest and highest place of the coupling rods along an axis of the gap."""
    places = frame.nodes_mm[[a for a, _ in joint.coupled], axis]
    return float(places.min()), float(places.max())


def change_at(frame: Frame, joint: Coupling, play_mm: float, z_mm: float | None) -> float | None:
    """What play opens or closes the gap at a height, each way; None where the rods' tilt has no
    limit there because they lie in one row."""
    if z_mm is None or joint.axis == 2:
        return play_mm
    low, high = span_mm(frame, joint, 2)
    beyond = max(0.0, low - z_mm, z_mm - high)
    if beyond <= 0.0:
        return play_mm
    return gap_change_mm(play_mm, high - low, beyond) if high - low >= 1.0 else None


def fastened_pairs(
    frame: Frame, joint: Coupling, *, upright: bool, count: int, z_mm: float | None
) -> list[Pair]:
    """Pairs of hubs that a plate fastened to both sections holds: the crossing corners of the row
    of coupled hubs it lies at. Flat: one row, nearest the height given, else the lowest. Upright:
    the first column, with two pieces the last one too.

    Empty where the row has one hub only.
    Source: a plate that keeps its shape holds both diagonals of its corners; derived here.
    """
    along, other = joint.across[::-1] if upright else joint.across
    nodes = np.array([a for a, _ in joint.coupled])
    places = frame.nodes_mm[nodes]
    rows = np.unique(places[:, other].round(3))
    if upright:
        chosen = [rows[0], rows[-1]] if count > 1 and len(rows) > 1 else [rows[0]]
    elif z_mm is None or other != 2:
        chosen = [rows[0]]
    else:
        chosen = [rows[int(np.abs(rows - z_mm).argmin())]]
    pairs: list[Pair] = []
    for row in chosen:
        mine = np.flatnonzero(np.abs(places[:, other] - row) < 0.01)
        order = mine[np.argsort(places[mine, along], kind="stable")]
        one, two = joint.coupled[int(order[0])], joint.coupled[int(order[-1])]
        if one != two:
            pairs += [(one[0], two[1]), (two[0], one[1])]
    return pairs


def _tilts(frame: Frame, joint: Coupling, play_mm: float) -> list[Tilt]:
    found = []
    mine = [frame.nodes_mm[frame.node_section == s] for s in (joint.first, joint.second)]
    length = max(float(np.ptp(nodes[:, joint.axis])) for nodes in mine)
    for across in joint.across:
        low, high = span_mm(frame, joint, across)
        if high - low < 1.0:
            continue
        edge = _edge_mm(mine, across, (low + high) / 2)
        angle = tilt_rad(play_mm, high - low)
        slope = 2 * play_mm / (high - low)
        found.append(Tilt(across, high - low, angle, edge * slope, length * slope))
    return found


def _edge_mm(sections: Sequence[Floats], axis: int, middle: float) -> float:
    """The farthest hub of the two sections from the middle of the rods."""
    return max(float(np.abs(nodes[:, axis] - middle).max()) for nodes in sections)


def _step_mm(frame: Frame, joint: Coupling, pair: Pair) -> float:
    """How far apart the two hubs of a rod across the gap are along the gap."""
    away = frame.nodes_mm[pair[1]] - frame.nodes_mm[pair[0]]
    along = [float(away[k]) for k in joint.across]
    return round(float(np.hypot(along[0], along[1])), 3)

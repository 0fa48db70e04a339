"""Two-part hubs: which can slide apart, and which the diagonals of the faces lock.

A two-part hub is two halves that share a sliding axis. One half stands: it carries the rods
along the axis and those of one plane that holds the axis, and so it sits where the frame puts
it. The other half moves: it carries the rods of the other such plane, and comes off along the
axis, one way only. Rods across the axis do not feel that, diagonals do.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import csr_array, eye_array, hstack

from ..kit import Hub
from .model import ROLES, Floats, Frame, Ints

Bools = NDArray[np.bool_]

#: Rules for the ways in which hubs come open.
OPEN_RULES = ("alternate", "same-way")
#: Which plane the moving halves lie in: the first or the second of the two that hold the axis.
MOVING = ("first", "second")

_DIAGONALS = tuple(k for k, role in enumerate(ROLES) if role.endswith("diagonal"))


class NoSuchSlide(ValueError):
    """Hubs that cannot be two-part, or a way that is none; `node` is the first of them."""

    def __init__(self, node: int, reason: str) -> None:
        super().__init__(reason)
        self.node, self.reason = node, reason


class SlideUndecided(ArithmeticError):
    """The linear programme left a hub between locked and loose."""


@dataclass(frozen=True)
class TwoPartHubs:
    """How the hubs of a frame of n nodes come apart.

    axis (n,): 0, 1, 2 for x, y, z, and -1 where the hub is in one piece; way (n,): +1 or -1, the
    way along the axis in which the moving half comes off, 0 for one piece; moving (n,): normal
    of the plane whose rods sit on the moving half, -1 for one piece.
    """

    axis: Ints
    way: Ints
    moving: Ints

    @property
    def two_part(self) -> Bools:
        """Which hubs are in two parts, shape (n,)."""
        return np.asarray(self.axis >= 0)

    @property
    def exit_direction(self) -> Floats:
        """a_h of each hub, shape (n, 3); zero for hubs in one piece."""
        direction = np.zeros((len(self.axis), 3))
        which = np.flatnonzero(self.two_part)
        direction[which, self.axis[which]] = self.way[which]
        return direction


@dataclass(frozen=True)
class Slides:
    """held (n,): hubs in one piece, and hubs whose halves the diagonals lock. slide (n,): one
    motion that opens every loose hub at once, largest 1, zero where held."""

    held: Bools
    slide: Floats


def largest_slides(
    exit_direction: Floats,
    start: Ints,
    end: Ints,
    unit: Floats,
    start_moves: Bools | None = None,
    end_moves: Bools | None = None,
) -> Slides:
    """Which of n half-hubs can slide, given the d diagonals between them.

        s_h >= 0,   u . (a_i s_i - a_j s_j) = 0 for each diagonal;   h is locked: max s_h = 0

    One linear programme settles all hubs: slides that obey these lines form a cone. Add, for
    each hub that can open, one motion that opens it: the sum obeys the lines too, opens all of
    them at once, and can be scaled until each opens by 1 or more. So

        maximise sum t_h,   t_h <= s_h,   0 <= t_h <= 1

    has t_h = 1 for every loose hub and 0 for every locked one, and nothing in between.

    Args:
        exit_direction: a_h, (n, 3), unit vectors; zero for a hub that has no slide.
        start, end: nodes of each diagonal, (d,).
        unit: u of each diagonal from start to end, (d, 3).
        start_moves, end_moves: whether that end sits on the moving half, (d,); all do where left
            out. An end on a half that stands, or on a hub in one piece, counts as s = 0: a
            diagonal from there locks the other end outright.

    Raises SlideUndecided where the programme fails or leaves a hub between 0 and 1.

    Leaves out: friction, play, stretch of the diagonals, and any movement of the frame itself.
    Source: first-order kinematics of rigid rods; derived here, solved with HiGHS.

    >>> right, left = [1.0, 0.0, 0.0], [-1.0, 0.0, 0.0]
    >>> u = np.array([[0.7071, 0.0, 0.7071]])
    >>> largest_slides(np.array([right, left]), np.array([0]), np.array([1]), u).held.tolist()
    [True, True]
    >>> largest_slides(np.array([right, right]), np.array([0]), np.array([1]), u).held.tolist()
    [False, False]
    """
    can = np.abs(exit_direction).max(axis=1, initial=0.0) > 0
    hubs = np.flatnonzero(can)
    column = np.full(len(can), -1, dtype=np.int64)
    column[hubs] = np.arange(len(hubs))
    count = len(hubs)
    slide = np.zeros(len(can))
    if count == 0:
        return Slides(~can, slide)
    rows, places, values = [], [], []
    for node, sign, moves in ((start, 1.0, start_moves), (end, -1.0, end_moves)):
        value = sign * np.einsum("ij,ij->i", unit, exit_direction[node])
        used = can[node] & (np.abs(value) > 1e-9)
        if moves is not None:
            used &= moves
        rows.append(np.flatnonzero(used))
        places.append(column[node[used]])
        values.append(value[used])
    row, value = np.concatenate(rows), np.concatenate(values)
    size = np.zeros(len(start))
    np.maximum.at(size, row, np.abs(value))
    ties = csr_array((value / size[row], (row, np.concatenate(places))), shape=(len(start), count))
    same: Any = eye_array(count)
    nothing = csr_array((len(start), count))
    solve: Any = linprog
    answer = solve(
        np.concatenate([np.zeros(count), -np.ones(count)]),
        A_ub=hstack([-same, same], format="csr"),
        b_ub=np.zeros(count),
        A_eq=hstack([ties, nothing], format="csr") if len(start) else None,
        b_eq=np.zeros(len(start)) if len(start) else None,
        bounds=[(0, None)] * count + [(0, 1)] * count,
        method="highs",
    )
    if answer.status != 0:
        raise SlideUndecided(str(answer.message))
    opened = answer.x[count:]
    if (np.minimum(opened, 1 - opened) > 1e-6).any():
        raise SlideUndecided("a hub is neither locked nor loose")
    loose = opened > 0.5
    motion = np.where(loose, answer.x[:count], 0.0)
    slide[hubs] = motion / max(float(motion.max()), 1.0)
    held = ~can
    held[hubs] = ~loose
    return Slides(held, slide)


def sliding_axes(frame: Frame, *, prefer: tuple[int, int, int] = (0, 1, 2)) -> Ints:
    """A sliding axis for each hub, shape (n,), -1 where no two-part hub can stand.

    A two-part hub has seats in the two planes that hold its axis, so that no diagonal may lie
    across the axis. Of the axes left the first in `prefer` is taken; hubs with diagonals in all
    three planes are left none.

    Raises NoSuchSlide where the frame has no grid.
    """
    _needs_grid(frame)
    crossed = np.zeros((len(frame.nodes_mm), 3), dtype=bool)
    which = diagonals(frame)
    normal = normals(frame, which)
    crossed[frame.start[which], normal] = True
    crossed[frame.end[which], normal] = True
    axis = np.full(len(crossed), -1, dtype=np.int64)
    for wanted in reversed(prefer):
        axis[~crossed[:, wanted]] = wanted
    return axis


def diagonals(frame: Frame) -> Ints:
    """Places of the diagonals of faces among the members."""
    return np.flatnonzero(np.isin(frame.role, _DIAGONALS))


def normals(frame: Frame, members: Ints) -> Ints:
    """Normal of the grid plane that each of some diagonals lies in: 0, 1, 2 for x, y, z."""
    step = frame.lattice[frame.end[members]] - frame.lattice[frame.start[members]]
    return np.asarray((step == 0).argmax(axis=1), dtype=np.int64)


def open_ways(
    frame: Frame, axis: Ints, rule: str, explicit: Mapping[int, int] | None = None
) -> Ints:
    """The way in which each hub comes open, shape (n,): +1, -1, and 0 for hubs in one piece.

    alternate: hubs in a row along their own axis open one way, the next rows beside it the
    other way. same-way: all open toward +.

    Args:
        axis: sliding axes, (n,), -1 for one piece.
        explicit: node -> +1 or -1, goes before the rule.

    Raises NoSuchSlide: no grid, a way that is not +1 or -1, a way for a hub in one piece.
    Source: common practice, no source.
    """
    _needs_grid(frame)
    if rule not in OPEN_RULES:
        raise NoSuchSlide(-1, f"There is no rule {rule}; there are {', '.join(OPEN_RULES)}.")
    way = np.ones(len(axis), dtype=np.int64)
    if rule == "alternate":
        beside = frame.lattice.sum(axis=1) - frame.lattice[np.arange(len(axis)), axis]
        way = 1 - 2 * (beside % 2)
    way[axis < 0] = 0
    for node, given in (explicit or {}).items():
        if given not in (-1, 1):
            raise NoSuchSlide(node, "A hub opens toward + or -: give 1 or -1.")
        if axis[node] < 0:
            raise NoSuchSlide(node, "This hub is in one piece: it does not open.")
        way[node] = given
    return np.asarray(way, dtype=np.int64)


def two_part_hubs(
    frame: Frame,
    axis: Ints,
    *,
    rule: str = "alternate",
    moving: str = "first",
    explicit_ways: Mapping[int, int] | None = None,
    explicit_moving: Mapping[int, int] | None = None,
) -> TwoPartHubs:
    """Two-part hubs with sliding axes (n,), -1 for one piece, on a frame with a grid.

    Args:
        rule, explicit_ways: as in `open_ways`.
        moving: which of the two planes that hold the axis the moving halves lie in, by their
            normals in the order x, y, z. For a hub that slides along x: "first" is the plane
            across y (rods in xz), "second" the plane across z (rods in xy).
        explicit_moving: node -> normal (0, 1, 2), goes before `moving`: a hub may be turned
            about its axis.

    Raises NoSuchSlide: as `open_ways`; a moving plane that does not hold the axis; a diagonal
    across the axis, for which a two-part hub has no seat.
    """
    way = open_ways(frame, axis, rule, explicit_ways)
    if moving not in MOVING:
        raise NoSuchSlide(-1, f"There is no choice {moving}; there are {', '.join(MOVING)}.")
    table = np.array([[1, 2], [0, 2], [0, 1], [-1, -1]])[:, MOVING.index(moving)]
    plane = table[axis].astype(np.int64)
    for node, normal in (explicit_moving or {}).items():
        if normal not in (0, 1, 2) or axis[node] in (-1, normal):
            raise NoSuchSlide(node, "The moving half lies in a plane that holds the axis.")
        plane[node] = normal
    which = diagonals(frame)
    normal_of = normals(frame, which)
    for ends in (frame.start[which], frame.end[which]):
        wrong = np.flatnonzero(axis[ends] == normal_of)
        if len(wrong):
            detail = "A diagonal lies across its sliding axis, where a two-part hub has no seat."
            raise NoSuchSlide(int(ends[wrong[0]]), detail)
    return TwoPartHubs(np.asarray(axis, dtype=np.int64), way, plane)


def slides(frame: Frame, hubs: TwoPartHubs, *, anchors: bool = False) -> Slides:
    """Which hubs of a frame its diagonals hold together, and how the loose ones open.

    A diagonal counts at a hub where it lies in the plane of the moving half.

    Args:
        anchors: whether a diagonal counts whose other end sits on a half that stands or on a
            hub in one piece. Such a diagonal locks its hub by itself, and hubs that all open
            the same way behind it, however long their row: each leans on the next with all its
            play. So the default, on the safe side, is that only diagonals between two moving
            halves count.

    Raises SlideUndecided.

    Leaves out: as `largest_slides`. That a half stands where the frame puts it is the reading
    taken here: the rods along the axis sit on the half that stands.
    Source: derived here; that both diagonals hold a face is common practice, no source.
    """
    which = diagonals(frame)
    start, end = frame.start[which], frame.end[which]
    normal = normals(frame, which)
    unit = (frame.nodes_mm[end] - frame.nodes_mm[start]) / frame.length_mm[which][:, None]
    start_moves, end_moves = hubs.moving[start] == normal, hubs.moving[end] == normal
    tied = (start_moves | end_moves) if anchors else (start_moves & end_moves)
    return largest_slides(
        hubs.exit_direction, start[tied], end[tied], unit[tied], start_moves[tied], end_moves[tied]
    )


def held_by_each_choice(
    frame: Frame, hubs: TwoPartHubs, *, anchors: bool = False
) -> tuple[Bools, Bools]:
    """Hubs held as given, and with every hub turned so that its other half moves: (n,) each.

    Held in both, a hub needs no thought when it is put in; held in one only, it must be put in
    the right way round.
    """
    other = np.where(hubs.two_part, 3 - hubs.axis - hubs.moving, -1)
    turned = replace(hubs, moving=other)
    first = slides(frame, hubs, anchors=anchors)
    return first.held, slides(frame, turned, anchors=anchors).held


def seat_tension_n(
    frame: Frame, held: Bools, two_part: Bools, two_part_hub: Hub, one_piece_hub: Hub
) -> Floats:
    """Pull-out of the seat at each end of each member, shape (m, 2): start, end.

    A loose hub slides apart under any rod that pulls at it: all its seats count as free.

    Args: held, two_part (n,).
    """
    at = np.where(
        two_part,
        np.where(held, two_part_hub.seat.tension_held_n, two_part_hub.seat.tension_free_n),
        one_piece_hub.seat.tension_held_n,
    )
    return np.column_stack([at[frame.start], at[frame.end]])


def _needs_grid(frame: Frame) -> None:
    if not frame.has_grid:
        raise NoSuchSlide(-1, "Rows of hubs and planes of faces are known on a grid only.")

"""What would mend a section: the diagonals that mechanisms point to, and second diagonals."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..frame import ROLES, Face, Frame
from ..kit import Kit
from .equilibrium import Floats, equilibrium_matrix
from .first_slip import utilisation
from .handling import Handling
from .places import face_words, joined_pairs, key, missing_diagonals, sides
from .section import CaseState, SectionModel, section_model, solve_cases
from .solve import Solver

SECOND = ROLES.index("second-diagonal")
SIDE = ROLES.index("side-diagonal")
CROSS = ROLES.index("cross-diagonal")

Pair = tuple[int, int]


class NoFace(LookupError):
    """A pair of nodes that is no missing diagonal of a face, by its place in the list."""

    def __init__(self, place: int, reason: str) -> None:
        super().__init__(reason)
        self.place, self.reason = place, reason


@dataclass(frozen=True)
class Culprit:
    """A face whose missing diagonal a mechanism stretches most; movement (n, 3), largest 1."""

    face: Face | None
    words: str
    pair: Pair
    movement: Floats


def with_diagonals(part: Frame, pairs: Sequence[Pair], kit: Kit) -> Frame:
    """The section with a rod across one face for each pair of nodes.

    Raises NoFace: no face there, a rod already there, no rod of the kit that spans it.
    """
    if not pairs:
        return part
    on_faces: dict[Pair, Face] = {}
    for face in part.faces:
        a, b, c, d = face.corners
        on_faces[key(a, d)] = on_faces[key(b, c)] = face
    there = joined_pairs(part)
    rods, roles, faces = [], [], {id(face): face for face in part.faces}
    for place, pair in enumerate(pairs):
        over = on_faces.get(key(*pair))
        if over is None:
            raise NoFace(place, "It crosses no face of this section.")
        if key(*pair) in there:
            raise NoFace(place, "A rod already crosses this face here.")
        there.add(key(*pair))
        rod = kit.rod_spanning(float(np.linalg.norm(np.subtract(*part.nodes_mm[list(pair)]))))
        if rod is None:
            raise NoFace(place, "No rod of the kit closes across this face.")
        now = faces[id(over)]
        first = SIDE if over.kind == "side" else CROSS
        roles.append(SECOND if now.diagonals else first)
        faces[id(over)] = replace(now, diagonals=now.diagonals + 1)
        rods.append(rod)
    ends = np.array([key(*pair) for pair in pairs], dtype=np.int64)
    none = np.zeros(len(pairs), dtype=np.int64)
    return replace(
        part,
        start=np.concatenate([part.start, ends[:, 0]]),
        end=np.concatenate([part.end, ends[:, 1]]),
        rod=np.concatenate([part.rod, np.array(rods, dtype=np.int64)]),
        section=np.concatenate([part.section, none]),
        role=np.concatenate([part.role, np.array(roles, dtype=np.int64)]),
        faces=tuple(faces.values()),
    )


def culprits(part: Frame, modes: Floats, kit: Kit) -> list[Culprit]:
    """The rods that take away the mechanisms of a section, one after the other.

    The missing diagonal that the mechanisms stretch most is the culprit; it is added, what is
    left of the mechanisms is taken again, until none is left or nothing stretches any more.
    Bare faces come first; faces with one diagonal only where bare ones do not help.

    Args:
        modes: orthonormal mechanisms without rigid motions, shape (k, n, 3).

    Leaves out: two rods in line with a middle hub, and places that are no face.
    Source: greedy choice, common practice, no source.
    """
    left = modes.reshape(len(modes), part.nodes_mm.size)
    there = joined_pairs(part)
    sign = sides(part)
    faces: list[Face] = []
    pairs: list[Pair] = []
    for face in sorted(part.faces, key=lambda f: f.diagonals):
        for pair in missing_diagonals(part, face, there):
            apart = part.nodes_mm[pair[1]] - part.nodes_mm[pair[0]]
            if kit.rod_spanning(float(np.linalg.norm(apart))) is not None:
                faces.append(face)
                pairs.append(pair)
    if not pairs:
        return []
    columns = _columns(part, pairs)
    bare = np.array([face.diagonals == 0 for face in faces])
    found = []
    while len(left):
        projected = left @ columns
        size = np.sqrt((projected**2).sum(axis=0))
        wanted = size * np.where(bare, 1.0, 1e-3)
        best = int(wanted.argmax())
        if size[best] < 1e-7:
            break
        turn = projected[:, best] / size[best]
        movement = turn @ left
        shape = (movement / np.abs(movement).max()).reshape(-1, 3)
        words = face_words(faces[best], sign.get(faces[best]))
        found.append(Culprit(faces[best], words, pairs[best], shape))
        _, _, rest = np.linalg.svd(turn[None, :], full_matrices=True)
        left = rest[1:] @ left
        bare[best] = False
    return found


@dataclass(frozen=True)
class Mended:
    """Second diagonals found, as node pairs, and the worst planned and accidental factors then."""

    pairs: tuple[Pair, ...]
    states: tuple[CaseState, ...]
    reaches: bool


def second_diagonals(
    model: SectionModel,
    states: Sequence[CaseState],
    handling: Handling,
    kit: Kit,
    *,
    gravity_m_s2: float,
    buckling_margin: float,
    most_steps: int = 10,
    allowed: Callable[[Sequence[Pair]], bool] | None = None,
) -> Mended:
    """Second diagonals in mirror groups until every case reaches its factor.

    Each step tries the groups of faces nearest the worst bars, exactly, by a small update of the
    solved cases, and keeps the group that leaves the least shortfall, summed over cases as
    ln(required/factor). Groups that turn out not to be needed are taken out again.

    A greedy search: fewer rods may do, and where it fails another choice may not.

    Args:
        states: the solved cases that must reach their factors.
        allowed: whether so many pairs may be added in all, for what is on the shelf.

    Leaves out: whether a face must stay open.
    Source: common practice, no source.
    """
    groups: list[tuple[Pair, ...]] = []

    def rebuilt(tried: Sequence[tuple[Pair, ...]]) -> SectionModel:
        part = with_diagonals(model.part, [pair for group in tried for pair in group], kit)
        return section_model(
            part, kit, gravity_m_s2=gravity_m_s2, buckling_margin=buckling_margin,
            options=model.options,
        )  # fmt: skip

    def failing(some: Sequence[CaseState]) -> list[CaseState]:
        return [s for s in some if s.factor < handling.required(s.case.kind)]

    current, now = model, list(states)
    watched = {s.case.id for s in failing(now)}
    for _ in range(most_steps):
        short = failing(now)
        if not short:
            break
        options = mirror_groups(current, short)
        if allowed is not None:
            taken = [pair for group in groups for pair in group]
            options = [group for group in options if allowed([*taken, *group])]
        scores = _shortfalls(current, short, options, handling, kit)
        best = int(scores.argmin()) if len(scores) else -1
        if best < 0 or not scores[best] < _shortfall(short, handling) - 1e-9:
            break
        groups.append(options[best])
        current = rebuilt(groups)
        now = solve_cases(current, [s.case for s in now])
        watched |= {s.case.id for s in failing(now)}
    reaches = not failing(now)
    for group in groups[:-1] if reaches else ():
        fewer = [other for other in groups if other is not group]
        tried = rebuilt(fewer)
        order = sorted((s.case for s in now), key=lambda case: case.id not in watched)
        cut = sum(case.id in watched for case in order)
        some = solve_cases(tried, order[:cut])
        if not failing(some):
            some += solve_cases(tried, order[cut:])
            if not failing(some):
                groups, now = fewer, some
    return Mended(tuple(pair for group in groups for pair in group), tuple(now), reaches)


def mirror_groups(
    model: SectionModel, short: Sequence[CaseState], *, most: int = 20
) -> list[tuple[Pair, ...]]:
    """Mirror groups of missing diagonals, nearest the worst bars first."""
    part = model.part
    low, high = part.nodes_mm.min(axis=0), part.nodes_mm.max(axis=0)

    def folded(points: Floats) -> Floats:
        away: Floats = points - (low + high) / 2
        away[:, :2] = np.abs(away[:, :2])
        return away

    bars = np.concatenate([_worst_bars(model, state, 3) for state in short])
    spots = folded((part.nodes_mm[part.start[bars]] + part.nodes_mm[part.end[bars]]) / 2)
    corners = np.array([face.corners for face in part.faces])
    centres = folded(part.nodes_mm[corners].mean(axis=1))
    near = ((centres[:, None] - spots[None]) ** 2).sum(axis=2).min(axis=1)
    names = np.round(centres * 1000).astype(int).tolist()
    there = joined_pairs(part)
    groups: dict[tuple[int, ...], list[Pair]] = {}
    for place in np.argsort(near, kind="stable").tolist():
        face = part.faces[place]
        missing = missing_diagonals(part, face, there)
        if len(missing) == 1:
            groups.setdefault((face.normal, *names[place]), []).append(missing[0])
    return [tuple(sorted(group)) for group in list(groups.values())[:most]]


def _worst_bars(
    model: SectionModel, state: CaseState, count: int
) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    used = utilisation(state.member_force_n, model.tension_n, model.compression_n)
    return np.argsort(-used, kind="stable")[:count].astype(np.int64)


def _columns(part: Frame, pairs: Sequence[Pair]) -> Floats:
    """Unit columns of rods between node pairs, dense, shape (3 n, k)."""
    ends = np.array(pairs, dtype=np.int64)
    away = part.nodes_mm[ends[:, 1]] - part.nodes_mm[ends[:, 0]]
    unit = away / np.linalg.norm(away, axis=1)[:, None]
    matrix = equilibrium_matrix(ends[:, 0], ends[:, 1], unit, len(part.nodes_mm))
    return np.asarray(matrix.toarray())


def _shortfall(states: Sequence[CaseState], handling: Handling) -> float:
    return sum(max(0.0, float(np.log(handling.required(s.case.kind) / s.factor))) for s in states)


def _shortfalls(
    model: SectionModel,
    short: Sequence[CaseState],
    options: Sequence[tuple[Pair, ...]],
    handling: Handling,
    kit: Kit,
) -> Floats:
    """Shortfall summed over the failing cases with each group of rods added.

    Exact, by the Sherman-Morrison-Woodbury update of the solved cases: the new rods carry
    t = (1/k + B'^T K^-1 B')^-1 B'^T x, and every other member N - k B^T K^-1 B' t.
    """
    part = model.part
    pairs = [pair for group in options for pair in group]
    if not pairs:
        return np.zeros(0)
    columns = _columns(part, pairs)
    rods = [
        kit.rod_spanning(float(np.linalg.norm(part.nodes_mm[a] - part.nodes_mm[b])))
        for a, b in pairs
    ]
    place = [0 if rod is None else rod for rod in rods]
    give = np.array([1.0 / kit.stiffness_n_per_mm(rod) for rod in place])
    takes = np.array([kit.compression_n(rod) for rod in place])
    pulls = np.full(len(pairs), kit.frame_hub.seat.tension_held_n)
    first = np.cumsum([0, *(len(group) for group in options[:-1])])
    of = np.repeat(np.arange(len(options)), [len(group) for group in options])
    together = of[:, None] == of[None, :]
    scores = np.zeros(len(options))
    groups: dict[tuple[bytes, bytes], list[CaseState]] = {}
    for state in short:
        groups.setdefault(state.case.support_key, []).append(state)
    for states in groups.values():
        case = states[0].case
        truss = model.truss(case.spring_n_per_mm, case.fixed)
        moved = np.zeros_like(columns)
        moved[truss.free] = Solver(truss).displacements(columns[truss.free])
        per_unit = model.stiffness_n_per_mm[:, None] * np.asarray(truss.equilibrium.T @ moved)
        flexibility = np.where(together, columns.T @ moved, 0.0) + np.diag(give)
        for state in states:
            force = np.linalg.solve(flexibility, columns.T @ state.displacement_mm.ravel())
            change = np.add.reduceat(per_unit * force, first, axis=1)
            others = state.member_force_n[:, None] - change
            used = np.maximum(
                utilisation(others.T, model.tension_n, model.compression_n).max(axis=1),
                np.maximum.reduceat(utilisation(force, pulls, takes), first),
            )
            scores += np.maximum(0.0, np.log(handling.required(state.case.kind) * used))
    scores[np.unique(of[[rod is None for rod in rods]])] = np.inf
    return scores

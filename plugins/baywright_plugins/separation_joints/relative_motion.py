"""How sections coupled by rods move against each other: the null space of a few bodies."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg

from ..truss_check.equilibrium import Floats
from ..truss_check.stability import FREE, HELD, RankUndecided, rigid_motions

#: With more motions in all the machine is not put together: it would take too long.
MOST_MOTIONS = 600

Bar = tuple[int, int, int, int]


@dataclass(frozen=True)
class Body:
    """A section as seen from outside: nodes (n, 3) and all motions that stretch none of its rods,
    orthonormal, shape (6 + mechanisms, n, 3), rigid motions first."""

    nodes_mm: Floats
    motions: Floats

    @property
    def freedoms(self) -> int:
        return len(self.motions)


def body(nodes_mm: Floats, modes: Floats) -> Body:
    """A section of nodes (n, 3) with its mechanisms, orthonormal and without rigid motions,
    (k, n, 3). Raises RankUndecided where all nodes lie in one line."""
    rigid = rigid_motions(nodes_mm).T.reshape(6, -1, 3)
    return Body(nodes_mm, np.concatenate([rigid, modes.reshape(-1, len(nodes_mm), 3)]))


def coupled_mechanisms(bodies: Sequence[Body], bars: Sequence[Bar], *, groups: int) -> int:
    """Mechanisms of bodies joined by bars, held by nothing, rigid motions not counted.

        x = sum of c_j m_j over all motions m_j of all bodies; mechanisms = dim {c: no bar
        stretches} - 6 groups

    Exact for infinitesimal motions: what stretches no rod of a body is a sum of its motions.

    Args:
        bars: (body, node there, body, node there).
        groups: how many groups of bodies are not joined to one another.

    Raises RankUndecided; TooManyMotions where the bodies have more than MOST_MOTIONS in all.
    Source: as stability.stability: rank of the equilibrium matrix, Pellegrino and Calladine 1986.
    """
    return _nullity(bodies, _stretches(bodies, bars)) - 6 * groups


def standing_mechanisms(
    bodies: Sequence[Body], bars: Sequence[Bar], feet: Sequence[Sequence[int]]
) -> int:
    """The same with the feet of every body held in all three directions. Raises as above."""
    rows = [*_stretches(bodies, bars)]
    offsets = _offsets(bodies)
    for number, (each, held) in enumerate(zip(bodies, feet, strict=True)):
        block = each.motions[:, list(held)].reshape(each.freedoms, -1).T
        rows.append(_placed(_short(block), offsets[number], each.freedoms, offsets[-1]))
    return _nullity(bodies, rows)


def bar_screws(apart_mm: Floats, unit: Floats, reach_mm: float) -> Floats:
    """How each of the six motions of one rigid section against another stretches bars between
    them, shape (k, 6): sliding along x, y, z and turning about x, y, z, a turn measured by what it
    moves a point one reach away.

    Args: apart_mm: a point of each bar (k, 3) from the point turned about; unit: directions (k, 3).

    Source: screw theory: velocity of a point of a rigid body along a line.
    """
    return np.concatenate([unit, np.cross(apart_mm / reach_mm, unit)], axis=1)


def relative_moves(screws: Floats) -> Floats:
    """Motions that stretch none of the bars: orthonormal basis (6, m), rows as in `bar_screws`.

    Raises RankUndecided.
    """
    _, singular, right = np.linalg.svd(_short(screws), full_matrices=True)
    return np.asarray(right[_rank(singular) :].T)


class TooManyMotions(ArithmeticError):
    """The bodies have too many motions to be put together."""


def _offsets(bodies: Sequence[Body]) -> list[int]:
    return [int(x) for x in np.cumsum([0, *(each.freedoms for each in bodies)])]


def _stretches(bodies: Sequence[Body], bars: Sequence[Bar]) -> list[Floats]:
    """How every motion stretches the bars, one block of rows for each pair of bodies, each row
    block cut down to its rank."""
    offsets = _offsets(bodies)
    if offsets[-1] > MOST_MOTIONS:
        raise TooManyMotions
    by_pair: dict[tuple[int, int], list[Bar]] = {}
    for bar in bars:
        by_pair.setdefault((bar[0], bar[2]), []).append(bar)
    blocks = []
    for (one, two), some in by_pair.items():
        p, q = [bar[1] for bar in some], [bar[3] for bar in some]
        a, b = bodies[one], bodies[two]
        away = b.nodes_mm[q] - a.nodes_mm[p]
        unit = away / np.linalg.norm(away, axis=1)[:, None]
        first = -np.einsum("jka,ka->kj", a.motions[:, p], unit)
        second = np.einsum("jka,ka->kj", b.motions[:, q], unit)
        both = _short(np.concatenate([first, second], axis=1))
        block = _placed(both[:, : a.freedoms], offsets[one], a.freedoms, offsets[-1])
        block += _placed(both[:, a.freedoms :], offsets[two], b.freedoms, offsets[-1])
        blocks.append(block)
    return blocks


def _short(rows: Floats) -> Floats:
    """As many rows as columns at most, with the same null space and singular values."""
    if len(rows) <= rows.shape[1]:
        return rows
    return np.asarray(scipy.linalg.qr(rows, mode="r")[0][: rows.shape[1]])


def _placed(block: Floats, offset: int, width: int, total: int) -> Floats:
    wide = np.zeros((len(block), total))
    wide[:, offset : offset + width] = block
    return wide


def _nullity(bodies: Sequence[Body], rows: Sequence[Floats]) -> int:
    total = _offsets(bodies)[-1]
    if not rows:
        return total
    return total - _rank(np.linalg.svd(np.concatenate(rows), compute_uv=False))


def _rank(singular: Floats) -> int:
    largest = float(singular.max(initial=0.0))
    if not largest > 0.0:
        return 0
    share = singular / largest
    if ((share > FREE) & (share < HELD)).any():
        raise RankUndecided("a joint is so close to a mechanism that rounding decides")
    return int((share >= HELD).sum())

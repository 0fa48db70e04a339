"""How a section folds, in words, from the movement of its hubs."""

import numpy as np

from ..frame.model import Floats

#: A hub that moves less than this share of the largest movement is called still.
STILL = 0.05
#: Share of the movement (squares summed) that a plain shape must explain to give its name.
EXPLAINS = 0.6

_SEEN = {(0, 1): "seen from above", (0, 2): "seen from the front", (1, 2): "seen from the end"}
_ENDS = (("left end", "right end"), ("front", "back"), ("bottom", "top"))


def folding_words(nodes_mm: Floats, movement: Floats) -> str:
    """How a movement of nodes, both (n, 3), looks: the whole leans like a parallelogram, a
    cross-section turns into a lozenge at one end, or a few hubs move.

    The plain shape is the affine (or, plane by plane, in-plane affine) motion nearest to the
    movement by least squares; it gives its name where it explains EXPLAINS of it.

    Leaves out: the mixtures in between, which are told by how many hubs move.
    Source: least squares; the names are common practice, no source.
    """
    size = np.sqrt((movement**2).sum(axis=1))
    moving = size > STILL * float(size.max(initial=0.0))
    count = f"{int(moving.sum())} of {len(moving)} hubs move"
    if moving.mean() <= 0.25:
        return f"only {count}, about {_place_words(nodes_mm, moving)}"
    lean = _lean(nodes_mm, movement)
    if lean is not None and _end(_shears(nodes_mm, movement, 3 - sum(lean))[0]) is None:
        return f"the whole section leans like a parallelogram, {_SEEN[lean]}"
    lozenge = _lozenge(nodes_mm, movement)
    if lozenge is not None:
        axis, end = lozenge
        where = f"most at the {_ENDS[axis][end]}" if end is not None else "along its whole length"
        return f"the cross-section across {'xyz'[axis]} turns into a lozenge, {where}"
    return f"{count}"


def _lean(nodes_mm: Floats, movement: Floats) -> tuple[int, int] | None:
    """The plane in which the whole shears, where one such motion explains the movement."""
    gradient, explained = _affine(nodes_mm, movement)
    strain = np.abs(gradient + gradient.T)
    planes = [(0, 1), (0, 2), (1, 2)]
    best = max(planes, key=lambda plane: (round(float(strain[plane]), 9), plane))
    stretched = float(np.abs(np.diag(gradient)).max())
    clear = float(strain[best]) > 4 * stretched and float(strain[best]) > 0
    return best if explained >= EXPLAINS and clear else None


def _affine(places: Floats, movement: Floats) -> tuple[Floats, float]:
    """Gradient (d, 3) of the affine motion nearest to a movement, and the share it explains."""
    columns = np.column_stack([places - places.mean(axis=0), np.ones(len(places))])
    found, *_ = np.linalg.lstsq(columns, movement, rcond=None)
    left = movement - columns @ found
    total = float((movement**2).sum())
    return found[:-1], 1.0 - float((left**2).sum()) / total if total > 0 else 0.0


def _lozenge(nodes_mm: Floats, movement: Floats) -> tuple[int, int | None] | None:
    """The axis whose cross-sections shear, and the end (0, 1) where most, None for all alike."""
    best: tuple[float, int, int | None] = (0.0, 0, None)
    for axis in (2, 1, 0):
        shear, share = _shears(nodes_mm, movement, axis)
        if share > best[0] + 1e-9 and max(shear) > 0:
            best = (share, axis, _end(shear))
    return (best[1], best[2]) if best[0] >= EXPLAINS else None


def _shears(nodes_mm: Floats, movement: Floats, axis: int) -> tuple[list[float], float]:
    """Shear of each cross-section across an axis within its plane, and the share of the whole
    movement that in-plane affine motions explain."""
    across = [k for k in range(3) if k != axis]
    shear, explained = [], 0.0
    for plane in np.unique(np.round(nodes_mm[:, axis], 3)):
        here = np.abs(nodes_mm[:, axis] - plane) < 0.01
        flat, moved = nodes_mm[here][:, across], movement[here][:, across]
        if len(flat) < 3:
            shear.append(0.0)
            continue
        gradient, share = _affine(flat, moved)
        shear.append(abs(float(gradient[0, 1] + gradient[1, 0])))
        explained += share * float((moved**2).sum())
    return shear, explained / float((movement**2).sum())


def _end(shear: list[float]) -> int | None:
    """The end whose cross-section shears clearly more than the other's; None for all alike."""
    first, last = shear[0], shear[-1]
    return None if min(first, last) > 0.5 * max(first, last) else int(last > first)


def _place_words(nodes_mm: Floats, moving: Floats) -> str:
    """Where the moving hubs are, by thirds of the section."""
    low, high = nodes_mm.min(axis=0), nodes_mm.max(axis=0)
    at = (nodes_mm[moving].mean(axis=0) - low) / np.where(high > low, high - low, 1.0)
    words = [
        _ENDS[axis][int(at[axis] > 0.5)]
        for axis in range(3)
        if high[axis] > low[axis] and abs(at[axis] - 0.5) > 1 / 6
    ]
    return "the " + ", ".join(words) if words else "the middle"

"""Two-part hubs on paper: the way in which each comes open, and whether diagonals lock it."""

from collections.abc import Iterable

import numpy as np

from baywright_service.contract import (
    Arrow,
    Circle,
    Drawing,
    Ink,
    Label,
    Legend,
    Polygon,
    Segments,
    Shape,
)

from .model import Floats, Frame, Ints
from .projection import projected
from .two_part_hubs import Slides, TwoPartHubs, diagonals

ROD = Ink("#9aa5b1", 0.15)
DIAGONAL = Ink("#52606d", 0.2, (0.8, 0.5))
LOCKED = Ink("#1f2933", 0.2, (), "#1f2933")
LOOSE = Ink("#ab091e", 0.35, (), "#ffffff")
ONE_PIECE = Ink("#1f2933", 0.2, (), "#d9e2ec")
OPENS = Ink("#0b69a3", 0.35)

#: More hubs than this are not labelled one by one.
LABELLED = 60


def two_part_hubs_drawing(
    frame: Frame, hubs: TwoPartHubs, state: Slides, *, view: str = "axonometric"
) -> Drawing:
    """The frame with its hubs: filled square locked, open square loose, circle in one piece; an
    arrow from each two-part hub the way its moving half comes off. Loose hubs are labelled by
    their grid place while there are at most 60 of them.

    Args: view as in `projected`; hubs that cover one another on the page are drawn once, a
    loose one before a locked one.
    """
    flat = projected(frame.nodes_mm, view)
    bay = float(np.median(frame.length_mm))
    half = 0.11 * bay
    shapes: list[Shape] = _rods(frame, flat)
    ahead = projected(hubs.exit_direction, view)
    groups = _groups(hubs, state, flat)
    for node in (*groups["loose"], *groups["locked"]):
        reach = ahead[node]
        size = float(np.hypot(*reach))
        if size > 0.2:
            tip = flat[node] + reach * 0.48 * bay
            shapes.append(Arrow(_point(flat[node]), _point(tip), OPENS))
        else:
            shapes.append(Circle(_point(flat[node]), 1.9 * half, OPENS))
    for node in groups["one piece"]:
        shapes.append(Circle(_point(flat[node]), 0.9 * half, ONE_PIECE))
    for name, ink in (("locked", LOCKED), ("loose", LOOSE)):
        shapes += [_square(flat[node], half, ink) for node in groups[name]]
    loose = groups["loose"]
    if len(loose) <= LABELLED and frame.has_grid:
        shapes += [
            Label(
                (float(flat[node][0]) + 1.2 * half, float(flat[node][1]) - 2.1 * half),
                " ".join(str(int(x)) for x in frame.lattice[node]),
                1.2,
            )
            for node in loose
        ]
    counts = _counts(hubs, state)
    legend = (
        Legend(LOCKED, f"filled square: locked by diagonals: {counts[0]}"),
        Legend(LOOSE, f"open square: loose, slides apart: {counts[1]}"),
        Legend(ONE_PIECE, f"circle: hub in one piece: {counts[2]}"),
        Legend(OPENS, "arrow: the way its moving half comes off; a ring: along your view"),
        Legend(DIAGONAL, "diagonals"),
    )
    about = (
        f"{counts[0]} two-part hubs are locked and {counts[1]} are loose; {counts[2]} hubs are in "
        "one piece."
    )
    return Drawing(f"Two-part hubs: {counts[1]} loose", about, shapes, legend)


def _rods(frame: Frame, flat: Floats) -> list[Shape]:
    braces = np.zeros(len(frame.start), dtype=bool)
    braces[diagonals(frame)] = True
    return [
        Segments(
            [
                (_point(flat[a]), _point(flat[b]))
                for a, b in zip(frame.start[which], frame.end[which], strict=True)
                if np.hypot(*(flat[a] - flat[b])) > 1e-6
            ],
            ink,
        )
        for which, ink in ((~braces, ROD), (braces, DIAGONAL))
        if which.any()
    ]


def _groups(hubs: TwoPartHubs, state: Slides, flat: Floats) -> dict[str, list[int]]:
    """Hubs by how they are drawn, each place on the page once."""
    seen: set[tuple[float, float]] = set()
    groups: dict[str, list[int]] = {}
    for name, members in (
        ("loose", ~state.held),
        ("locked", state.held & hubs.two_part),
        ("one piece", ~hubs.two_part),
    ):
        groups[name] = list(_first_at(np.flatnonzero(members), flat, seen))
    return groups


def _first_at(nodes: Ints, flat: Floats, seen: set[tuple[float, float]]) -> Iterable[int]:
    for node in nodes.tolist():
        place = _point(flat[node].round(1) + 0.0)
        if place not in seen:
            seen.add(place)
            yield node


def _counts(hubs: TwoPartHubs, state: Slides) -> tuple[int, int, int]:
    two_part = hubs.two_part
    return int((state.held & two_part).sum()), int((~state.held).sum()), int((~two_part).sum())


def _square(centre: Floats, half: float, ink: Ink) -> Polygon:
    x, y = _point(centre)
    return Polygon(
        [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)],
        ink,
    )


def _point(place: Floats) -> tuple[float, float]:
    return float(place[0]), float(place[1])

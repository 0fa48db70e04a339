"""Pictures of a frame: one axonometric view and three orthographic ones, with dimensions."""

from collections.abc import Sequence

import numpy as np

from baywright_service.contract import (
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Polygon,
    Segments,
    Shape,
)

from ..kit import Kit
from .model import ROLES, Floats, Frame
from .projection import projected, toward_viewer

#: What each view is called in the list of a calculator's pictures.
FRAME_VIEWS = {
    "axonometric": "The whole frame, seen from the front left and above",
    "front": "The frame from the front, with dimensions over the hub ends",
    "end": "The frame from its end, with dimensions over the hub ends",
    "plan": "The frame from above, with dimensions over the hub ends",
}

INKS = {
    "axis": (Ink("#1f2933", 0.11), "rods along the bays"),
    "side-diagonal": (Ink("#0b5394", 0.11, (0.9, 0.5)), "diagonals of outer and inner faces"),
    "cross-diagonal": (Ink("#6b4e00", 0.13, (0.2, 0.4)), "diaphragm diagonals between bays"),
    "second-diagonal": (Ink("#9a031e", 0.34, (1.6, 0.4, 0.3, 0.4)), "second diagonals"),
    "joint": (Ink("#1b5e20", 0.55), "coupling rods, where it comes apart"),
    "other": (Ink("#52606d", 0.15, (0.5, 0.5)), "other rods"),
}
_BARE = Ink("#9a031e", 0.1, (), "none", hatched=True)


def frame_drawing(frame: Frame, kit: Kit, view: str) -> Drawing:
    """The frame in one of FRAME_VIEWS. Rods that cover one another on the page are drawn once."""
    flat = projected(frame.nodes_mm, view)
    shapes: list[Shape] = []
    legend: list[Legend] = []
    bare = _bare_faces(frame, flat, view)
    if bare:
        shapes += bare
        legend.append(Legend(_BARE, "faces without a diagonal"))
    for role, name in enumerate(ROLES):
        ink, words = INKS[name]
        pairs = _pairs(frame, flat, role)
        if pairs:
            shapes.append(Segments(pairs, ink))
            count = int((frame.role == role).sum())
            legend.append(Legend(ink, f"{words}: {count}"))
    overhang = kit.frame_hub.overhang_mm
    shapes += _dimensions(flat, view, overhang) if view != "axonometric" else []
    shapes += _names(frame, flat)
    size = np.ptp(frame.nodes_mm, axis=0) + 2 * overhang
    outside = " × ".join(f"{value:.0f}" for value in size)
    about = (
        f"{len(frame.sections)} section(s), {len(frame.nodes_mm)} hubs and {len(frame.start)} "
        f"rods; {outside} mm over the hub ends (x × y × z). {FRAME_VIEWS[view]}."
    )
    return Drawing(f"Frame, {view} view: {outside} mm", about, shapes, legend)


def _pairs(
    frame: Frame, flat: Floats, role: int
) -> Sequence[tuple[tuple[float, float], tuple[float, float]]]:
    mine = frame.role == role
    ends = np.stack([flat[frame.start[mine]], flat[frame.end[mine]]], axis=1)
    ends = ends[np.hypot(*(ends[:, 0] - ends[:, 1]).T) > 1e-6]
    swap = (ends[:, 0, 0] > ends[:, 1, 0]) | (
        np.isclose(ends[:, 0, 0], ends[:, 1, 0]) & (ends[:, 0, 1] > ends[:, 1, 1])
    )
    ends[swap] = ends[swap][:, ::-1]
    once = np.unique(np.round(ends, 1).reshape(-1, 4), axis=0) + 0.0
    return [((a, b), (c, d)) for a, b, c, d in once.tolist()]


def _bare_faces(frame: Frame, flat: Floats, view: str) -> list[Shape]:
    """Side faces without a diagonal that look at the viewer, each place once."""
    eye = toward_viewer(view)
    seen: dict[tuple[tuple[float, float], ...], None] = {}
    for face in frame.faces:
        if face.kind == "side" and face.diagonals == 0 and abs(eye[face.normal]) > 0.5:
            a, b, c, d = (flat[corner].round(1).tolist() for corner in face.corners)
            seen[tuple((x, y) for x, y in (a, b, d, c))] = None
    return [Polygon(corners, _BARE) for corners in seen]


def _dimensions(flat: Floats, view: str, overhang: float) -> list[Shape]:
    (x0, y0), (x1, y1) = flat.min(axis=0) - overhang, flat.max(axis=0) + overhang
    away = 0.045 * max(x1 - x0, y1 - y0)
    return [
        Dimension((x0, y0), (x1, y0), f"{x1 - x0:.0f} mm over hub ends", -away),
        Dimension((x1, y0), (x1, y1), f"{y1 - y0:.0f} mm", -away),
    ]


def _names(frame: Frame, flat: Floats) -> list[Shape]:
    if len(frame.sections) == 1 and not frame.sections[0].title:
        return []
    longer = float(np.ptp(flat, axis=0).max())
    at: dict[tuple[float, float], list[str]] = {}
    for number, section in enumerate(frame.sections):
        mine = flat[frame.node_section == number]
        if len(mine):
            top = round(float(mine[:, 1].max()) + 0.02 * longer, 1)
            at.setdefault((round(float(mine[:, 0].mean()), 1), top), []).append(section.id)
    return [Label(place, ", ".join(ids), 2.2, "middle", bold=True) for place, ids in at.items()]

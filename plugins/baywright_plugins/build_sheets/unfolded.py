"""A beam unfolded: its four faces side by side, and the cross faces that hold a diagonal."""

import numpy as np

from ..frame.model import Ints
from .content import look_of
from .machine import Machine
from .panels import Badge, Chain, Content, Fill, FlatHub, FlatRod, Panel, Point
from .sheets import Sheet

#: For a beam along x, y, z: the corners of its cross-section round it, as steps along the other two
#: axes, so that each face is seen from outside; and what each face looks to.
_RINGS = (
    ((0, 0), (0, 1), (1, 1), (1, 0)),
    ((0, 0), (1, 0), (1, 1), (0, 1)),
    ((0, 0), (0, 1), (1, 1), (1, 0)),
)
_FACES = (
    ("front", "top", "back", "underside"),
    ("underside", "right", "top", "left"),
    ("left", "back", "right", "front"),
)


def beam_panels(machine: Machine, sheet: Sheet) -> list[Panel]:
    """Faces from below in the order round the beam, then rows of cross faces.

    A column lies on its side: its foot is at the left.
    """
    beam = sheet.beam
    assert beam is not None
    rings = _rings(machine, sheet)
    frame, overhang = machine.frame, machine.kit.frame_hub.overhang_mm
    along = frame.nodes_mm[rings[:, 0], beam.axis] - frame.nodes_mm[rings[0, 0], beam.axis]
    stations = tuple(float(x) for x in np.round(along, 6))
    first = beam.first[beam.axis]
    rods = machine.rods_along[sheet.section, beam.axis][first : first + beam.bays]
    panels = []
    for face, name in enumerate(_FACES[beam.axis]):
        low, high = rings[:, face], rings[:, (face + 1) % 4]
        wide = float(np.abs(frame.nodes_mm[high[0]] - frame.nodes_mm[low[0]]).sum())
        panels.append(
            Panel(
                f"Face to the {name}" if name not in ("top", "underside") else name.capitalize(),
                (-overhang, -overhang),
                (stations[-1] + overhang, wide + overhang),
                0,
                face,
                _face(machine, stations, low, high, wide, _steps(machine, sheet)),
                Chain(stations, rods) if face == 0 else None,
                Chain((0.0, wide)) if face < 2 else None,
                overhang,
            )
        )
    return [*panels, *_cross(machine, rings, stations, overhang)]


def _rings(machine: Machine, sheet: Sheet) -> Ints:
    """Hubs of the beam, shape (bays + 1, 4): stations along it, corners round it."""
    beam = sheet.beam
    assert beam is not None
    b, c = (k for k in range(3) if k != beam.axis)
    rings = []
    for station in range(beam.bays + 1):
        place = list(beam.first)
        place[beam.axis] += station
        corners = []
        for over, up in _RINGS[beam.axis]:
            here = list(place)
            here[b] += over
            here[c] += up
            node = machine.frame.node_at(sheet.section, (here[0], here[1], here[2]))
            assert node is not None
            corners.append(node)
        rings.append(corners)
    return np.array(rings, dtype=np.int64)


def _steps(machine: Machine, sheet: Sheet) -> list[int]:
    beam = sheet.beam
    assert beam is not None
    step = dict(zip(machine.order.bays, machine.order.bay_step.tolist(), strict=True))
    return [step.get((sheet.section, cell), 0) for cell in beam.cells]


def _face(
    machine: Machine,
    stations: tuple[float, ...],
    low: Ints,
    high: Ints,
    wide: float,
    steps: list[int],
) -> Fill:
    """How to draw the face between two chords."""

    def content() -> Content:
        at: dict[int, Point] = {}
        for x, a, b in zip(stations, low.tolist(), high.tolist(), strict=True):
            at[a], at[b] = (x, 0.0), (x, wide)
        badges = [
            Badge((x, 0.0), (after, wide), step)
            for x, after, step in zip(stations[:-1], stations[1:], steps, strict=True)
            if step
        ]
        return Content(_between(machine, at), _hubs(machine, at), badges)

    return content


def _between(machine: Machine, at: dict[int, Point]) -> list[FlatRod]:
    frame = machine.frame
    here = np.zeros(len(frame.nodes_mm), dtype=bool)
    here[list(at)] = True
    members = np.flatnonzero(here[frame.start] & here[frame.end])
    rods = []
    for member in members.tolist():
        a, b = at[int(frame.start[member])], at[int(frame.end[member])]
        rods.append(FlatRod(a, b, machine.item_of(member), _look(machine, member, a, b)))
    return rods


def _look(machine: Machine, member: int, a: Point, b: Point) -> str:
    look = look_of(machine, member)
    if look != "axis":
        return look
    return "chord" if abs(a[1] - b[1]) < 0.05 else "batten"


def _hubs(machine: Machine, at: dict[int, Point]) -> list[FlatHub]:
    return [
        FlatHub(place, int(machine.hub_kind[node]), coupled=node in machine.coupled)
        for node, place in at.items()
    ]


def _cross(
    machine: Machine, rings: Ints, stations: tuple[float, ...], overhang: float
) -> list[Panel]:
    """Cross faces with a diagonal: each over its station, in as few rows as keep them apart."""
    frame = machine.frame
    braced: list[tuple[float, dict[int, Point], float]] = []
    for x, ring in zip(stations, rings.tolist(), strict=True):
        pairs = (tuple(sorted(ring[::2])), tuple(sorted(ring[1::2])))
        if not any(pair in machine.between for pair in pairs):
            continue
        wide = float(np.abs(frame.nodes_mm[ring[1]] - frame.nodes_mm[ring[0]]).sum())
        high = float(np.abs(frame.nodes_mm[ring[2]] - frame.nodes_mm[ring[1]]).sum())
        left = x - high / 2
        at = {ring[0]: (left, 0.0), ring[1]: (left, wide)}
        at |= {ring[3]: (left + high, 0.0), ring[2]: (left + high, wide)}
        braced.append((x, at, high))
    rows: list[list[tuple[float, dict[int, Point], float]]] = []
    for square in braced:
        half = square[2] / 2 + 2.5 * overhang
        row = next((r for r in rows if r[-1][0] + r[-1][2] / 2 < square[0] - half), None)
        if row is None:
            rows.append([square])
        else:
            row.append(square)
    panels = []
    for number, row in enumerate(rows):
        points = [point for _, at, _ in row for point in at.values()]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        panels.append(
            Panel(
                "Cross faces with a diagonal, over their places"
                if number == 0
                else "More cross faces",
                (min(*xs, 0.0) - overhang, min(ys) - overhang),
                (max(*xs, stations[-1]) + overhang, max(ys) + overhang),
                0,
                4 + number,
                _squares(machine, [at for _, at, _ in row]),
                overhang=overhang,
            )
        )
    return panels


def _squares(machine: Machine, squares: list[dict[int, Point]]) -> Fill:
    def content() -> Content:
        rods = [rod for at in squares for rod in _between(machine, at)]
        rods = [
            rod if rod.look != "chord" else FlatRod(rod.start, rod.end, rod.item, "batten")
            for rod in rods
        ]
        return Content(rods, [hub for at in squares for hub in _hubs(machine, at)])

    return content

"""A sheet as a drawing: panels, dimensions, symbols, words."""

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.spatial import cKDTree

from baywright_service.contract import (
    Circle,
    Drawing,
    Label,
    Legend,
    Segments,
    Shape,
)

from .dimensions import dimensions
from .entries import entries_of
from .labels import Spots, rod_label, take_rod
from .machine import Machine
from .marks import (
    CAPITAL,
    COUPLED,
    COUPLED_WORDS,
    HUB,
    HUBS_WORDS,
    LOOKS,
    MARK,
    STEP,
    STEP_WORDS,
    centred,
    hub_symbol,
    letter,
)
from .page import on_paper, origins, scale_of, words_below
from .panels import Badge, Content, FlatHub, FlatRod, Note, Panel, Point
from .scales import TEXT_MM
from .sheets import Sheet
from .views import panels_of

#: Radius of a hub's symbol with a letter, the largest without one, and the room between hubs that
#: a letter takes; mm on paper.
_HUB, _PLAIN, _ROOMY = 1.7, 1.0, 9.5
#: Least bay with a number.
_NUMBERED = 4.5
#: Rods and hubs up to which words seek a free place.
_MOST_LABELLED = 3000


def sheet_drawing(machine: Machine, sheet: Sheet, paper: str) -> Drawing:
    """One sheet, its sizes right for `paper` at its standard scale."""
    panels, entries = panels_of(machine, sheet), entries_of(machine, sheet)
    scale = scale_of(panels, entries, paper)
    kinds = [place for place, hub in enumerate(machine.kit.hubs) if hub.role == "frame"]
    shapes: list[Shape] = []
    drawn: dict[str, dict[str, None]] = {}
    for panel, origin in zip(panels, origins(panels, scale), strict=True):
        pen = _Pen(origin, scale, kinds)
        content = panel.content()
        pen.panel(panel, content)
        shapes += pen.shapes
        for look, items in pen.drawn.items():
            drawn.setdefault(look, {}).update(items)
    shapes += words_below(panels, entries, scale, kinds)
    shapes, legend = on_paper(shapes, _legend(drawn), scale)
    return Drawing(sheet.title, _about(machine, sheet, scale, paper), shapes, legend, to_scale=True)


def _about(machine: Machine, sheet: Sheet, scale: int, paper: str) -> str:
    about = {
        "section": "Three views in third-angle projection. Of parts that cover one another the "
        "nearest is drawn.",
        "layer": "What lies in this level, seen from above.",
        "beam": "The four faces of the beam unfolded, each seen from outside; a chord is drawn on "
        "both faces that share it, and counted once.",
        "joint": "The hubs on one side of the joint; ringed hubs take a coupling rod.",
    }[sheet.kind]
    return (
        f"{about} Laid out for 1:{scale} on {paper.upper()}. Millimetres between hub centres and "
        "over hub ends; symbols of hubs and widths of lines are not to scale."
    )


def _legend(drawn: Mapping[str, Mapping[str, None]]) -> list[Legend]:
    """What each line is, with the pitches of its rods."""
    entries = [
        Legend(ink, f"{words}: {', '.join(drawn[look])}" if look != "hidden" else words)
        for look, (ink, words) in LOOKS.items()
        if look in drawn
    ]
    more = {"hub": (HUB, HUBS_WORDS), "step": (STEP, STEP_WORDS), "ring": (COUPLED, COUPLED_WORDS)}
    return [*entries, *(Legend(*pair) for key, pair in more.items() if key in drawn)]


class _Pen:
    """Draws one panel whose origin stands at `origin`; sizes in mm on paper."""

    def __init__(self, origin: Point, scale: int, kinds: Sequence[int]) -> None:
        self.origin, self.scale, self.kinds = origin, scale, kinds
        self.shapes: list[Shape] = []
        self.drawn: dict[str, dict[str, None]] = {}
        self.spots = Spots()

    def panel(self, panel: Panel, content: Content) -> None:
        """Everything of a panel: lines first, then what stands on them."""
        radius = self._hub_radius(content.hubs)
        badges = self._badges(content.badges)
        self._rods(content, radius, badges)
        for hub in content.hubs:
            self._hub(hub, radius)
        for at, text in badges:
            self.drawn["step"] = {}
            self.shapes.append(Circle(at, _badge_radius(text) * self.scale, STEP))
            self.shapes.append(centred(at, text, self.scale))
        for note in content.notes:
            self._note(note, panel)
        self.shapes += dimensions(panel, self.origin, self.scale)
        top = self._at((panel.low[0], panel.high[1] + panel.beyond[3]))
        up = (3.2 + panel.noted[3]) * self.scale
        self.shapes.append(Label((top[0], top[1] + up), panel.title, TEXT_MM, bold=True))

    def _note(self, note: Note, panel: Panel) -> None:
        """Words beyond the end of what sticks out."""
        x, y = self._at(note.at)
        capital = CAPITAL * TEXT_MM
        if note.turned:
            away = 1.2 + capital if note.at[0] > panel.low[0] else -1.2
            at = (x + away * self.scale, y)
            self.shapes.append(Label(at, note.text, TEXT_MM, "middle", 90.0, bold=True))
        else:
            away = 1.2 if note.at[1] > panel.low[1] else -1.2 - capital
            at = (x, y + away * self.scale)
            self.shapes.append(Label(at, note.text, TEXT_MM, "middle", bold=True))

    def _at(self, point: Point) -> Point:
        return point[0] + self.origin[0], point[1] + self.origin[1]

    def _paper(self, point: Point) -> Point:
        x, y = self._at(point)
        return x / self.scale, y / self.scale

    def _hub_radius(self, hubs: Sequence[FlatHub]) -> float:
        """Of the symbols, mm on paper: nine in ten keep clear of their neighbours."""
        if len(hubs) < 2:
            return _HUB
        places = np.array([hub.at for hub in hubs])
        away = np.asarray(cKDTree(places).query(places, k=2)[0])[:, 1]
        room = float(np.percentile(away, 10)) / self.scale
        return _HUB if room >= _ROOMY else min(max(0.17 * room, 0.12), _PLAIN)

    def _rods(self, content: Content, radius: float, badges: Sequence[tuple[Point, str]]) -> None:
        for look, (ink, _) in LOOKS.items():
            rods = [rod for rod in content.rods if rod.look == look]
            if rods:
                self.drawn[look] = dict.fromkeys(rod.item for rod in rods)
                pairs = [(self._at(rod.start), self._at(rod.end)) for rod in rods]
                self.shapes.append(Segments(pairs, ink))
        if len(content.rods) > _MOST_LABELLED or radius < _HUB:
            return
        for hub in content.hubs:
            self.spots.take(*self._paper(hub.at), radius)
            for marked, side in ((hub.up, 1.0), (hub.down, -1.0)):
                if marked:
                    x, y = self._mark(hub, radius, side)
                    self.spots.take(x / self.scale, y / self.scale, 0.45)
        for (x, y), text in badges:
            self.spots.take(x / self.scale, y / self.scale, _badge_radius(text))
        for rod in content.rods:
            take_rod(rod, self.origin, self.scale, self.spots)
        for rod in sorted(content.rods, key=_sloping, reverse=True):
            if rod.look != "hidden":
                label = rod_label(rod, self.origin, self.scale, radius, self.spots)
                self.shapes += [label] if label else []

    def _hub(self, hub: FlatHub, radius: float) -> None:
        at, scale = self._at(hub.at), self.scale
        self.drawn["hub"] = {}
        if hub.coupled:
            self.drawn["ring"] = {}
            self.shapes.append(Circle(at, radius * 1.38 * scale, COUPLED))
        self.shapes.append(hub_symbol(at, radius * scale, hub.kind, self.kinds))
        if radius < _HUB:
            return
        self.shapes.append(centred(at, letter(hub.kind, self.kinds), scale))
        if hub.up:
            self.shapes.append(Circle(self._mark(hub, radius, 1.0), 0.45 * scale, MARK))
        if hub.down:
            x, y = self._mark(hub, radius, -1.0)
            arm = 0.5 * scale
            cross = [
                ((x - arm, y - arm), (x + arm, y + arm)),
                ((x - arm, y + arm), (x + arm, y - arm)),
            ]
            self.shapes.append(Segments(cross, MARK))

    def _mark(self, hub: FlatHub, radius: float, side: float) -> Point:
        """Where the mark of a rod up (1) or down (-1) stands: between level and sloping rods."""
        (x, y), reach = self._at(hub.at), (radius * 1.38 + 0.75) * self.scale * side
        return x + 0.38 * reach, y + 0.92 * reach

    def _badges(self, badges: Sequence[Badge]) -> list[tuple[Point, str]]:
        """Where numbers of steps stand: above the middle of large bays; of small bays of one step
        only in one of those halfway."""
        found = []
        small = [b for b in badges if (b.high[0] - b.low[0]) / self.scale < _ROOMY]
        if small:
            of_step: dict[int, list[Badge]] = {}
            for badge in badges:
                of_step.setdefault(badge.number, []).append(badge)
            badges = [row[len(row) // 2] for row in of_step.values()]
        for badge in badges:
            (x0, y0), (x1, y1) = self._paper(badge.low), self._paper(badge.high)
            if min(x1 - x0, y1 - y0) < _NUMBERED:
                continue
            text = str(badge.number)
            high = 0.5 if small else 0.78
            at = ((x0 + x1) / 2 * self.scale, (y0 + high * (y1 - y0)) * self.scale)
            found.append((at, text))
        return found


def _sloping(rod: FlatRod) -> bool:
    """Diagonals get their words first: they have the fewest places for them."""
    (x0, y0), (x1, y1) = rod.start, rod.end
    return abs(x1 - x0) > 0.05 and abs(y1 - y0) > 0.05


def _badge_radius(text: str) -> float:
    return 1.5 if len(text) == 1 else 1.95 if len(text) == 2 else 2.6

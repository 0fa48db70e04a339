"""A sheet as a drawing: panels, dimensions, symbols, words."""

from collections.abc import Callable, Sequence

import numpy as np
from scipy.spatial import cKDTree

from baywright_service.contract import (
    Circle,
    Dimension,
    Drawing,
    Label,
    Legend,
    Segments,
    Shape,
)

from .entries import entries_of
from .labels import Spots, rod_label, take_rod
from .machine import Machine
from .marks import (
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
    width_mm,
)
from .page import on_paper, origins, scale_of, words_below
from .panels import Badge, Chain, Content, FlatHub, Panel, Point
from .scales import TEXT_MM
from .sheets import Sheet
from .views import panels_of

#: Largest symbol of a hub, and the least that holds a letter; least bay with a number; mm on paper.
_HUB, _LETTERED, _NUMBERED = 1.7, 1.5, 5.5
#: Rods and hubs up to which words seek a free place.
_MOST_LABELLED = 3000


def sheet_drawing(machine: Machine, sheet: Sheet, paper: str) -> Drawing:
    """One sheet, its sizes right for `paper` at its standard scale."""
    panels, entries = panels_of(machine, sheet), entries_of(machine, sheet)
    scale = scale_of(panels, entries, paper)
    kinds = [place for place, hub in enumerate(machine.kit.hubs) if hub.role == "frame"]
    shapes: list[Shape] = []
    drawn: set[str] = set()
    for panel, origin in zip(panels, origins(panels, scale), strict=True):
        pen = _Pen(origin, scale, kinds)
        content = panel.content()
        pen.panel(panel, content)
        shapes += pen.shapes
        drawn |= pen.drawn
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
        f"{about} Scale 1:{scale} on {paper.upper()} paper (ask for scale=standard); millimetres "
        "over hub centres and hub ends; symbols of hubs and widths of lines are not to scale."
    )


def _legend(drawn: set[str]) -> list[Legend]:
    entries = [Legend(ink, words) for look, (ink, words) in LOOKS.items() if look in drawn]
    more = {"hub": (HUB, HUBS_WORDS), "step": (STEP, STEP_WORDS), "ring": (COUPLED, COUPLED_WORDS)}
    return [*entries, *(Legend(*pair) for key, pair in more.items() if key in drawn)]


class _Pen:
    """Draws one panel whose origin stands at `origin`; sizes in mm on paper."""

    def __init__(self, origin: Point, scale: int, kinds: Sequence[int]) -> None:
        self.origin, self.scale, self.kinds = origin, scale, kinds
        self.shapes: list[Shape] = []
        self.drawn: set[str] = set()
        self.spots = Spots()

    def panel(self, panel: Panel, content: Content) -> None:
        """Everything of a panel: lines first, then what stands on them."""
        radius = self._hub_radius(content.hubs)
        badges = self._badges(content.badges, radius)
        self._rods(content, radius, badges)
        for hub in content.hubs:
            self._hub(hub, radius)
        for at, text in badges:
            self.drawn.add("step")
            self.shapes.append(Circle(at, _badge_radius(text) * self.scale, STEP))
            self.shapes.append(centred(at, text, self.scale))
        for note in content.notes:
            x, y = self._at(note.at)
            if note.turned:
                side = 1.4 if note.at[0] > panel.low[0] else -1.4 - TEXT_MM * 0.3
                at = (x + (side + (TEXT_MM * 0.73 if side > 0 else 0)) * self.scale, y)
                self.shapes.append(Label(at, note.text, TEXT_MM, "middle", 90.0, bold=True))
            else:
                at = (x, y + 1.2 * self.scale)
                self.shapes.append(Label(at, note.text, TEXT_MM, "middle", bold=True))
        self._dimensions(panel)
        top = self._at((panel.low[0], panel.high[1] + panel.beyond[3]))
        self.shapes.append(
            Label((top[0], top[1] + 2.4 * self.scale), panel.title, TEXT_MM, bold=True)
        )

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
        away = cKDTree(places).query(places, k=2)[0][:, 1]
        return float(np.clip(0.29 * np.percentile(away, 10) / self.scale, 0.12, _HUB))

    def _rods(self, content: Content, radius: float, badges: Sequence[tuple[Point, str]]) -> None:
        for look, (ink, _) in LOOKS.items():
            rods = [rod for rod in content.rods if rod.look == look]
            if rods:
                self.drawn.add(look)
                pairs = [(self._at(rod.start), self._at(rod.end)) for rod in rods]
                self.shapes.append(Segments(pairs, ink))
        if len(content.rods) > _MOST_LABELLED or radius < _LETTERED:
            return
        for hub in content.hubs:
            self.spots.take(*self._paper(hub.at), radius)
        for (x, y), text in badges:
            self.spots.take(x / self.scale, y / self.scale, _badge_radius(text))
        for rod in content.rods:
            take_rod(rod, self.origin, self.scale, self.spots)
        for rod in content.rods:
            if rod.look != "hidden":
                label = rod_label(rod, self.origin, self.scale, radius, self.spots)
                self.shapes += [label] if label else []

    def _hub(self, hub: FlatHub, radius: float) -> None:
        at, scale = self._at(hub.at), self.scale
        self.drawn.add("hub")
        if hub.coupled:
            self.drawn.add("ring")
            self.shapes.append(Circle(at, radius * 1.38 * scale, COUPLED))
        self.shapes.append(hub_symbol(at, radius * scale, hub.kind, self.kinds))
        if radius < _LETTERED:
            return
        self.shapes.append(centred(at, letter(hub.kind, self.kinds), scale))
        reach = (radius * 1.38 + 0.75) * scale
        if hub.up:
            self.shapes.append(
                Circle((at[0] + 0.38 * reach, at[1] + 0.92 * reach), 0.45 * scale, MARK)
            )
        if hub.down:
            x, y, arm = at[0] - 0.38 * reach, at[1] - 0.92 * reach, 0.5 * scale
            cross = [
                ((x - arm, y - arm), (x + arm, y + arm)),
                ((x - arm, y + arm), (x + arm, y - arm)),
            ]
            self.shapes.append(Segments(cross, MARK))

    def _badges(self, badges: Sequence[Badge], radius: float) -> list[tuple[Point, str]]:
        """Where numbers of steps stand: in the middle of small bays, above it in large ones."""
        found = []
        for badge in badges:
            (x0, y0), (x1, y1) = self._paper(badge.low), self._paper(badge.high)
            if min(x1 - x0, y1 - y0) < _NUMBERED:
                continue
            text = str(badge.number)
            high = 0.78 if min(x1 - x0, y1 - y0) * 0.2 > _badge_radius(text) else 0.5
            at = ((x0 + x1) / 2 * self.scale, (y0 + high * (y1 - y0)) * self.scale)
            found.append((at, text))
        return found

    def _dimensions(self, panel: Panel) -> None:
        low = self._at(panel.low)
        if panel.across is not None:
            y = low[1] - panel.beyond[1]
            self._chain(panel.across, panel.overhang, lambda p: (p + self.origin[0], y), -1.0)
        if panel.up is not None:
            x = low[0] - panel.beyond[0]
            self._chain(panel.up, panel.overhang, lambda p: (x, p + self.origin[1]), 1.0)

    def _chain(
        self, chain: Chain, overhang: float, at: Callable[[float], Point], side: float
    ) -> None:
        """Bay numbers, runs of equal bays, and the whole over the hub ends."""
        scale, planes = self.scale, chain.planes
        if len(planes) > 2:
            for number, middle in _numbers(planes, scale):
                x, y = at(middle)
                away = 2.2 * scale
                place = (x, y - away) if side < 0 else (x - away, y)
                self.shapes.append(centred(place, str(number), scale))
        for first, last, text in _runs(chain):
            room = (planes[last] - planes[first]) / scale
            words = next((t for t in text if width_mm(t) + 1 < room), None)
            if words is not None:
                ends = at(planes[first]), at(planes[last])
                self.shapes.append(Dimension(*ends, words, side * 8.0 * scale, TEXT_MM))
        whole = planes[-1] - planes[0] + 2 * overhang
        words = f"{number_text(whole)} over hub ends"
        if width_mm(words) > whole / scale + 12:
            words = number_text(whole)
        ends = at(planes[0] - overhang), at(planes[-1] + overhang)
        self.shapes.append(Dimension(*ends, words, side * 14.0 * scale, TEXT_MM))


def _badge_radius(text: str) -> float:
    return 1.5 if len(text) == 1 else 1.95 if len(text) == 2 else 2.6


def _numbers(planes: Sequence[float], scale: int) -> list[tuple[int, float]]:
    """Bay numbers with their middles; every second, fifth ... where bays are small."""
    least = min(b - a for a, b in zip(planes, planes[1:], strict=False)) / scale
    every = next((k for k in (1, 2, 5, 10, 20, 50, 100) if least * k > 4.8), 200)
    return [
        (k + 1, (planes[k] + planes[k + 1]) / 2)
        for k in range(len(planes) - 1)
        if k == 0 or (k + 1) % every == 0
    ]


def _runs(chain: Chain) -> list[tuple[int, int, tuple[str, ...]]]:
    """(first plane, last plane, texts from long to short) of bays of one rod in a row."""
    if not chain.rods:
        return []
    runs = []
    first = 0
    for k in range(1, len(chain.rods) + 1):
        if k < len(chain.rods) and chain.rods[k] == chain.rods[first]:
            continue
        whole = number_text(chain.planes[k] - chain.planes[first])
        one = number_text(chain.planes[first + 1] - chain.planes[first])
        count, rod = k - first, chain.rods[first]
        texts = (f"{count} {rod}: {count} × {one} = {whole}", f"{count} × {one} = {whole}", whole)
        runs.append((first, k, texts if count > 1 else (f"{rod}: {whole}", whole)))
        first = k
    return runs


def number_text(value: float) -> str:
    """A length to the micrometre, no zeros behind.

    >>> number_text(1114.0), number_text(84.80000000000001)
    ('1114', '84.8')
    """
    return f"{value:.3f}".rstrip("0").rstrip(".")

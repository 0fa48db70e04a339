"""Pictures of a truss: how much members are used, how it moves, how it folds."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from baywright_service.contract import (
    Arrow,
    Circle,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Segments,
    Shape,
)

from ..frame import axonometric
from .equilibrium import Floats, Ints
from .numerals import figures

FAINT = Ink("#7b8794", 0.12)
PALE = Ink("#9aa5b1", 0.1, (0.5, 0.7))
HELD = Ink("#3e4c59", 0.25, (), "#f0b429")
GRAVITY = Ink("#1f2933", 0.6)
#: Classes of utilisation: at least this share, its ink, and what it means.
CLASSES = (
    (0.0, FAINT, "up to 30 % of what it takes"),
    (0.3, Ink("#1f2933", 0.3), "30 to 60 %"),
    (0.6, Ink("#0b69a3", 0.5, (1.6, 0.7)), "60 to 100 %"),
    (1.0, Ink("#ab091e", 0.85, (0.7, 0.9)), "over 100 %: it gives"),
)
SHARES = tuple((a, ink, text.replace("of what it takes", "of the largest").replace(
    "over 100 %: it gives", "the largest")) for a, ink, text in CLASSES)  # fmt: skip


@dataclass(frozen=True)
class Bars:
    """What is drawn: nodes_mm (n, 3) and members by start and end (m,)."""

    name: str
    nodes_mm: Floats
    start: Ints
    end: Ints


def draw(bars: Bars, picture: Mapping[str, Any], view: str) -> Drawing:
    """The picture named `view`: utilisation, deformed, mechanism, collapse, buckling or
    worst-orientation."""
    if "movement" in picture:
        if view == "mechanism":
            return _mechanism(bars, picture)
        return _plain(bars, "It folds: see the view mechanism.")
    if view == "two-part-hubs":
        return _plain(bars, "Hubs in two halves are known in a frame with a kit only.")
    if view in MOTIONS:
        return _motion(bars, picture, view)
    if view == "mechanism":
        return Drawing("Mechanism", "No mechanism: it stands by itself.", [])
    if "utilisation_ratio" not in picture:
        return _plain(bars, "No load case was computed.")
    if view == "utilisation":
        return _utilisation(bars, picture)
    if view == "deformed":
        return _deformed(bars, picture)
    if "orientation_ratio" not in picture:
        return _plain(bars, "No orientation was computed.")
    return _orientation(bars, picture)


def _segments(bars: Bars, places: Floats, which: Ints, ink: Ink) -> Segments:
    a, b = places[bars.start[which]], places[bars.end[which]]
    pairs = [((p[0], p[1]), (q[0], q[1])) for p, q in zip(a.tolist(), b.tolist(), strict=True)]
    return Segments(pairs, ink)


def _all(bars: Bars) -> Ints:
    return np.arange(len(bars.start))


def _plain(bars: Bars, words: str) -> Drawing:
    shapes = [_segments(bars, axonometric(bars.nodes_mm), _all(bars), FAINT)]
    title = f"{bars.name}: {words}"
    return Drawing(title, words, shapes, (Legend(FAINT, "member"),))


def _by_class(bars: Bars, places: Floats, share: Floats) -> list[Shape]:
    bounds = [low for low, _, _ in CLASSES]
    number = np.clip(np.searchsorted(bounds, share, side="right") - 1, 0, len(CLASSES) - 1)
    return [
        _segments(bars, places, which, CLASSES[k][1])
        for k in range(len(CLASSES))
        for which in [np.flatnonzero(number == k)]
        if len(which)
    ]


def _utilisation(bars: Bars, picture: Mapping[str, Any]) -> Drawing:
    places = axonometric(bars.nodes_mm)
    share = np.asarray(picture["utilisation_ratio"])
    labels = picture.get("labels")
    shapes = _by_class(bars, places, share)
    worst = float(share.max())
    if labels is None:
        title = f"{bars.name}: forces in {picture['case']}"
        words = f"Largest force {figures(float(np.abs(picture['force_n']).max()), 4)} N."
        return Drawing(title, words, shapes, tuple(Legend(i, t) for _, i, t in SHARES))
    shapes += _tags(bars, places, np.argsort(-share, kind="stable")[: len(labels)], labels)
    shapes += _held(places, picture)
    title = f"{bars.name}, {picture['case'].replace('-', ' ')}: how much its members are used"
    words = f"The most used member takes {worst * 100:.0f} % of what it can; ten are numbered."
    legend = [Legend(ink, text) for _, ink, text in CLASSES]
    if "held_nodes" in picture:
        legend.append(Legend(HELD, "held hub"))
    return Drawing(title, words, shapes, legend)


def _held(places: Floats, picture: Mapping[str, Any]) -> list[Shape]:
    """Rings around held hubs, and which way gravity pulls."""
    low, high = places.min(axis=0), places.max(axis=0)
    unit = float((high - low).max()) / 100.0
    shapes: list[Shape] = [
        Circle((float(places[node][0]), float(places[node][1])), 0.9 * unit, HELD)
        for node in picture.get("held_nodes", ())
    ]
    if "down" in picture:
        base = np.array([high[0] + 16 * unit, low[1] + 30 * unit])
        shapes += _gravity(base, np.asarray(picture["down"], dtype=float), unit)
    return shapes


def _gravity(base: Floats, down: Floats, unit: float) -> list[Shape]:
    tip = base + 16 * unit * axonometric(down[None])[0]
    above = (float(base[0]), float(max(base[1], tip[1]) + 3 * unit))
    return [
        Arrow((float(base[0]), float(base[1])), (float(tip[0]), float(tip[1])), GRAVITY),
        Label(above, "gravity", 1.8, "middle"),
    ]


def _tags(
    bars: Bars, places: Floats, members: Ints, labels: Sequence[Mapping[str, Any]]
) -> list[Shape]:
    """Numbers beside the worst members, kept apart, and a list of them at the right."""
    low, high = places.min(axis=0), places.max(axis=0)
    unit = float((high - low).max()) / 100.0
    middles = (places[bars.start[members]] + places[bars.end[members]]) / 2
    shapes: list[Shape] = []
    taken: list[Floats] = []
    centre = (low + high) / 2
    for number, middle in enumerate(middles):
        spot = _free_spot(middle, centre, taken, unit)
        taken.append(spot)
        at = (float(spot[0]), float(spot[1]))
        shapes.append(Line(((float(middle[0]), float(middle[1])), at), Ink("#52606d", 0.12)))
        shapes.append(Circle(at, 1.7 * unit, Ink("#1f2933", 0.15, (), "#ffffff")))
        shapes.append(Label((at[0], at[1] - 0.6 * unit), str(number + 1), 1.7, "middle", bold=True))
    x = float(max(high[0], max(spot[0] for spot in taken))) + 5 * unit
    for number, label in enumerate(labels):
        y = float(high[1]) - (2.0 + 3.4 * number) * unit
        shapes.append(Label((x, y), _tag_words(number + 1, label), 1.7))
    shapes.append(Line(((x, float(high[1])), (x + 46 * unit, float(high[1]))), Ink("#9aa5b1", 0.1)))
    return shapes


def _free_spot(middle: Floats, centre: Floats, taken: Sequence[Floats], unit: float) -> Floats:
    away = middle - centre
    first = float(np.arctan2(away[1], away[0]))
    for reach in np.arange(4.0, 40.0, 2.0):
        for turn in (0.0, 0.5, -0.5, 1.0, -1.0, 1.6, -1.6):
            spot = middle + reach * unit * np.array([np.cos(first + turn), np.sin(first + turn)])
            if all(np.hypot(*(spot - other)) > 4.2 * unit for other in taken):
                return spot
    return middle


def _tag_words(number: int, label: Mapping[str, Any]) -> str:
    pull = "pulled" if label["force_n"] > 0 else "pressed"
    ends = label.get("between", label["nodes"])
    name = label.get("rod") or f"member {label['member']}"
    return (
        f"{number}  {name} {ends[0]}-{ends[1]}  {abs(label['force_n']):.1f} N {pull}, "
        f"{label['utilisation_ratio'] * 100:.0f} %"
    )


def _deformed(bars: Bars, picture: Mapping[str, Any]) -> Drawing:
    moved = np.asarray(picture["displacement_mm"])
    most = float(np.sqrt((moved**2).sum(axis=1)).max())
    size = float(np.ptp(bars.nodes_mm, axis=0).max())
    scale = _round_scale(0.12 * size / most) if most > 0 else 1.0
    still, after = axonometric(bars.nodes_mm), axonometric(bars.nodes_mm + scale * moved)
    ink = Ink("#0b69a3", 0.2)
    shapes: list[Shape] = [
        _segments(bars, still, _all(bars), PALE),
        _segments(bars, after, _all(bars), ink),
    ]
    case = str(picture["case"]).replace("-", " ")
    words = f"Largest movement {figures(most)} mm, drawn {scale:g} times."
    legend = (Legend(PALE, "at rest"), Legend(ink, f"under load, movement drawn {scale:g} times"))
    return Drawing(f"{bars.name}, {case}: how it moves", words, shapes, legend)


def _round_scale(scale: float) -> float:
    power = 10.0 ** np.floor(np.log10(scale))
    return float(max(k * power for k in (1, 2, 5) if k * power <= scale))


def _mechanism(bars: Bars, picture: Mapping[str, Any]) -> Drawing:
    movement = np.asarray(picture["movement"])
    size = float(np.ptp(bars.nodes_mm, axis=0).max())
    moved = np.abs(movement).max(axis=1) > 0.1
    still = axonometric(bars.nodes_mm)
    after = axonometric(bars.nodes_mm + 0.07 * size * movement)
    loose = moved[bars.start] | moved[bars.end]
    ink, quiet = Ink("#ab091e", 0.5, (1.6, 0.7)), Ink("#52606d", 0.15)
    shapes: list[Shape] = [
        _segments(bars, still, np.flatnonzero(~loose), quiet),
        _segments(bars, still, np.flatnonzero(loose), PALE),
        _segments(bars, after, np.flatnonzero(loose), ink),
    ]
    count = int(moved.sum())
    words = f"{count} nodes move without any member changing its length."
    legend = (
        Legend(quiet, "stays"),
        Legend(PALE, "before it moves"),
        Legend(ink, "how it folds, movement not to scale"),
    )
    title = f"{bars.name}: mechanism {int(picture['mechanism']) + 1}"
    return Drawing(title, words, [shape for shape in shapes if _any(shape)], legend)


#: View -> member of the picture that holds its motion.
MOTIONS = {"collapse": "collapse_motion", "buckling": "buckling_motion"}


def _motion(bars: Bars, picture: Mapping[str, Any], view: str) -> Drawing:
    """How the frame gives way: collapse with the members that give, or its buckling mode."""
    if MOTIONS[view] not in picture:
        reason = picture.get("collapse_left_out") if view == "collapse" else None
        why = f"{reason}." if reason else f"No {view} was computed for this case."
        return _plain(bars, why[0].upper() + why[1:])
    motion = np.asarray(picture[MOTIONS[view]])
    size = float(np.ptp(bars.nodes_mm, axis=0).max())
    still, after = axonometric(bars.nodes_mm), axonometric(bars.nodes_mm + 0.07 * size * motion)
    moved, gives = Ink("#0b69a3", 0.2), Ink("#ab091e", 0.7, (1.6, 0.7))
    shapes: list[Shape] = [_segments(bars, still, _all(bars), PALE)]
    legend = [Legend(PALE, "at rest"), Legend(moved, "how it moves, not to scale")]
    if view == "buckling":
        shapes.append(_segments(bars, after, _all(bars), moved))
        factor, case = picture["buckling_factor"], str(picture["buckling_case"])
        title = f"{bars.name}, {case.replace('-', ' ')}: buckles at {factor:.3g} times the load"
        return Drawing(title, "How the whole frame bows out.", shapes, legend)
    members = np.asarray(picture["collapse_members"], dtype=np.int64)
    others = np.setdiff1d(_all(bars), members)
    shapes.append(_segments(bars, after, others, moved))
    shapes.append(_segments(bars, after, members, gives))
    legend.append(Legend(gives, f"gives: slips or is pressed in ({len(members)} members)"))
    case = str(picture["case"]).replace("-", " ")
    words = f"{len(members)} members give at their limits; the rest moves without resistance."
    shown = [shape for shape in shapes if _any(shape)]
    factors = (
        f"first slip at {picture['first_slip_factor']:.3g}, collapse at "
        f"{picture['collapse_factor']:.3g} times the load"
    )
    return Drawing(f"{bars.name}, {case}: {factors}", words, shown, legend)


def _any(shape: Shape) -> bool:
    return not isinstance(shape, Segments) or bool(shape.pairs)


def _orientation(bars: Bars, picture: Mapping[str, Any]) -> Drawing:
    places = axonometric(bars.nodes_mm)
    share = np.asarray(picture["orientation_ratio"])
    down = np.asarray(picture["orientation_direction"], dtype=float)
    low, high = places.min(axis=0), places.max(axis=0)
    unit = float((high - low).max()) / 100.0
    base = np.array([high[0] + 12 * unit, (low[1] + high[1]) / 2])
    shapes = _by_class(bars, places, share) + _gravity(base, down, unit)
    turned = ", ".join(f"{x:.2f}" for x in down)
    words = (
        f"Each member in the orientation that is worst for it. The worst of all has gravity "
        f"along ({turned}); its member takes {float(share.max()) * 100:.0f} %."
    )
    legend = (*(Legend(i, t) for _, i, t in CLASSES), Legend(GRAVITY, f"gravity along ({turned})"))
    return Drawing(f"{bars.name}: turned any way", words, shapes, legend)

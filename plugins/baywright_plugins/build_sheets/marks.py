"""Lines, symbols and letters; sizes in mm on paper."""

import math
from collections.abc import Sequence

from baywright_service.contract import Circle, Ink, Label, Polygon, Shape

from .panels import Point
from .scales import TEXT_MM

#: Line types and widths of ISO 128-2: continuous wide (01.2) and narrow (01.1), dashed narrow
#: (02.1) for what is hidden, long-dashed double-dotted narrow (05.1) for adjacent parts. Width in
#: mm of the series of ISO 128-2 (ratio 2 between wide and narrow); dashes from it.
LOOKS = {
    "axis": (Ink("#1f2933", 0.5), "Rods along the bays"),
    "chord": (Ink("#1f2933", 0.7), "Chords"),
    "batten": (Ink("#1f2933", 0.35), "Battens"),
    "diagonal": (Ink("#0b5394", 0.25), "Diagonals"),
    "cross": (Ink("#6b4e00", 0.25, (6.0, 0.75, 0.15, 0.75)), "Diagonals of cross faces"),
    "second": (Ink("#9a031e", 0.5), "Second diagonals"),
    "hidden": (Ink("#52606d", 0.18, (2.2, 0.6)), "Hidden, behind other parts"),
    "joint": (Ink("#1b5e20", 0.25, (4.0, 0.7, 0.15, 0.7, 0.15, 0.7)), "Coupling rods"),
    "other": (Ink("#1f2933", 0.35), "Rods"),
}
HUB = Ink("#1f2933", 0.3, (), "#ffffff")
COUPLED = Ink("#1b5e20", 0.3)
STEP = Ink("#52606d", 0.18, (), "#ffffff")
MARK = Ink("#1f2933", 0.18, (), "#1f2933")
HUBS_WORDS, COUPLED_WORDS, STEP_WORDS = "Hubs", "Ring: couples here", "Number of the step"

#: Height of a capital as a share of the size it is set in.
CAPITAL = 0.73

#: Corners and turn (degrees) of the outlines that tell kinds of hub apart, the circle first.
_OUTLINES = ((0, 0), (4, 45), (4, 0), (3, 90), (6, 0), (5, 90), (3, 270), (8, 22.5))


def letter(kind: int, kinds: Sequence[int]) -> str:
    """The letter of a kind of hub; "?" where none fits.

    >>> letter(7, [3, 7]), letter(-1, [3, 7])
    ('B', '?')
    """
    if kind not in kinds:
        return "?"
    place = kinds.index(kind)
    return chr(ord("A") + place) if place < 26 else f"A{place - 25}"


def hub_symbol(at: Point, radius: float, kind: int, kinds: Sequence[int]) -> Shape:
    """The outline of a hub of one kind, lengths in mm of the drawing."""
    place = kinds.index(kind) if kind in kinds else 1
    corners, turn = _OUTLINES[place % len(_OUTLINES)]
    if not corners:
        return Circle(at, radius, HUB)
    reach = radius * {3: 1.45, 4: 1.2}.get(corners, 1.1)
    return Polygon(
        [
            (
                at[0] + reach * math.cos(math.radians(turn + 360 * k / corners)),
                at[1] + reach * math.sin(math.radians(turn + 360 * k / corners)),
            )
            for k in range(corners)
        ],
        HUB,
    )


def centred(at: Point, text: str, scale: float, *, bold: bool = False) -> Label:
    """Text whose capitals stand in the middle of `at`."""
    return Label((at[0], at[1] - CAPITAL * TEXT_MM * scale / 2), text, TEXT_MM, "middle", bold=bold)


def width_mm(text: str, size: float = TEXT_MM) -> float:
    """How long a text is at most, mm, in the size of its font.

    From the widths of the faces used: blanks 0.32, wide letters 0.9, others up to 0.68.
    """
    return sum(0.32 if c == " " else 0.9 if c in "mwMW×=%" else 0.64 for c in text) * size

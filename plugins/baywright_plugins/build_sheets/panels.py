"""One view on a sheet, true to scale: its outline, and what is drawn in it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

Point = tuple[float, float]


@dataclass(frozen=True)
class FlatRod:
    """A rod on the page; `look` is a key of `marks.LOOKS`."""

    start: Point
    end: Point
    item: str
    look: str


@dataclass(frozen=True)
class FlatHub:
    """A hub on the page. `kind` is its place in the kit, -1 where none fits; `up` and `down` are
    marks for rods that leave the page; `coupled` where a coupling rod ends."""

    at: Point
    kind: int
    up: bool = False
    down: bool = False
    coupled: bool = False


@dataclass(frozen=True)
class Badge:
    """The number of a step, in a bay whose lower left corner is `low`."""

    low: Point
    high: Point
    number: int


@dataclass(frozen=True)
class Note:
    """Words beside the thing at `at`: right of it, or turned and above it."""

    at: Point
    text: str
    turned: bool = False


@dataclass(frozen=True)
class Content:
    rods: Sequence[FlatRod] = ()
    hubs: Sequence[FlatHub] = ()
    badges: Sequence[Badge] = ()
    notes: Sequence[Note] = ()


#: What is drawn is worked out when it is drawn.
Fill = Callable[[], Content]


@dataclass(frozen=True)
class Chain:
    """Planes of hubs along one side, mm, and the rod of each bay between; no rods: only the
    overall dimension is given."""

    planes: tuple[float, ...]
    rods: tuple[str, ...] = ()


@dataclass(frozen=True)
class Panel:
    """`low` and `high` are the corners of the hubs' ends, in the panel's own coordinates, mm.
    `column` and `row` (from below) say where it stands; `content` is asked for when drawn."""

    title: str
    low: Point
    high: Point
    column: int
    row: int
    content: Fill
    across: Chain | None = None
    up: Chain | None = None
    overhang: float = 0.0
    #: Room for parts that stick out beyond the hub ends, mm: left, below, right, above.
    beyond: tuple[float, float, float, float] = field(default=(0.0, 0.0, 0.0, 0.0))

    @property
    def size(self) -> Point:
        return self.high[0] - self.low[0], self.high[1] - self.low[1]

    @property
    def noted(self) -> tuple[float, float, float, float]:
        """Room for words at the ends of what sticks out, mm on paper."""
        left, below, right, above = (4.0 if reach > 0 else 0.0 for reach in self.beyond)
        return left, below, right, above

    @property
    def margins(self) -> tuple[float, float, float, float]:
        """Room for words and dimensions, mm on paper: left, below, right, above."""
        left, below, right, above = self.noted
        return (
            left + (19.0 if self.up else 3.0),
            below + (19.0 if self.across else 3.0),
            right + 3.0,
            above + 7.0,
        )

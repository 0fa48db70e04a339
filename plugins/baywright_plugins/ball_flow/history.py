"""What one run of the machine is asked for, and what it leaves behind."""

from dataclasses import dataclass, field


class TooMuchWork(ValueError):
    """More events than allowed."""


@dataclass(frozen=True)
class Outage:
    """A lift (index of its place) stands still from `stop_s` to `back_s`."""

    lift: int
    stop_s: float
    back_s: float


@dataclass(frozen=True)
class Watch:
    """The first moment from time 0 on at which `place` holds `count` balls is noted."""

    place: int
    count: int


@dataclass
class PlaceRecord:
    """What was seen at one place from time 0 to the end.

    `area` is the integral of balls there over time, `stay_s` the sum of the stays of the `left`
    balls that left; `waited` of the arrivals found every server busy, `turned_away` found it full;
    `full_s` and `turned_away_s` are the first moments at which its last place was taken and a ball
    was turned away.
    """

    arrived: int = 0
    left: int = 0
    turned_away: int = 0
    waited: int = 0
    area: float = 0.0
    stay_s: float = 0.0
    peak: int = 0
    full_s: float | None = None
    turned_away_s: float | None = None


@dataclass
class History:
    """One run: a record for each place, and what happened to the lines as a whole.

    `waiting` and `off` hold, at each sample, the most balls in all lines since the last sample
    and the balls in baskets. `usual_waiting` is the mean in the lines while settled, before time
    0; `last_crowded_s` the last moment with more waiting than the run was told is usual (None:
    never). `entered_s` holds when balls reached the entry, `watch_s` when the watches were (None:
    not) reached.
    """

    places: list[PlaceRecord]
    watch_s: list[float | None]
    sample_s: list[float] = field(default_factory=list)
    waiting: list[int] = field(default_factory=list)
    off: list[int] = field(default_factory=list)
    usual_waiting: float = 0.0
    most_waiting: int = 0
    most_waiting_s: float = 0.0
    last_crowded_s: float | None = None
    entered_s: list[float] = field(default_factory=list)
    put_in: int = 0
    fed: int = 0
    drained: int = 0
    in_baskets: int = 0
    most_in_baskets: int = 0
    spilled: int = 0
    on_machine: int = 0
    down_s: float = 0.0
    events: int = 0

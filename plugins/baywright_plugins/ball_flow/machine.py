"""The machine as places and links: the one model behind both ways of writing the inputs."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

#: What a place does with a ball. `path`: it travels; `station`: it waits for a server; `line`: it
#: waits for a hook; `lift`: it rides a chain; `split`: it is sent on at once; `feed`: it comes in;
#: `drain`: it goes out as planned; `basket`: it is off the machine.
KINDS = ("path", "station", "line", "lift", "split", "feed", "drain", "basket")

FIXED, EXPONENTIAL, UNIFORM = "fixed", "exponential", "uniform"

#: Name of the basket that takes what has nowhere else to go.
FLOOR = "floor-of-the-hall"


@dataclass(frozen=True)
class Place:
    """One place. Only what its kind needs is set; rates a second, times in seconds.

    `time_s` is the travel, service or riding time (mean of an exponential one, middle of a uniform
    one, `half_s` to either side). `places` counts balls that may wait (line, station) or be on it
    (path); None: no limit. `standing` balls always lie there and are never taken.
    """

    id: str
    kind: str
    time_s: float = 0.0
    half_s: float = 0.0
    times: str = FIXED
    servers: int = 1
    places: int | None = None
    headway_s: float = 0.0
    hook_s: float = 0.0
    per_hook: int = 1
    fill: float = 1.0
    feed_per_s: float = 0.0
    put_back_s: float | None = None
    standing: float = 0.0
    rotation: bool | None = None
    mtbf_s: float | None = None
    mttr_s: float | None = None
    group: str = ""

    @property
    def capacity_per_s(self) -> float | None:
        """The most it passes on; None where nothing limits it (a line: see its lifts)."""
        if self.kind == "lift":
            return self.per_hook * self.fill / self.hook_s
        if self.kind == "station":
            return self.servers / self.time_s
        return 1.0 / self.headway_s if self.headway_s > 0.0 else None


@dataclass(frozen=True)
class Link:
    """Balls go from `start` to `end`: by `share`, or, if `overflow`, when `start` is full."""

    start: int
    end: int
    share: float = 1.0
    overflow: bool = False


@dataclass(frozen=True)
class Machine:
    """Places in order, links, and where balls are put in (`entry`, None: feeds bring them).

    `rotation`: places send balls on in strict rotation by their shares, not at random.
    """

    places: tuple[Place, ...]
    links: tuple[Link, ...]
    entry: int | None
    rotation: bool = False

    def ways_on(self, place: int) -> list[Link]:
        return [link for link in self.links if link.start == place and not link.overflow]

    def overflow_of(self, place: int) -> int | None:
        ends = [link.end for link in self.links if link.start == place and link.overflow]
        return ends[0] if ends else None

    def lifts_of(self, line: int) -> list[int]:
        return [link.end for link in self.ways_on(line)]

    def indices(self, *kinds: str) -> list[int]:
        return [k for k, place in enumerate(self.places) if place.kind in kinds]

    def rotates(self, place: int) -> bool:
        own = self.places[place].rotation
        return self.rotation if own is None else own


def without_limits(machine: Machine) -> Machine:
    """The same machine where every waiting line has room for all."""
    places = tuple(
        replace(place, places=None) if place.kind == "line" else place for place in machine.places
    )
    return replace(machine, places=places)


def in_rotation(machine: Machine) -> Machine:
    """The same machine with nothing left to chance in its routing."""
    places = tuple(replace(place, rotation=None) for place in machine.places)
    return replace(machine, places=places, rotation=True)


def names(machine: Machine, places: Sequence[int]) -> list[str]:
    return [machine.places[k].id for k in places]

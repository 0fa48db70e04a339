"""In which attitude a thing travels from passage to passage, with as few turnings as can be."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .carried import PREFERENCE, UP, Carried
from .passage import RoutePassage
from .way import Crossing

_LEVEL = "upright"


@dataclass(frozen=True)
class Turning:
    """A thing laid down or stood up between two passages (None: start or end of the route)."""

    after: str | None
    before: str | None
    from_attitude: str
    to_attitude: str
    height_needed_mm: float
    ceiling_mm: float | None

    @property
    def fits(self) -> bool | None:
        return None if self.ceiling_mm is None else self.height_needed_mm <= self.ceiling_mm


def turnings(
    carried: Carried,
    passages: Sequence[RoutePassage],
    crossings: Sequence[Crossing],
    above_mm: float,
) -> list[Turning]:
    """Where a thing is turned, from upright in the workshop to upright at the show.

    Of all sequences of attitudes that pass every obstacle, one with fewest turnings, and then the
    one that keeps it upright most. Leaning in an opening counts as a turning of its own kind but
    needs no ceiling beyond the opening. An obstacle that nothing passes takes the nearest attitude.

    Ceiling needed: the diagonal of the face the thing turns in, and the room kept above.

    Source: a rule of removal men and cabinet-makers (tip a box up under a ceiling of at least its
    side diagonal); from memory.
    """
    stages = [(k, allowed) for k, c in enumerate(crossings) for allowed in _allowed(c)]
    chosen = _fewest_turns([allowed for _, allowed in stages])
    held = [(k, a) for (k, _), a in zip(stages, chosen, strict=True) if a != "tilted"]
    steps = [(-1, _LEVEL), *held, (len(passages), _LEVEL)]
    found = []
    for (k, now), (n, then) in zip(steps, steps[1:], strict=False):
        if now != then:
            near = [passages[i] for i in {k, n} if 0 <= i < len(passages)]
            ceilings = [p.ceiling_mm for p in near if p.ceiling_mm is not None]
            found.append(
                Turning(
                    passages[k].id if k >= 0 else None,
                    passages[n].id if n < len(passages) else None,
                    now,
                    then,
                    math.hypot(carried.along(UP[now]), carried.along(UP[then])) + above_mm,
                    max(ceilings, default=None),
                )
            )
    return found


def _allowed(crossing: Crossing) -> list[list[str]]:
    """For each obstacle of a passage the attitudes that pass it, else the one chosen."""
    found = []
    for chosen, tried in zip(crossing.ways, crossing.tried, strict=True):
        passing = {way.attitude for way in tried if way.passes}
        found.append([a for a in PREFERENCE if a in passing] or [chosen.attitude])
    return found


def _fewest_turns(stages: Sequence[Sequence[str]]) -> list[str]:
    """An attitude for each stage; the route starts and ends upright."""
    costs: dict[str, tuple[tuple[int, int], list[str]]] = {_LEVEL: ((0, 0), [])}
    for allowed in [*stages, [_LEVEL]]:
        after = {}
        for attitude in allowed:
            options = [
                (
                    (turns + (attitude != before), rank + PREFERENCE.index(attitude)),
                    [*path, attitude],
                )
                for before, ((turns, rank), path) in costs.items()
            ]
            after[attitude] = min(options, key=lambda option: option[0])
        costs = after
    return costs[_LEVEL][1][:-1]

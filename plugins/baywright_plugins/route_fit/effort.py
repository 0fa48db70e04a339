"""About how long a route takes to work out, so that none runs for more than some seconds."""

from collections.abc import Iterable, Sequence

from .carried import Carried
from .passage import RoutePassage

#: thousandths of a second on a usual machine, all things at all passages
MOST_MS = 9000.0

#: and what re-runs for remedies may take beside that
REMEDIES_MS = 4000.0


def effort_ms(things: Iterable[Carried], passages: Sequence[RoutePassage]) -> float:
    """Things that are alike count once: what is worked out is remembered.

    Source: measured, with room to spare; it decides only what is refused.
    """
    kinds = dict.fromkeys((t.size_mm, t.projections, t.led_along, t.keep_upright) for t in things)
    blocks = [max(len(projections), 1) for _, projections, _, _ in kinds]
    return sum(_one_ms(count, passage) for passage in passages for count in blocks)


def most_tries(effort: float, usual: int = 12) -> int:
    """How many re-runs a route leaves time for."""
    return max(min(usual, int(REMEDIES_MS / max(effort, 1.0))), 1)


def _one_ms(blocks: int, passage: RoutePassage) -> float:
    outline = blocks > 1
    cost = 0.3
    if passage.doorway is not None:
        hardware = len(passage.doorway.hardware)
        cost += 0.3 + (2.0 if outline else 0.0) + 0.06 * hardware * blocks
        cost += 0.7 if passage.doorway.before_mm or passage.doorway.behind_mm else 0.0
    corners = max(len(passage.corridors_mm) - 1, 0)
    if corners:
        cost += 0.9 * corners + (15.0 if outline and corners == 1 else 0.0)
    if passage.flight is not None:
        cost += 1.0 + 0.4 * len(passage.flight.landings)
    return cost

"""Which towers stand where: sets of things shared out among what bears, and their places."""

from collections.abc import Iterator, Sequence

from .model import Block, Placed, Way
from .nodes import Nodes
from .plan_search import Ground, Spot, lay
from .towers import Choice, Towers

Floor = Sequence[tuple[int, Way]]


def covers(
    towers: Towers, floor: Floor, blocks: Sequence[Block], left: int
) -> Iterator[tuple[int, ...]]:
    """Every way to share out the set `left` among the things on the floor and the blocks.

    Yields a set for each of them, things first; of equal things that bear nothing yet, only the
    first is given a tower.
    """
    bases: list[tuple[tuple[int, Way] | None, tuple[int, ...]]] = []
    for thing, way in floor:
        carries = towers.things[thing].carries_kg
        sets = towers.sets(way.sizes, way.height, carries, left) if left else ()
        bases.append(((thing, way), sets))
    for block in blocks:
        size = (block.spot.along, block.spot.across)
        bears = block.bears and left and min(size) > 0
        bases.append(
            (None, towers.sets((size,), block.height, float("inf"), left) if bears else ())
        )
    yield from _share(towers, bases, [0] * len(bases), left)


def _share(
    towers: Towers,
    bases: Sequence[tuple[tuple[int, Way] | None, tuple[int, ...]]],
    given: list[int],
    left: int,
) -> Iterator[tuple[int, ...]]:
    if not left:
        yield tuple(given)
        return
    first = left & -left
    seen = []
    for k, (base, sets) in enumerate(bases):
        if given[k]:
            continue
        if base is not None:
            same = (towers.things[base[0]], base[1])
            if same in seen:
                continue
            seen.append(same)
        for above in sets:
            if above & first and not above & ~left:
                towers.layers.nodes.spend()
                given[k] = above
                yield from _share(towers, bases, given, left & ~above)
                given[k] = 0


def raised(
    towers: Towers,
    floor: Floor,
    spots: Sequence[Spot],
    blocks: Sequence[Block],
    upon: Sequence[int],
) -> Iterator[Placed]:
    """Places of everything: the layout of the floor, and the towers on it and on the blocks."""
    for (thing, way), spot, above in zip(floor, spots, upon, strict=False):
        placed = Placed(thing, spot, 0, way.height)
        yield placed
        yield from _above(towers, thing, spot, placed.top, above)
    for k, (block, above) in enumerate(zip(blocks, upon[len(floor) :], strict=True)):
        yield from _above(towers, -1 - k, block.spot, block.height, above)


def _above(towers: Towers, under: int, spot: Spot, top: int, above: int) -> Iterator[Placed]:
    if not above:
        return
    size = (spot.along, spot.across)
    found = towers.upon(size, top, above)
    assert found is not None  # it was asked before
    choices = [towers.sizes(t.thing, t.way, top, t.above) for t in found]
    for tower, laid in zip(found, laid_out(choices, size, towers.layers.nodes), strict=True):
        place = Spot(spot.x + laid.x, spot.y + laid.y, laid.along, laid.across)
        placed = Placed(tower.thing, place, top, tower.way.height, (under,))
        yield placed
        yield from _above(towers, tower.thing, place, placed.top, tower.above)


def laid_out(choices: Sequence[Choice], size: tuple[int, int], nodes: Nodes) -> list[Spot]:
    """Places side by side on a top that has room for them, in the order given."""
    order = sorted(range(len(choices)), key=lambda k: (-sum(choices[k][0]), choices[k]))
    laid = lay([choices[k] for k in order], Ground(*size), nodes)
    assert laid is not None  # Layers has said so
    return [laid[order.index(k)] for k in range(len(choices))]

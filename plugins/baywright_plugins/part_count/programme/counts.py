"""How many of each part go where and come from where, read off a solved programme."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...kit import Hub
from .reading import Answer

#: A bought bar of raw dowel is no part of a kit.
Pieces = dict[str, int]


@dataclass(frozen=True)
class Flow:
    """One item: built_in + sawn_up + spares kept = from_shelf + salvaged + sawn + bought + missing,
    less what is over."""

    needed: int
    built_in: int
    sawn_up: int
    reserve: int
    on_shelf: int
    from_shelf: Mapping[str, int]
    salvaged: int
    sawn: int
    bought: int
    missing: int
    spares_missing: int

    @property
    def taken(self) -> int:
        return sum(self.from_shelf.values())

    @property
    def left(self) -> int:
        used = self.built_in + self.sawn_up + self.reserve - self.spares_missing - self.missing
        there = self.on_shelf + self.salvaged + self.sawn + self.bought
        return max(there - used, 0)


def flows(answer: Answer) -> dict[str, Flow]:
    """Every item that is needed or given, in the order of the kits.

    The shelf is used first, then old machines, then the saw; what a pack, a group or a saw gives
    beyond the need is over.
    """
    supply = answer.task.supply
    chosen = answer.chosen
    made, x = chosen.made, chosen.solved.x
    sawing = {variable for _, _, variable in made.cuts}
    found: dict[str, Flow] = {}
    salvaged = _given_by(answer, [(v, dict(g.parts)) for v, g in zip(made.groups, supply.groups,
                                                                     strict=True)])  # fmt: skip
    sawn: Pieces = {}
    for number, place, variable in made.cuts:
        source = supply.sources[number]
        for item, pieces in zip(source.pieces, source.patterns[place].pieces, strict=True):
            sawn[item] = sawn.get(item, 0) + pieces * x[variable]
    bought: Pieces = {}
    for variable, offer in zip(made.packs, supply.offers, strict=True):
        bought[offer.item] = bought.get(offer.item, 0) + offer.pieces * x[variable]
    for item in supply.parts:
        use = made.use.get(item, {})
        built = made.fixed.get(item, 0) + _pieces(use, x, set(use) - sawing)
        cut_up = _pieces(use, x, sawing)
        reserve = answer.task.reserve.get(item, 0)
        if not built and not cut_up and not reserve and not answer.needed.get(item):
            continue
        missing = x[made.missing[item]] if item in made.missing else 0
        lacking = x[made.spares_missing[item]] if item in made.spares_missing else 0
        want = built + cut_up + reserve - missing - lacking
        packs = bought.get(item, 0)
        from_shelf = _from_shelves(answer, item, want - packs)
        rest = want - packs - sum(from_shelf.values())
        old = min(salvaged.get(item, 0), max(rest, 0))
        cut = min(sawn.get(item, 0), max(rest - old, 0))
        part = supply.parts[item]
        of_frame = isinstance(part, Hub) and part.role == "frame"
        found[item] = Flow(
            built if of_frame else answer.needed.get(item, 0), built, cut_up, reserve,
            supply.on_hand.get(item, 0), from_shelf, old, cut, packs, missing, lacking,
        )  # fmt: skip
    return found


def _pieces(use: Mapping[int, float], x: Sequence[int], of: set[int]) -> int:
    return round(sum(pieces * x[v] for v, pieces in use.items() if v in of))


def _given_by(answer: Answer, groups: list[tuple[int, Pieces]]) -> Pieces:
    total: Pieces = {}
    for variable, parts in groups:
        for item, pieces in parts.items():
            total[item] = total.get(item, 0) + pieces * answer.chosen.solved.x[variable]
    return total


def _from_shelves(answer: Answer, item: str, want: int) -> dict[str, int]:
    """Cheapest shelves first; one that costs something gives what the programme took from it."""
    made, x = answer.chosen.made, answer.chosen.solved.x
    taken: dict[str, int] = {}
    left = max(want, 0)
    for shelf in sorted(answer.task.supply.shelves, key=lambda shelf: shelf.piece_cost):
        variable = made.taken.get((shelf.id, item))
        if variable is None:
            continue
        most = x[variable] if shelf.piece_cost else shelf.free[item]
        pieces = min(most, left)
        if pieces:
            taken[shelf.id] = pieces
            left -= pieces
    return taken

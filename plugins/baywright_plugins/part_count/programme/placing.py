"""From how many of each class to which members of which copy."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...frame import Frame
from ...kit import Kit
from ..hub_kinds import node_classes, used_ports
from .machines import Machine
from .model import Place, Programme
from .positions import Known, Site, Variant, least_loaded
from .sheet import Solved


@dataclass(frozen=True)
class Changes:
    """What is changed in one copy of a section: the way of each member that is a pair, and the
    members left out."""

    pairs: tuple[tuple[int, int], ...] = ()
    gone: tuple[int, ...] = ()

    @property
    def count(self) -> int:
        return len(self.pairs) + len(self.gone)


@dataclass(frozen=True)
class Copies:
    """Equal copies of one section: their numbers among the machine's, and how they are made."""

    site: int
    variant: int
    numbers: tuple[int, ...]
    changes: Changes


def placed(
    machines: Sequence[Machine],
    sites: Sequence[Site],
    made: Programme,
    solved: Solved,
    known: Known,
) -> list[Copies]:
    """The copies of every site, those that are made alike together.

    Changes are dealt out one by one, so that copies differ by one of each class at most; each
    copy takes the least loaded members of a class for pairs, and those missed least to leave out.
    """
    found: list[Copies] = []
    for number, site in enumerate(sites):
        first = 0
        for place, variant in enumerate(site.variants):
            own, count = made.copies[number, place]
            copies = count if own is None else solved.x[own]
            mine = [p for p in made.places if (p.site, p.variant) == (number, place)]
            each = [_changes(variant, mine, solved, known, k, copies) for k in range(copies)]
            alike: dict[Changes, list[int]] = {}
            for k, changes in enumerate(each):
                alike.setdefault(changes, []).append(first + k)
            found += [
                Copies(number, place, tuple(which), changes) for changes, which in alike.items()
            ]
            first += copies
    return found


def _changes(
    variant: Variant,
    places: Sequence[Place],
    solved: Solved,
    known: Known,
    copy: int,
    copies: int,
) -> Changes:
    pairs: list[tuple[int, int]] = []
    gone: list[int] = []
    rank = {member: number for number, member in enumerate(least_loaded(variant, known))}
    for place in places:
        out = 0 if place.left_out is None else solved.x[place.left_out]
        units: list[int | None] = [None] * out
        for way, variable in place.pairs:
            units += [way] * solved.x[variable]
        own = units[copy::copies]
        members = list(place.positions.members)
        dropped = sum(unit is None for unit in own)
        gone += members[:dropped]
        rest = sorted(members[dropped:], key=rank.__getitem__)
        pairs += zip(rest, (unit for unit in own if unit is not None), strict=False)
    return Changes(tuple(sorted(pairs)), tuple(sorted(gone)))


def loosened(part: Frame, thinner: Frame, kit: Kit, *, tolerance_deg: float) -> list[int]:
    """Nodes at which some kind of hub no longer stands once diagonals are left out: nothing
    locks its halves any more."""
    before, after = (_fits(one, kit, tolerance_deg) for one in (part, thinner))
    return [node for node, kinds in before.items() if not kinds <= after[node]]


def _fits(part: Frame, kit: Kit, tolerance_deg: float) -> Mapping[int, frozenset[int]]:
    kinds = [hub for hub in kit.hubs if hub.role == "frame"]
    ports = used_ports(part.nodes_mm, part.start, part.end, tolerance_deg=tolerance_deg)
    return {
        int(node): frozenset(one.fits)
        for one in node_classes(ports, kinds)
        for node in np.asarray(one.nodes)
    }

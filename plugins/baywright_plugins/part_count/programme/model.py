"""The stock programme: what is built in where, and where every part comes from, at least cost."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from ..shortage import Way
from .machines import Machine
from .positions import HubPlaces, Positions, Site
from .sheet import Sheet, Solved, in_order
from .supply import Supply

#: What is made least, in this order.
AIMS = ("missing", "spares_missing", "cost", "bought", "minutes", "changes", "order")
#: Changing a whole section's pattern weighs as much as so many pairs.
PATTERN_WEIGHT = 5.0
#: Preference among sections, small beside that among kinds of hub.
SITE_WEIGHT = 1e-3


@dataclass(frozen=True)
class Place:
    """A class of positions of one variant of a site, with its variables."""

    site: int
    variant: int
    positions: Positions
    itself: int
    pairs: tuple[tuple[int, int], ...]
    left_out: int | None


@dataclass(frozen=True)
class HubPlace:
    """Nodes of one variant of a site: kind and variable."""

    site: int
    variant: int
    kinds: tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Limit:
    """At most so many changed positions in the copies of one site; `rod` None: of any rod."""

    site: int
    most: int
    rod: int | None = None


@dataclass
class Programme:
    """The sheet with the meaning of its variables."""

    sheet: Sheet = field(default_factory=Sheet)
    places: list[Place] = field(default_factory=list)
    hubs: list[HubPlace] = field(default_factory=list)
    #: by (site, variant): the variable that says how many copies take it, or that number
    copies: dict[tuple[int, int], tuple[int | None, int]] = field(default_factory=dict)
    taken: dict[tuple[str, str], int] = field(default_factory=dict)
    packs: list[int] = field(default_factory=list)
    groups: list[int] = field(default_factory=list)
    cuts: list[tuple[int, int, int]] = field(default_factory=list)
    new_bars: dict[int, int] = field(default_factory=dict)
    missing: dict[str, int] = field(default_factory=dict)
    spares_missing: dict[str, int] = field(default_factory=dict)
    #: what each item is used for, by variable; and supplied by
    use: dict[str, dict[int, float]] = field(default_factory=dict)
    real: dict[str, dict[int, float]] = field(default_factory=dict)
    give: dict[str, dict[int, float]] = field(default_factory=dict)
    fixed: dict[str, int] = field(default_factory=dict)

    def needs(self, item: str, variable: int, *, real: bool = False) -> None:
        """One of `item` for one of `variable`; `real`: it must be there, a missing one won't do."""
        for rows in (self.use, self.real) if real else (self.use,):
            row = rows.setdefault(item, {})
            row[variable] = row.get(variable, 0.0) + 1.0

    def gives(self, item: str, variable: int, pieces: float = 1.0) -> None:
        row = self.give.setdefault(item, {})
        row[variable] = row.get(variable, 0.0) + pieces


@dataclass(frozen=True)
class Costs:
    """What counts beside the prices."""

    pair: float
    cut: float
    minute: float
    shelf_value: float


def programme_of(
    machines: Sequence[Machine],
    ways: Sequence[Sequence[Way]],
    sites: Sequence[Site],
    classes: Mapping[tuple[int, int], Sequence[Positions]],
    limits: Sequence[Limit],
    supply: Supply,
    reserve: Mapping[str, int],
    costs: Costs,
) -> Programme:
    """The programme as a sheet.

    Variables: copies of each section by brace pattern; positions of each class as they are, as a
    pair of each way, or left out; hubs of each class of nodes by kind; pieces from each shelf,
    packs, groups of old machines, lengths sawn each way. Rows: every position and node of every
    copy is filled; every part is there for what is built in, sawn up and kept as spares.

    Args:
        ways: by machine. classes: by (site, variant). reserve: spares by item.
    """
    made = Programme()
    preferred = _preference(sites)
    for machine in machines:
        for item, count in machine.fixed().items():
            made.fixed[item] = made.fixed.get(item, 0) + count
    for number, site in enumerate(sites):
        _add_site(
            made, number, site, machines[site.machine], ways[site.machine], classes, costs,
            preferred[number],
        )  # fmt: skip
    for limit in limits:
        _add_limit(made, limit)
    _add_supply(made, supply, costs)
    for item in supply.parts:
        _add_balance(made, item, reserve.get(item, 0))
    return made


def _preference(sites: Sequence[Site]) -> list[float]:
    """Weight of a change by section: least where the weakest case has most in hand, so that few
    and strong sections are changed."""
    slip = [site.variants[0].held.first_slip for site in sites]
    order = sorted(range(len(sites)), key=lambda number: (-slip[number], number))
    return [SITE_WEIGHT * (1 + order.index(number)) for number in range(len(sites))]


def _add_site(
    made: Programme,
    number: int,
    site: Site,
    machine: Machine,
    ways: Sequence[Way],
    classes: Mapping[tuple[int, int], Sequence[Positions]],
    costs: Costs,
    preference: float,
) -> None:
    sheet = made.sheet
    single = len(site.variants) == 1
    copies: list[int] = []
    for place, variant in enumerate(site.variants):
        own: int | None = None
        if not single:
            own = sheet.variable(machine.count, changes=PATTERN_WEIGHT if place else 0.0)
            copies.append(own)
        made.copies[number, place] = (own, machine.count)
        for one in classes[number, place]:
            _add_positions(made, (number, place), one, own, machine, ways, costs, preference)
        _add_hubs(made, (number, place), variant.hubs, own, machine)
    if copies:
        sheet.row(dict.fromkeys(copies, 1.0), least=machine.count, most=machine.count)


def _filled(made: Programme, row: dict[int, float], many: int, own: int | None, count: int) -> None:
    """Positions in all copies of a variant, as a row."""
    if own is None:
        made.sheet.row(row, least=many * count, most=many * count)
    else:
        made.sheet.row({**row, own: -float(many)}, least=0.0, most=0.0)


def _add_positions(
    made: Programme,
    at: tuple[int, int],
    one: Positions,
    own: int | None,
    machine: Machine,
    ways: Sequence[Way],
    costs: Costs,
    preference: float,
) -> None:
    sheet, kit = made.sheet, machine.kit
    most = len(one.members) * machine.count
    itself = sheet.variable(most)
    made.needs(kit.rods[one.rod].id, itself)
    row = {itself: 1.0}
    pairs = []
    for way in one.ways:
        variable = sheet.variable(most, changes=1.0, cost=costs.pair, order=preference)
        pairs.append((way, variable))
        row[variable] = 1.0
        assert kit.middle_hub is not None
        made.needs(kit.rods[ways[way].first].id, variable, real=True)
        made.needs(kit.rods[ways[way].second].id, variable, real=True)
        made.needs(kit.middle_hub.id, variable, real=True)
    left_out = None
    if one.spare:
        left_out = sheet.variable(most, changes=1.0, order=preference)
        row[left_out] = 1.0
    _filled(made, row, len(one.members), own, machine.count)
    made.places.append(Place(at[0], at[1], one, itself, tuple(pairs), left_out))


def _add_hubs(
    made: Programme,
    at: tuple[int, int],
    hubs: Sequence[HubPlaces],
    own: int | None,
    machine: Machine,
) -> None:
    order = sorted(
        (hub for hub in machine.kit.hubs if hub.role == "frame"),
        key=lambda hub: (len(set(hub.ports)), hub.price),
    )
    rank = {hub.id: float(place) for place, hub in enumerate(order)}
    for places in hubs:
        kinds, nodes = places.kinds, places.nodes
        variables = [
            (kind, made.sheet.variable(nodes * machine.count, order=rank[kind])) for kind in kinds
        ]
        for kind, variable in variables:
            made.needs(kind, variable)
        _filled(made, {v: 1.0 for _, v in variables}, nodes, own, machine.count)
        made.hubs.append(HubPlace(at[0], at[1], tuple(variables)))


def _add_limit(made: Programme, limit: Limit) -> None:
    changed: dict[int, float] = {}
    for place in made.places:
        if place.site == limit.site and limit.rod in (None, place.positions.rod):
            changed |= {variable: 1.0 for _, variable in place.pairs}
            if place.left_out is not None and limit.rod is None:
                changed[place.left_out] = 1.0
    if changed:
        made.sheet.row(changed, most=limit.most)


def _add_supply(made: Programme, supply: Supply, costs: Costs) -> None:
    sheet = made.sheet
    for shelf in supply.shelves:
        for item, free in shelf.free.items():
            if item in supply.parts and free:
                worth = shelf.piece_cost + costs.shelf_value * supply.price(item)
                variable = sheet.variable(free, cost=worth)
                made.taken[shelf.id, item] = variable
                made.gives(item, variable)
    for offer in supply.offers:
        most = np.inf if offer.most is None else offer.most
        variable = sheet.variable(most, cost=offer.price, bought=float(offer.pieces))
        made.packs.append(variable)
        made.gives(offer.item, variable, float(offer.pieces))
    for group in supply.groups:
        variable = sheet.variable(
            1, cost=costs.minute * group.minutes, minutes=group.minutes, changes=1.0
        )
        made.groups.append(variable)
        for item, pieces in group.parts.items():
            if pieces:
                made.gives(item, variable, float(pieces))
    for number, source in enumerate(supply.sources):
        sawn: dict[int, float] = {}
        for place, pattern in enumerate(source.patterns):
            variable = sheet.variable(
                cost=costs.cut * pattern.count, changes=1.0, order=pattern.offcut_um / 1e9
            )
            made.cuts.append((number, place, variable))
            sawn[variable] = 1.0
            for item, pieces in zip(source.pieces, pattern.pieces, strict=True):
                if pieces:
                    made.gives(item, variable, float(pieces))
            if not source.bar:
                made.needs(source.id, variable, real=True)
        if source.bar:
            if source.price is not None:
                more = sheet.variable(cost=source.price, bought=1.0)
                made.new_bars[number] = more
                sawn[more] = -1.0
            sheet.row(sawn, most=source.on_hand)


def _add_balance(made: Programme, item: str, spares: int) -> None:
    fixed = made.fixed.get(item, 0)
    use = made.use.get(item, {})
    if not use and not fixed and not spares:
        return
    missing = made.sheet.variable(missing=1.0)
    made.missing[item] = missing
    row = dict(made.give.get(item, {}))
    row[missing] = 1.0
    if spares:
        lacking = made.sheet.variable(spares, spares_missing=1.0)
        made.spares_missing[item] = lacking
        row[lacking] = 1.0
    for variable, pieces in use.items():
        row[variable] = row.get(variable, 0.0) - pieces
    made.sheet.row(row, least=float(fixed + spares))
    real = made.real.get(item)
    if real:
        there = dict(made.give.get(item, {}))
        for variable, pieces in real.items():
            there[variable] = there.get(variable, 0.0) - pieces
        made.sheet.row(there, least=0.0)


def solve(made: Programme) -> Solved:
    """The best answer by `AIMS` in their order. Raises sheet.NoWholeAnswer."""
    return in_order(made.sheet, AIMS)

"""Where parts can come from: shelves, packs, old machines, the saw."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ...frame import frame_of
from ...kit import Kit, Rod, available_counts
from ..kit_parts import KitPart, kit_parts
from ..tally import frame_tally
from .cutting import Pattern, cut_patterns
from .machines import Kits, named_kit


@dataclass(frozen=True)
class Shelf:
    """Free pieces by item; fetching one costs `piece_cost`."""

    id: str
    free: Mapping[str, int]
    piece_cost: float = 0.0


@dataclass(frozen=True)
class Offer:
    """A pack of `pieces`; `most` packs, None: any number. `row`: its place in the request, -1
    for single pieces at the kit's price."""

    item: str
    pieces: int
    price: float
    most: int | None
    row: int = -1


@dataclass(frozen=True)
class Group:
    """Parts of an old machine that come off together, and how long that takes."""

    old: str
    id: str
    parts: Mapping[str, int]
    minutes: float


@dataclass(frozen=True)
class Source:
    """A length that can be sawn: a rod of the kit (`bar` False) or raw dowel."""

    id: str
    bar: bool
    length_um: int
    on_hand: int
    price: float | None
    pieces: tuple[str, ...]
    patterns: tuple[Pattern, ...]


@dataclass(frozen=True)
class Supply:
    """Everything parts can come from; `sawing_complete`: all ways to saw were listed."""

    parts: Mapping[str, KitPart]
    shelves: tuple[Shelf, ...]
    offers: tuple[Offer, ...]
    groups: tuple[Group, ...]
    sources: tuple[Source, ...]
    kerf_um: int
    sawing_complete: bool

    def price(self, item: str) -> float:
        return self.parts[item].price

    @property
    def on_hand(self) -> dict[str, int]:
        """Free pieces by item on all shelves."""
        found: dict[str, int] = {}
        for shelf in self.shelves:
            for item, count in shelf.free.items():
                found[item] = found.get(item, 0) + count
        return found


def supply_of(inputs: Mapping[str, Any], kits: Kits, wanted: Sequence[str]) -> Supply:
    """What the request offers. `wanted`: items that the machines may take."""
    options = inputs["programme"]
    parts: dict[str, KitPart] = {}
    for kit, _ in kits.values():
        for part in kit_parts(kit):
            parts.setdefault(part.id, part)
    shelves = [Shelf("shelf", available_counts(inputs["stock"]))] if "stock" in inputs else []
    shelves += [
        Shelf(row["id"], available_counts(row["stock"]), row["piece_cost"])
        for row in inputs["more_shelves"]
    ]
    sources, kerf_um, complete = _sources(options.get("sawing"), kits[""][0], parts, wanted)
    return Supply(
        parts,
        tuple(shelves),
        tuple(_offers(options, parts, wanted)),
        tuple(_groups(inputs, kits)),
        sources,
        kerf_um,
        complete,
    )


def _offers(
    options: Mapping[str, Any], parts: Mapping[str, KitPart], wanted: Sequence[str]
) -> list[Offer]:
    if not options["may_buy"]:
        return []
    packs = [
        Offer(row["item"], row["pieces_count"], row["price"], row.get("most_packs_count"), place)
        for place, row in enumerate(options["offers"])
    ]
    packed = {offer.item for offer in packs}
    single = [Offer(i, 1, parts[i].price, None) for i in wanted if i not in packed]
    return [*packs, *single]


def _groups(inputs: Mapping[str, Any], kits: Kits) -> list[Group]:
    groups = []
    for place, old in enumerate(inputs["programme"]["salvage"]):
        pointer = f"/programme/salvage/{place}"
        kit, _ = named_kit(old, kits, pointer)
        good = old["usable_ratio"]
        if "frame" in old:
            groups += _sections(old, kit, inputs["port_tolerance_deg"], pointer)
            continue
        for row in old["groups"]:
            pieces: dict[str, int] = {}
            for part in row["parts"]:
                pieces[part["item"]] = pieces.get(part["item"], 0) + part["count"]
            usable = {item: _usable(count, good) for item, count in pieces.items()}
            groups.append(Group(old["id"], row["id"], usable, row["dismantle_min"]))
    return groups


def _sections(old: Mapping[str, Any], kit: Kit, tolerance_deg: float, pointer: str) -> list[Group]:
    frame = frame_of(old["frame"], kit, pointer=f"{pointer}/frame")
    uses = frame_tally(frame, kit, (), None, tolerance_deg=tolerance_deg).uses
    groups = []
    for number, section in enumerate(frame.sections):
        usable = {
            item: _usable(use.sections[number], old["usable_ratio"])
            for item, use in uses.items()
            if use.sections[number]
        }
        rods = int((frame.section == number).sum())
        groups.append(Group(old["id"], section.id, usable, rods * old["dismantle_min_per_rod"]))
    return groups


def _usable(count: int, ratio: float) -> int:
    return int(count * ratio + 1e-9)


def cut_um(rod: Rod, inset_mm: float) -> int:
    """Length of the bare rod in whole micrometres."""
    bare = rod.pitch_mm - 2 * inset_mm if rod.cut_mm is None else rod.cut_mm
    return round(bare * 1000)


def _sources(
    sawing: Mapping[str, Any] | None,
    kit: Kit,
    parts: Mapping[str, KitPart],
    wanted: Sequence[str],
) -> tuple[tuple[Source, ...], int, bool]:
    if sawing is None:
        return (), 0, True
    kerf = round(sawing["kerf_mm"] * 1000)
    inset = kit.frame_hub.seat.inset_mm
    rods = [part for part in parts.values() if isinstance(part, Rod)]
    lengths = {rod.id: cut_um(rod, inset) for rod in rods}
    goals = [rod for rod in rods if rod.id in wanted and lengths[rod.id] > 0]
    found: list[Source] = []
    complete = True
    blanks: list[tuple[str, bool, int, float, int, float | None, float | None]] = []
    if sawing["rods_may_be_cut"]:
        blanks += [
            (rod.id, False, lengths[rod.id], rod.diameter_mm, 0, None, rod.modulus_n_per_mm2)
            for rod in rods
        ]
    blanks += [
        (bar["id"], True, round(bar["length_mm"] * 1000), bar["diameter_mm"],
         bar["on_hand_count"], bar.get("price"), None)
        for bar in sawing["bars"]
    ]  # fmt: skip
    for id, is_bar, length, diameter, on_hand, price, modulus in blanks:
        fits = [
            rod
            for rod in goals
            if rod.diameter_mm == diameter
            and (modulus is None or rod.modulus_n_per_mm2 == modulus)
            and (lengths[rod.id] <= length if is_bar else lengths[rod.id] < length)
        ]
        once = list({lengths[rod.id]: rod.id for rod in fits}.values())
        cut = cut_patterns(length, [lengths[item] for item in once], kerf)
        complete = complete and cut.complete
        if cut.ways:
            found.append(Source(id, is_bar, length, on_hand, price, tuple(once), cut.ways))
    return tuple(found), kerf, complete

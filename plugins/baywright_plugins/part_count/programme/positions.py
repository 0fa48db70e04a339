"""Classes of positions: members of one section that take the same rod and may be changed alike."""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...frame import Frame, LayoutFault, build_frame
from ...truss_check.section import identity
from ..hub_kinds import node_classes, used_ports
from ..shortage import Way, ways_to_make
from .choices import AS_STATED, LEAVE_OUT, OTHER_PATTERNS, PAIRS
from .machines import Machine
from .strength import Held, InLine, Loads, as_stated, crossed, in_line, spare_diagonals

Ints = NDArray[np.int64]

#: Members of different sections that are solved at most, and searched for spare diagonals.
MOST_SOLVED = 12_000
MOST_SEARCHED_IN_ALL = 3_200
#: Variants of sections that are solved at most.
MOST_VARIANTS = 12


@dataclass(frozen=True)
class Positions:
    """One class: `members` of the section, least loaded first where loads are known.

    ways: places among the machine's ways that may stand there. spare: whether they may be left
    out, in the order given.
    """

    rod: int
    members: tuple[int, ...]
    ways: tuple[int, ...]
    spare: bool


@dataclass(frozen=True)
class HubPlaces:
    """Nodes that take the same kinds of hub, by id."""

    kinds: tuple[str, ...]
    nodes: int


@dataclass(frozen=True)
class Variant:
    """One way to brace a section. members (m,): numbers in the machine's frame, as stated only."""

    name: str
    part: Frame
    held: Held
    hubs: tuple[HubPlaces, ...]
    spare: tuple[int, ...] = ()
    members: Ints | None = None


@dataclass(frozen=True)
class Site:
    """One section of one machine: its variants, the first as stated, and how many positions of
    each rod are light enough and free of another diagonal."""

    machine: int
    section: int
    id: str
    variants: tuple[Variant, ...]


@dataclass(frozen=True)
class Known:
    """What is stated of loads in place of solving: compressions of the members of the one frame,
    and how many positions of a section may be pairs."""

    compression_n: NDArray[np.float64] | None
    light: Mapping[tuple[str, str | None], int] | None


def machine_ways(machine: Machine, options: Mapping[str, Any]) -> tuple[list[Way], list[InLine]]:
    """Pairs in line that can stand for any rod of the machine, and what each is worth."""
    mid = machine.kit.middle_hub
    if mid is None or PAIRS not in options["programme"]["ways"]:
        return [], []
    used = sorted(set(machine.frame.rod[machine.frame.section >= 0].tolist()))
    ways = ways_to_make(
        used, machine.kit, mid,
        turning_stiffness_n_mm_per_rad=mid.rotational_stiffness_n_mm_per_rad,
        margin=options["fold_margin"],
    )  # fmt: skip
    margin = options["buckling_margin_ratio"]
    return ways, [in_line(machine.kit, way, buckling_margin=margin) for way in ways]


class Survey:
    """Solves sections as they are asked for, each different one once, within bounds on work."""

    def __init__(self, loads: Loads, tolerance_deg: float) -> None:
        self.loads, self.tolerance_deg = loads, tolerance_deg
        self.known: dict[object, Held] = {}
        self.searched: dict[object, tuple[int, ...]] = {}
        self.variants = self._members_searched = 0
        self.unsolved: list[str] = []

    def site(self, machines: Sequence[Machine], number: int, section: int) -> Site:
        """A section as stated."""
        machine = machines[number]
        part = machine.frame.part(section)
        members = np.flatnonzero(machine.frame.section == section)
        name = machine.frame.sections[section].id
        held = self._held(part, machine, name)
        hubs = self._hubs(machine.frame, section, machine)
        stated = Variant(AS_STATED, part, held, hubs, members=members)
        return Site(number, section, name, (stated,))

    def _held(self, part: Frame, machine: Machine, name: str) -> Held:
        solved = sum(len(h.model.part.start) for h in self.known.values() if h.model is not None)
        if solved + len(part.start) > MOST_SOLVED:
            return Held(
                None, (), None, None, f"more than {MOST_SOLVED} members would have to be solved"
            )
        held = as_stated(part, machine.kit, self.loads, self.known)
        if held.reason:
            self.unsolved.append(f"{name}: {held.reason}")
        return held

    def _hubs(self, frame: Frame, section: int, machine: Machine) -> tuple[HubPlaces, ...]:
        kinds = [hub for hub in machine.kit.hubs if hub.role == "frame"]
        ports = used_ports(frame.nodes_mm, frame.start, frame.end, tolerance_deg=self.tolerance_deg)
        mine = frame.node_section == section
        return tuple(
            HubPlaces(tuple(kinds[k].id for k in one.fits), int(mine[one.nodes].sum()))
            for one in node_classes(ports, kinds)
            if one.fits and mine[one.nodes].any()
        )

    def with_spares(self, site: Site, machine: Machine) -> Site:
        """The site with diagonals that its strength as stated can spare."""
        stated, *others = site.variants
        stated = replace(stated, spare=self._spare(stated, machine))
        return replace(site, variants=(stated, *others))

    def _spare(self, variant: Variant, machine: Machine) -> tuple[int, ...]:
        model = variant.held.model
        if model is None:
            return ()
        same = identity(model)
        if same not in self.searched:
            self._members_searched += len(model.part.start)
            within = self._members_searched <= MOST_SEARCHED_IN_ALL
            found = spare_diagonals(variant.held, machine.kit, self.loads) if within else ()
            self.searched[same] = found
        return self.searched[same]

    def with_patterns(self, site: Site, machine: Machine, patterns: Sequence[str]) -> Site:
        """The site with other brace patterns, those that hold in every case."""
        layout = machine.layout
        if layout is None:
            return site
        variants = list(site.variants)
        for pattern in patterns:
            if self.variants == MOST_VARIANTS:
                break
            self.variants += 1
            found = self._braced(site, machine, pattern)
            if found is not None:
                variants.append(found)
        return replace(site, variants=tuple(variants))

    def _braced(self, site: Site, machine: Machine, pattern: str) -> Variant | None:
        layout = deepcopy(dict(machine.layout or {}))
        spec = layout["sections"][site.section]
        spec["side_faces"] = {"default": pattern}
        try:
            frame = build_frame(layout, machine.kit)
        except LayoutFault:
            return None
        part = frame.part(site.section)
        stated = site.variants[0]
        if _alike(part, stated.part):
            return None
        held = self._held(part, machine, f"{site.id} with {pattern} diagonals")
        required = self.loads.handling.required
        if not held.states or any(s.factor < required(s.case.kind) for s in held.states):
            return None
        return Variant(pattern, part, held, self._hubs(frame, site.section, machine))


def _alike(one: Frame, other: Frame) -> bool:
    return len(one.start) == len(other.start) and bool(
        (one.start == other.start).all() and (one.end == other.end).all()
    )


def classes_of(
    variant: Variant,
    ways: Sequence[Way],
    worth: Sequence[InLine],
    known: Known,
    loads: Loads,
    banned: frozenset[int],
) -> list[Positions]:
    """The classes of one variant of a section.

    A way may stand where its compression limit over the factor covers the greatest compression of
    the member, and no other diagonal passes where its mid-hub would be.

    Args:
        banned: members that a check has refused as pairs or to leave out.
    """
    part = variant.part
    compression = compression_of(variant, known)
    blocked = crossed(part)
    spare = [member for member in variant.spare if member not in banned]
    found: dict[tuple[int, tuple[int, ...], bool], list[int]] = {}
    for member in least_loaded(variant, known):
        rod = int(part.rod[member])
        fits: tuple[int, ...] = ()
        if not blocked[member] and member not in banned:
            fits = tuple(
                k
                for k, (way, pair) in enumerate(zip(ways, worth, strict=True))
                if way.rod == rod and _light(member, pair, compression, known, loads)
            )
        found.setdefault((rod, fits, member in spare), []).append(member)
    rank = {member: place for place, member in enumerate(spare)}
    return [
        Positions(
            rod,
            tuple(sorted(members, key=rank.__getitem__)) if may_go else tuple(members),
            fits,
            may_go,
        )
        for (rod, fits, may_go), members in found.items()
    ]


def least_loaded(variant: Variant, known: Known) -> list[int]:
    """Members in the order of their greatest force either way, where it is known; a pair is softer
    than the rod it replaces, so that it should stand where little goes through."""
    force = variant.held.force_n
    if force is None:
        force = compression_of(variant, known)
    if force is None:
        return list(range(len(variant.part.start)))
    order: list[int] = np.argsort(force, kind="stable").tolist()
    return order


def _light(member: int, pair: InLine, compression: Any, known: Known, loads: Loads) -> bool:
    if compression is None:
        return known.light is not None
    return bool(compression[member] * loads.pair_factor <= pair.compression_n * (1 + 1e-12))


def compression_of(variant: Variant, known: Known) -> NDArray[np.float64] | None:
    """Greatest compression of each member (m,) as stated or as solved; None where unknown."""
    if known.compression_n is not None and variant.members is not None:
        return known.compression_n[variant.members]
    return variant.held.compression_n


def alternatives(
    survey: Survey, sites: Sequence[Site], machines: Sequence[Machine], options: Mapping[str, Any]
) -> list[Site]:
    """The sites with what else their strength allows, where the request asks for it."""
    programme = options["programme"]
    found = list(sites)
    if LEAVE_OUT in programme["ways"]:
        found = [survey.with_spares(site, machines[site.machine]) for site in found]
    if OTHER_PATTERNS in programme["ways"]:
        found = [
            survey.with_patterns(site, machines[site.machine], programme["patterns"])
            for site in found
        ]
    return found

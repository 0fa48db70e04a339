"""Which sheets a machine takes: one for each section, level, beam and joint."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np

from ..frame import Frame
from ..frame.model import Ints
from ..part_count.beams import Beam
from .machine import Machine

KINDS = ("section", "layer", "beam", "joint")
#: Sheets of one set; the search for more ends with the first beyond.
MOST_SHEETS = 1500
#: Levels of one section without a grid that get a sheet each.
MOST_LEVELS = 60


@dataclass(frozen=True)
class Sheet:
    """`nodes` and `members` are the numbers of what is counted on it. `level` is the height of a
    layer, mm; `beam` that of a beam sheet; `section` is the first one of a joint."""

    id: str
    kind: str
    title: str
    section: int
    nodes: Ints
    members: Ints
    beam: Beam | None = None
    level: int = 0


def hubs_drawn(frame: Frame, sheet: Sheet) -> Ints:
    """Hubs of a sheet, and those of other sections at which its rods end."""
    ends = (frame.start[sheet.members], frame.end[sheet.members])
    return np.unique(np.concatenate([sheet.nodes, *ends]))


def sheets_of(
    machine: Machine, kinds: Collection[str] = KINDS, sections: Collection[str] = ()
) -> list[Sheet]:
    """Sheets in the order of the sections: of each the section, its levels from below, its
    beams; joints last. All sections where none is named. At most one more than MOST_SHEETS."""
    found: dict[str, Sheet] = {}
    for sheet in _all(machine, set(kinds), set(sections)):
        name, number = sheet.id, 2
        while name in found:
            name, number = f"{sheet.id}-{number}", number + 1
        found[name] = replace(sheet, id=name)
        if len(found) > MOST_SHEETS:
            break
    return list(found.values())


def _all(machine: Machine, kinds: set[str], sections: set[str]) -> Iterator[Sheet]:
    frame = machine.frame
    named = [number for number, s in enumerate(frame.sections) if not sections or s.id in sections]
    for number in named:
        nodes = np.flatnonzero(frame.node_section == number)
        members = np.flatnonzero(frame.section == number)
        if not len(nodes) and not len(members):
            continue
        section = frame.sections[number]
        name = f"Section {section.id}"
        if "section" in kinds:
            title = f"{name}: {section.title}" if section.title else name
            yield Sheet(f"section-{section.id}", "section", title, number, nodes, members)
        if "layer" in kinds and len(nodes):
            yield from _layers(frame, number, nodes, members)
        if "beam" in kinds and section.bays is not None:
            for place, beam in enumerate(machine.parts[number].beams, 1):
                title = f"{name}, beam {place}: {beam_words(beam, section.bays)}"
                held = beam_parts(machine, number, beam)
                yield Sheet(f"beam-{section.id}-{place}", "beam", title, number, *held, beam)
    if "joint" in kinds:
        yield from _joints(frame, set(named))


def _layers(frame: Frame, number: int, nodes: Ints, members: Ints) -> Iterator[Sheet]:
    section = frame.sections[number]
    if section.bays is not None:
        level = frame.lattice[nodes, 2]
    else:
        _, level = np.unique(np.round(frame.nodes_mm[nodes, 2], 3), return_inverse=True)
    of_node = np.full(len(frame.nodes_mm), -1, dtype=np.int64)
    of_node[nodes] = level
    count = int(level.max()) + 1
    if section.bays is None and count > MOST_LEVELS:
        return
    low, high = of_node[frame.start[members]], of_node[frame.end[members]]
    for place in range(count):
        held = nodes[level == place]
        if not len(held):
            continue
        flat = members[(low == place) & (high == place)]
        up = float(frame.nodes_mm[held[0], 2] - frame.nodes_mm[nodes, 2].min())
        title = f"Section {section.id}, level {place + 1} of {count}: {up:.1f} mm up"
        name = f"layer-{section.id}-{place + 1}"
        yield Sheet(name, "layer", title, number, held, flat, level=place)


def beam_parts(machine: Machine, section: int, beam: Beam) -> tuple[Ints, Ints]:
    """Hubs and rods of the bays of one beam, each once."""
    nodes: set[int] = set()
    members: set[int] = set()
    for i, j, k in beam.cells:
        corners = []
        for a, b, c in product((0, 1), repeat=3):
            node = machine.frame.node_at(section, (i + a, j + b, k + c))
            assert node is not None
            corners.append(node)
        nodes.update(corners)
        for pair in combinations(sorted(corners), 2):
            if pair in machine.between:
                members.add(machine.between[pair])
    return np.array(sorted(nodes), dtype=np.int64), np.array(sorted(members), dtype=np.int64)


def beam_words(beam: Beam, size: tuple[int, int, int]) -> str:
    """Where a beam lies in its section.

    >>> beam_words(Beam(0, (0, 0, 11), 9), (9, 6, 12))
    'along x, front, top'
    """
    ends = (("left", "right"), ("front", "back"), ("bottom", "top"))
    words = [f"along {'xyz'[beam.axis]}" if beam.axis < 2 else "upright"]
    for axis in range(3):
        if axis == beam.axis:
            continue
        place, count = beam.first[axis], size[axis]
        low, high = ends[axis]
        if place in (0, count - 1):
            words.append(low if place == 0 else high)
        else:
            words.append(f"bay {place + 1} from the {low}")
    if beam.bays < size[beam.axis]:
        first = beam.first[beam.axis] + 1
        words.append(f"bays {first} to {first + beam.bays - 1}")
    return ", ".join(words)


def _joints(frame: Frame, named: set[int]) -> Iterator[Sheet]:
    """Coupling rods between two sections, those of `named` on either side."""
    loose = np.flatnonzero(frame.section < 0)
    first, second = frame.node_section[frame.start[loose]], frame.node_section[frame.end[loose]]
    for a, b in sorted(set(zip(first.tolist(), second.tolist(), strict=True))):
        if a not in named and b not in named:
            continue
        rods = loose[(first == a) & (second == b)]
        ids = frame.sections[a].id, frame.sections[b].id
        title = f"Joint between {ids[0]} and {ids[1]}: where the machine comes apart"
        nothing = np.empty(0, dtype=np.int64)
        yield Sheet(f"joint-{ids[0]}-{ids[1]}", "joint", title, a, nothing, rods)

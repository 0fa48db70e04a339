"""In which order the machine comes apart by straight pulls along the joints."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx

#: (first section, second section, axis) of each joint.
Link = tuple[int, int, int]


@dataclass(frozen=True)
class Pull:
    """One straight pull: sections `moved` go along `axis`, towards + where `plus`, away from the
    sections `left`; the joints between them come apart together."""

    joints: tuple[int, ...]
    moved: tuple[int, ...]
    left: tuple[int, ...]
    axis: int
    plus: bool


@dataclass(frozen=True)
class Apart:
    """Pulls in order, and the joints that no straight pull opens."""

    pulls: tuple[Pull, ...]
    locked: tuple[int, ...]


def pulls_apart(sections: int, links: Sequence[Link], mass_kg: Sequence[float]) -> Apart:
    """The pulls that take a machine apart, lightest part first, until none is possible.

    Sections joined across other axes move together. Along one axis such a group can be pulled off
    where all its joints lie on one of its sides: then nothing stands in its way. Up and down only
    what stands on top is lifted. Rods must slide straight out of their seats, so no other way of
    moving opens a joint.

    Args:
        sections: how many; links: first section below second along axis 0, 1 or 2.
        mass_kg: of each section.

    Leaves out: lifting a section out once all its joints are open; room around the machine.
    Source: precedence of removal along a direction, as in disassembly planning; derived here.

    >>> [pull.joints for pull in pulls_apart(3, [(0, 1, 0), (1, 2, 0)], [3.0, 1.0, 2.0]).pulls]
    [(1,), (0,)]
    """
    left = list(range(len(links)))
    pulls: list[Pull] = []
    while left:
        options = [option for axis in range(3) for option in _options(sections, links, left, axis)]
        if not options:
            break
        best = min(
            options,
            key=lambda p: (sum(mass_kg[s] for s in p.moved), len(p.joints), p.joints, p.plus),
        )
        pulls.append(best)
        left = [joint for joint in left if joint not in best.joints]
    return Apart(tuple(pulls), tuple(left))


def _options(sections: int, links: Sequence[Link], left: Sequence[int], axis: int) -> list[Pull]:
    """Every group that can be pulled off along an axis."""
    together: nx.Graph[int] = nx.Graph()
    together.add_nodes_from(range(sections))
    together.add_edges_from((a, b) for a, b, k in (links[j] for j in left) if k != axis)
    group = {}
    for number, members in enumerate(nx.connected_components(together)):
        group.update(dict.fromkeys(members, number))
    mine = [j for j in left if links[j][2] == axis]
    options = []
    for number in sorted(set(group.values())):
        below = [j for j in mine if group[links[j][1]] == number]
        above = [j for j in mine if group[links[j][0]] == number]
        if bool(below) == bool(above) or (axis == 2 and above):
            continue
        joints = below or above
        moved = tuple(sorted(s for s in range(sections) if group[s] == number))
        side = 0 if below else 1
        rest = tuple(sorted({links[j][side] for j in joints}))
        options.append(Pull(tuple(joints), moved, rest, axis, bool(below)))
    return options


def people_needed(force_n: float, per_person_n: float) -> int:
    """People who pull together.

    Source of the default 150 N each: HSE guidance L23, Manual handling: starting a load, 200 N men
    and 150 N women.

    >>> people_needed(960.0, 150.0)
    7
    """
    return max(1, math.ceil(force_n / per_person_n - 1e-9))

"""Options that another one of the same section makes needless."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from .edit_programme import Wishes, option_cost
from .machine import Machine
from .section_options import Option, shape_key


@dataclass(frozen=True)
class Seen:
    """What the rest of the machine sees of a section: rows across joints and rows that must keep
    their length, bays handed over along `along`, and its whole shape where it has a twin that
    chooses from another list."""

    rows: tuple[int, ...]
    along: tuple[int, ...]
    shape: bool

    def of(self, option: Option) -> Hashable:
        return (
            tuple(option.edits[axis] for axis in self.rows),
            tuple(option.edits[axis].received for axis in self.along),
            shape_key(option) if self.shape else None,
        )


def needed_options(
    machine: Machine, options: Sequence[Sequence[Option]], wishes: Wishes
) -> list[list[Option]]:
    """The options of each section, cheapest first, without those that another can stand in for.

    It can where it looks the same to the rest of the machine, changes no row in a manner that the
    other does not, costs no more and takes no more of what the shelf limits. Twins that choose
    from one list can be changed for the better together, so that they stay twins.
    """
    known: dict[Hashable, list[Option]] = {}
    found = []
    for number, group in enumerate(options):
        seen = _seen(machine, options, wishes, number)
        key = (id(group), seen)
        if key not in known:
            known[key] = _undominated(group, seen, wishes)
        found.append(known[key])
    return found


def _seen(
    machine: Machine, options: Sequence[Sequence[Option]], wishes: Wishes, number: int
) -> Seen:
    mine = {joint.axis for joint in machine.joints if number in (joint.first, joint.second)}
    across = {axis for joint in mine for axis in range(3) if axis != joint}
    first = machine.twin_of[number]
    family = [k for k, model in enumerate(machine.twin_of) if model == first]
    return Seen(
        rows=tuple(sorted(across | set(wishes.kept_axes))),
        along=tuple(sorted(mine)),
        shape=any(options[k] is not options[number] for k in family),
    )


def _undominated(group: Sequence[Option], seen: Seen, wishes: Wishes) -> list[Option]:
    kept: dict[Hashable, list[Option]] = {}
    for option in sorted(group, key=lambda o: option_cost(o, wishes.weights)):
        alike = kept.setdefault(seen.of(option), [])
        if not any(_stands_in(one, option, wishes) for one in alike):
            alike.append(option)
    rest = {id(option) for options in kept.values() for option in options}
    cheapest_first = sorted(group, key=lambda o: option_cost(o, wishes.weights))
    return [option for option in cheapest_first if id(option) in rest]


def _stands_in(one: Option, other: Option, wishes: Wishes) -> bool:
    """Whether an option that costs no more than another can take its place."""
    return one.kinds <= other.kinds and all(
        a <= b for a, b in zip(_taken(one, wishes), _taken(other, wishes), strict=True)
    )


def _taken(option: Option, wishes: Wishes) -> tuple[int, ...]:
    """What it takes of what is limited."""
    rods = option.rods if wishes.most_rods is not None else ()
    hubs = (option.hubs,) if wishes.most_hubs is not None else ()
    middle = (option.in_line,) if wishes.most_middle is not None else ()
    return (*rods, *hubs, *middle, len(option.sizes_mm))

"""The integer programme: an option for each section, tied together by joints, twins and stock."""

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from .choice_programme import Condition, Programme
from .machine import Joint, Machine
from .rows import Row, RowEdit, split_axis
from .section_options import Option

#: Of ways that cost the same, the one that changes fewer rows, then loses less length, then cuts
#: more evenly is taken.
TIE_PER_ROW, TIE_PER_MM, TIE_PER_CUT_MM = 1e-3, 1e-5, 1e-6


@dataclass(frozen=True)
class Weights:
    """What counts as how much: parts taken out and put in, and what is given up."""

    hub_out: float = 1.0
    hub_in: float = 1.0
    rod_out: float = 1.0
    rod_in: float = 1.0
    identity_broken: float = 50.0
    uncoupled_face: float = 100.0
    bare_face: float = 20.0
    millimetre_lost: float = 0.0


@dataclass(frozen=True)
class Wishes:
    """What must hold beside passing the route.

    `kept_axes`: chains along them keep their length within `tolerance_mm`; a cut adds
    `split_rod_mm`. `most_rods`, `most_hubs`, `most_middle`: what all sections together may take
    (None: any number); `most_pieces`: how many they may become.
    """

    weights: Weights = Weights()
    allow_uncoupled: bool = False
    keep_identity: bool = False
    kept_axes: tuple[int, ...] = ()
    tolerance_mm: float = 0.0
    split_rod_mm: float = 0.0
    most_rods: tuple[int, ...] | None = None
    most_hubs: int | None = None
    most_middle: int | None = None
    most_pieces: int | None = None


def option_cost(option: Option, weights: Weights) -> float:
    """What one section's change costs by itself, with what decides between equals."""
    tie = TIE_PER_ROW * len(option.kinds) + TIE_PER_MM * max(option.lost_mm, 0.0)
    axis = split_axis(option.edits)
    if axis is not None:
        tie += TIE_PER_CUT_MM * max(size[axis] for size in option.sizes_mm)
    return plain_cost(option, weights) + tie


def plain_cost(option: Option, weights: Weights) -> float:
    """What one section's change costs by the weights alone."""
    return (
        weights.hub_out * option.hubs_out
        + weights.hub_in * (option.hubs_in + option.in_line)
        + weights.rod_out * option.rods_out
        + weights.rod_in * option.rods_in
        + weights.bare_face * option.bare
        + weights.millimetre_lost * max(option.lost_mm, 0.0)
    )


def programme_of(
    machine: Machine, options: Sequence[Sequence[Option]], wishes: Wishes
) -> Programme:
    """Groups are sections; switches are broken twins, then joints that are no longer flush, then
    the edits of all rows, which together say which option it is.

    Args:
        options: of each section, in the order of the machine.
    """
    made = _Maker(machine, options, wishes)
    made.twins()
    for number, joint in enumerate(machine.joints):
        made.hand_over(joint)
        made.cut_alike(joint)
        if joint.flush:
            made.flush(number, joint)
    for axis in wishes.kept_axes:
        made.length(axis)
    made.stock()
    for number in range(len(options)):
        for axis in range(3):
            made.edits(number, axis)
    return made.programme()


#: Pitches are whole micrometres, so a length is kept or is off by more than this.
HALF_UM = 5e-4

Key = TypeVar("Key", bound=Hashable)


class _Maker:
    def __init__(
        self, machine: Machine, options: Sequence[Sequence[Option]], wishes: Wishes
    ) -> None:
        self.machine, self.options, self.wishes = machine, options, wishes
        weights = wishes.weights
        costs = tuple(tuple(option_cost(o, weights) for o in group) for group in options)
        self.pairs = [(k, first) for k, first in enumerate(machine.twin_of) if first != k]
        self.switches = [weights.identity_broken] * len(self.pairs)
        self.switches += [weights.uncoupled_face] * len(machine.joints)
        self.shares = 0
        self._edits: dict[tuple[int, int], dict[RowEdit, int]] = {}
        self.plain = Programme(costs)
        self.switch = self.plain.switch
        self.conditions: list[Condition] = []

    def programme(self) -> Programme:
        """Everything put together; shares come behind all other columns."""
        plain = replace(self.plain, switch_costs=tuple(self.switches), shares=self.shares)
        conditions = tuple(
            replace(c, columns=tuple(k if k >= 0 else plain.width + k for k in c.columns))
            for c in self.conditions
        )
        return replace(plain, conditions=conditions, switches_decide=True)

    def add(self, terms: Sequence[tuple[int, float]], low: float, high: float) -> None:
        """A condition; one that nothing chosen can break is passed over."""
        if terms or not low <= 0 <= high:
            columns, coefficients = zip(*terms, strict=True) if terms else ((), ())
            self.conditions.append(Condition(columns, coefficients, low, high))

    def columns(self, number: int, key: Callable[[Option], Key]) -> dict[Key, list[int]]:
        """Columns of a section's options, by what they have in common."""
        found: dict[Key, list[int]] = {}
        for k, option in enumerate(self.options[number]):
            found.setdefault(key(option), []).append(self.plain.column(number, k))
        return found

    def twins(self) -> None:
        """Where a row of a twin is not as that of its model, it is a twin no more."""
        for switch, (number, first) in enumerate(self.pairs):
            for axis in range(3):
                model, twin = self.segments(first, axis), self.segments(number, axis)
                differences = [
                    _signed(model.get(look, ()), twin.get(look, ()))
                    for look in dict.fromkeys([*model, *twin])
                ]
                self.none_or_paid(differences, switch, forbidden=self.wishes.keep_identity)

    def segments(self, number: int, axis: int) -> dict[tuple[Row, ...], list[int]]:
        """Columns of the edits of a row, by what they make of it."""
        found: dict[tuple[Row, ...], list[int]] = {}
        for edit, column in self.edits(number, axis).items():
            found.setdefault(edit.segments, []).append(column)
        return found

    def none_or_paid(
        self, differences: Sequence[list[tuple[int, float]]], switch: int, *, forbidden: bool
    ) -> None:
        """No difference may be above 0, or a switch is paid. At most one of them is 1 where all is
        whole; so their sum bounds the switch, which is tighter than each by itself."""
        if forbidden:
            for terms in differences:
                self.add(terms, -np.inf, 0.0)
            return
        shares = []
        for terms in differences:
            self.shares += 1
            shares.append(-self.shares)  # placed behind the switches once these are all known
            self.add([*terms, (shares[-1], -1.0)], -np.inf, 0.0)
        self.add([*((share, 1.0) for share in shares), (self.switch(switch), -1.0)], -np.inf, 0.0)

    def hand_over(self, joint: Joint) -> None:
        """What one section gives the other takes."""
        axis = joint.axis
        taken = self.columns(joint.first, lambda o: o.edits[axis].received[1])
        given = self.columns(joint.second, lambda o: -o.edits[axis].received[0])
        for bays in dict.fromkeys([*taken, *given]):
            if bays:
                self.add(_signed(taken.get(bays, ()), given.get(bays, ())), 0.0, 0.0)

    def cut_alike(self, joint: Joint) -> None:
        """Across a joint both sections are cut, at one place, or neither."""
        for axis in _across(joint):
            first = self._cuts(joint.first, axis, 0)
            second = self._cuts(joint.second, axis, joint.offset_um[axis])
            for place in dict.fromkeys([*first, *second]):
                terms = _signed(first.get(place, ()), second.get(place, ()))
                self.add(terms, 0.0, 0.0)

    def _cuts(self, number: int, axis: int, start_um: int) -> dict[int, list[int]]:
        """Columns of the edits that cut a row, by the place of the cut."""
        found: dict[int, list[int]] = {}
        for edit, column in self.edits(number, axis).items():
            if edit.is_split:
                place = start_um + self.machine.length_um(edit.segments[0])
                found.setdefault(place, []).append(column)
        return found

    def flush(self, number: int, joint: Joint) -> None:
        """Rows across a joint stay flush, or the joint counts as lost."""
        for axis in _across(joint):
            first, second = self.edits(joint.first, axis), self.edits(joint.second, axis)
            fits = [
                (one, two)
                for one in first
                for two in second
                if self.machine.stay_flush(joint, axis, one, two)
            ]
            for mine, other, way in ((first, second, 0), (second, first, 1)):
                partners: dict[RowEdit, list[int]] = {edit: [] for edit in mine}
                for pair in fits:
                    partners[pair[way]].append(other[pair[1 - way]])
                differences = [_signed((mine[edit],), partners[edit]) for edit in mine]
                switch = len(self.pairs) + number
                forbidden = not self.wishes.allow_uncoupled
                self.none_or_paid(differences, switch, forbidden=forbidden)

    def edits(self, number: int, axis: int) -> dict[RowEdit, int]:
        """A column for each edit of a row: on where an option with it is taken."""
        key = (number, axis)
        if key not in self._edits:
            self._edits[key] = {}
            for edit, columns in self.columns(number, lambda o: o.edits[axis]).items():
                self.switches.append(0.0)
                column = self._edits[key][edit] = self.switch(len(self.switches) - 1)
                self.add(_signed((column,), columns), 0.0, 0.0)
        return self._edits[key]

    def length(self, axis: int) -> None:
        """Sections one behind the other keep their length together."""
        room = self.wishes.tolerance_mm + HALF_UM
        for chain in self.machine.chains(axis):
            terms = []
            for number in chain:
                grown = self.columns(number, self._grown_mm(number, axis))
                terms += [(c, mm) for mm, columns in grown.items() if mm for c in columns]
            self.add(terms, -room, room)

    def _grown_mm(self, number: int, axis: int) -> Callable[[Option], float]:
        """How much longer a section's row is in each option, the gap of a cut included."""
        length = self.machine.length_um
        before = length(self.machine.subjects[number].rows[axis])
        gap_um = round(1000 * self.wishes.split_rod_mm)

        def grown(option: Option) -> float:
            segments = option.edits[axis].segments
            after = sum(map(length, segments)) + (len(segments) - 1) * gap_um
            return (after - before) / 1000

        return grown

    def stock(self) -> None:
        """No part is taken more often than the shelf, or the machine as it is, allows; and there
        are no more pieces than a layout may have."""
        rods = self.wishes.most_rods or ()
        for k, most in enumerate(rods):
            self._at_most(most, _rods_of(k))
        self._at_most(self.wishes.most_hubs, lambda o: o.hubs)
        self._at_most(self.wishes.most_middle, lambda o: o.in_line)
        self._at_most(self.wishes.most_pieces, lambda o: len(o.sizes_mm))

    def _at_most(self, most: int | None, worth: Callable[[Option], int]) -> None:
        if most is None or sum(max(map(worth, group)) for group in self.options) <= most:
            return
        terms = [
            (column, float(count))
            for number in range(len(self.options))
            for count, columns in self.columns(number, worth).items()
            if count
            for column in columns
        ]
        self.add(terms, -np.inf, float(most))


def _rods_of(kind: int) -> Callable[[Option], int]:
    return lambda option: option.rods[kind]


def _signed(plus: Iterable[int], minus: Iterable[int]) -> list[tuple[int, float]]:
    return [*((column, 1.0) for column in plus), *((column, -1.0) for column in minus)]


def _across(joint: Joint) -> tuple[int, ...]:
    return tuple(axis for axis in range(3) if axis != joint.axis)

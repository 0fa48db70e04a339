"""The search for ways on one machine: options, programme, and each way built again."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from baywright_service.contract import CannotCalculate

from ..frame import LayoutFault
from ..grid_fit.sections import overhangs_mm
from .changed_layout import Changed, changed_layout
from .context import AXES, Context
from .edit_programme import Weights, Wishes
from .journey import Journey
from .machine import Machine, machine_of
from .rows import BAY_IN, BAY_OUT, EXCHANGED, KEPT, Row, Rules, row_edits
from .search import Found, Way, best_ways
from .section_options import Option, OptionMaker, Subject, subject_of
from .state import State, protruding_mm

#: Sections that a layout may have.
MOST_PIECES = 60
#: Options of all sections that are unlike one another, looked at in all.
MOST_LOOKED_AT = 20_000
#: Of one section, at most.
MOST_OPTIONS = 4000
#: Hubs built again, and obstacles looked at again, to prove ways; at least one way is proven.
MOST_HUBS_AGAIN, MOST_LOOKS_AGAIN = 50_000, 8000


@dataclass(frozen=True)
class Rebuilt:
    """A way carried out: what changes in the layout, the patch, and the run that proves it.

    `origins`: ids of the sections before, in the order of `changed.pieces`.
    """

    changed: Changed
    origins: tuple[str, ...]
    patch: Mapping[str, Any]
    value: Mapping[str, Any]


@dataclass(frozen=True)
class Identity:
    """Fewest parts changed with all twins kept, and with twins of no account (None: no way)."""

    twins: int
    kept: int | None
    free: int | None
    proven: bool


@dataclass
class Remedies:
    """`hopeless`: ids of sections that no option brings through."""

    machine: Machine
    found: Found
    hopeless: tuple[str, ...] = ()
    identity: Identity | None = None
    rebuilt: dict[tuple[Option, ...], Rebuilt] = field(default_factory=dict)

    def of(self, way: Way) -> Rebuilt:
        return self.rebuilt[way.options]


def remedies(context: Context, here: State, journey: Journey) -> Remedies:
    """The best ways for a machine that sticks, each built and led along the route again."""
    machine = machine_as_it_is(context, here)
    _check_chains(context, machine)
    options, complete = all_options(context, machine, journey)
    hopeless = tuple(
        subject.id for subject, group in zip(machine.subjects, options, strict=True) if not group
    )
    if hopeless:
        return Remedies(machine, Found(exhausted=complete), hopeless)
    search = Finder(context, here, machine, options, complete, journey.obstacles)
    answer = Remedies(machine, search.ways(), rebuilt=search.rebuilt)
    if any(first != k for k, first in enumerate(machine.twin_of)):
        answer.identity = search.identity()
    return answer


def _check_chains(context: Context, machine: Machine) -> None:
    """Raises CannotCalculate where too many rows of sections are to keep their length."""
    for place, axis in enumerate(context.inputs["keep_length"]):
        try:
            machine.chains(AXES.index(axis))
        except ValueError as error:
            raise CannotCalculate(
                f"/keep_length/{place}",
                "The sections branch so often that there are too many rows to keep in length.",
            ) from error


def machine_as_it_is(context: Context, here: State) -> Machine:
    hubs = overhangs_mm(context.kit, context.inputs["flush_axes"])
    specs = context.raw_layout["sections"]
    out = protruding_mm(context.raw_protrusions, [spec["id"] for spec in specs])
    subjects = [subject_of(spec, context.kit, hubs, out) for spec in specs]
    return machine_of(subjects, here.frame, here.sections, here.joints, context.kit)


def all_options(
    context: Context, machine: Machine, journey: Journey
) -> tuple[list[list[Option]], bool]:
    """Options of every section; sections alike in all that matters share theirs."""
    maker = OptionMaker(
        context.kit,
        journey,
        split_rod=context.split_rod,
        allow_unbraced=context.inputs["allow_unbraced"],
        allow_in_line=context.inputs["allow_in_line"],
    )
    keys = [_key(context, machine, number) for number in range(len(machine.subjects))]
    each = min(MOST_OPTIONS, MOST_LOOKED_AT // len(set(keys)))
    known: dict[Any, tuple[list[Option], bool]] = {}
    for number, key in enumerate(keys):
        if key not in known:
            subject = machine.subjects[number]
            rows = [
                row_edits(subject.rows[axis], _rules(context, machine, number, axis))
                for axis in range(3)
            ]
            known[key] = maker.options(subject, rows, most=each)
    complete = all(whole for _, whole in known.values()) and not journey.broken_off
    return [known[key][0] for key in keys], complete


def _key(context: Context, machine: Machine, number: int) -> Any:
    subject = machine.subjects[number]
    own = {"id", "title", "at_mm", "fittings"}
    spec = repr(sorted((k, v) for k, v in subject.spec.items() if k not in own))
    neighbours = tuple(_neighbours(context, machine, number, axis) for axis in range(3))
    fixed = subject.id in context.inputs["fixed_sections"]
    return spec, subject.low_mm, subject.high_mm, neighbours, fixed


def _neighbours(
    context: Context, machine: Machine, number: int, axis: int
) -> tuple[Row | None, Row | None]:
    """Rods that may be taken over at either end, nearest first; the neighbour keeps one bay."""
    most = context.inputs["most_bays"]
    low, high = (
        None if row is None else row[: min(most, len(row) - 1)]
        for row in machine.neighbours(number, axis)
    )
    return low, high


def _rules(context: Context, machine: Machine, number: int, axis: int) -> Rules:
    inputs, subject = context.inputs, machine.subjects[number]
    allow = set(inputs["allow"])
    if not inputs["keep_length"]:
        allow.discard(BAY_IN)
    if "beams" in subject.spec:
        allow &= {BAY_OUT, EXCHANGED}
    if subject.id in inputs["fixed_sections"]:
        allow = {KEPT}
    low, high = _neighbours(context, machine, number, axis)
    return Rules(
        allow=frozenset(allow),
        most_bays=inputs["most_bays"],
        new_rods=_new_rods(context, subject, axis),
        longer=AXES[axis] in inputs["keep_length"],
        low=low,
        high=high,
        fewest_bays=inputs["fewest_bays"],
        pitch_um=machine.pitch_um,
    )


def _new_rods(context: Context, subject: Subject, axis: int) -> tuple[str, ...]:
    """Rods worth putting into a row. One of the other two rows stays as it is: a rod that closes
    with nothing of either row, where faces between them want diagonals, can be left out."""
    kit = context.kit
    wanted = tuple(context.inputs.get("rods", [rod.id for rod in kit.rods]))
    if context.inputs["allow_unbraced"] or context.inputs["allow_in_line"]:
        return wanted

    def braced(rod: str, other: str) -> bool:
        a, b = (kit.rods[kit.rod_index[name]].pitch_mm for name in (rod, other))
        return kit.rod_spanning((a * a + b * b) ** 0.5) is not None

    others = [k for k in range(3) if k != axis]
    if not all(subject.patterns.wants(3 - axis - k) for k in others):
        return wanted
    beside = sorted({rod for k in others for rod in subject.rows[k]})
    return tuple(rod for rod in wanted if any(braced(rod, other) for other in beside))


class Finder:
    """Looks for ways and keeps what building them has shown."""

    def __init__(
        self,
        context: Context,
        here: State,
        machine: Machine,
        options: Sequence[Sequence[Option]],
        complete: bool,
        obstacles: int,
    ) -> None:
        self.obstacles = obstacles
        self.context, self.here, self.machine = context, here, machine
        self.options, self.complete = options, complete
        self.rebuilt: dict[tuple[Option, ...], Rebuilt] = {}
        self.wishes = _wishes(context, here)
        self._verdicts: dict[tuple[Option, ...], bool] = {}

    def ways(self) -> Found:
        """As many as asked for, or as can be proven in reasonable time."""
        asked = self.context.inputs["most_ways"]
        looks = len(self.machine.subjects) * self.obstacles
        most = max(min(MOST_HUBS_AGAIN // self.here.hubs, MOST_LOOKS_AGAIN // looks), 1)
        found = self._best(self.wishes, min(asked, most))
        short = most < asked and len(found.ways) == most
        return replace(found, broken_off=found.broken_off or short)

    def identity(self) -> Identity:
        """What keeping twins costs: the fewest parts with all kept, and with none regarded."""
        parts = replace(self.wishes.weights, identity_broken=0.0)
        kept = self._best(replace(self.wishes, weights=parts, keep_identity=True), 1)
        free = self._best(replace(self.wishes, weights=parts, keep_identity=False), 1)
        return Identity(
            twins=sum(first != k for k, first in enumerate(self.machine.twin_of)),
            kept=_parts_changed(kept),
            free=_parts_changed(free),
            proven=all(way.proven for found in (kept, free) for way in found.ways),
        )

    def _best(self, wishes: Wishes, most: int) -> Found:
        return best_ways(
            self.machine,
            self.options,
            wishes,
            self._accepted,
            most=most,
            complete=self.complete,
        )

    def _accepted(self, options: tuple[Option, ...]) -> bool:
        """Whether the way can be built and everything passes then."""
        if options not in self._verdicts:
            self._verdicts[options] = self._builds(options)
        return self._verdicts[options]

    def _builds(self, options: tuple[Option, ...]) -> bool:
        try:
            changed = changed_layout(
                self.context.raw_layout,
                self.context.raw_protrusions,
                self.machine,
                options,
                [section.at_mm for section in self.here.frame.sections],
                self.context.split_rod,
                self.context.kit,
            )
        except LayoutFault:
            return False
        patch = self._patch(changed)
        result = self.context.rerun(patch)
        if result is None or not result.value["passes"]:
            return False
        origins = tuple(subject.id for subject in self.machine.subjects)
        self.rebuilt[options] = Rebuilt(changed, origins, patch, result.value)
        return True

    def _patch(self, changed: Changed) -> dict[str, Any]:
        layout = {
            name: changed.layout[name] for name in ("sections", "joints") if name in changed.layout
        }
        patch: dict[str, Any] = {"frame": {"layout": layout}}
        if list(changed.protrusions) != list(self.context.raw_protrusions):
            patch["protrusions"] = list(changed.protrusions)
        return patch


def _parts_changed(found: Found) -> int | None:
    ways = found.ways
    return sum(option.parts_changed for option in ways[0].options) if ways else None


def _wishes(context: Context, here: State) -> Wishes:
    inputs, kit = context.inputs, context.kit
    rods, hubs, middle = _limits(context, here)
    return Wishes(
        weights=Weights(**(inputs.get("weights") or {})),
        allow_uncoupled=inputs["allow_uncoupled"],
        keep_identity=inputs["keep_identity"],
        kept_axes=tuple(k for k, axis in enumerate(AXES) if axis in inputs["keep_length"]),
        tolerance_mm=inputs["keep_length_tolerance_mm"],
        split_rod_mm=kit.rods[context.split_rod].pitch_mm,
        most_rods=rods,
        most_hubs=hubs,
        most_middle=middle,
        most_pieces=MOST_PIECES,
    )


def _limits(context: Context, here: State) -> tuple[tuple[int, ...] | None, int | None, int | None]:
    """Rods by kind, hubs and mid-hubs that all sections may take: what the shelf holds, or what
    they take now where that is more. Rods of joints that stay are set aside."""
    free, kit = context.available, context.kit
    if free is None:
        return None, None, None
    joints = [0] * len(kit.rods)
    for rod in here.frame.rod[here.frame.section < 0].tolist():
        joints[rod] += 1
    rods = tuple(
        max(free.get(rod.id, 0), here.rods.get(rod.id, 0)) - joints[k]
        for k, rod in enumerate(kit.rods)
    )
    there = sum(free.get(hub.id, 0) for hub in kit.hubs if hub.role == "frame")
    middle = kit.middle_hub
    return rods, max(there, here.hubs), 0 if middle is None else free.get(middle.id, 0)

"""Choose, solve the frame again with what was chosen, and choose anew where it does not hold."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ...truss_check.leave_out import without_members
from ...truss_check.section import NotHeld, identity
from ...truss_check.solve import NotSolvable
from ...truss_check.stability import RankUndecided
from ..shortage import Way
from .machines import Machine
from .model import AIMS, Costs, Limit, Programme, programme_of, solve
from .placing import Copies, loosened, placed
from .positions import Known, Positions, Site, classes_of
from .sheet import Solved
from .strength import Checked, InLine, Loads, check_again
from .supply import Supply

#: Choices that are tried before sections that do not hold keep their rods.
MOST_ROUNDS = 9


@dataclass(frozen=True)
class Task:
    """Everything that does not change from one choice to the next; ways and worth by machine."""

    machines: Sequence[Machine]
    ways: Sequence[Sequence[Way]]
    worth: Sequence[Sequence[InLine]]
    known: Known
    loads: Loads
    supply: Supply
    reserve: Mapping[str, int]
    costs: Costs
    tolerance_deg: float
    recheck: bool


@dataclass(frozen=True)
class Verdict:
    """What came of solving copies again: `checked` is None where nothing was changed or solved.
    refused: members that must stay as they are; failed: why, where the section fell apart."""

    copies: Copies
    checked: Checked | None = None
    refused: frozenset[int] = frozenset()
    failed: str = ""

    @property
    def holds(self) -> bool:
        checked = self.checked is None or self.checked.holds
        return checked and not self.refused and not self.failed


@dataclass(frozen=True)
class Chosen:
    """The best choice that held. refused: how many positions checks turned down, by site; failed:
    by site the fewest changes that did not hold; given_up: sites that keep their rods."""

    sites: Sequence[Site]
    classes: Mapping[tuple[int, int], Sequence[Positions]]
    made: Programme
    solved: Solved
    verdicts: tuple[Verdict, ...]
    rounds: int = 0
    refused: Mapping[int, int] = field(default_factory=dict)
    failed: Mapping[int, int] = field(default_factory=dict)
    given_up: tuple[int, ...] = ()

    @property
    def rank(self) -> tuple[float, ...]:
        """Less is better, in the order of the aims."""
        return tuple(round(self.solved.values[aim], 6) for aim in AIMS)

    @property
    def costs_nothing(self) -> bool:
        return not any(self.solved.values[aim] > 0 for aim in AIMS[:4])

    def changed(self, site: int) -> int:
        """Members changed in all copies of a site."""
        return sum(
            len(v.copies.numbers) * v.copies.changes.count
            for v in self.verdicts
            if v.copies.site == site
        )


@dataclass
class _Lessons:
    """What checks have taught: members barred by (site, variant); by site how many changes may be
    made, how many have held, and the fewest that did not."""

    banned: dict[tuple[int, int], frozenset[int]] = field(default_factory=dict)
    cap: dict[int, int] = field(default_factory=dict)
    held: dict[int, int] = field(default_factory=dict)
    failed: dict[int, int] = field(default_factory=dict)

    def learn(self, chosen: Chosen) -> None:
        """From a choice of which some sections do not hold."""
        for verdict in chosen.verdicts:
            if verdict.holds:
                continue
            copies = verdict.copies
            at, barred = (copies.site, copies.variant), set(verdict.refused)
            if verdict.checked is not None:
                barred |= set(verdict.checked.overloaded)
            if barred:
                self.banned[at] = self.banned.get(at, frozenset()) | barred
                continue
            site = copies.site
            self.failed[site] = min(self.failed.get(site, 10**9), chosen.changed(site))
            self.held[site] = min(self.held.get(site, 0), self.failed[site] - 1)
            self._halve(site)

    def _halve(self, site: int) -> None:
        self.cap[site] = (self.held.get(site, 0) + self.failed[site]) // 2

    def give_up(self, chosen: Chosen) -> None:
        """Sections that do not hold keep their rods."""
        for verdict in chosen.verdicts:
            if not verdict.holds:
                self.cap[verdict.copies.site] = 0

    def dare(self, chosen: Chosen) -> bool:
        """After a choice that holds: allow more changes between what held and what did not.
        False where there is nothing left to try."""
        daring = False
        for site, most in self.failed.items():
            self.held[site] = max(self.held.get(site, 0), chosen.changed(site))
            if most - self.held[site] > 1 and self.cap[site] > 0:
                self._halve(site)
                daring = True
        return daring

    @property
    def given_up(self) -> tuple[int, ...]:
        return tuple(sorted(site for site, most in self.cap.items() if most == 0))

    @property
    def refused(self) -> dict[int, int]:
        counts: dict[int, int] = {}
        for (site, _), members in self.banned.items():
            counts[site] = counts.get(site, 0) + len(members)
        return counts


def choose(task: Task, sites: Sequence[Site]) -> Chosen:
    """The best set found that holds in every load case.

    Members that a check refuses are barred and the programme is solved again; where cases fall
    short with no pair beyond its own limit, the number of changes that the section bears is
    sought by halving. So the set is the best among those built on positions that no check has
    refused, within `MOST_ROUNDS` choices; after them sections that do not hold keep their rods.

    Raises sheet.NoWholeAnswer.
    """
    lessons, known = _Lessons(), dict[object, Verdict]()
    best: Chosen | None = None
    rounds = 0
    while True:
        rounds += 1
        chosen = _once(task, sites, lessons, known)
        late = rounds >= MOST_ROUNDS
        if all(verdict.holds for verdict in chosen.verdicts):
            if best is None or chosen.rank < best.rank:
                best = replace(chosen, given_up=lessons.given_up)
            if late or best.costs_nothing or not lessons.dare(chosen):
                break
        elif late and best is not None:
            break
        elif late:
            lessons.give_up(chosen)
        else:
            lessons.learn(chosen)
    return replace(best, rounds=rounds, refused=lessons.refused, failed=lessons.failed)


def _once(
    task: Task, sites: Sequence[Site], lessons: _Lessons, known: dict[object, Verdict]
) -> Chosen:
    classes = {
        (number, place): classes_of(
            variant, task.ways[site.machine], task.worth[site.machine], task.known,
            task.loads, lessons.banned.get((number, place), frozenset()),
        )
        for number, site in enumerate(sites)
        for place, variant in enumerate(site.variants)
    }  # fmt: skip
    made = programme_of(
        task.machines, task.ways, sites, classes, _limits(task, sites, lessons),
        task.supply, task.reserve, task.costs,
    )  # fmt: skip
    solved = solve(made)
    found = placed(task.machines, sites, made, solved, task.known)
    verdicts = tuple(_verdict(task, sites, copies, known) for copies in found)
    return Chosen(sites, classes, made, solved, verdicts)


def _limits(task: Task, sites: Sequence[Site], lessons: _Lessons) -> list[Limit]:
    limits = [Limit(site, most) for site, most in lessons.cap.items()]
    light = task.known.light
    if light is None:
        return limits
    for number, site in enumerate(sites):
        machine = task.machines[site.machine]
        whole = light.get((site.id, None), 0)
        own = {rod: light.get((site.id, rod.id), 0) for rod in machine.kit.rods}
        limits.append(Limit(number, (whole + sum(own.values())) * machine.count))
        limits += [
            Limit(number, (whole + own[rod]) * machine.count, place)
            for place, rod in enumerate(machine.kit.rods)
        ]
    return limits


def _verdict(
    task: Task, sites: Sequence[Site], copies: Copies, known: dict[object, Verdict]
) -> Verdict:
    site = sites[copies.site]
    variant, machine = site.variants[copies.variant], task.machines[site.machine]
    changes, held = copies.changes, variant.held
    if not changes.count:
        return Verdict(copies)
    refused: frozenset[int] = frozenset()
    if changes.gone:
        part = variant.part
        loose = loosened(
            part, without_members(part, changes.gone), machine.kit,
            tolerance_deg=task.tolerance_deg,
        )  # fmt: skip
        gone = np.array(changes.gone)
        at = np.isin(part.start[gone], loose) | np.isin(part.end[gone], loose)
        refused = frozenset(gone[at].tolist())
    if refused or not task.recheck or not held.states or held.model is None:
        return Verdict(copies, refused=refused)
    same = (site.machine, identity(held.model), changes)
    if same not in known:
        worth = task.worth[site.machine]
        pairs = {member: worth[way] for member, way in changes.pairs}
        try:
            checked = check_again(held, machine.kit, pairs, changes.gone, task.loads)
            known[same] = Verdict(copies, checked)
        except (NotSolvable, NotHeld, RankUndecided) as fault:
            known[same] = Verdict(copies, failed=str(fault))
    told = known[same]
    return Verdict(copies, told.checked, told.refused, told.failed)

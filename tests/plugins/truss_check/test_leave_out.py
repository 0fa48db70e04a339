"""Diagonals that can go: proven by solving again, held against trying every set, and bounded."""

from dataclasses import replace
from itertools import combinations
from time import perf_counter
from typing import Any

import numpy as np
import pytest

from baywright_plugins.kit import Kit
from baywright_plugins.truss_check.handling import Handling, handling_cases
from baywright_plugins.truss_check.leave_out import (
    DIAGONALS,
    NothingToSpare,
    leave_out,
    without_members,
)
from baywright_plugins.truss_check.places import joined_pairs, key
from baywright_plugins.truss_check.section import SectionModel, section_model, solve_cases
from baywright_plugins.truss_check.stability import internal_stability
from tests.plugins.truss_check.sections import KIT, box_model, model_of

OPTIONS: dict[str, Any] = {"gravity_m_s2": 9.81, "buckling_margin": 1.5}
#: Rods without mass, so that a lighter section is loaded like the whole one.
MASSLESS = Kit(tuple(replace(rod, mass_g=0.0) for rod in KIT.rods), KIT.hubs)
HEAVY = [{"mass_kg": 86.0, "levels": [-1]}]


def small(kit: Kit) -> SectionModel:
    model = box_model(
        (3, 2, 3), side_faces={"default": "crossed"}, cross_faces={"every": 1}, fittings=HEAVY
    )
    return section_model(model.part, kit, **OPTIONS)


def standing_only(model: SectionModel) -> tuple[Any, Handling]:
    handling = Handling(cases=("stand", "carry-upright"))
    return handling_cases(model.part, handling).cases, handling


def margin(model: SectionModel, kit: Kit, gone: tuple[int, ...], handling: Handling) -> float:
    """Smallest factor over required factor from scratch; 0 where the section folds."""
    lighter = section_model(without_members(model.part, gone), kit, **OPTIONS)
    part = lighter.part
    if internal_stability(part.nodes_mm, part.start, part.end).mechanisms:
        return 0.0
    states = solve_cases(lighter, handling_cases(part, handling).cases)
    return min(float(s.factor) / handling.required(s.case.kind) for s in states)


@pytest.mark.slow
def test_the_first_to_go_is_the_one_missed_least_of_all() -> None:
    """Every diagonal tried from scratch, against the update of the solved cases."""
    model = small(MASSLESS)
    cases, handling = standing_only(model)
    found = leave_out(model, cases, handling, MASSLESS, most=1, **OPTIONS)
    braces = np.flatnonzero(np.isin(model.part.role, DIAGONALS)).tolist()
    margins = [margin(model, MASSLESS, (k,), handling) for k in braces]
    assert len(found.members) == 1
    best = margin(model, MASSLESS, found.members, handling)
    assert best == pytest.approx(max(margins), rel=1e-9)


@pytest.mark.slow
def test_against_every_set_of_a_few() -> None:
    """Seven diagonals may go, all 128 sets tried: what is found holds, and as many go."""
    model = small(KIT)
    cases, handling = standing_only(model)
    braces = np.flatnonzero(np.isin(model.part.role, DIAGONALS))
    few = np.random.default_rng(1).choice(braces, size=7, replace=False).tolist()
    keep = [k for k in braces.tolist() if k not in few]
    found = leave_out(model, cases, handling, KIT, keep=keep, **OPTIONS)
    holding = [
        len(gone)
        for count in range(8)
        for gone in combinations(few, count)
        if margin(model, KIT, gone, handling) >= 1.0
    ]
    assert set(found.members) <= set(few)
    assert margin(model, KIT, found.members, handling) >= 1.0
    assert 0 < len(found.members) == max(holding) < 7, "the search must be put to the test"
    assert found.at_most == 7


@pytest.mark.slow
def test_the_changed_play_section_of_the_demo_machine() -> None:
    """All ten cases: it re-solves to its required factors, stands, and nothing more can go."""
    model, handling = model_of("S2"), Handling()
    cases = handling_cases(model.part, handling).cases
    started = perf_counter()
    found = leave_out(model, cases, handling, KIT, **OPTIONS)
    assert perf_counter() - started < 10.0
    assert len(cases) == 10 and [s.case.id for s in found.states] == [c.id for c in cases]
    for state in found.states:
        assert state.factor >= handling.required(state.case.kind)
    bars, hubs = len(model.part.start), len(model.part.nodes_mm)
    assert found.at_most == bars - (3 * hubs - 6)
    assert 60 <= len(found.members) <= found.at_most
    assert len(found.part.start) == bars - len(found.members)
    assert not internal_stability(found.part.nodes_mm, found.part.start, found.part.end).mechanisms
    left = np.flatnonzero(np.isin(model.part.role, DIAGONALS)).tolist()
    more = [k for k in left if k not in found.members]
    for one in np.random.default_rng(1).choice(more, size=12, replace=False).tolist():
        assert margin(model, KIT, (*found.members, one), handling) < 1.0


def test_faces_count_what_is_left() -> None:
    model = model_of("S2")
    member = int(np.flatnonzero(model.part.role == DIAGONALS[2])[0])
    part = without_members(model.part, [member])
    pair = key(int(model.part.start[member]), int(model.part.end[member]))
    assert pair in joined_pairs(model.part) and pair not in joined_pairs(part)
    before = sum(face.diagonals for face in model.part.faces)
    assert sum(face.diagonals for face in part.faces) == before - 1


def test_most_cuts_it_short_and_says_what_could_still_go() -> None:
    model, handling = model_of("S2"), Handling(cases=("stand",))
    cases = handling_cases(model.part, handling).cases
    found = leave_out(model, cases, handling, KIT, most=3, **OPTIONS)
    assert len(found.members) == 3 and len(found.single_left) > 50
    assert not set(found.single_left) & set(found.members)


def test_nothing_to_spare_is_said() -> None:
    model = model_of("S2", "planned")
    cases = handling_cases(model.part, Handling()).cases
    with pytest.raises(NothingToSpare, match="falls short"):
        leave_out(model, cases, Handling(), KIT, **OPTIONS)
    bare = box_model((2, 2, 2), side_faces={"default": "none"}, cross_faces={"every": 0})
    with pytest.raises(NothingToSpare, match="folds"):
        leave_out(bare, (), Handling(), KIT, **OPTIONS)

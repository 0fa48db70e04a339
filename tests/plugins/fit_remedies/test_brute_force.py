"""The list of best ways against every combination there is, on small machines."""

from collections.abc import Callable, Sequence
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.fit_remedies import FitRemedies
from baywright_plugins.fit_remedies.context import context_of
from baywright_plugins.fit_remedies.coupling import planes_um, stay_flush
from baywright_plugins.fit_remedies.edit_programme import option_cost
from baywright_plugins.fit_remedies.machine import Machine
from baywright_plugins.fit_remedies.remedies import Finder, all_options, machine_as_it_is
from baywright_plugins.fit_remedies.rows import BAY_OUT, EXCHANGED, KINDS, SPLIT, RowEdit
from baywright_plugins.fit_remedies.section_options import Option, shape_key
from baywright_plugins.frame import build_frame
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.grid_fit.examples import KIT
from baywright_plugins.kit import Kit
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, merge_patch

pytestmark = pytest.mark.slow

Json = dict[str, Any]
Run = Callable[[Json], Result]


def allowed(machine: Machine, choice: Sequence[Option], inputs: Json, wishes: Any) -> float | None:
    """Cost of a choice by the rules as a person would check them; None where one is broken."""
    cost = sum(option_cost(option, wishes.weights) for option in choice)
    for joint in machine.joints:
        a, b = choice[joint.first], choice[joint.second]
        if a.edits[joint.axis].received[1] != -b.edits[joint.axis].received[0]:
            return None
        across = [k for k in range(3) if k != joint.axis]
        if any(
            cut_at(a.edits[k], 0, machine) != cut_at(b.edits[k], joint.offset_um[k], machine)
            for k in across
        ):
            return None
        rows = [(machine.subjects[j].rows) for j in (joint.first, joint.second)]
        flush = all(
            stay_flush(
                (rows[0][k], rows[1][k]), (a.edits[k], b.edits[k]), joint.offset_um[k],
                machine.pitch_um,
            )
            for k in across
        )  # fmt: skip
        if joint.flush and not flush:
            if not inputs["allow_uncoupled"]:
                return None
            cost += wishes.weights.uncoupled_face
    for number, first in enumerate(machine.twin_of):
        if first != number and shape_key(choice[number]) != shape_key(choice[first]):
            if inputs["keep_identity"]:
                return None
            cost += wishes.weights.identity_broken
    for axis in wishes.kept_axes:
        chains = machine.chains(axis)
        for chain in chains:
            grown = sum(
                sum(planes_um(s, machine.pitch_um)[-1] for s in choice[k].edits[axis].segments)
                + (len(choice[k].edits[axis].segments) - 1) * round(1000 * wishes.split_rod_mm)
                - planes_um(machine.subjects[k].rows[axis], machine.pitch_um)[-1]
                for k in chain
            )
            if abs(grown) > 1000 * wishes.tolerance_mm:
                return None
    for kind, most in enumerate(wishes.most_rods or ()):
        if sum(option.rods[kind] for option in choice) > most:
            return None
    if wishes.most_hubs is not None and sum(o.hubs for o in choice) > wishes.most_hubs:
        return None
    return cost


def cut_at(edit: RowEdit, start_um: int, machine: Machine) -> int | None:
    """Where a row is cut, None where it is not."""
    return start_um + planes_um(edit.segments[0], machine.pitch_um)[-1] if edit.is_split else None


def by_brute_force(
    machine: Machine, options: Sequence[Sequence[Option]], inputs: Json, wishes: Any, most: int
) -> list[float]:
    """Costs of the best ways: all choices by cost, without those that do all that an earlier one
    does."""
    costed = [
        (cost, choice)
        for choice in product(*options)
        if (cost := allowed(machine, choice, inputs, wishes)) is not None
    ]
    listed: list[tuple[float, list[frozenset[tuple[str, str]]]]] = []
    for cost, choice in sorted(costed, key=lambda pair: pair[0]):
        kinds = [option.kinds for option in choice]
        if not any(all(a <= b for a, b in zip(old, kinds, strict=True)) for _, old in listed):
            listed.append((cost, kinds))
        if len(listed) == most:
            break
    return [cost for cost, _ in listed]


def row(rods: Sequence[str]) -> list[Json]:
    return [{"rod": rod, "count": 1} for rod in rods]


@st.composite
def machines(draw: st.DrawFn) -> Json:
    """One to three small boxes in a row, a door they may stick in, and wishes of all kinds."""
    count = draw(st.integers(1, 3))
    common = {axis: draw(st.integers(2, 4)) for axis in "yz"}
    sections = []
    for number in range(count):
        bays = {"x": draw(st.integers(2, 3))} | common
        if draw(st.integers(0, 3)) == 0:
            bays["z"] = draw(st.integers(1, 4))
        rods = {
            axis: [draw(st.sampled_from(["R120"] * 6 + ["R85"])) for _ in range(n)]
            for axis, n in bays.items()
        }
        sections.append({"id": f"S{number}", "rods": {a: row(r) for a, r in rods.items()}})
        if number and draw(st.booleans()):
            sections[-1]["rods"] = sections[0]["rods"]
    first = draw(st.sampled_from([BAY_OUT, BAY_OUT, SPLIT, EXCHANGED]))
    rest = [kind for kind in KINDS if kind != first]
    kinds = [first, *draw(st.lists(st.sampled_from(rest), max_size=2, unique=True))]
    body: Json = {
        "kit": KIT,
        "frame": {
            "layout": {
                "sections": sections,
                "joints": [
                    {"between": [f"S{k}", f"S{k + 1}"], "axis": "x", "rod": "R60"}
                    for k in range(count - 1)
                ],
            }
        },
        "passages": [
            {
                "id": "door",
                "width_mm": draw(st.sampled_from([300, 420])),
                "height_mm": draw(st.sampled_from([345, 420, 500])),
                "depth_mm": draw(st.sampled_from([300, 430])),
            }
        ],
        "allow": kinds,
        "most_bays": draw(st.integers(1, 2)) if count < 3 else 1,
        "rods": ["R85", "R120"],
        "allow_unbraced": draw(st.booleans()),
        "allow_uncoupled": draw(st.booleans()),
        "keep_identity": draw(st.booleans()),
        "keep_length": draw(st.sampled_from([[], [], ["x"]])),
        "keep_length_tolerance_mm": draw(st.sampled_from([0, 60, 130])),
        "weights": {"identity_broken": 7, "uncoupled_face": 11, "bare_face": 0.5, "rod_in": 2},
    }
    if draw(st.booleans()):
        body["stock"] = {
            "counts": [
                {"item": rod["id"], "on_hand_count": draw(st.sampled_from([0, 100, 500]))}
                for rod in KIT["rods"]
            ]
            + [{"item": "H18", "on_hand_count": draw(st.sampled_from([0, 500]))}]
        }
    return body


@given(body=machines())
@settings(max_examples=24, deadline=None, derandomize=True)
def test_best_ways_are_those_of_brute_force(body: Json) -> None:
    """The optimum, the costs of the four best unlike one another, and that there are no more."""
    calculator = FitRemedies()
    inputs = calculator.load(body)
    try:
        context = context_of(inputs, lambda patch: Result({"passes": True}))
    except (InvalidInputs, CannotCalculate):
        return  # faces that cannot be coupled at all
    journey = context.journey()
    here = context.state(journey)
    machine = machine_as_it_is(context, here)
    options, complete = all_options(context, machine, journey)
    if here.passes or not all(options) or len(options[0]) ** len(options) > 6_000:
        return
    finder = Finder(context, here, machine, options, complete, journey.obstacles)
    found = finder.ways()
    brute = by_brute_force(machine, options, inputs, finder.wishes, 5)
    assert [way.cost for way in found.ways] == pytest.approx(brute, abs=2e-5)
    assert all(way.proven for way in found.ways) and complete
    assert found.exhausted == (len(brute) < 5)


def test_every_edit_built_one_by_one(small: Callable[..., Json], run: Run) -> None:
    """Two boxes, one bay at most out of each row, every set of edits built as a frame and led
    through the door: the best way is the cheapest of those that pass and stay flush."""
    body = small((2, 3, 3), (2, 3, 3), width_mm=400, height_mm=350, allow=["bay-out"], most_bays=1)
    calculator = FitRemedies()
    inputs = calculator.load(body)
    kit = Kit.from_inputs(inputs["kit"])
    before = built(body["frame"]["layout"], kit)
    best: list[tuple[int, list[tuple[int, ...]]]] = []
    for edits in product(product((0, 1), repeat=3), repeat=2):
        if any(sum(edit) > 2 for edit in edits) or edits[0][1:] != edits[1][1:]:
            continue  # three rows of one section, or faces that are not flush
        sections = []
        for spec, edit in zip(body["frame"]["layout"]["sections"], edits, strict=True):
            rods = {
                axis: [{"rod": "R120", "count": spec["rods"][axis][0]["count"] - out}]
                for axis, out in zip("xyz", edit, strict=True)
            }
            sections.append({**spec, "rods": rods})
        layout = {**body["frame"]["layout"], "sections": sections}
        patched = merge_patch(body, {"frame": {"layout": layout}})
        again = calculator.rerun(inputs, patched)
        if again is not None and again.value["passes"]:
            after = built(layout, kit)
            changed = sum(
                abs(a - b) for one, two in zip(before, after, strict=True)
                for a, b in zip(one, two, strict=True)
            )  # fmt: skip
            best.append((changed, [*edits]))
    cheapest = min(best)
    way = run(body).value["ways"][0]
    assert way["parts_changed_count"] == cheapest[0]
    assert way["proven_best"]


def built(layout: Json, kit: Kit) -> list[list[int]]:
    """Hubs and rods by kind of each section, from the built frame."""
    frame = build_frame(LayoutSchema().load(layout), kit)
    return [
        [
            int((frame.node_section == k).sum()),
            *(int(((frame.rod == r) & (frame.section == k)).sum()) for r in range(len(kit.rods))),
        ]
        for k in range(len(frame.sections))
    ]

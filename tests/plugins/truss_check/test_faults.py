"""Bad input is refused by name, with its pointer; each case is one change to a valid body."""

import copy
from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.truss_check import TrussCheck
from baywright_plugins.truss_check.examples import BEECH_KIT, EXAMPLES, HANGER
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, svg_text
from baywright_service.json_writer import json_bytes

Change = Callable[[Any], None]
BOX = {"layout": {"sections": [{
    "id": "A", "rods": {a: [{"rod": "R120", "count": 3}] for a in "xyz"},
}]}}  # fmt: skip


def put(path: str, value: Any) -> Change:
    """Set what a path of keys and places leads to."""

    def change(body: Any) -> None:
        *way, last = [int(k) if k.isdecimal() else k for k in path.split("/")]
        for step in way:
            body = body[step]
        body[last] = value

    return change


def drop(path: str) -> Change:
    def change(body: Any) -> None:
        *way, last = path.split("/")
        for step in way:
            body = body[step]
        del body[last]

    return change


M = "structure/members"
STRUCTURE_FAULTS = [
    ("/structure/members/end/1", "unknown-reference", put(f"{M}/end/1", 99)),
    ("/structure/members/end/0", "not-unique", put(f"{M}/end/0", 0)),
    ("/structure/members/end/0", "out-of-range", put("structure/nodes_mm/3", [-1000, 0, 0])),
    ("/structure/members/end", "out-of-range", put(f"{M}/end", [3, 3])),
    ("/structure/members/axial_stiffness_n/0", "out-of-range", put(f"{M}/axial_stiffness_n/0", 0)),
    ("/structure/members/compression_n", "missing", drop(f"{M}/compression_n")),
    ("/structure/members/tension_n", "missing", drop(f"{M}/tension_n")),
    ("/structure/members/tension_n/2", "wrong-type", put(f"{M}/tension_n/2", "60")),
    ("/structure/nodes_mm/0/1", "wrong-type", put("structure/nodes_mm/0/1", True)),
    ("/structure/supports/1/node", "unknown-reference", put("structure/supports/1/node", 7)),
    ("/structure/supports/1/fixed", "out-of-range", put("structure/supports/1/fixed", ["w"])),
    ("/structure/supports/1/fixd", "unknown-field", put("structure/supports/1/fixd", [])),
    ("/structure/supports/0/spring_n_per_mm/1", "out-of-range",
     put("structure/supports/0/spring_n_per_mm", [0, -1, 0])),
    ("/structure/load_cases/0/forces/0/node", "unknown-reference",
     put("structure/load_cases/0/forces/0/node", 4)),
    ("/structure/load_cases/0/forces/0/n", "wrong-type",
     put("structure/load_cases/0/forces/0/n", [1, 2])),
    ("/structure/load_cases/0/forces/0/node", "missing",
     put("structure/load_cases/0/forces/0", {"n": [0, 0, 1]})),
    ("/node_mass_kg", "out-of-range", put("node_mass_kg", [1.0])),
    ("/analyses/0", "missing", put("analyses", ["vibration"])),
    ("/picture/case", "unknown-reference", put("picture", {"case": "nowhere"})),
    ("/frame", "not-unique", put("frame", BOX)),
    ("/structur", "unknown-field", put("structur", {})),
]  # fmt: skip
FRAME_FAULTS = [
    ("/kit", "missing", drop("kit")),
    ("/frame", "missing", drop("frame")),
    ("/sections/0", "unknown-reference", put("sections", ["B"])),
    ("/added_diagonals/B", "unknown-reference", put("added_diagonals", {"B": []})),
    ("/added_diagonals/A/0/1", "unknown-reference",
     put("added_diagonals", {"A": [[[0, 0, 0], [9, 9, 9]]]})),
    ("/added_diagonals/A/0", "unknown-reference",
     put("added_diagonals", {"A": [[[0, 0, 0], [1, 1, 1]]]})),
    ("/load_cases/0/section", "unknown-reference",
     put("load_cases", [{"id": "x", "section": "Q", "supports": [{"at": [0, 0, 0]}]}])),
    ("/load_cases/0/supports/0", "missing",
     put("load_cases", [{"id": "x", "section": "A", "supports": [{"fixed": ["x"]}]}])),
    ("/load_cases/0/supports/0/at", "unknown-reference",
     put("load_cases", [{"id": "x", "section": "A", "supports": [{"at": [8, 0, 0]}]}])),
    ("/handling/cases/0", "out-of-range", put("handling", {"cases": ["fly"]})),
    ("/picture/section", "unknown-reference", put("picture", {"section": "Q"})),
]  # fmt: skip


def faults_of(calculator: TrussCheck, body: Any) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInputs) as refused:
        calculator.calculate(calculator.load(body))
    return [(pointer, fault.code) for pointer, fault in refused.value.faults]


@pytest.mark.parametrize(("pointer", "code", "change"), STRUCTURE_FAULTS)
def test_structure_fault(pointer: str, code: str, change: Change, calculator: TrussCheck) -> None:
    body = {"structure": copy.deepcopy(HANGER)}
    change(body)
    assert (pointer, code) in faults_of(calculator, body)


@pytest.mark.parametrize(("pointer", "code", "change"), FRAME_FAULTS)
def test_frame_fault(pointer: str, code: str, change: Change, calculator: TrussCheck) -> None:
    body: Any = {"kit": copy.deepcopy(BEECH_KIT), "frame": copy.deepcopy(BOX)}
    change(body)
    assert (pointer, code) in faults_of(calculator, body)


def test_all_faults_at_once(calculator: TrussCheck) -> None:
    """Two faults of reference, both reported."""
    body: Any = {"structure": copy.deepcopy(HANGER)}
    body["structure"]["members"]["start"][0] = 50
    body["structure"]["supports"][2]["node"] = 50
    found = [pointer for pointer, _ in faults_of(calculator, body)]
    assert found == ["/structure/members/start/0", "/structure/supports/2/node"]


def test_nearly_a_mechanism_is_refused(calculator: TrussCheck) -> None:
    """Where rounding would decide, no count and no force is given."""
    body: Any = {
        "structure": {
            "nodes_mm": [[0, 0, 0], [500, 0, 1e-7], [1000, 0, 0]],
            "members": {"start": [0, 1], "end": [1, 2], "axial_stiffness_n": [1e6, 1e6]},
            "supports": [
                {"node": 0, "fixed": ["x", "y", "z"]},
                {"node": 1, "fixed": ["y"]},
                {"node": 2, "fixed": ["x", "y", "z"]},
            ],
        }
    }
    with pytest.raises(CannotCalculate, match="close to a mechanism"):
        calculator.calculate(calculator.load(body))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.title)
def test_examples_run(example: Any, check: Callable[[Any], Result]) -> None:
    assert check(example.inputs).findings


EXTREMES = [
    put("structure/load_cases", []),
    put("structure/load_cases/0/forces", []),
    put("structure/load_cases/0/forces", [{"node": 0, "n": [1, 1, 1]}]),
    put("structure/load_cases/0/forces", [{"node": 3, "n": [1e12, -1e12, 0]}]),
    put("structure/load_cases/0/forces", [{"node": 3, "n": [1e-300, 0, 0]}]),
    put("structure/supports", []),
    put("structure/supports", [{"node": k, "fixed": ["x", "y", "z"]} for k in range(4)]),
    put("structure/supports/3", {"node": 3, "spring_n_per_mm": [0, 1e-12, 1e12]}),
    put(f"{M}/axial_stiffness_n", [1e-9, 1e15, 1]),
    put(f"{M}/compression_n", [1e12, 1e-9, 1]),
    put("structure/nodes_mm/2", [1e7, 1e7, 1e7]),
    put("node_mass_kg", [0, 0, 0, 0]),
]


@pytest.mark.parametrize("change", EXTREMES)
def test_extremes_end_in_an_answer_or_a_refusal(change: Change, calculator: TrussCheck) -> None:
    """No fault of ours, no number that JSON cannot hold, whatever is asked of it."""
    body: Any = {"structure": copy.deepcopy(HANGER), "node_mass_kg": [0, 0, 0, 1]}
    body["analyses"] = ["linear", "any-orientation", "limit-load", "frame-buckling", "vibration"]
    change(body)
    try:
        inputs = calculator.load(body)
        result = calculator.calculate(inputs)
    except (InvalidInputs, CannotCalculate):
        return
    assert json_bytes(result.value)
    for view in calculator.views:
        assert svg_text(calculator.draw(inputs, result, view))

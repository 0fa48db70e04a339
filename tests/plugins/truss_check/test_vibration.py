"""The calculator on vibration: frequencies and stiffness of sections and machine, nearness of
lifts."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import scipy.linalg

from baywright_plugins.frame import build_frame
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.truss_check import TrussCheck
from baywright_plugins.truss_check.answer_vibration import sources_hz
from baywright_plugins.truss_check.machine import NotCoupled, machine
from baywright_plugins.truss_check.section import section_model
from baywright_service.contract import InvalidInputs, Result
from tests.plugins.truss_check.conftest import desk_body
from tests.plugins.truss_check.sections import EXPECTED, KIT
from tests.plugins.truss_check.wire import desk

Check = Callable[[Any], Result]
LIFT = {"hooks_per_min": 20, "links_per_hook_count": 14, "teeth_count": 15}
#: Where the lifts of the demo machine stand.
LIFTED = {"sections": ["S1", "S2", "S3"], "whole_machine": False}


def body(excitation: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    asked = {} if excitation is None else {"excitation": excitation}
    handling = {"cases": ["stand"]}
    return {
        **desk_body("changed"), "analyses": ["linear", "vibration", "frame-buckling"],
        "handling": handling, **asked, **more,
    }  # fmt: skip


def section(result: Result, name: str) -> Any:
    [found] = [s for s in result.value["sections"] if s["section"] == name]
    return found


@pytest.fixture(scope="module")
def standing(check: Check) -> Result:
    return check(body())


@pytest.mark.parametrize("name", ["S1", "S2"])
def test_the_demo_machine(standing: Result, name: str) -> None:
    """Printed by an independent dense program to 0.01 Hz, 0.01 N/mm, 1 Nm/rad and 0.1."""
    found = section(standing, name)
    told = found["vibration"]
    key = f"{name}_changed"
    hertz = EXPECTED["frequencies_Hz_feet_pinned"][key]
    assert told["frequencies_hz"] == pytest.approx(hertz, abs=0.006)
    sway = EXPECTED["sway_stiffness_N_per_mm"][f"{key}_x_y"]
    assert told["sway_stiffness_n_per_mm"] == pytest.approx(sway, abs=0.006)
    twist = EXPECTED["twist_stiffness_Nm_per_rad"][key]
    assert told["twist_stiffness_nm_per_rad"] == pytest.approx(twist, abs=0.6)
    factor = EXPECTED["elastic_buckling_factor_standing"][key]
    assert found["critical_factors"][0] == pytest.approx(factor, abs=0.06)


def test_hooks_every_14_links_sit_on_the_sway(check: Check) -> None:
    """Teeth at 4.67 Hz, 9 % from the 4.30 Hz of S2; every 28 links is clear, 22 % from 11.97 Hz:
    as the machine's maker was told by an independent program."""
    result = check(body({**LIFT, **LIFTED}))
    [finding] = [f for f in result.findings if f.code == "resonance-near"]
    assert finding.level == "watch" and "4.67 Hz" in finding.message and "S2" in finding.message
    assert finding.measure is not None
    assert EXPECTED["lifts"]["apart_percent"] == round(100 * finding.measure.value) == 9
    nearest = {n["source"]: n for n in section(result, "S2")["vibration"]["nearest"]}
    assert nearest["tooth"]["mode_hz"] == pytest.approx(4.30, abs=0.006)
    assert not nearest["tooth"]["clear"] and nearest["hook"]["clear"]
    clear = check(body({**LIFT, **LIFTED, "links_per_hook_count": 28}))
    [good] = [f for f in clear.findings if f.code == "resonance-clear"]
    assert good.level == "ok"
    expected = EXPECTED["lifts"]["with_28_links"]
    [tooth] = [
        n for n in section(clear, "S2")["vibration"]["nearest"] if n["source"] == "tooth"
    ]  # fmt: skip
    assert tooth["source_hz"] == pytest.approx(expected["tooth_passing_Hz"], abs=0.006)
    assert tooth["mode_hz"] == pytest.approx(expected["nearest_mode_Hz"], abs=0.006)
    assert round(100 * tooth["apart_ratio"]) == expected["apart_percent"]


def test_the_other_count_of_links_is_proven(check: Check) -> None:
    result = check(body({**LIFT, **LIFTED}))
    [finding] = [f for f in result.findings if f.code == "resonance-near"]
    assert finding.remedy is not None and finding.remedy.patch is not None
    links = finding.remedy.patch["excitation"]["links_per_hook_count"]
    again = check(body({**LIFT, **LIFTED, "links_per_hook_count": links}))
    assert "resonance-near" not in [f.code for f in again.findings]


def test_more_modes_are_found_until_they_reach_above_every_source(check: Check) -> None:
    """A source at 13.4 Hz lies above the fourth mode of S2 and on one that is not among four."""
    result = check(body({"sources_hz": {"drum": 13.4}, **LIFTED}, sections=["S2"]))
    told = section(result, "S2")["vibration"]
    assert len(told["frequencies_hz"]) > 4 and told["frequencies_hz"][-1] > 13.4 * 1.3
    [near] = told["nearest"]
    assert near["mode"] >= 4 and not near["clear"]
    assert "resonance-near" in [f.code for f in result.findings]


def test_the_machine_is_softer_than_none_and_stiffer_than_its_softest_section(
    check: Check,
) -> None:
    """Coupling adds springs and their mass: by Rayleigh's theorem its lowest mode lies at or above
    the lowest of its sections, but for the few grams of the coupling rods."""
    result = check(body(LIFT))
    whole = result.value["machine_vibration"]
    assert whole["sections"] == ["S1", "S2", "S3", "S4"]
    lowest = min(s["vibration"]["frequencies_hz"][0] for s in result.value["sections"]
                 if "vibration" in s)  # fmt: skip
    assert lowest * 0.995 <= whole["frequencies_hz"][0] < 1.2 * lowest


def test_the_machine_against_a_dense_eigenvalue() -> None:
    """Two small boxes joined: every mode by scipy.linalg.eigh on matrices built bar by bar."""
    rods = {a: [{"rod": "R120", "count": n}] for a, n in zip("xyz", (2, 2, 3), strict=True)}
    one = {"rods": rods, "cross_faces": {"every": 1}}
    joints = [{"between": ["A", "B"], "axis": "x", "rod": "R60"}]
    layout = {"sections": [{"id": "A", **one}, {"id": "B", **one}], "joints": joints}
    frame = build_frame(LayoutSchema().load(layout), KIT)
    models = [
        (
            np.flatnonzero(frame.node_section == k),
            section_model(frame.part(k), KIT, gravity_m_s2=9.81, buckling_margin=1.5),
        )
        for k in (0, 1)
    ]
    made = machine(frame, models, KIT)
    count = 3 * len(frame.nodes_mm)
    stiffness, mass = np.zeros((count, count)), np.zeros(count)
    for a, b, rod in zip(frame.start, frame.end, frame.rod, strict=True):
        away = frame.nodes_mm[b] - frame.nodes_mm[a]
        unit = away / np.linalg.norm(away)
        block = KIT.stiffness_n_per_mm(int(rod)) * np.outer(unit, unit)
        for p, q, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            stiffness[3 * p : 3 * p + 3, 3 * q : 3 * q + 3] += sign * block
        for node in (a, b):
            mass[3 * node : 3 * node + 3] += KIT.rods[int(rod)].mass_g / 2000 / 1000
    mass += KIT.frame_hub.mass_g / 1000 / 1000
    low = frame.nodes_mm[:, 2] == frame.nodes_mm[:, 2].min()
    held = np.zeros(count, dtype=bool)
    for k in (0, 1):
        mine = np.flatnonzero(low & (frame.node_section == k))
        span = frame.nodes_mm[mine]
        corner = np.isin(span[:, 0], (span[:, 0].min(), span[:, 0].max())) & np.isin(
            span[:, 1], (span[:, 1].min(), span[:, 1].max())
        )
        for node in mine[corner]:
            held[3 * node : 3 * node + 3] = True
    free = ~held
    squares = scipy.linalg.eigh(stiffness[np.ix_(free, free)], np.diag(mass[free]))[0]
    expected = np.sqrt(squares[:6]) / (2 * np.pi)
    assert made.frequencies(count=6).value == pytest.approx(expected, rel=1e-6)


def test_sections_that_are_not_coupled_are_no_machine(check: Check) -> None:
    with pytest.raises(NotCoupled, match="coupled"):
        machine(build_frame(LayoutSchema().load(desk("changed")), KIT), [], KIT)
    alone = check(body(LIFT, sections=["S1", "S3"]))
    assert "machine_vibration" not in alone.value
    assert any("not coupled" in line for line in alone.assumptions)


def test_sources_by_counting() -> None:
    """20 hooks a minute, 14 links apart, 15 teeth."""
    assert sources_hz(LIFT) == pytest.approx({"hook": 1 / 3, "tooth": 14 / 3, "shaft": 14 / 45})
    assert sources_hz({"hooks_per_min": 60.0, "sources_hz": {"drum": 2.0}}) == {
        "hook": 1.0, "drum": 2.0,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("excitation", "pointer"),
    [
        ({}, "/excitation/hooks_per_min"),
        ({"hooks_per_min": 20, "teeth_count": 15}, "/excitation/links_per_hook_count"),
        ({"sources_hz": {"drum": 0}}, "/excitation/sources_hz/drum"),
        ({"hooks_per_min": 20, "sections": ["S9"]}, "/excitation/sections/0"),
    ],
)
def test_bad_input_is_named(check: Check, excitation: dict[str, Any], pointer: str) -> None:
    with pytest.raises(InvalidInputs) as refused:
        check(body(excitation))
    assert [at for at, _ in refused.value.faults] == [pointer]


@pytest.mark.slow
def test_a_mode_is_drawn(check: Check, calculator: TrussCheck) -> None:
    inputs = calculator.load(body(picture={"section": "S3", "mode": 1}))
    result = calculator.calculate(inputs)
    drawing = calculator.draw(inputs, result, "modes")
    assert "S3" in drawing.title and "mode 2 at 4.30 Hz" in drawing.title
    assert len(drawing.shapes) == 3
    with pytest.raises(InvalidInputs):
        check(body(picture={"section": "S3", "mode": 50}))
    plain = calculator.load({**desk_body("changed"), "analyses": ["linear"], "sections": ["S4"]})
    still = calculator.draw(plain, calculator.calculate(plain), "modes")
    assert "No vibration" in still.title and len(still.shapes) == 1


def test_a_mode_of_a_structure_is_drawn(check: Check, calculator: TrussCheck) -> None:
    body = {**calculator.examples[2].inputs, "analyses": ["linear", "vibration"]}
    inputs = calculator.load(body)
    result = calculator.calculate(inputs)
    hertz = result.value["vibration"]["frequencies_hz"][0]
    assert f"{hertz:.2f} Hz" in calculator.draw(inputs, result, "modes").title


def test_nothing_is_computed_unasked(check: Check) -> None:
    plain = check({**desk_body("changed"), "analyses": ["linear"], "sections": ["S4"]})
    [found] = plain.value["sections"]
    assert "vibration" not in found and "machine_vibration" not in plain.value

"""The Returns Desk: each expected value was worked by an independent program; its printed
digits are the tolerance."""

import json
from pathlib import Path
from typing import Any

from baywright_plugins.chain_drive import ChainDrive
from baywright_service.contract import Result, merge_patch

CALCULATOR = ChainDrive()
DESK = Path(__file__).parents[2] / "data" / "returns-desk" / "expected.json"
EXPECTED: dict[str, Any] = json.loads(DESK.read_text("utf-8"))["expected"]["lifts"]
PLANNED: dict[str, Any] = {
    "chain": {"pitch_mm": 12.7, "teeth_count": 15, "centre_distance_mm": 1680},
    "hooks": {"spacing_links_count": 14, "hooks_per_min": 20, "fill_ratio": 0.9},
    "ball": {"diameter_mm": 48, "mass_kg": 0.041},
    "lift": {"loaded_height_mm": 1620, "efficiency_ratio": 0.5, "service_factor": 2},
    "frame": {"own_frequencies_hz": [3.93, 4.3, 5.57, 11.97]},
    "gravity_m_s2": 9.81,
}


def run(**changes: Any) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(merge_patch(PLANNED, changes)))


def tooth(result: Result) -> dict[str, Any]:
    rows = result.value["motion"]["excitations"]
    return dict(next(row for row in rows if row["id"] == "tooth-passing"))


def test_links_hooks_and_distance() -> None:
    value = run().value
    assert value["loop"]["links_count"] == EXPECTED["links"]
    assert value["motion"]["hooks_count"] == EXPECTED["hooks"]
    assert round(value["loop"]["centre_distance_mm"], 2) == EXPECTED["centre_distance_mm"]
    assert round(value["loop"]["head_pitch_diameter_mm"], 2) == EXPECTED["pitch_diameter_mm"]
    assert value["motion"]["balls_per_min"] == EXPECTED["per_lift_per_min"]


def test_speed_torque_and_power() -> None:
    value = run().value
    assert round(value["motion"]["chain_speed_mm_s"], 2) == EXPECTED["chain_mm_per_s"]
    assert round(value["motion"]["shaft_turns_per_min"], 2) == EXPECTED["shaft_rpm"]
    torque = value["torque"]
    assert round(torque["needed_torque_n_m"], 3) == EXPECTED["shaft_torque_with_margin_Nm"]
    assert round(torque["needed_power_w"], 2) == EXPECTED["shaft_power_W"]


def test_tooth_passing_as_planned_is_near_the_frame_and_the_remedy_is_proven() -> None:
    result = run()
    row = tooth(result)
    assert round(row["frequency_hz"], 2) == EXPECTED["tooth_passing_Hz"]
    assert row["nearest_frame_hz"] == EXPECTED["nearest_mode_Hz"]
    assert round(row["apart_percent"]) == EXPECTED["apart_percent"]
    (found,) = [f for f in result.findings if f.code == "tooth-near-frame-frequency"]
    assert found.remedy is not None
    assert found.remedy.patch == {"hooks": {"spacing_links_count": 28}}


def test_hooks_every_28_links_are_clear() -> None:
    expected = EXPECTED["with_28_links"]
    result = run(hooks={"spacing_links_count": 28})
    row = tooth(result)
    assert result.value["motion"]["hooks_count"] == expected["hooks"]
    assert round(row["frequency_hz"], 2) == expected["tooth_passing_Hz"]
    assert row["nearest_frame_hz"] == expected["nearest_mode_Hz"]
    assert round(row["apart_percent"]) == expected["apart_percent"]
    assert "tooth-clear-of-frame" in {f.code for f in result.findings}

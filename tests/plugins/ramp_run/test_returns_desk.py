"""The Returns Desk: what an independent program computed must come out of the whole ramp."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_service.contract import Result

Json = dict[str, Any]
Run = Callable[[Json], Result]
Body = Callable[..., Json]

FLOOR = {
    "kind": "ribs",
    "name": "floor",
    "run_mm": 1080,
    "slope_percent": 1.5,
    "pitch_mm": 51.4,
    "gap_mm": 6,
}


def test_floor(run: Run, body: Body, desk: Any) -> None:
    """Sink, speed kept, slopes and steady speed, at the digits printed."""
    joint = run(body([FLOOR], gravity_m_s2=9.81)).value["segments"][0]["joint"]
    floor = desk["floor"]
    assert round(joint["sink_mm"], 2) == floor["sink_in_groove_mm"]
    assert round(joint["speed_kept_ratio"], 3) == floor["speed_kept_per_groove"]
    leave = floor["slope_to_leave_groove_from_rest_percent"]
    assert round(joint["slope_to_leave_percent"], 1) == leave
    keep = floor["slope_to_keep_rolling_percent"]
    assert round(joint["slope_to_keep_rolling_percent"], 3) == keep
    assert round(joint["settled_unbraked_m_per_s"], 2) == floor["steady_speed_m_per_s"]


def test_a_long_floor_brings_the_slowest_ball_to_the_steady_speed(
    run: Run, body: Body, desk: Any
) -> None:
    """Walked groove by groove, not solved for: 60 m of the same floor."""
    value = run(body([FLOOR | {"run_mm": 60_000}], gravity_m_s2=9.81)).value
    end = value["segments"][0]["speed_out_low_m_per_s"]
    assert end == pytest.approx(desk["floor"]["steady_speed_m_per_s"], abs=0.015)
    assert value["segments"][0]["joint"]["settled_low_m_per_s"] == pytest.approx(0.4816, abs=5e-5)


def test_fall_onto_the_floor(run: Run, body: Body, desk: Any) -> None:
    """480 mm from a level end: rebound 97, wall 145."""
    segments = [
        {"kind": "level", "length_mm": 100},
        {"kind": "drop", "drop_mm": 480, "wall_mm": 150},
    ]
    result = run(body(segments, gravity_m_s2=9.81, start_speed_min_m_per_s=1.5))
    landing = result.value["segments"][1]["landing"]
    assert round(landing["rebound_high_mm"]) == desk["floor"]["rebound_mm"]
    assert round(landing["wall_needed_mm"]) == desk["floor"]["wall_needed_mm"]
    # What the fall alone brings; the ball also rolls at 1.5 m/s.
    fall_j = landing["energy_high_j"] - 0.041 * 1.5**2 / 2
    assert round(fall_j, 3) == desk["floor"]["impact_energy_J"]
    assert "wall-holds" in {finding.code for finding in result.findings}


def test_long_track_heights(run: Run, body: Body, desk: Any) -> None:
    """24 m at 4 % falls 960; from there to the play floor 240 more and the module's rounding."""
    segment = {"kind": "straight", "run_mm": 24_000, "slope_percent": 4}
    start = desk["heights"]["long_track_start_mm"]
    value = run(body([segment], end_height_mm=start - 960)).value
    assert value["segments"][0]["height_start_mm"] == pytest.approx(start)
    assert value["fall_mm"] == pytest.approx(960)


def test_return_lane_rolls_with_room_to_spare(run: Run, body: Body) -> None:
    """2.5 % over 3000 mm: 75 mm of fall, 45 are enough for wood at its worst."""
    segment = {"kind": "straight", "run_mm": 3000, "slope_percent": 2.5}
    value = run(body([segment], rolling_resistance={"pair": "wood-on-wood"})).value
    assert value["fall_mm"] == pytest.approx(75)
    assert value["fall_min_mm"] == pytest.approx(3000 * 0.015)
    assert value["arrives"] == "always"

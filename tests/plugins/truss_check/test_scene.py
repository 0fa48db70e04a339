"""A checked frame in space: the numbers are those of the check."""

from typing import Any

import numpy as np
import pytest

from baywright_plugins.truss_check import TrussCheck
from baywright_plugins.truss_check.examples import EXAMPLES
from baywright_plugins.truss_check.scene import attitude_words
from baywright_service.contract import Scene, merge_patch

CHECK = TrussCheck()


def seen(inputs: Any) -> tuple[dict[str, Any], Scene]:
    loaded = CHECK.load(inputs)
    result = CHECK.calculate(loaded)
    return dict(result.value), CHECK.scene(loaded, result)


def test_cases_forces_and_movements_are_those_of_the_check() -> None:
    value, scene = seen(merge_patch(EXAMPLES[0].inputs, {"detail": "full"}))
    cases = {case["id"]: case for case in value["sections"][0]["cases"]}
    assert {state.id for state in scene.states} == set(cases)
    for state in scene.states:
        case = cases[state.id]
        assert state.force_n == pytest.approx(case["member_force_n"], rel=1e-9, abs=1e-9)
        assert state.ratio.max() == pytest.approx(case["utilisation_max"])
        far = np.sqrt((state.moved_mm**2).sum(axis=1)).max()
        assert far == pytest.approx(case["displacement_max_mm"])
    assert scene.state_first == value["picture"]["case"]


def test_the_worst_way_to_hold_it_is_the_one_the_check_found() -> None:
    """Forces under gravity in that direction hold the governing member's force."""
    value, scene = seen(EXAMPLES[0].inputs)
    (attitude,) = scene.attitudes
    found = value["sections"][0]["any_orientation"]
    assert attitude.ratio.max() == pytest.approx(1 / found["first_slip_factor"])
    assert attitude.down == pytest.approx(found["direction"])
    assert attitude.force_n[attitude.ratio.argmax()] == pytest.approx(found["governing"]["force_n"])
    assert f"{100 * attitude.ratio.max():.0f} % of what it takes" in attitude.words


def test_mechanisms_stretch_no_rod() -> None:
    """To first order: the difference of the movements of its ends is square to each rod."""
    _, scene = seen(EXAMPLES[1].inputs)
    points = np.asarray(scene.points_mm)
    start, end = np.asarray(scene.start), np.asarray(scene.end)
    away = points[end] - points[start]
    assert scene.motions
    for motion in scene.motions:
        stretch = ((motion.moved[end] - motion.moved[start]) * away).sum(axis=1)
        assert np.abs(stretch).max() < 1e-6 * np.abs(away).max()
        assert np.abs(motion.moved).max() == pytest.approx(1)


def test_members_added_and_left_out_are_seen_as_they_were_checked() -> None:
    for example in EXAMPLES:
        loaded = CHECK.load(example.inputs)
        scene = CHECK.scene(loaded, CHECK.calculate(loaded))
        group = np.asarray(scene.group)
        for state in scene.states:
            for place in state.groups:
                assert (group == place).sum() == len(state.ratio), example.title
                assert (np.asarray(scene.group_of_point) == place).sum() == len(state.moved_mm)
        assert scene.words


@pytest.mark.parametrize(
    ("down", "words"),
    [
        ((0, 0, -1), "It stands upright."),
        ((0, 0, 1), "It stands on its head."),
        ((1, 0, 0), "It is turned 90° from standing, its +x side down."),
        ((0, -(0.5**0.5), 0.5**0.5), "It is turned 135° from standing, its -y side down."),
        ((0.5, 0.5, -(0.5**0.5)), "It is turned 45° from standing, its corner between "),
    ],
)
def test_attitudes_in_words(down: tuple[float, float, float], words: str) -> None:
    assert attitude_words(np.array(down, dtype=float)).startswith(words)

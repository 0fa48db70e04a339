"""Pictures: every place has its box, the stops their bar, and nothing to see says so."""

from typing import Any

import pytest

from baywright_plugins.ball_flow import BallFlow
from baywright_service.contract import Polygon, svg_text

CALCULATOR = BallFlow()
BRIEF = {"runs_count": 2, "duration_s": 150, "settle_s": 60}


def drawn(number: int, view: str, **changes: Any) -> tuple[Any, Any]:
    inputs = CALCULATOR.load(dict(CALCULATOR.examples[number].inputs) | BRIEF | changes)
    result = CALCULATOR.calculate(inputs)
    return result.value, CALCULATOR.draw(inputs, result, view)


@pytest.mark.parametrize("number", [0, 2, 3])
def test_circuit_has_a_box_for_each_place(number: int) -> None:
    value, picture = drawn(number, "circuit")
    boxes = [shape for shape in picture.shapes if isinstance(shape, Polygon)]
    assert len(boxes) == len(value["places"])
    text = svg_text(picture)
    for place in value["places"]:
        assert place["id"].replace("-", " ")[:21] in text


def test_where_balls_gather_is_hatched() -> None:
    _, picture = drawn(0, "circuit", required_balls_per_min=80)
    assert any(isinstance(s, Polygon) and s.ink.hatched for s in picture.shapes)
    assert "foot of the lifts" in picture.description


def test_timeline_shows_both_routings_the_band_and_the_stop() -> None:
    _, picture = drawn(0, "timeline")
    words = [entry.text for entry in picture.legend]
    assert [w for w in words if "rotation" in w] and [w for w in words if "at random" in w]
    bars = [s for s in picture.shapes if isinstance(s, Polygon) and s.ink.hatched]
    assert len(bars) == 1
    assert bars[0].points[1][0] == pytest.approx(200.0)  # it stands to the end of the time shown
    _, empty = drawn(0, "timeline", incidents=[])
    assert not empty.shapes and "No lift stops" in empty.description

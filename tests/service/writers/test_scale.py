"""Which drawings are true to scale, and the scales that ISO 5455 recommends."""

import pytest

from baywright_service.contract import Dimension, Drawing, Line
from baywright_service.writers.scale import is_to_scale, scale_text, standard_reduction

SIDE = ((0.0, 0.0), (892.8, 0.0))


@pytest.mark.parametrize(
    ("text", "true"),
    [
        ("892.8 mm", True),
        ("893", True),
        ("16 × 55.8 mm", True),
        ("16 × 55.8 = 892.8 mm", True),
        ("rods 893 apart", True),
        ("900 mm", False),
        ("16 × 60", False),
        ("wide", False),
    ],
)
def test_a_dimension_is_as_long_as_it_says(text: str, true: bool) -> None:
    assert is_to_scale(Drawing("", "", [Dimension(*SIDE, text)])) == true


def test_one_dimension_that_is_not_spoils_the_picture() -> None:
    good, bad = Dimension(*SIDE, "892.8"), Dimension(*SIDE, "100")
    assert not is_to_scale(Drawing("", "", [good, bad]))


def test_without_dimensions_only_the_drawing_itself_can_say_so() -> None:
    line = [Line(SIDE)]
    assert not is_to_scale(Drawing("", "", line))
    assert is_to_scale(Drawing("", "", line, to_scale=True))
    assert not is_to_scale(Drawing("", "", [Dimension(*SIDE, "892.8")], to_scale=False))


@pytest.mark.parametrize(
    ("fitting", "standard"),
    [(0.3, 1), (1, 1), (1.01, 2), (4.4, 5), (5, 5), (5.1, 10), (13, 20), (49, 50), (51, 100)],
)
def test_the_next_scale_of_the_standard(fitting: float, standard: float) -> None:
    """ISO 5455:1979, clause 5: full size 1:1, reductions 1:2, 1:5, 1:10, 1:20, 1:50, 1:100 …"""
    assert standard_reduction(fitting) == standard


def test_beyond_the_standard_the_scale_stays_what_it_is() -> None:
    assert standard_reduction(123_456.0) == 123_456.0
    assert scale_text(123_456.0) == "1:123456"

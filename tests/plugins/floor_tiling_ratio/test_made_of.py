"""Why a ratio holds."""

from fractions import Fraction

from baywright_plugins.floor_tiling_ratio.made_of import Pitch, difference, reason, step_count

ROD = Fraction(60)
BAY = Pitch("bay", 2 * ROD, Fraction(0), {"R60": Fraction(2)}, 2)
PANEL = Pitch("panel", ROD * 5 / 6, Fraction(0), {"R60": Fraction(5, 6)}, 1)


def test_same_parts_hold_whatever_they_measure() -> None:
    """Common practice, no source: 12 panels of 5/6 rod are 5 bays of two rods are 10 rods."""
    assert difference(BAY, Fraction(5), PANEL, Fraction(12)) == {}
    words = reason(BAY, Fraction(5), PANEL, 12)
    assert "the same parts, 10 R60" in words
    assert "whatever" in words


def test_half_bays_are_five_rods() -> None:
    """6 panels are 2.5 bays are 5 rods."""
    assert difference(BAY, Fraction(5, 2), PANEL, Fraction(6)) == {}
    assert "2.5 × bay" in reason(BAY, Fraction(5, 2), PANEL, 6)


def test_same_length_of_other_parts_is_not_the_same_parts() -> None:
    """Two lengths that happen to agree are called that."""
    plain = Pitch("tile", Fraction(40), Fraction(0), {}, 1)
    assert difference(BAY, Fraction(1), plain, Fraction(3)) is None
    assert "both exactly 120 mm" in reason(BAY, Fraction(1), plain, 3)
    spacer = Pitch("strip", Fraction(30), Fraction(0), {"spacer": Fraction(1)}, 1)
    assert difference(BAY, Fraction(1), spacer, Fraction(4)) == {
        "R60": Fraction(2),
        "spacer": Fraction(-4),
    }


def test_misfit_is_named_with_its_sign() -> None:
    """The longer run is named."""
    tile = Pitch("tile", Fraction("51.4"), Fraction(0), {}, 1)
    assert "the first is 0.2 mm longer" in reason(BAY, Fraction(3), tile, 7)


def test_nodes_stand_between_like_rods_only() -> None:
    """Two like rods in line have a node between them; a rod with a spacer has none named."""
    assert step_count([("R60", Fraction(2))]) == 2
    assert step_count([("R60", Fraction(2)), ("spacer", Fraction(1))]) == 1
    assert step_count([("R60", Fraction(5, 6))]) == 1

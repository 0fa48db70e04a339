"""A floor laid out: nothing lost, nothing under a landing."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.layout import (
    Ratio,
    Span,
    Wanted,
    extra_bearers,
    floor_parts,
    lay_row,
)

BAY, TILE, PLAY = Fraction(120), Fraction("51.4"), Fraction("0.9")
RATIO = Ratio(Fraction(3), 7)


def wanted(length: str, **changes: object) -> Wanted:
    fields = {"length": Fraction(length), "bay": BAY, "panel": TILE, "joint_play": PLAY}
    return Wanted(**(fields | changes))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("length", "panels", "left"), [("1080", 21, "0.6"), ("720", 14, "0.4"), ("600", 11, "34.6")]
)
def test_floors_of_a_worked_machine(length: str, panels: int, left: str) -> None:
    """Worked independently for a tile of 51.4 mm."""
    row = lay_row(wanted(length), RATIO)
    assert (row.panels, row.left_over) == (panels, Fraction(left))


def test_misfit_adds_up_and_is_named() -> None:
    """Three repeats of 0.2 mm are 0.6 mm, below the play: no adjuster."""
    row = lay_row(wanted("1080"), RATIO)
    assert row.accumulated == Fraction("0.6")
    assert row.adjusters == ()
    assert [meeting.at for meeting in row.meetings] == [0, 360, 720, 1080]
    assert [meeting.off for meeting in row.meetings] == [
        0,
        Fraction("-0.2"),
        Fraction("-0.4"),
        Fraction("-0.6"),
    ]


def test_long_floor_gets_adjusters_before_the_play_is_used_up() -> None:
    """Every fourth repeat of 360 mm an adjuster of 0.8 mm brings the joint back onto its bearer."""
    row = lay_row(wanted("4320"), RATIO)
    assert row.repeats_per_adjuster == 4
    assert [span.end for span in row.adjusters] == [1440, 2880]
    assert {span.end - span.start for span in row.adjusters} == {Fraction("0.8")}
    assert len(row.meetings) == 13
    assert max(abs(meeting.off) for meeting in row.meetings) <= PLAY


def test_panels_too_long_are_trimmed() -> None:
    """A negative misfit makes the adjuster an empty span: the panel before it loses as much."""
    row = lay_row(wanted("4320", panel=Fraction("51.5"), joint_play=Fraction("0.9")), RATIO)
    assert row.adjusters
    assert all(span.end < span.start for span in row.adjusters)
    assert max(abs(meeting.off) for meeting in row.meetings) <= Fraction("0.9")
    assert len(row.meetings) == 13


def test_strip_keeps_off_landings() -> None:
    """Back first, then front, then two halves; blocked where none is clear."""
    back, front = Span(Fraction(570), Fraction(600)), Span(Fraction(0), Fraction(20))
    assert lay_row(wanted("600"), RATIO).action == "back"
    assert lay_row(wanted("600", keep_clear=[back]), RATIO).action == "front"
    assert lay_row(wanted("600", keep_clear=[back, front]), RATIO).action == "blocked"
    near_back = Span(Fraction(566), Fraction(580))
    near_front = Span(Fraction(20), Fraction(30))
    row = lay_row(wanted("600", keep_clear=[near_back, near_front]), RATIO)
    assert row.action == "two-halves"
    assert [span.end - span.start for span in row.strips] == [Fraction("17.3")] * 2


def test_a_wish_is_kept_or_refused_not_bent() -> None:
    """A strip asked for under a landing is blocked."""
    assert lay_row(wanted("600", wish="two-halves"), RATIO).action == "two-halves"
    zone = Span(Fraction(0), Fraction(10))
    assert lay_row(wanted("600", wish="front", keep_clear=[zone]), RATIO).action == "blocked"
    spread = lay_row(wanted("600", wish="spread"), RATIO)
    assert spread.gap_per_joint == Fraction("3.46")
    assert spread.joints[-1] == 600


def test_bearers_are_added_where_no_ratio_holds() -> None:
    """Under panel joints, never farther apart than a bay."""
    asked = wanted("848", bay=Fraction("84.8"), joint_play=Fraction("0.3"))
    row = lay_row(asked, None)
    extra = extra_bearers(asked, row)
    assert set(extra) <= set(row.joints)
    gaps = [b - a for a, b in zip((Fraction(0), *extra), extra, strict=False)]
    assert max(gaps) <= Fraction("84.8")


@pytest.mark.slow
@settings(deadline=None)
@given(
    st.fractions(min_value=60, max_value=2000, max_denominator=10),
    st.fractions(min_value=20, max_value=300, max_denominator=10),
    st.fractions(min_value=20, max_value=200, max_denominator=10),
    st.sampled_from(["choose", "spread", "back", "front", "two-halves"]),
    st.booleans(),
)
def test_pieces_add_up_to_the_floor(
    length: Fraction, bay: Fraction, panel: Fraction, wish: str, tied: bool
) -> None:
    """Panels, gaps, strips and adjusters fill the length; left-over is shorter than a panel."""
    ratio = Ratio(Fraction(1), max(1, round(bay / panel))) if tied else None
    asked = Wanted(length, bay, panel, Fraction(1, 2), (), wish)
    row = lay_row(asked, ratio)
    assert -asked.joint_play <= row.left_over < panel
    filled = row.panels * panel + row.gap_per_joint * max(0, row.panels - 1)
    filled += sum(span.end - span.start for span in (*row.strips, *row.adjusters))
    short = row.left_over if row.action == "none" or not filled else 0
    if row.action != "spread" or row.panels > 1:
        assert filled + short == length


def test_parts_are_counted_with_what_is_cut() -> None:
    """9 by 5 bays: 21 x 11 whole tiles, a strip of 34.6 from 21 more, fixings at the meetings."""
    along, across = wanted("1080"), wanted("600")
    rows = lay_row(along, RATIO), lay_row(across, RATIO)
    parts = {part.use: part for part in floor_parts(*rows, (along, across), "tile")}
    assert parts["whole panels"].count == 231
    assert parts["strips along the floor"].count == 21
    assert parts["strips along the floor"].across_mm == Fraction("34.6")
    assert parts["panels to cut strips and corners from"].count == 21
    assert parts["where panel corners meet the frame"].count == 4 * 2


def test_adjusters_are_shims_and_not_cut_from_panels() -> None:
    """Four shims of 0.4 mm as long as the floor is wide, and the panels to cut hold strips only."""
    along = wanted("3000", joint_play=Fraction("0.45"))
    across = wanted("720", joint_play=Fraction("0.45"))
    rows = lay_row(along, RATIO), lay_row(across, RATIO)
    parts = floor_parts(*rows, (along, across), "tile")
    shims = [part for part in parts if part.item == "shim"]
    assert [(s.count, s.along_mm, s.across_mm) for s in shims] == [
        (4, Fraction("0.4"), Fraction(720))
    ]
    strip = next(part for part in parts if part.use == "strips across the floor")
    assert (strip.count, strip.along_mm) == (14, Fraction("17.2"))
    assert next(p for p in parts if p.use.startswith("panels to cut")).count == 7

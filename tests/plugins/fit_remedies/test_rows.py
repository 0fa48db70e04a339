"""What may be done to a row of bays, and where its planes go."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.fit_remedies.rows import (
    BAY_IN,
    BAY_OUT,
    EXCHANGED,
    KINDS,
    MOVED,
    SPLIT,
    Row,
    Rules,
    row_edits,
)

PITCH = {"A": 120_000, "B": 85_000}
ROWS = st.lists(st.sampled_from("AB"), min_size=1, max_size=6).map(tuple)


def rules(*allow: str, most: int = 2, **more: object) -> Rules:
    return Rules(frozenset(allow), most, ("A", "B"), pitch_um=PITCH, **more)  # type: ignore[arg-type]


@given(row=ROWS, most=st.integers(1, 3), low=ROWS, high=ROWS)
@settings(max_examples=25, deadline=None, derandomize=True)
def test_bays_keep_their_rods_wherever_they_go(row: Row, most: int, low: Row, high: Row) -> None:
    """An old bay that is still there lies between its two planes and has its rod, unless that was
    exchanged; nothing is done twice, and no more than was allowed."""
    found = row_edits(row, rules(*KINDS, most=most, longer=True, low=low[:most], high=high[:most]))
    edits = found.edits
    assert found.complete
    assert edits[0].segments == (row,) and edits[0].bays_changed == 0
    for edit in edits:
        assert edit.bays_changed <= max(most, 1)
        assert all(edit.segments)
        exchanged = 0
        for old, rod in enumerate(row):
            for part, segment in enumerate(edit.segments):
                new = edit.bay(old, part)
                if new is not None:
                    exchanged += segment[new] != rod
        assert exchanged == (len(edit.out) if edit.kind == EXCHANGED else 0)
        assert len(edit.planes) == len(row) + 1
        for goes in edit.planes:
            assert all(plane <= len(edit.segments[segment]) for segment, plane in goes)
    looks = [(edit.kind, edit.segments, edit.received) for edit in edits]
    assert len(set(looks)) == len(looks)


def test_bays_out_of_the_middle() -> None:
    """Two of six bays are taken out of the middle; the planes there fall together."""
    edits = row_edits(("A",) * 6, rules(BAY_OUT)).edits
    assert [len(edit.segments[0]) for edit in edits] == [6, 5, 4]
    two = edits[2]
    assert two.out == ("A", "A")
    assert [goes[0][1] for goes in two.planes] == [0, 1, 2, 2, 2, 3, 4]
    assert two.bays_out() == [2, 2]


def test_a_row_that_must_keep_bays() -> None:
    """Rows and pieces keep as many bays as asked for."""
    edits = row_edits(("A",) * 5, rules(BAY_OUT, SPLIT, most=3, fewest_bays=2)).edits
    assert sorted(min(map(len, edit.segments)) for edit in edits) == [2, 2, 2, 3, 4, 5]


def test_exchange_only_for_shorter_unless_lengths_are_kept() -> None:
    shorter = row_edits(("A", "A", "B"), rules(EXCHANGED, most=1)).edits
    assert [edit.segments[0] for edit in shorter[1:]] == [("A", "B", "B")]
    both = row_edits(("A", "A", "B"), rules(EXCHANGED, most=1, longer=True)).edits
    assert [edit.segments[0] for edit in both[1:]] == [("A", "B", "B"), ("A", "A", "A")]


def test_bays_put_in_divide_the_row_at_its_middle() -> None:
    edit = row_edits(("A", "B"), rules(BAY_IN, most=1)).edits[2]
    assert edit.segments == (("A", "B", "B"),)
    assert edit.planes == (((0, 0),), ((0, 1), (0, 2)), ((0, 3),))
    assert [edit.bay(old, 0) for old in range(2)] == [0, 2]


@pytest.mark.parametrize(
    ("received", "row"), [((1, 0), "BAAA"), ((0, -1), "AA"), ((1, -1), "BAA"), ((0, 2), "AAABA")]
)
def test_hand_over(received: tuple[int, int], row: str) -> None:
    """Bays come from the neighbour's near end, nearest first, and go from one's own."""
    edits = row_edits(("A", "A", "A"), rules(MOVED, low=("B", "A"), high=("B", "A"))).edits
    edit = next(e for e in edits if e.received == received)
    assert edit.segments == (tuple(row),)


def test_of_very_many_ways_those_that_touch_fewest_bays_are_kept() -> None:
    """A long row of many kinds: the list is bounded and says so."""
    row = tuple(f"R{k}" for k in range(30)) * 5
    pitch = {rod: 1000 * (k + 50) for k, rod in enumerate(row[:30])}
    found = row_edits(
        row, Rules(frozenset(KINDS), 6, tuple(pitch), longer=True, low=row[:6], pitch_um=pitch)
    )
    assert not found.complete
    assert len(found.edits) < 150
    assert all(e.bays_changed == 1 for e in found.edits if e.kind in (BAY_OUT, EXCHANGED))
    cuts = [e for e in found.edits if e.kind == SPLIT]
    assert max(len(e.segments[0]) for e in cuts) < 100

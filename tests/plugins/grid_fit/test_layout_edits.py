"""Edits of a layout: what lies beyond a bay moves up, what crossed it is dropped."""

from typing import Any

from baywright_plugins.grid_fit.layout_edits import (
    coupled_sections,
    gaps_closed,
    middle_out,
    with_rod,
    without_bay,
)


def spec(**more: Any) -> dict[str, Any]:
    row = [{"rod": "R120", "count": 4}]
    return {"id": "A", "rods": {"x": row, "y": row, "z": row}, **more}


def test_a_bay_less() -> None:
    """The row is one rod shorter and the section given is left as it was."""
    given = spec()
    edited = without_bay(given, "y", 2)
    assert edited is not None
    assert edited.spec["rods"]["y"] == [{"rod": "R120", "count": 3}]
    assert given["rods"]["y"][0]["count"] == 4


def test_second_diagonals_move_along() -> None:
    """Those beyond the bay move up by one, those across it are dropped, others stay."""
    before = [[0, 0, 2], [0, 1, 1]]
    across = [[0, 2, 0], [0, 3, 1]]
    beyond = [[0, 3, 0], [0, 4, 1]]
    plane = [[0, 3, 0], [1, 3, 1]]
    edited = without_bay(spec(second_diagonals=[before, across, beyond, plane]), "y", 2)
    assert edited is not None
    assert edited.dropped_count == 1
    assert edited.spec["second_diagonals"] == [
        before,
        [[0, 2, 0], [0, 3, 1]],
        [[0, 2, 0], [1, 2, 1]],
    ]


def test_fittings_keep_their_level() -> None:
    """Levels above a bay taken out of the height move down; levels from the top stay."""
    edited = without_bay(spec(fittings=[{"mass_kg": 1, "levels": [0, 1, 3, -1]}]), "z", 2)
    assert edited is not None
    assert edited.spec["fittings"][0]["levels"] == [0, 1, 2, -1]


def test_beams_shrink_or_move() -> None:
    """A beam along the axis loses a bay, one beyond moves, one in the bay itself forbids it."""
    beams = [
        {"at": [0, 0, 0], "axis": "x", "bays": 4},
        {"at": [3, 0, 0], "axis": "z", "bays": 4},
    ]
    edited = without_bay(spec(beams=beams), "x", 1)
    assert edited is not None
    assert edited.spec["beams"] == [
        {"at": [0, 0, 0], "axis": "x", "bays": 3},
        {"at": [2, 0, 0], "axis": "z", "bays": 4},
    ]
    assert without_bay(spec(beams=beams), "x", 3) is None


def test_the_only_bay_stays() -> None:
    """A section without a bay is none."""
    assert without_bay({"id": "A", "rods": {"x": [{"rod": "R60", "count": 1}]}}, "x", 0) is None


def test_a_rod_exchanged() -> None:
    """One rod of the row changes, the runs are drawn together again."""
    assert with_rod(spec(), "z", 2, "R85").spec["rods"]["z"] == [
        {"rod": "R120", "count": 2},
        {"rod": "R85", "count": 1},
        {"rod": "R120", "count": 1},
    ]


def test_middle_comes_first() -> None:
    assert middle_out(6)[0] == 3
    assert sorted(middle_out(6)) == list(range(6))


def test_what_couples_changes_together() -> None:
    """Across a joint along x, depth and height must match; length need not."""
    names = ["A", "B", "C"]
    layout = {
        "sections": [{"id": name} for name in names],
        "joints": [{"between": ["A", "B"], "rod": "R60"}, {"between": ["B", "C"], "axis": "y"}],
    }
    assert coupled_sections(layout, ["A"], "x") == ["A"]
    assert coupled_sections(layout, ["B"], "x") == ["B", "C"]
    assert coupled_sections(layout, ["A"], "z") == names


def test_stated_places_move_up() -> None:
    """Sections beyond a shortened one close the gap."""
    before = [spec(at_mm=[0, 0, 0]), spec(at_mm=[540, 0, 0])]
    after = [dict(section) for section in before]
    for k in (0, 1):
        edited = without_bay(before[k], "x", 2)
        assert edited is not None
        after[k] = edited.spec
    gaps_closed(before, after, "x", 120.0)
    assert [section["at_mm"] for section in after] == [[0, 0, 0], [420, 0, 0]]

"""Counts without building are those of the frame that is built, before and after every edit."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.fit_remedies.box_parts import BoxCounter, patterns_of
from baywright_plugins.fit_remedies.edited_sections import pieces_of
from baywright_plugins.fit_remedies.listed_diagonals import listed_of
from baywright_plugins.fit_remedies.rows import KINDS, Rules, row_edits, split_axis
from baywright_plugins.frame import LayoutSchema, build_frame
from baywright_plugins.frame.patterns import PATTERNS
from baywright_plugins.grid_fit.examples import KIT
from baywright_plugins.grid_fit.layout_edits import runs_of
from baywright_plugins.kit import Kit, KitSchema

Json = dict[str, Any]
THE_KIT = Kit.from_inputs(KitSchema().load(KIT))
PITCH = {rod.id: rod.pitch_um for rod in THE_KIT.rods}
RODS = st.sampled_from(["R85", "R120", "R170"])
ROW = st.one_of(
    st.tuples(RODS, st.integers(1, 6)).map(lambda p: (p[0],) * p[1]),
    st.lists(RODS, min_size=1, max_size=4).map(tuple),
)


@st.composite
def sections(draw: st.DrawFn) -> Json:
    """A box of random rows and patterns, with some diagonals listed one by one."""
    spec: Json = {
        "id": "S",
        "rods": {axis: runs_of(draw(ROW)) for axis in "xyz"},
        "side_faces": {
            **({"default": draw(st.sampled_from(PATTERNS))} if draw(st.booleans()) else {}),
            draw(st.sampled_from(["x_minus", "y_plus", "z_minus"])): draw(
                st.sampled_from(PATTERNS)
            ),
        },
        "cross_faces": {
            "every": draw(st.integers(0, 4)),
            "pattern": draw(st.sampled_from(["alternating", "single", "crossed"])),
        },
    }
    frame = build_frame(LayoutSchema().load({"sections": [spec]}), THE_KIT)
    faces = [f for f in frame.faces if f.diagonals]
    for name, crossed in (("second_diagonals", False), ("left_out_diagonals", True)):
        some = draw(st.booleans())
        if faces and some:
            found = []
            for number in draw(st.sets(st.integers(0, len(faces) - 1), max_size=3)):
                a, b, c, d = faces[number].corners
                pair = (a, d) if draw(st.booleans()) else (b, c)
                there = bool(
                    np.any(
                        ((frame.start == pair[0]) & (frame.end == pair[1]))
                        | ((frame.start == pair[1]) & (frame.end == pair[0]))
                    )
                )
                if there == crossed:
                    found.append([frame.lattice[node].tolist() for node in pair])
            spec[name] = found
    return spec


def built(spec: Json) -> tuple[int, list[int], int]:
    """Hubs, rods by kind, and faces that want a diagonal but stay bare."""
    frame = build_frame(LayoutSchema().load({"sections": [spec]}), THE_KIT)
    rods = np.bincount(frame.rod, minlength=len(THE_KIT.rods)).tolist()
    plain = {k: v for k, v in spec.items() if k not in ("second_diagonals", "left_out_diagonals")}
    every = Kit(THE_KIT.rods, THE_KIT.hubs)
    wanting = build_frame(LayoutSchema().load({"sections": [_closing(plain)]}), every)
    there = build_frame(LayoutSchema().load({"sections": [plain]}), THE_KIT)
    bare = sum(
        want.diagonals > 0 and have.diagonals == 0
        for want, have in zip(wanting.faces, there.faces, strict=True)
    )
    return len(frame.nodes_mm), rods, bare


def _closing(spec: Json) -> Json:
    """The same bays all of R120, which R170 closes: every face that wants a diagonal gets it."""
    rods = {
        axis: [{"rod": "R120", "count": sum(run["count"] for run in runs)}]
        for axis, runs in spec["rods"].items()
    }
    return {**spec, "rods": rods}


@pytest.mark.slow
@given(spec=sections())
@settings(max_examples=16, deadline=None, derandomize=True)
def test_counts_of_a_box(spec: Json) -> None:
    """Hubs, rods of each kind and bare faces, as the built frame has them."""
    rows = [[r["rod"] for r in spec["rods"][a] for _ in range(r["count"])] for a in "xyz"]
    x, y, z = (row_edits(tuple(row), Rules(frozenset(), 0)).edits[0] for row in rows)
    listed = listed_of(spec, THE_KIT)
    parts = BoxCounter(THE_KIT).count((x, y, z), 0, patterns_of(spec), listed)
    hubs, rods, bare = built(spec)
    assert (parts.hubs, list(parts.rods), parts.bare) == (hubs, rods, bare)


@given(spec=sections(), data=st.data())
@settings(max_examples=16, deadline=None, derandomize=True)
def test_counts_after_an_edit(spec: Json, data: Any) -> None:
    """Every edit, of one row or of two, gives sections that count as foretold, piece by piece;
    diagonals given one by one are kept or said to be dropped."""
    rows = [tuple(r["rod"] for r in spec["rods"][a] for _ in range(r["count"])) for a in "xyz"]
    rules = Rules(
        frozenset(KINDS), 2, ("R85", "R120"), longer=True, low=("R120",), high=("R120", "R85"),
        pitch_um=PITCH,
    )  # fmt: skip
    kept = data.draw(st.integers(0, 2))
    x, y, z = (
        row_edits(row, rules).edits[0]
        if k == kept
        else data.draw(st.sampled_from(row_edits(row, rules).edits), label=f"row {k}")
        for k, row in enumerate(rows)
    )
    edits = (x, y, z)
    if sum(edit.is_split for edit in edits) > 1:
        return
    listed = listed_of(spec, THE_KIT)
    names = ["Sa", "Sb"] if split_axis(edits) is not None else ["S"]
    made = pieces_of(spec, edits, names, listed, THE_KIT)
    found = 0
    for part, piece in enumerate(made.specs):
        here = listed.in_piece(edits, part)
        counted = BoxCounter(THE_KIT).count(edits, part, patterns_of(spec), here)
        hubs, rods, bare = built(piece)
        assert (counted.hubs, list(counted.rods), counted.bare) == (hubs, rods, bare)
        found += sum(len(piece.get(f"{n}_diagonals", ())) for n in ("second", "left_out"))
    assert made.dropped_diagonals == max(listed.count - found, 0)

"""Against standards and textbook counts."""

import io
import math
from typing import Any

import pytest
from ezdxf.filemanagement import read as read_dxf

from baywright_plugins.build_sheets.examples import KIT
from baywright_plugins.build_sheets.marks import CAPITAL, LOOKS
from baywright_plugins.build_sheets.scales import LEAST_CAPITAL_MM, SCALES, TEXT_MM
from baywright_service.drawing import Dimension, Drawing, Label, Segments, simple, unit_of
from baywright_service.writers.dxf import dxf_bytes
from baywright_service.writers.paint import MM, extent_of
from baywright_service.writers.pdf import PAPERS, _layout
from baywright_service.writers.scale import standard_reduction


def beam_body(bays: int) -> dict[str, Any]:
    rods = {
        axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", (bays, 1, 1), strict=True)
    }
    faces = {"default": "alternating"}
    section = {"id": "b", "rods": rods, "side_faces": faces, "cross_faces": {"every": 0}}
    return {"kit": KIT, "frame": {"layout": {"sections": [section]}}, "sheet": "beam-b-1"}


@pytest.mark.parametrize("bays", [1, 2, 7, 15])
def test_members_of_a_box_truss(run: Any, published: Any, bays: int) -> None:
    """4 n chords, 4 (n + 1) battens, 4 n + 2 diagonals, 4 (n + 1) joints: b = 3 j - 6 for any n."""
    rule = published["box-truss-members"]
    (sheet,) = [r for r in run(beam_body(bays))[1].value["sheets"] if r["id"] == "beam-b-1"]
    axis = rule["chords_per_bay"] * bays + rule["battens_per_station"] * (bays + 1)
    diagonals = rule["side_diagonals_per_bay"] * bays + rule["end_diagonals"]
    joints = rule["joints_per_station"] * (bays + 1)
    assert sheet["rods"] == {"R120": axis, "R170": diagonals}
    assert sheet["hubs_count"] == joints
    assert sheet["rods_count"] == 3 * joints - 6


def test_scales_are_the_recommended_ones(published: Any, desk: Any) -> None:
    known = published["iso-5455-scales"]["reductions"]
    assert [s for s in SCALES if s <= 10_000] == [1, *known]
    assert {row["scale_a4"] for row in desk[1].value["sheets"]} <= set(known)
    assert all(row["scale_a3"] <= row["scale_a4"] for row in desk[1].value["sheets"])


def test_line_widths_are_of_the_series(published: Any) -> None:
    widths = {ink.width for ink, _ in LOOKS.values()}
    assert widths <= set(published["iso-128-widths"]["widths_mm"])


def on_a4(drawing: Drawing) -> float:
    """Millimetres of the drawing for one of paper, as the writer of pages brings it there."""
    short, long = (side * MM for side in PAPERS["a4"])
    fitting = max(_layout(drawing, long, short).fitting, _layout(drawing, short, long).fitting)
    return standard_reduction(MM / fitting)


def test_the_page_has_the_scale_that_the_result_states(desk: Any, desk_sheets: Any) -> None:
    stated = {row["id"]: row["scale_a4"] for row in desk[1].value["sheets"]}
    assert {name: on_a4(drawing) for name, drawing in desk_sheets.items()} == {
        name: stated[name] for name in desk_sheets
    }


def test_no_text_is_smaller_than_the_least_size(published: Any, desk_sheets: Any) -> None:
    least = published["iso-3098-heights"]["sizes_mm"][0]
    assert least == LEAST_CAPITAL_MM and least <= CAPITAL * TEXT_MM
    for drawing in desk_sheets.values():
        unit, scale = unit_of(drawing), on_a4(drawing)
        for shape in drawing.shapes:
            if isinstance(shape, Label | Dimension):
                assert shape.size * unit / scale * CAPITAL >= least


def test_words_are_read_from_below_or_from_the_right(published: Any, desk_sheets: Any) -> None:
    rule = published["iso-129-reading"]
    for drawing in desk_sheets.values():
        unit = unit_of(drawing)
        turns = [
            part.turned_deg
            for shape in drawing.shapes
            for part in simple(shape, unit)
            if isinstance(part, Label)
        ]
        assert all(rule["turned_deg_min"] < turn <= rule["turned_deg_max"] for turn in turns)


def test_dimensions_are_as_long_as_they_say(desk_sheets: Any) -> None:
    """Every value is the length of its line to the micrometre; equal bays as number × spacing."""
    for drawing in desk_sheets.values():
        for shape in drawing.shapes:
            if isinstance(shape, Dimension):
                words = shape.text.removesuffix(" over hub ends").split(" = ")[-1]
                value = float(words.split(": ")[-1])
                assert math.dist(shape.start, shape.end) == pytest.approx(value, abs=1e-3)


def test_dxf_holds_the_rods_in_true_millimetres(desk: Any, desk_sheets: Any) -> None:
    """Read back by another library: no fault, and each line as long as the rod between its hubs."""
    document = read_dxf(io.StringIO(dxf_bytes(desk_sheets["beam-S2-1"]).decode()))
    audit = document.audit()
    assert not audit.has_errors and not audit.has_fixes
    names = {"CHORDS R120", "BATTENS R120", "DIAGONALS R170", "HUBS", "DIMENSIONS", "TEXT"}
    assert names <= {layer.dxf.name for layer in document.layers}
    lines = document.modelspace().query("LINE")
    by_layer: dict[str, list[float]] = {}
    for line in lines:
        length = line.dxf.start.distance(line.dxf.end)
        by_layer.setdefault(line.dxf.layer, []).append(length)
    assert by_layer["CHORDS R120"] == pytest.approx([120.0] * (4 * 9 * 2))
    assert set(map(round, by_layer["BATTENS R120"])) == {120}
    assert by_layer["DIAGONALS R170"] == pytest.approx(
        [120 * math.sqrt(2)] * len(by_layer["DIAGONALS R170"])
    )


def test_words_do_not_cover_one_another(desk_sheets: Any) -> None:
    """Boxes of level words, a little smaller than the letters, on every sheet."""
    for name, drawing in desk_sheets.items():
        boxes = _boxes(drawing)
        for k, (a, text) in enumerate(boxes):
            for b, other in boxes[k + 1 :]:
                apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
                assert apart, (name, text, other)


def _boxes(drawing: Drawing) -> list[tuple[tuple[float, float, float, float], str]]:
    unit = unit_of(drawing)
    found = []
    for shape in drawing.shapes:
        for part in simple(shape, unit):
            if isinstance(part, Label) and part.turned_deg in (0.0, 90.0):
                size = part.size * unit
                wide, high = 0.55 * size * len(part.text), CAPITAL * size
                start = {"middle": -wide / 2, "end": -wide}.get(part.anchor, 0.0)
                x, y = part.at
                box = (x + start, y, x + start + wide, y + high)
                if part.turned_deg:
                    box = (x - high, y + start, x, y + start + wide)
                found.append((box, part.text))
    return found


def test_a_page_covers_no_more_than_its_drawing(desk_sheets: Any) -> None:
    """What is drawn is within the paper at the stated scale."""
    for drawing in desk_sheets.values():
        extent, scale = extent_of(drawing), on_a4(drawing)
        sides = sorted((extent.width / scale, extent.height / scale))
        assert sides[0] < PAPERS["a4"][0] and sides[1] < PAPERS["a4"][1]
        assert any(isinstance(shape, Segments) for shape in drawing.shapes)

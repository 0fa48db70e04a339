"""DXF, read back by the library's own auditor and measured."""

import io
import re
from typing import Any

import pytest
from ezdxf.filemanagement import read as read_dxf

from baywright_service.contract import Drawing, Ink, Label, Line
from baywright_service.writers.dxf import dxf_bytes
from tests.service.writers.papers import DOOR, EMPTY


def read(drawing: Drawing = DOOR) -> Any:
    """The file as a reader takes it; audited without error and without anything to mend."""
    document = read_dxf(io.StringIO(dxf_bytes(drawing).decode()))
    auditor = document.audit()
    assert not auditor.has_errors and not auditor.has_fixes
    return document


def test_it_is_in_millimetres_one_to_one() -> None:
    """$INSUNITS 4 is millimetres (DXF reference, header variables)."""
    document = read()
    assert document.dxfversion == "AC1024" and document.header["$INSUNITS"] == 4
    outline = document.modelspace().query("LWPOLYLINE").first
    assert outline is not None and outline.closed
    xs = [x for x, *_ in outline.get_points()]
    ys = [y for _, y, *_ in outline.get_points()]
    assert (max(xs) - min(xs), max(ys) - min(ys)) == (800.0, 2000.0)
    circle = document.modelspace().query("CIRCLE").first
    assert circle is not None and (circle.dxf.radius, circle.dxf.center.y) == (40.0, 1000.0)


def test_layers_tell_what_a_line_is() -> None:
    """Those of the legend by its words; fills are there, switched off for who cuts."""
    document = read()
    space = document.modelspace()
    of = {layer.dxf.name: space.query(f'*[layer=="{layer.dxf.name}"]') for layer in document.layers}
    assert [e.dxftype() for e in of["CLEAR OPENING"]] == ["LWPOLYLINE", "LINE", "LINE"]
    assert [e.dxftype() for e in of["STICKS WITH THE MM IT IS OVER HATCH"]] == ["HATCH"]
    assert {e.dxftype() for e in of["DIMENSIONS"]} == {"LWPOLYLINE", "TEXT"}
    assert [e.dxf.text for e in of["TEXT"]] == ["upright"]
    assert document.layers.get("OUTLINES FILL").is_off()
    assert document.layers.get("CLEAR OPENING").is_on()


def test_dashes_are_line_types_in_true_length() -> None:
    document = read()
    dashed = [e for e in document.modelspace() if e.dxf.get("linetype", "").startswith("DASH")]
    names = {entity.dxf.linetype for entity in dashed}
    assert names == {"DASH_2_1"} and len(dashed) == 2
    assert "DASH_2_1" in document.linetypes


def test_title_and_words_are_there() -> None:
    texts = [text.plain_text() for text in read().modelspace().query("MTEXT")]
    assert texts == [DOOR.title, DOOR.description]


def test_turned_text_stands_where_it_was_put() -> None:
    found = {text.dxf.text: text for text in read().modelspace().query("TEXT")}
    upright = found["upright"]
    assert upright.dxf.rotation == 90 and upright.get_placement()[1].vec2 == (400.0, 1500.0)


def test_dark_ink_takes_the_colour_of_the_screen_and_others_keep_theirs() -> None:
    drawing = Drawing("", "", [Line(((0, 0), (1, 1))), Line(((0, 0), (1, 2)), Ink("#a3201d"))])
    dark, red = read(drawing).modelspace().query("LWPOLYLINE")
    assert dark.dxf.color == 7 and not dark.dxf.hasattr("true_color")
    assert red.rgb == (0xA3, 0x20, 0x1D)


def test_the_same_drawing_gives_the_same_bytes() -> None:
    first = dxf_bytes(DOOR)
    assert first == dxf_bytes(DOOR)
    assert not re.search(rb"20[12]\d-\d\d", first)


def test_what_is_empty_says_why() -> None:
    assert [text.plain_text() for text in read(EMPTY).modelspace()] == [
        "Nothing",
        "No layout was given.",
    ]


@pytest.mark.parametrize(
    "text", ["{\\C1;red}", "a\\Pb", "line\nbreak", "x\x00\x07y", "5 %%u", "100%%d", "a^Ib", "%%%"]
)
def test_text_stays_text(text: str) -> None:
    """What a program of this trade would take for a code (\\P, %%d, ^I) is written so that it
    is read as it stands."""
    space = read(Drawing(text, text, [Line(((0, 0), (9, 9))), Label((0, 0), text)])).modelspace()
    plain = re.sub("[\x00-\x1f]", " ", text)
    title, label = space.query("MTEXT").first, space.query("TEXT").first
    assert title is not None and title.plain_text() == plain
    assert label is not None and label.plain_text() == plain

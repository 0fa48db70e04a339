"""Sheets of paper, read back by another library: size, text, scale, nothing rastered."""

import pytest

from baywright_service.contract import Dimension, Drawing, Label, Line
from baywright_service.writers.pdf import Page, Sheet, pdf_bytes
from tests.service.writers.papers import (
    DOOR,
    EMPTY,
    MM,
    embedded_fonts,
    rasters,
    read,
    strokes,
    words,
)


def sheet(drawing: Drawing = DOOR, paper: str = "a4", scale: str = "fit", plan: str = "") -> bytes:
    """One drawing on one page."""
    return pdf_bytes([Sheet(drawing, "doors 1.2.0")], "Doors", Page(paper, scale, plan))


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("a3", (297, 420))])
def test_paper_has_the_size_of_iso_216_and_turns_with_the_drawing(
    paper: str, size: tuple[float, float]
) -> None:
    tall = read(sheet(paper=paper)).pages[0].mediabox
    assert (tall.width / MM, tall.height / MM) == pytest.approx(size, abs=0.01)
    wide = Drawing("Beam", "A beam.", [Line(((0, 0), (3000, 100)))])
    lying = read(sheet(wide, paper)).pages[0].mediabox
    assert (lying.height / MM, lying.width / MM) == pytest.approx(size, abs=0.01)


def test_the_title_block_says_what_it_is() -> None:
    text = words(sheet(plan="Hall machine"))
    for part in (DOOR.title, "doors 1.2.0", "Hall machine", "1 of 1, A4 portrait", "Scale"):
        assert part in text
    assert "not a safety certificate" in text
    assert "clear opening" in text and "sticks, with the mm it is over" in text


def test_signs_beyond_ascii_are_text_that_can_be_searched() -> None:
    assert "“A” – 800 × 2000" in words(sheet())
    assert "≤ 25 mm too wide, 3 m² at 45°" in words(sheet())
    signs = "“” – − ≤ ≥ × ² ³ ° · → ✔ ✖ … µ Ω ½ ∞ äöüß éèç łżő Привет"
    assert signs in words(sheet(Drawing(signs, "", [Line(((0, 0), (1, 1)))])))


def test_shapes_stay_shapes_and_faces_travel_with_the_file() -> None:
    content = sheet()
    assert rasters(content) == []
    fonts = embedded_fonts(content)
    assert fonts and all(fonts.values())


@pytest.mark.parametrize(("paper", "reduction"), [("a4", 10), ("a3", 10)])
def test_a_standard_scale_is_true_on_paper(paper: str, reduction: int) -> None:
    """2000 mm at 1:10 measure 200 mm with a ruler; ISO 5455 has no scale between 1:10 and 1:5,
    which would need 400 mm."""
    content = sheet(paper=paper, scale="standard")
    lengths = [stroke.length_mm for stroke in strokes(read(content).pages[0])]
    assert min(abs(length - 2000 / reduction) for length in lengths) < 0.01
    assert min(abs(length - 800 / reduction) for length in lengths) < 0.01
    assert f"1:{reduction}" in words(content)


def test_a_fitted_scale_is_stated_as_it_is() -> None:
    content = sheet()
    stated = float(words(content).split("1:")[1].split()[0])
    lengths = [stroke.length_mm for stroke in strokes(read(content).pages[0])]
    assert min(abs(length * stated - 2000) for length in lengths) < 2000 * 0.005


def test_what_is_no_picture_in_true_measure_states_no_scale() -> None:
    chart = Drawing("Chart", "Bars.", [Line(((0, 0), (9, 9))), Label((0, 0), "12 mm")])
    stretched = Drawing("Long", "Cut short.", [Dimension((0, 0), (50, 0), "9000 mm")])
    for drawing in (chart, stretched):
        assert "not to scale" in words(sheet(drawing, scale="standard"))


def test_everything_is_inside_the_frame() -> None:
    """Long words at the edge make the drawing smaller instead of being cut off."""
    long = Drawing("Edge", "", [Line(((0, 0), (100, 0))), Label((100, 0), "x" * 60)])
    page = read(sheet(long)).pages[0]
    line = max(strokes(page), key=lambda s: (s.start[1] > 40 * MM, s.length_mm))
    found: list[tuple[str, float]] = []
    page.extract_text(visitor_text=lambda text, cm, tm, *_: found.append((text, tm[4])))
    start = next(x for text, x in found if "xxxx" in text)
    size = next(s for s in [1.8 / 100 * line.length_mm * MM])
    assert start + 60 * size * 0.592 <= float(page.mediabox.width) - 10 * MM  # 0.592 em: DejaVu x


def test_a_drawing_without_shapes_says_why() -> None:
    assert words(sheet(EMPTY)).count("No layout was given.") == 2


def test_several_sheets_are_numbered_and_listed_in_the_outline() -> None:
    reader = read(pdf_bytes([Sheet(DOOR, "d 1"), Sheet(EMPTY, "d 1")], "Both", Page()))
    assert [page.extract_text().count(f"{n} of 2") for n, page in enumerate(reader.pages, 1)] == [
        1,
        1,
    ]
    titles = [entry.title for entry in reader.outline if not isinstance(entry, list)]
    assert titles == [DOOR.title, EMPTY.title]


def test_the_file_says_what_it_is_and_never_when() -> None:
    """Title, language; the same bytes each time, so no clock is in it."""
    content = sheet()
    reader = read(content)
    assert reader.metadata is not None and reader.metadata.title == "Doors"
    assert reader.trailer["/Root"]["/Lang"] == "en"  # type: ignore[index]
    assert content == sheet()


@pytest.mark.parametrize("size", [1e-9, 1e-3, 1e9, 1e12])
def test_the_smallest_and_the_largest_thing_fit(size: float) -> None:
    dot = Drawing("Dot", "", [Line(((size, size), (size, size)))])
    thing = Drawing("Thing", "", [Line(((0, 0), (size, size))), Label((0, 0), "here")])
    for drawing in (dot, thing):
        text = words(sheet(drawing, scale="standard"))
        assert "nan" not in text and "inf" not in text

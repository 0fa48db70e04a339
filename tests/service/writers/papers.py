"""A PDF read back by a library that did not write it (pypdf), and drawings to write."""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

from baywright_service.contract import (
    Arrow,
    Circle,
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
)

MM = 72 / 25.4
FRAME = Ink("#0b5a8a", 0.4)
STUCK = Ink("#a3201d", 0.3, (2.0, 1.0), "none", hatched=True)

#: Every kind of shape; the outline is as long as its dimension says.
DOOR = Drawing(
    "Door “A” – 800 × 2000 mm",
    "A door and what sticks in it: ≤ 25 mm too wide, 3 m² at 45°.",
    [
        Polygon(((0, 0), (800, 0), (800, 2000), (0, 2000)), FRAME),
        Polygon(((700, 900), (830, 900), (830, 1100), (700, 1100)), STUCK),
        Circle((400, 1000), 40, Ink(fill="#e3ebf5")),
        Line(((0, 0), (100, 300), (250, 350)), Ink(dash=(2.0, 1.0))),
        Segments((((10, 10), (20, 10)), ((10, 20), (10, 40))), FRAME),
        Arrow((900, 500), (840, 500)),
        Label((400, 1500), "upright", turned_deg=90, anchor="middle", bold=True),
        Dimension((0, 2000), (800, 2000), "800", 60),
        Dimension((0, 0), (0, 2000), "2000 mm", 60),
    ],
    [Legend(FRAME, "clear opening"), Legend(STUCK, "sticks, with the mm it is over")],
)
EMPTY = Drawing("Nothing", "No layout was given.", [])


@dataclass(frozen=True)
class Stroke:
    """A straight line on a page, points."""

    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def length_mm(self) -> float:
        """How long it is on paper."""
        across, up = self.end[0] - self.start[0], self.end[1] - self.start[1]
        return float((across**2 + up**2) ** 0.5) / MM


def read(content: bytes) -> PdfReader:
    """The file as pypdf sees it; strictly."""
    return PdfReader(io.BytesIO(content), strict=True)


def words(content: bytes) -> str:
    """All text, page after page."""
    return "\n".join(page.extract_text() for page in read(content).pages)


def strokes(page: PageObject) -> Iterator[Stroke]:
    """The straight lines of a page as its operators draw them; no transformation is about."""
    contents: Any = page.get_contents()
    here = first = (0.0, 0.0)
    for operands, operator in ContentStream(contents, page.pdf).operations:
        if operator == b"m":
            here = first = (float(operands[0]), float(operands[1]))
        elif operator == b"l":
            there = (float(operands[0]), float(operands[1]))
            yield Stroke(here, there)
            here = there
        elif operator == b"h":
            yield Stroke(here, first)


def rasters(content: bytes) -> list[str]:
    """The names of all images in the file."""
    return [image.name for page in read(content).pages for image in page.images]


def embedded_fonts(content: bytes) -> dict[str, bool]:
    """Each font of the file, and whether its glyphs are inside."""
    found: dict[str, bool] = {}
    for page in read(content).pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            each = font.get_object()
            descriptor = each.get("/FontDescriptor")
            inside = bool(descriptor) and "/FontFile2" in descriptor.get_object()
            found[str(each["/BaseFont"])] = inside
    return found

"""Sheets of paper (PDF, A4 or A3): one drawing each, with legend and title block.

The same drawings give the same bytes: no date, no name of the machine, a fixed document id.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ..drawing import Drawing, Legend
from .fonts import BOLD, REGULAR, broken, printable, register, shortened, width_of
from .paint import MM, extent_of, place, sample
from .scale import is_to_scale, scale_text, standard_reduction

#: ISO 216, short side by long side, mm.
PAPERS = {"a4": (210.0, 297.0), "a3": (297.0, 420.0)}
#: How a drawing is brought to paper: as large as it goes, or at the next scale of ISO 5455.
FIT, STANDARD = "fit", "standard"
SCALES = (FIT, STANDARD)

_EDGE, _AIR = 10 * MM, 3 * MM
_BLOCK = 21 * MM
_NOTE, _ROW, _SWATCH = 8.0, 5.2 * MM, 12 * MM
_LINES_OF_WORDS = 4
#: Of the page before any text is set; another face would come into the file otherwise.
_FACE: dict[str, Any] = {"initialFontName": REGULAR}
CLOSING = "Planning aid, not a safety certificate."


@dataclass(frozen=True)
class Page:
    """What a page is like: the paper, how drawings come on it, the plan that it belongs to."""

    paper: str = "a4"
    scale: str = FIT
    plan: str = ""

    @property
    def marks(self) -> tuple[str, str, str]:
        """What tells it from other pages."""
        return self.paper, self.scale, self.plan


@dataclass(frozen=True)
class Sheet:
    """One drawing, and the calculator with its version that made it."""

    drawing: Drawing
    calculator: str


@dataclass(frozen=True)
class _Layout:
    """Where things stand on one page, points."""

    width: float
    height: float
    words: Sequence[str]
    columns: int
    notes: float
    #: Points for a millimetre of the drawing.
    fitting: float

    @property
    def field(self) -> tuple[float, float, float, float]:
        """Left, low, width and height of what is left for the drawing."""
        low = _EDGE + _BLOCK + self.notes
        wide, high = self.width - 2 * _EDGE, self.height - _EDGE - low
        return _EDGE + _AIR, low + _AIR, wide - 2 * _AIR, high - 2 * _AIR


def pdf_bytes(sheets: Sequence[Sheet], title: str, page: Page) -> bytes:
    """A page for each sheet; `title` is the document's. At least one sheet is needed."""
    from reportlab.pdfgen.canvas import Canvas

    register()
    file = io.BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1, lang="en", **_FACE)
    describe(canvas, title, ", ".join(dict.fromkeys(sheet.calculator for sheet in sheets)))
    for number, sheet in enumerate(sheets, 1):
        _add(canvas, sheet, f"{number} of {len(sheets)}", page)
    canvas.save()
    return file.getvalue()


def describe(canvas: Any, title: str, subject: str) -> None:
    """What a reader of the file, or of the screen, is told of the document."""
    canvas.setTitle(printable(title))
    canvas.setSubject(printable(subject))
    canvas.setAuthor("Baywright")
    canvas.setCreator("Baywright")
    canvas.setViewerPreference("DisplayDocTitle", "true")


def _add(canvas: Any, sheet: Sheet, number: str, page: Page) -> None:
    short, long = (side * MM for side in PAPERS[page.paper])
    lying, standing = _layout(sheet.drawing, long, short), _layout(sheet.drawing, short, long)
    layout = standing if standing.fitting > lying.fitting else lying
    canvas.setPageSize((layout.width, layout.height))
    canvas.bookmarkPage(f"sheet-{number}")
    canvas.addOutlineEntry(printable(sheet.drawing.title), f"sheet-{number}", 0)
    _frame(canvas, layout)
    stated = _draw(canvas, sheet.drawing, layout, page.scale)
    _notes(canvas, sheet.drawing, layout)
    size = f"{page.paper.upper()} {'landscape' if layout.width > layout.height else 'portrait'}"
    cells = ((0.4, "Plan", page.plan or "–"), (0.24, "Calculated by", sheet.calculator))
    more = ((0.16, "Scale", stated), (0.2, "Sheet", f"{number}, {size}"))
    _title_block(canvas, sheet.drawing.title, (*cells, *more), layout)
    canvas.showPage()


def _layout(drawing: Drawing, width: float, height: float) -> _Layout:
    inside = width - 2 * _EDGE - 2 * _AIR
    words = broken(drawing.description, _NOTE, inside)
    if len(words) > _LINES_OF_WORDS:
        words = [
            *words[: _LINES_OF_WORDS - 1],
            shortened(words[_LINES_OF_WORDS - 1] + "…", 8, inside),
        ]
    widest = max((width_of(entry.text, _NOTE) for entry in drawing.legend), default=0.0)
    columns = max(1, min(4, int(inside / (widest + _SWATCH + 5 * MM))))
    rows = -(-len(drawing.legend) // columns)
    notes = len(words) * _NOTE * 1.35 + (rows * _ROW + 2 * MM if rows else 0.0) + 3 * MM
    layout = _Layout(width, height, words, columns, notes, 0.0)
    if not drawing.shapes:
        return layout
    _, _, wide, high = layout.field
    extent = extent_of(drawing)
    fitting = min(wide / extent.width, max(high, MM) / extent.height)
    return _Layout(width, height, words, columns, notes, fitting)


def _frame(canvas: Any, layout: _Layout) -> None:
    canvas.setStrokeColorRGB(0.12, 0.16, 0.2)
    canvas.setLineWidth(0.7 * MM / 2)
    canvas.setDash([])
    wide, high = layout.width - 2 * _EDGE, layout.height - 2 * _EDGE
    canvas.rect(_EDGE, _EDGE, wide, high, stroke=1, fill=0)


def _draw(canvas: Any, drawing: Drawing, layout: _Layout, scale: str) -> str:
    """Draws, and says at which scale."""
    if not drawing.shapes:
        left, low, wide, high = layout.field
        canvas.setFont(REGULAR, 12)
        canvas.setFillColorRGB(0.12, 0.16, 0.2)
        text = shortened(printable(drawing.description), 12, wide)
        canvas.drawCentredString(left + wide / 2, low + high / 2, text)
        return "–"
    true, fitting = is_to_scale(drawing), layout.fitting
    reduction = MM / fitting
    if true and scale == STANDARD:
        reduction = standard_reduction(reduction)
        fitting = MM / reduction
    place(canvas, drawing, *layout.field, fitting)
    return scale_text(reduction) if true else "not to scale"


def _notes(canvas: Any, drawing: Drawing, layout: _Layout) -> None:
    """The legend, and the drawing in words, between it and the title block."""
    left, y = _EDGE + _AIR, _EDGE + _BLOCK + layout.notes - 2 * MM
    column = (layout.width - 2 * (_EDGE + _AIR)) / layout.columns
    rows = -(-len(drawing.legend) // layout.columns)
    for k, entry in enumerate(drawing.legend):
        _legend_entry(canvas, entry, left + (k // rows) * column, y - (k % rows + 1) * _ROW, column)
    y -= rows * _ROW + (2 * MM if rows else 0.0)
    canvas.setFont(REGULAR, _NOTE)
    canvas.setFillColorRGB(0.12, 0.16, 0.2)
    for line in layout.words:
        y -= _NOTE * 1.35
        canvas.drawString(left, y + 2, line)


def _legend_entry(canvas: Any, entry: Legend, x: float, y: float, width: float) -> None:
    sample(canvas, entry, x, y + 0.8 * MM, _SWATCH - 3 * MM, 3.2 * MM)
    canvas.setFont(REGULAR, _NOTE)
    canvas.setFillColorRGB(0.12, 0.16, 0.2)
    text = shortened(printable(entry.text), _NOTE, width - _SWATCH)
    canvas.drawString(x + _SWATCH, y + 1.4 * MM, text)


def _title_block(
    canvas: Any, title: str, cells: Sequence[tuple[float, str, str]], layout: _Layout
) -> None:
    """The title above `cells`: (share of the width, name, text)."""
    left, wide = _EDGE, layout.width - 2 * _EDGE
    canvas.setLineWidth(0.25 * MM)
    canvas.setStrokeColorRGB(0.12, 0.16, 0.2)
    middle, top = _EDGE + 9.5 * MM, _EDGE + _BLOCK
    canvas.line(left, top, left + wide, top)
    canvas.line(left, middle, left + wide, middle)
    _cell(canvas, "Drawing", title, left, middle, wide, 11.0, bold=True)
    x = left
    for part, name, text in cells:
        if x > left:
            canvas.line(x, _EDGE, x, middle)
        _cell(canvas, name, text, x, _EDGE, wide * part, 8.5)
        x += wide * part
    canvas.setFont(REGULAR, 6.5)
    canvas.setFillColorRGB(0.32, 0.38, 0.43)
    canvas.drawRightString(left + wide, _EDGE - 3.4 * MM, f"Made by Baywright. {CLOSING}")


def _cell(
    canvas: Any,
    name: str,
    text: str,
    x: float,
    y: float,
    width: float,
    size: float,
    *,
    bold: bool = False,
) -> None:
    inside = width - 4 * MM
    canvas.setFillColorRGB(0.32, 0.38, 0.43)
    canvas.setFont(REGULAR, 6.5)
    canvas.drawString(x + 2 * MM, y + 6.4 * MM, name)
    canvas.setFillColorRGB(0.12, 0.16, 0.2)
    fitted = max(6.5, min(size, size * inside / max(width_of(text, size, bold=bold), 1.0)))
    canvas.setFont(BOLD if bold else REGULAR, fitted)
    canvas.drawString(x + 2 * MM, y + 2 * MM, shortened(printable(text), fitted, inside, bold=bold))

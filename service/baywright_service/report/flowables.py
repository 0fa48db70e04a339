"""Pieces of a PDF report that the library has not: marked places, drawings, wide tables."""

from collections.abc import Sequence
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph
from reportlab.platypus import Table as Grid

from ..drawing import Drawing, Legend
from ..writers.fonts import BOLD, REGULAR, printable, shortened, width_of
from ..writers.paint import extent_of, place, sample
from .model import Table
from .words import brief

INK, SOFT, LINE = HexColor("#1d2733"), HexColor("#55616e"), HexColor("#c9ced3")
TOTAL = "total"
#: Less than a page holds.
_PAGE = 200 * mm
_MOST_LEGEND, _LONGEST_CELL = 30, 1200
_ROW, _SWATCH = 4.6 * mm, 11 * mm
_LEGEND_SIZE, _TABLE_SIZE = 7.5, 7.5
_WIDEST_CELL = 62 * mm
#: Large enough to read the text of a drawing, small enough for two on a page.
_LONGEST_SIDE, _TALLEST_DRAWING = 150 * mm, 128 * mm


def style(name: str, size: float, **more: Any) -> ParagraphStyle:
    """A paragraph style in our own face."""
    given = {"fontName": REGULAR, "textColor": INK, "leading": size * 1.38, **more}
    return ParagraphStyle(name, fontSize=size, **given)


def text(words: str, look: ParagraphStyle, target: str = "") -> Paragraph:
    """Words as they are, whatever signs they hold; a link where there is a `target`."""
    safe = escape(printable(words))
    linked = f'<a href="#{escape(target)}" color="#0b5a8a">{safe}</a>' if target else safe
    return Paragraph(linked, look)


class Later:
    """Page numbers that are known only at the end, put where they belong as small forms.

    So a report with page numbers in its contents is set once. `pages` holds the marked places met
    so far, `chapter` the title of the last one that begins a chapter.
    """

    def __init__(self) -> None:
        self.pages: dict[str, int] = {}
        self.chapter = ""
        self._asked: dict[str, tuple[float, bool]] = {}

    def put(self, canvas: Any, id: str, x: float, y: float, size: float, *, right: bool) -> None:
        """The page of the place `id` (TOTAL: how many there are), at or up to a point."""
        self._asked[id] = (size, right)
        canvas.saveState()
        canvas.translate(x, y)
        canvas.doForm(f"page-{id}")
        canvas.restoreState()

    def settle(self, canvas: Any) -> None:
        """Write every number that was asked for; the current page is the last."""
        self.pages[TOTAL] = canvas.getPageNumber()
        for id, (size, right) in self._asked.items():
            canvas.beginForm(f"page-{id}", -60, -4, 60, 14)
            canvas.setFont(REGULAR, size)
            canvas.setFillColor(INK if right else SOFT)
            draw = canvas.drawRightString if right else canvas.drawString
            draw(0, 0, str(self.pages[id]))
            canvas.endForm()


class Ending(Flowable):
    """Stands last, and settles the page numbers."""

    def __init__(self, later: Later) -> None:
        super().__init__()
        self.later = later

    def wrap(self, *_: Any) -> tuple[float, float]:
        return 0.0, 0.0

    def draw(self) -> None:
        self.later.settle(self.canv)


class PageOf(Flowable):
    """The page on which a marked place stands, to the right in its cell."""

    def __init__(self, later: Later, id: str, size: float) -> None:
        super().__init__()
        self.later, self.id, self.size = later, id, size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width = width
        return width, self.size * 1.38

    def draw(self) -> None:
        self.later.put(self.canv, self.id, self.width, self.size * 0.3, self.size, right=True)


class Mark(Flowable):
    """A place without height that links and the outline of the file lead to."""

    def __init__(self, later: Later, id: str, title: str, depth: int | None) -> None:
        super().__init__()
        self.later, self.id, self.title, self.depth = later, id, title, depth
        self.keepWithNext = 1

    def wrap(self, *_: Any) -> tuple[float, float]:
        return 0.0, 0.0

    def draw(self) -> None:
        canvas: Any = self.canv
        self.later.pages[self.id] = canvas.getPageNumber()
        canvas.bookmarkHorizontal(self.id, 0, 0)
        if self.depth is not None:
            self.later.chapter = self.title
            canvas.addOutlineEntry(printable(self.title), self.id, self.depth, closed=False)


class Struck(Flowable):
    """Paragraphs behind a stroke of one colour."""

    _INSET = 7.0

    def __init__(self, paragraphs: Sequence[Paragraph], colour: Color) -> None:
        super().__init__()
        self.paragraphs, self.colour = paragraphs, colour

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        sizes = [part.wrapOn(self.canv, width - self._INSET, height) for part in self.paragraphs]
        self.width, self.height = width, sum(tall for _, tall in sizes) + 1.6 * mm
        return self.width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        """What is higher than a page goes on on the next; everything else moves there whole."""
        if self.height <= _PAGE:
            return []
        room, kept, rest = height - 1.6 * mm, [], list(self.paragraphs)
        while rest and rest[0].wrap(width - self._INSET, room)[1] <= room:
            room -= rest[0].height
            kept.append(rest.pop(0))
        pieces: list[Any] = rest[0].split(width - self._INSET, room) if rest else []
        kept, rest = [*kept, *pieces[:1]], [*pieces[1:], *rest[1:]] if pieces else rest
        return [Struck(kept, self.colour), Struck(rest, self.colour)] if kept and rest else []

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.setFillColor(self.colour)
        canvas.rect(0, 1.6 * mm, 2.2, self.height - 1.6 * mm, stroke=0, fill=1)
        y = self.height
        for part in self.paragraphs:
            y -= part.height
            part.drawOn(canvas, self._INSET, y)


class Picture(Flowable):
    """A drawing with its title above and its legend below; shapes stay shapes."""

    def __init__(self, drawing: Drawing, width: float) -> None:
        super().__init__()
        self.drawing, self.width = drawing, width
        self.legend = drawing.legend[:_MOST_LEGEND]
        extent = extent_of(drawing)
        widest = max((width_of(entry.text, _LEGEND_SIZE) for entry in self.legend), default=0.0)
        self.columns = max(1, min(3, int(width / (widest + _SWATCH + 4 * mm))))
        self.rows = -(-len(self.legend) // self.columns)
        self.notes = self.rows * _ROW + (2 * mm if self.rows else 0.0)
        longest = min(width, _LONGEST_SIDE)
        self.scale = min(longest / extent.width, _TALLEST_DRAWING / extent.height)
        self.tall = extent.height * self.scale
        self.height = self.tall + self.notes + 7 * mm

    def wrap(self, *_: Any) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.setFont(BOLD, 9.5)
        canvas.setFillColor(INK)
        title = shortened(printable(self.drawing.title), 9.5, self.width, bold=True)
        canvas.drawString(0, self.height - 4 * mm, title)
        place(canvas, self.drawing, 0, self.notes, self.width, self.tall, self.scale)
        for k, entry in enumerate(self.legend):
            self._legend(canvas, k, entry)

    def _legend(self, canvas: Any, k: int, entry: Legend) -> None:
        column = self.width / self.columns
        x, y = (k // self.rows) * column, self.notes - 2 * mm - (k % self.rows + 1) * _ROW
        sample(canvas, entry, x, y + 0.7 * mm, _SWATCH - 3 * mm, 2.8 * mm)
        canvas.setFont(REGULAR, _LEGEND_SIZE)
        canvas.setFillColor(INK)
        words = shortened(printable(entry.text), _LEGEND_SIZE, column - _SWATCH)
        canvas.drawString(x + _SWATCH, y + 1.1 * mm, words)


_CELL = style("cell", _TABLE_SIZE, leading=_TABLE_SIZE * 1.25)
_HEAD = style("head", _TABLE_SIZE, leading=_TABLE_SIZE * 1.2, fontName=BOLD)
_HEAD_RIGHT = style(
    "head-right", _TABLE_SIZE, leading=_TABLE_SIZE * 1.2, fontName=BOLD, alignment=2
)


def grids(table: Table, width: float) -> list[Grid]:
    """The table in as many parts side by side as its columns need; each begins with the first."""
    widths = [_column_width(table, k) for k in range(len(table.columns))]
    parts, part, used = [], [0], widths[0]
    for k in range(1, len(widths)):
        if used + widths[k] > width and len(part) > 1:
            parts.append(part)
            part, used = [0], widths[0]
        part.append(k)
        used += widths[k]
    return [_grid(table, columns, widths, width) for columns in (*parts, part)]


def _column_width(table: Table, k: int) -> float:
    name = table.columns[k]
    words = max((width_of(word, _TABLE_SIZE, bold=True) for word in name.split()), default=0.0)
    heading = max(words, width_of(name, _TABLE_SIZE, bold=True) / 2.2)
    cells = max((width_of(row[k], _TABLE_SIZE) for row in table.rows), default=0.0)
    return max(heading, min(cells, _WIDEST_CELL)) + 3.2 * mm


def _grid(table: Table, columns: Sequence[int], widths: Sequence[float], width: float) -> Grid:
    wide = [widths[k] for k in columns]
    if sum(wide) > width:
        wide = [part * width / sum(wide) for part in wide]
    head = [text(table.columns[k], _HEAD_RIGHT if table.numeric[k] else _HEAD) for k in columns]
    rows = [
        [_content(row[k], part) for k, part in zip(columns, wide, strict=True)]
        for row in table.rows
    ]
    right = [("ALIGN", (n, 1), (n, -1), "RIGHT") for n, k in enumerate(columns) if table.numeric[k]]
    grid = Grid([head, *rows], colWidths=wide, repeatRows=1, hAlign="LEFT")
    grid.setStyle([*TABLE_LOOK, ("LINEBELOW", (0, 0), (-1, 0), 0.8, INK), *right])
    return grid


TABLE_LOOK: list[Any] = [
    ("FONT", (0, 0), (-1, -1), REGULAR, _TABLE_SIZE, _TABLE_SIZE * 1.25),
    ("TEXTCOLOR", (0, 0), (-1, -1), INK),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LINEBELOW", (0, 0), (-1, -1), 0.3, LINE),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 2.4 * mm),
    ("TOPPADDING", (0, 0), (-1, -1), 1.6),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2.2),
]


def _content(words: str, width: float) -> Any:
    """A short cell as text, a long one as a paragraph."""
    if width_of(words, _TABLE_SIZE) <= width - 2.6 * mm:
        return printable(words)
    return text(brief(words, _LONGEST_CELL), _CELL)

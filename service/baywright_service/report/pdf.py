"""A report on paper: A4, contents with page numbers, drawings as lines and text.

Import it where a PDF is wanted; it loads the PDF library.
"""

import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
)
from reportlab.platypus import Table as Grid

from ..writers.fonts import BOLD, REGULAR, printable, register, shortened
from ..writers.pdf import CLOSING, describe
from .flowables import (
    INK,
    LINE,
    SOFT,
    TABLE_LOOK,
    TOTAL,
    Ending,
    Later,
    Mark,
    PageOf,
    Picture,
    Struck,
    grids,
    style,
    text,
)
from .html import anchor
from .lists import Listed, lists_of
from .model import LEVELS, Chapter, Figure, Point, Report, Telling
from .words import HEADINGS, SHAPES, Fact, brief

COLOURS: Mapping[str, Color] = {
    "stop": HexColor("#a3201d"),
    "watch": HexColor("#7a5200"),
    "ok": HexColor("#1c6b3c"),
}
_EDGE, _TOP, _FOOT = 18 * mm, 22 * mm, 20 * mm
_WIDTH = A4[0] - 2 * _EDGE

_TITLE = style("title", 20, fontName=BOLD, leading=25, spaceAfter=4)
_PART = style("part", 16, fontName=BOLD, leading=20, spaceBefore=6, spaceAfter=4)
_HEAD = style("chapter", 13, fontName=BOLD, leading=17, spaceBefore=10, spaceAfter=2)
_SMALL = style("small-heading", 8.5, fontName=BOLD, textColor=SOFT, spaceBefore=9, spaceAfter=3)
_BODY = style("body", 9)
_ANSWER = style("answer", 10.5, spaceBefore=2, spaceAfter=2)
_QUIET = style("quiet", 8.5, textColor=SOFT)
_QUESTION = style("question", 9, textColor=SOFT)
_ITEM = style("item", 8.5, leftIndent=9, bulletIndent=0, bulletFontName=REGULAR)
_CELL, _CELL_HEAD = style("cell", 8.5), style("cell-head", 8.5, fontName=BOLD)
_FACT, _MEASURE = style("fact", 8.2), style("measure", 8.2, textColor=SOFT)
_WHERE = style("where", 8)
_VERDICT = style("verdict", 9.5)
_CONTENTS = (style("c0", 9.5, fontName=BOLD, spaceBefore=3), style("c1", 9, leftIndent=10))


def report_pdf(report: Report) -> bytes:
    """The report; equal reports give equal bytes."""
    register()
    file = io.BytesIO()
    document = BaseDocTemplate(
        file, pagesize=A4, invariant=1, lang=report.language, initialFontName=REGULAR
    )
    frame = Frame(_EDGE, _FOOT, _WIDTH, A4[1] - _TOP - _FOOT, 0, 0, 0, 0)
    later = Later()

    def furniture(canvas: Any, _: Any) -> None:
        if canvas.getPageNumber() == 1:
            describe(canvas, report.title, "Report of a whole plan")
        _furniture(canvas, report.title, later)

    document.addPageTemplates([PageTemplate(frames=[frame], onPageEnd=furniture)])
    document.build(list(_Setting(report, later).story()))
    return file.getvalue()


def _furniture(canvas: Any, title: str, later: Later) -> None:
    """Header and footer of a page that is full."""
    page = canvas.getPageNumber()
    canvas.setFont(REGULAR, 7.5)
    canvas.setFillColor(SOFT)
    canvas.setStrokeColor(LINE)
    canvas.setLineWidth(0.5)
    top, right = A4[1] - 14 * mm, A4[0] - _EDGE
    if page > 1:
        canvas.drawString(_EDGE, top, shortened(printable(title), 7.5, _WIDTH * 0.48))
        chapter = shortened(printable(later.chapter), 7.5, _WIDTH * 0.48)
        canvas.drawRightString(right, top, chapter)
        canvas.line(_EDGE, top - 2 * mm, right, top - 2 * mm)
    canvas.drawString(_EDGE, 12 * mm, f"Made by Baywright. {CLOSING}")
    canvas.drawRightString(right - 7 * mm, 12 * mm, f"Page {page} of")
    later.put(canvas, TOTAL, right - 6 * mm, 12 * mm, 7.5, right=False)


class _Setting:
    """The pieces of a report in their order."""

    def __init__(self, report: Report, later: Later) -> None:
        self.report, self.later = report, later
        self.several = len(report.tellings) > 1

    def story(self) -> Iterator[Flowable]:
        """Everything, first page to last."""
        report = self.report
        yield text(report.title, _TITLE)
        if not self.several:
            yield _verdict(report.tellings[0].verdict, _ANSWER)
        if report.about:
            yield text(report.about, _QUIET)
        yield from _small("Contents")
        yield from self._contents()
        if self.several:
            yield from _small("Before and after")
            yield self._before_and_after()
        for number, telling in enumerate(report.tellings, 1):
            if self.several:
                yield PageBreak()
                yield self._mark(f"plan-{number}", telling.title, 0)
                yield text(telling.title, _PART)
                yield _verdict(telling.verdict, _ANSWER)
            yield from self._telling(telling, number)
        yield Spacer(0, 6 * mm)
        yield text(
            f"{CLOSING} Follow local rules and let a competent or licensed person decide.", _BODY
        )
        yield Ending(self.later)

    def _mark(self, id: str, title: str, depth: int | None = None) -> Mark:
        below = depth if depth is None else min(depth, 1) if self.several else 0
        return Mark(self.later, id, title, below)

    def _contents(self) -> Iterator[Flowable]:
        rows = []
        for n, telling in enumerate(self.report.tellings, 1):
            if self.several:
                rows.append((_CONTENTS[0], f"plan-{n}", telling.title))
            rows.append((_CONTENTS[1], f"todo-{n}", "What to do"))
            rows.append((_CONTENTS[1], f"steps-{n}", "Step by step"))
            rows += [(_CONTENTS[1], anchor(n, c.id), c.heading) for c in telling.chapters]
            if lists_of(telling):
                rows.append((_CONTENTS[1], f"lists-{n}", "Lists to work from"))
        cells = [
            [text(words, look, id), PageOf(self.later, id, look.fontSize)]
            for look, id, words in rows
        ]
        grid = Grid(cells, colWidths=[_WIDTH - 14 * mm, 14 * mm])
        grid.setStyle([*TABLE_LOOK, ("RIGHTPADDING", (0, 0), (-1, -1), 0)])
        yield grid

    def _before_and_after(self) -> Flowable:
        tellings = self.report.tellings
        ids = dict.fromkeys(chapter.id for telling in tellings for chapter in telling.chapters)
        head = ["Step", *(telling.name or telling.title for telling in tellings)]
        rows: list[list[Any]] = [[text(name, _CELL_HEAD) for name in head]]
        for id in ids:
            found = [next((c for c in t.chapters if c.id == id), None) for t in tellings]
            name = next(chapter.heading for chapter in found if chapter)
            verdicts = [_verdict(c.verdict, _BODY) if c else "" for c in found]
            rows.append([text(name, _BODY), *verdicts])
        overall = [_verdict(telling.verdict, _BODY) for telling in tellings]
        rows.append([text("The whole plan", _CELL_HEAD), *overall])
        one = _WIDTH * 0.5 / len(tellings)
        grid = Grid(rows, colWidths=[_WIDTH * 0.5, *[one] * len(tellings)], repeatRows=1)
        grid.setStyle([*TABLE_LOOK, ("LINEBELOW", (0, 0), (-1, 0), 0.8, INK)])
        return grid

    def _telling(self, telling: Telling, number: int) -> Iterator[Flowable]:
        if self.several and telling.about:
            yield text(telling.about, _QUIET)
        yield from self._todo(telling, number)
        yield CondPageBreak(40 * mm)
        yield self._mark(f"steps-{number}", "Step by step", 1)
        yield text("Step by step", _HEAD)
        yield self._summary(telling, number)
        for chapter in telling.chapters:
            yield from self._chapter(chapter, number)
        yield from self._lists(telling, number)
        yield from _list("Stored documents read", telling.documents)

    def _todo(self, telling: Telling, number: int) -> Iterator[Flowable]:
        yield self._mark(f"todo-{number}", "What to do", 1)
        yield text("What to do", _HEAD)
        for level in ("stop", "watch"):
            found = telling.of_level(level)
            if found:
                yield from _small(HEADINGS[level])
            for chapter, point in found:
                yield from _point(point, (chapter.heading, anchor(number, chapter.id)))
        not_done = [chapter for chapter in telling.chapters if chapter.reasons]
        if not_done:
            yield from _small("Not calculated")
        for chapter in not_done:
            yield _item(f"{chapter.heading}: {chapter.headline}", anchor(number, chapter.id))
        if not (not_done or telling.of_level("stop") or telling.of_level("watch")):
            yield text("Nothing to change and nothing to watch.", _ANSWER)
        yield from _list("Cautions for everything here", telling.cautions)

    def _summary(self, telling: Telling, number: int) -> Flowable:
        names = ("Step", "Verdict", "First thing to know")
        rows: list[list[Any]] = [[text(name, _CELL_HEAD) for name in names]]
        for chapter in telling.chapters:
            name = text(chapter.heading, _CELL, anchor(number, chapter.id))
            rows.append(
                [name, _verdict(chapter.verdict, _BODY), text(brief(chapter.headline), _CELL)]
            )
        grid = Grid(rows, colWidths=[_WIDTH * 0.3, _WIDTH * 0.12, _WIDTH * 0.58], repeatRows=1)
        grid.setStyle([*TABLE_LOOK, ("LINEBELOW", (0, 0), (-1, 0), 0.8, INK)])
        return grid

    def _chapter(self, chapter: Chapter, number: int) -> Iterator[Flowable]:
        yield Spacer(0, 5 * mm)
        yield CondPageBreak(60 * mm)
        yield self._mark(anchor(number, chapter.id), chapter.heading, 1)
        yield text(chapter.heading, _HEAD)
        yield _verdict(chapter.verdict, _VERDICT)
        yield text(chapter.question, _QUESTION)
        if not chapter.points:
            yield text(chapter.headline, _ANSWER)
        if chapter.reasons:
            yield from _list("Why it was not calculated", chapter.reasons)
        else:
            yield from _findings(chapter)
            for figure in chapter.figures:
                yield self._figure(figure)
            yield from _numbers(chapter.facts)
            yield from _own_table(chapter, number)
            yield from _list("Assumptions", chapter.assumptions)
            yield from _list("Cautions", chapter.cautions)
            yield from _list("Sources", chapter.sources)
        yield Spacer(0, 2 * mm)
        yield text(f"Calculated by {chapter.made_by}.", _QUIET)

    def _figure(self, figure: Figure) -> Flowable:
        words = f"{figure.about}. {figure.drawing.description}"
        picture = Picture(figure.drawing, _WIDTH)
        return KeepTogether([Spacer(0, 5 * mm), picture, text(words, _QUIET)])

    def _lists(self, telling: Telling, number: int) -> Iterator[Flowable]:
        listed = lists_of(telling)
        if not listed:
            return
        yield PageBreak()
        yield self._mark(f"lists-{number}", "Lists to work from", 1)
        yield text("Lists to work from", _HEAD)
        for entry in listed:
            yield self._mark(f"list-{number}-{entry.chapter.id}", entry.title)
            yield from _small(entry.title)
            yield from _table(entry)


def _small(words: str) -> Iterator[Flowable]:
    """A small heading with room for something below it on the same page."""
    yield CondPageBreak(22 * mm)
    yield text(words, _SMALL)


def _verdict(level: str, look: Any) -> Paragraph:
    colour = COLOURS[level].hexval().replace("0x", "#")
    words = f"{SHAPES[level]} {level}"
    return Paragraph(f'<font name="{BOLD}" color="{colour}">{words}</font>', look)


def _findings(chapter: Chapter) -> Iterator[Flowable]:
    for level in LEVELS:
        found = chapter.of_level(level)
        if found:
            yield from _small(HEADINGS[level])
        for point in found:
            yield from _point(point)


def _point(point: Point, where: tuple[str, str] | None = None) -> Iterator[Flowable]:
    """A finding behind a stroke in its colour; its level stands before it as a sign too."""
    lines = [text(f"{SHAPES[point.level]} {point.message}", _BODY)]
    if point.measure:
        lines.append(text(point.measure, _MEASURE))
    if point.remedy:
        lines.append(text(f"→ {point.remedy}", _BODY))
    if where:
        lines.append(text(where[0], _WHERE, where[1]))
    yield Struck(lines, COLOURS[point.level])


def _numbers(facts: Sequence[Fact]) -> Iterator[Flowable]:
    for group in dict.fromkeys(fact.group for fact in facts):
        yield from _small(group or "Numbers")
        rows = [
            [text(fact.name, _FACT), text(fact.text, _FACT)]
            for fact in facts
            if fact.group == group
        ]
        grid = Grid(rows, colWidths=[_WIDTH * 0.55, _WIDTH * 0.45])
        grid.setStyle(TABLE_LOOK)
        yield grid


def _own_table(chapter: Chapter, number: int) -> Iterator[Flowable]:
    table = chapter.table
    if table is None:
        return
    yield from _small(table.title)
    if Listed.is_short(table):
        yield from _table(Listed(chapter, table))
    else:
        words = f"{len(table.rows)} rows, in the lists at the end."
        yield text(words, _BODY, f"list-{number}-{chapter.id}")


def _table(listed: Listed) -> Iterator[Flowable]:
    table = listed.table
    if table.rows_total > len(table.rows):
        yield text(f"The first {len(table.rows)} of {table.rows_total} rows.", _QUIET)
    for grid in grids(table, _WIDTH):
        yield CondPageBreak(30 * mm)
        yield grid
        yield Spacer(0, 3 * mm)


def _list(heading: str, items: Iterable[str]) -> Iterator[Flowable]:
    given = list(items)
    if given:
        yield from _small(heading)
    for item in given:
        yield _item(item)


def _item(words: str, target: str = "") -> Flowable:
    found = text(words, _ITEM, target)
    found.bulletText = "•"
    return found

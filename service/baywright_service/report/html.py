"""A report as one HTML page that needs nothing beside itself.

No script, no outside host, the drawings inside; light and dark; made to be printed.
"""

from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files

from ..drawing import svg_text
from ..writers.pdf import CLOSING
from .lists import Listed, lists_of
from .model import LEVELS, Chapter, Figure, Point, Report, Table, Telling
from .words import HEADINGS, SHAPES, Fact, brief

POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def report_html(report: Report) -> bytes:
    """The page; equal reports give equal bytes."""
    style = files(__package__).joinpath("report.css").read_text("utf-8")
    several = len(report.tellings) > 1
    body = "".join(
        [
            _masthead(report),
            "<main>",
            _contents(report),
            _before_and_after(report.tellings) if several else "",
            *(_telling(telling, n, several) for n, telling in enumerate(report.tellings, 1)),
            "</main>",
            f'<footer class="foot"><p>Made by Baywright. {CLOSING} Follow local rules and let a '
            "competent or licensed person decide.</p></footer>",
        ]
    )
    page = (
        f'<!DOCTYPE html>\n<html lang="{report.language}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(report.title)}</title>\n<style>\n{style}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )
    return page.encode("utf-8", "replace")


def _masthead(report: Report) -> str:
    alone = len(report.tellings) == 1
    verdict = _verdict(report.tellings[0].verdict) if alone else ""
    return (
        f'<header class="masthead"><div class="heading"><h1>{escape(report.title)}</h1>{verdict}'
        f"</div>{_paragraph(report.about, 'soft')}</header>"
    )


def _contents(report: Report) -> str:
    entries = []
    for n, telling in enumerate(report.tellings, 1):
        below = [(f"todo-{n}", "What to do"), (f"steps-{n}", "Step by step")]
        below += [(anchor(n, chapter.id), chapter.heading) for chapter in telling.chapters]
        if lists_of(telling):
            below.append((f"lists-{n}", "Lists to work from"))
        links = "".join(f'<li><a href="#{id}">{escape(text)}</a></li>' for id, text in below)
        if len(report.tellings) > 1:
            links = f'<li><a href="#plan-{n}">{escape(telling.title)}</a><ol>{links}</ol></li>'
        entries.append(links)
    return (
        '<nav class="contents" aria-labelledby="contents"><h2 id="contents">Contents</h2>'
        f"<ol>{''.join(entries)}</ol></nav>"
    )


def _before_and_after(tellings: Sequence[Telling]) -> str:
    """The verdicts of all plans, step by step, side by side."""
    ids = dict.fromkeys(chapter.id for telling in tellings for chapter in telling.chapters)
    rows = []
    for id in ids:
        found = [next((c for c in telling.chapters if c.id == id), None) for telling in tellings]
        name = next(chapter.heading for chapter in found if chapter)
        cells = "".join(
            f"<td>{_link(anchor(n, id), _verdict(chapter.verdict))}</td>"
            if chapter
            else "<td></td>"
            for n, chapter in enumerate(found, 1)
        )
        rows.append(f'<tr><th scope="row">{escape(name)}</th>{cells}</tr>')
    overall = "".join(f"<td>{_verdict(telling.verdict)}</td>" for telling in tellings)
    head = "".join(
        f'<th scope="col">{escape(telling.name or telling.title)}</th>' for telling in tellings
    )
    return (
        '<h2>Before and after</h2><div class="scroll"><table><thead><tr>'
        f'<th scope="col">Step</th>{head}</tr></thead><tbody>{"".join(rows)}'
        f'<tr><th scope="row">The whole plan</th>{overall}</tr></tbody></table></div>'
    )


def anchor(number: int, id: str) -> str:
    """Where a chapter of the plan `number` stands."""
    return escape(f"step-{number}-{id}")


def _link(id: str, markup: str) -> str:
    return f'<a href="#{id}">{markup}</a>'


def _telling(telling: Telling, number: int, one_of_several: bool) -> str:
    """A plan; its headings begin one level deeper where it is one of several."""
    level, heading = 2, ""
    if one_of_several:
        level = 3
        heading = (
            f'<div class="heading"><h2 id="plan-{number}">{escape(telling.title)}</h2>'
            f"{_verdict(telling.verdict)}</div>"
        )
    about = _paragraph(telling.about, "soft")
    chapters = "".join(_chapter(chapter, number, level) for chapter in telling.chapters)
    return (
        f"<section>{heading}{about}{_todo(telling, number, level)}"
        f"{_summary(telling, number, level)}{chapters}{_lists(telling, number, level)}"
        f"{_list('Stored documents read', telling.documents, level)}</section>"
    )


def _todo(telling: Telling, number: int, level: int) -> str:
    """Findings of all steps by what to do about them, then what holds for all steps."""
    parts = [f'<h{level} id="todo-{number}">What to do</h{level}>']
    for name in ("stop", "watch"):
        found = telling.of_level(name)
        items = "".join(
            _point(point, _link(anchor(number, chapter.id), escape(chapter.heading)))
            for chapter, point in found
        )
        if items:
            parts.append(
                f'<h{level + 1} class="small-heading">{HEADINGS[name]}</h{level + 1}>'
                f'<ul class="findings">{items}</ul>'
            )
    not_done = [chapter for chapter in telling.chapters if chapter.reasons]
    if not_done:
        lines = [
            f"<li>{_link(anchor(number, chapter.id), escape(chapter.heading))}: "
            f"{escape(chapter.headline)}</li>"
            for chapter in not_done
        ]
        parts.append(_raw_list("Not calculated", lines, level + 1))
    if len(parts) == 1:
        parts.append(_paragraph("Nothing to change and nothing to watch.", "answer"))
    parts.append(_list("Cautions for everything here", telling.cautions, level + 1))
    return "".join(parts)


def _summary(telling: Telling, number: int, level: int) -> str:
    rows = "".join(
        f'<tr><th scope="row">{_link(anchor(number, chapter.id), escape(chapter.heading))}</th>'
        f"<td>{_verdict(chapter.verdict)}</td>"
        f'<td class="headline">{escape(brief(chapter.headline))}</td></tr>'
        for chapter in telling.chapters
    )
    return (
        f'<h{level} id="steps-{number}">Step by step</h{level}>'
        '<div class="scroll"><table class="steps"><thead><tr><th scope="col">Step</th>'
        '<th scope="col">Verdict</th><th scope="col">First thing to know</th></tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _chapter(chapter: Chapter, number: int, level: int) -> str:
    here = anchor(number, chapter.id)
    inner = level + 1
    parts = [
        f'<article class="step" id="{here}"><div class="heading">'
        f"<h{level}>{escape(chapter.heading)}</h{level}>{_verdict(chapter.verdict)}</div>",
        _paragraph(chapter.question, "question"),
        "" if chapter.points else _paragraph(chapter.headline, "answer"),
    ]
    if chapter.reasons:
        parts.append(_list("Why it was not calculated", chapter.reasons, inner))
    else:
        parts += [
            *_findings(chapter, inner),
            *_figures(chapter, here, inner),
            *_numbers(chapter, inner),
            *_own_table(chapter, number, inner),
            _list("Assumptions", chapter.assumptions, inner),
            _list("Cautions", chapter.cautions, inner),
            _list("Sources", chapter.sources, inner),
        ]
    parts.append(_paragraph(f"Calculated by {chapter.made_by}.", "soft"))
    return "".join([*parts, "</article>"])


def _findings(chapter: Chapter, level: int) -> Iterable[str]:
    for name in LEVELS:
        items = "".join(_point(point) for point in chapter.of_level(name))
        if items:
            yield f'{_small(HEADINGS[name], level)}<ul class="findings">{items}</ul>'


def _point(point: Point, where: str = "") -> str:
    mark = f'<span class="mark" aria-hidden="true">{SHAPES[point.level]}</span> '
    place = f'<p class="where">{where}</p>' if where else ""
    return (
        f'<li class="{point.level}"><p>{mark}{escape(point.message)}</p>'
        f"{_paragraph(point.measure, 'measure')}{_paragraph(point.remedy, 'remedy')}{place}</li>"
    )


def _figures(chapter: Chapter, here: str, level: int) -> Iterable[str]:
    if chapter.figures:
        yield _small("Drawings", level)
    for figure in chapter.figures:
        yield _figure(figure, f"{here}-{figure.view}")


def _figure(figure: Figure, prefix: str) -> str:
    label = escape(f"Drawing: {figure.about}")
    return (
        f'<figure><div class="drawing" tabindex="0" role="group" aria-label="{label}">'
        f"{svg_text(figure.drawing, prefix=escape(prefix)).rstrip()}</div>"
        f"<figcaption>{escape(figure.about)}</figcaption></figure>"
    )


def _numbers(chapter: Chapter, level: int) -> Iterable[str]:
    for group in dict.fromkeys(fact.group for fact in chapter.facts):
        rows = "".join(_fact(fact) for fact in chapter.facts if fact.group == group)
        yield f'{_small(group or "Numbers", level)}<div class="scroll"><table class="facts">'
        yield f"<tbody>{rows}</tbody></table></div>"


def _fact(fact: Fact) -> str:
    return f'<tr><th scope="row">{escape(fact.name)}</th><td>{escape(fact.text)}</td></tr>'


def _own_table(chapter: Chapter, number: int, level: int) -> Iterable[str]:
    """The table of a step: here where it is short, else a word on where it stands."""
    table = chapter.table
    if table is None:
        return
    yield _small(table.title, level)
    if Listed.is_short(table):
        yield _table(table, f"{table.title}: {chapter.heading}")
    else:
        place = _link(f"list-{number}-{escape(chapter.id)}", "in the lists at the end")
        yield f"<p>{len(table.rows)} rows, {place}.</p>"


def _lists(telling: Telling, number: int, level: int) -> str:
    """The tables too long for their chapters, whole."""
    listed = lists_of(telling)
    if not listed:
        return ""
    parts = [f'<h{level} id="lists-{number}">Lists to work from</h{level}>']
    for entry in listed:
        id = escape(entry.chapter.id)
        parts.append(
            f'<div class="list" id="list-{number}-{id}">'
            f"<h{level + 1}>{escape(entry.title)}</h{level + 1}>{_table(entry.table, entry.title)}"
            "</div>"
        )
    return "".join(parts)


def _table(table: Table, label: str) -> str:
    head = "".join(
        _cell(name, number, "th", ' scope="col"')
        for name, number in zip(table.columns, table.numeric, strict=True)
    )
    rows = "".join(_row(row, table.numeric) for row in table.rows)
    caption = ""
    if table.rows_total > len(table.rows):
        caption = f"<caption>The first {len(table.rows)} of {table.rows_total} rows.</caption>"
    return (
        f'<div class="scroll" tabindex="0" role="group" aria-label="{escape(label)}">'
        f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _row(row: Sequence[str], numeric: Sequence[bool]) -> str:
    first = _cell(row[0], numeric[0], "th", ' scope="row"')
    rest = zip(row[1:], numeric[1:], strict=True)
    return f"<tr>{first}{''.join(_cell(text, number, 'td') for text, number in rest)}</tr>"


def _cell(text: str, number: bool, tag: str, scope: str = "") -> str:
    kind = ' class="number"' if number else ""
    return f"<{tag}{scope}{kind}>{escape(text)}</{tag}>"


def _list(heading: str, items: Iterable[str], level: int) -> str:
    return _raw_list(heading, [f"<li>{escape(item)}</li>" for item in items], level)


def _raw_list(heading: str, items: Sequence[str], level: int) -> str:
    return f'{_small(heading, level)}<ul class="small">{"".join(items)}</ul>' if items else ""


def _small(heading: str, level: int) -> str:
    return f'<h{level} class="small-heading">{escape(heading)}</h{level}>'


def _verdict(level: str) -> str:
    return f'<span class="verdict {level}">{SHAPES[level]} {level}</span>'


def _paragraph(text: str, kind: str) -> str:
    return f'<p class="{kind}">{escape(text)}</p>' if text else ""

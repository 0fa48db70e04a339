"""One HTML page that tells a whole story and needs nothing beside itself.

No script, no outside host, the drawings inside; light and dark; made to be printed. The same
answers give the same bytes.
"""

from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files

from .answers import Json, Machine, Picture, Sheet, StepAnswer, headline, remedy_text, why_not_done
from .inline_svg import NotADrawing, inline, proportion
from .labels import (
    HEADINGS,
    SHAPES,
    Fact,
    cell_text,
    facts,
    is_number,
    measure_text,
    name_and_unit,
)
from .outputs import file_name

MOST_ROWS, MOST_FACTS = 30, 40
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def report_html(title: str, about: str, machines: Sequence[Machine]) -> str:
    """The page; `machines` in the order of the story."""
    style = files(__package__).joinpath("report.css").read_text("utf-8")
    body = "".join(
        [
            _masthead(title, about, machines),
            "<main>",
            _before_and_after(machines) if len(machines) > 1 else "",
            *(_machine(machine, len(machines) > 1) for machine in machines),
            "</main>",
            '<footer class="foot"><p>Made by Baywright. The numbers stand beside this page as '
            "JSON and CSV, the drawings as SVG.</p></footer>",
        ]
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{style}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _masthead(title: str, about: str, machines: Sequence[Machine]) -> str:
    alone = len(machines) == 1
    verdict = _verdict(machines[0].verdict) if alone else ""
    text = about or (machines[0].about if alone else "")
    return (
        f'<header class="masthead"><div class="heading"><h1>{escape(title)}</h1>{verdict}</div>'
        f"{_paragraph(text, 'soft')}</header>"
    )


def _before_and_after(machines: Sequence[Machine]) -> str:
    ids = dict.fromkeys(step.id for machine in machines for step in machine.steps)
    rows = []
    for id in ids:
        found = [next((s for s in machine.steps if s.id == id), None) for machine in machines]
        name = next(step.heading for step in found if step)
        cells = "".join(
            f"<td>{_link(machine, step)}</td>" if step else "<td></td>"
            for machine, step in zip(machines, found, strict=True)
        )
        rows.append(f'<tr><th scope="row">{escape(name)}</th>{cells}</tr>')
    overall = "".join(f"<td>{_verdict(machine.verdict)}</td>" for machine in machines)
    head = "".join(f'<th scope="col">{escape(machine.name)}</th>' for machine in machines)
    return (
        '<h2>Before and after</h2><div class="scroll"><table><thead><tr>'
        f'<th scope="col">Step</th>{head}</tr></thead><tbody>{"".join(rows)}'
        f'<tr><th scope="row">The whole plan</th>{overall}</tr></tbody></table></div>'
    )


def _link(machine: Machine, step: StepAnswer) -> str:
    return f'<a href="#{_anchor(machine, step)}">{_verdict(step.verdict)}</a>'


def _anchor(machine: Machine, step: StepAnswer) -> str:
    return escape("-".join(part for part in ("step", machine.name, step.id) if part))


def _machine(machine: Machine, one_of_several: bool) -> str:
    heading = ""
    if one_of_several:
        heading = (
            f'<div class="heading"><h2>{escape(machine.title)}</h2>{_verdict(machine.verdict)}'
            f"</div>{_paragraph(machine.about, 'soft')}"
        )
    summary = _summary(machine) if len(machine.steps) > 1 else ""
    steps = "".join(_step(machine, step) for step in machine.steps)
    return f"<section>{heading}{summary}{steps}</section>"


def _summary(machine: Machine) -> str:
    rows = "".join(
        f'<tr><td><a href="#{_anchor(machine, step)}">{escape(step.heading)}</a></td>'
        f"<td>{_verdict(step.verdict)}</td>"
        f'<td class="headline">{escape(headline(step))}</td></tr>'
        for step in machine.steps
    )
    return (
        '<div class="scroll"><table class="steps"><thead><tr><th scope="col">Step</th>'
        '<th scope="col">Verdict</th><th scope="col">First thing to know</th></tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _step(machine: Machine, step: StepAnswer) -> str:
    parts = [
        f'<article class="step" id="{_anchor(machine, step)}"><div class="heading">'
        f"<h3>{escape(step.heading)}</h3>{_verdict(step.verdict)}</div>",
        _paragraph(str(step.description.get("summary", "")), "question"),
        _paragraph(headline(step), "answer"),
    ]
    if step.status == "done":
        parts += [*_findings(step), *_drawings(machine, step), *_numbers(machine, step)]
        parts += _small_print(step)
    else:
        parts += _reasons(step)
    return "".join([*parts, "</article>"])


def _reasons(step: StepAnswer) -> Iterable[str]:
    errors = step.problem.get("errors") or ()
    items = [f"{entry.get('pointer', '')}: {entry.get('detail', '')}" for entry in errors]
    yield _list("Why it was not calculated", items or [why_not_done(step)])


def _findings(step: StepAnswer) -> Iterable[str]:
    for level in ("stop", "watch", "ok"):
        found = [finding for finding in step.findings if finding.get("level") == level]
        if found:
            items = "".join(_finding(level, finding) for finding in found)
            yield f'<h4>{HEADINGS[level]}</h4><ul class="findings">{items}</ul>'


def _finding(level: str, finding: Json) -> str:
    mark = f'<span class="mark" aria-hidden="true">{SHAPES[level]}</span> '
    measure, remedy = measure_text(finding.get("measure")), remedy_text(finding)
    return (
        f'<li class="{level}"><p>{mark}{escape(str(finding.get("message", "")))}</p>'
        f"{_paragraph(measure, 'measure')}{_paragraph(remedy, 'remedy')}</li>"
    )


def _drawings(machine: Machine, step: StepAnswer) -> Iterable[str]:
    if step.pictures:
        yield "<h4>Drawings</h4>"
    for number, picture in enumerate(step.pictures):
        yield _figure(picture, f"{_anchor(machine, step)}-{number}")


def _figure(picture: Picture, prefix: str) -> str:
    try:
        markup = inline(picture.svg, prefix)
    except NotADrawing as error:
        return _paragraph(f"The drawing {picture.view} cannot be shown: {error}.", "soft")
    ratio = proportion(picture.svg)
    form = "wide" if ratio > 1.3 else "tall" if ratio < 0.8 else "square"
    label = escape(f"Drawing: {picture.about or picture.view}")
    return (
        f'<figure><div class="drawing {form}" tabindex="0" role="group" aria-label="{label}">'
        f"{markup}</div><figcaption>{escape(picture.about)}</figcaption></figure>"
    )


def _numbers(machine: Machine, step: StepAnswer) -> Iterable[str]:
    rows = facts(step.envelope.get("result"))[:MOST_FACTS]
    for group in dict.fromkeys(fact.group for fact in rows):
        items = "".join(_fact(fact) for fact in rows if fact.group == group)
        yield f'<h4>{escape(group or "Numbers")}</h4><dl class="facts">{items}</dl>'
    if step.sheet and step.sheet.rows:
        yield f"<h4>Table</h4>{_sheet(machine, step, step.sheet)}"


def _fact(fact: Fact) -> str:
    long = ' class="long"' if len(fact.text) + len(fact.name) > 46 else ""
    return f"<div{long}><dt>{escape(fact.name)}</dt><dd>{escape(fact.text)}</dd></div>"


def _sheet(machine: Machine, step: StepAnswer, sheet: Sheet) -> str:
    right = [
        all(not row[k] or is_number(row[k]) for row in sheet.rows) for k in range(len(sheet.header))
    ]
    names = [" ".join(part for part in name_and_unit(field) if part) for field in sheet.header]
    head = "".join(_cell(name, number, "th") for name, number in zip(names, right, strict=True))
    rows = "".join(
        "<tr>"
        + "".join(
            _cell(cell_text(cell), number, "td") for cell, number in zip(row, right, strict=True)
        )
        + "</tr>"
        for row in sheet.rows[:MOST_ROWS]
    )
    left = len(sheet.rows) - MOST_ROWS
    file = "/".join(part for part in (machine.name, file_name(step.id, ".csv")) if part)
    more = f'{left} more rows stand in <a href="{escape(file)}">{escape(file)}</a>.'
    caption = f"<caption>The first {MOST_ROWS} rows; {more}</caption>" if left > 0 else ""
    return (
        f'<div class="scroll" tabindex="0" role="group" aria-label="Table of {escape(step.id)}">'
        f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _cell(text: str, number: bool, tag: str) -> str:
    scope = ' scope="col"' if tag == "th" else ""
    kind = ' class="number"' if number else ""
    return f"<{tag}{scope}{kind}>{escape(text)}</{tag}>"


def _small_print(step: StepAnswer) -> Iterable[str]:
    envelope = step.envelope
    yield _list("Assumptions", map(str, envelope.get("assumptions", ())))
    yield _list("Cautions", map(str, envelope.get("cautions", ())))
    sources = [
        ", ".join(part for part in (source.get("title", ""), source.get("clause", "")) if part)
        for source in envelope.get("sources", ())
    ]
    yield _list("Sources", sources)
    documents = [
        f"{use.get('kind')} {use.get('id')}, {use.get('revision')}"
        for use in envelope.get("documents", ())
    ]
    yield _list("Stored documents read", documents)
    version = f"{envelope.get('calculator', '')} {envelope.get('version', '')}".strip()
    yield _paragraph(f"Calculated by {version}.", "soft")


def _list(heading: str, items: Iterable[str]) -> str:
    rows = "".join(f"<li>{escape(item)}</li>" for item in items)
    return f'<h4>{heading}</h4><ul class="small">{rows}</ul>' if rows else ""


def _verdict(level: str) -> str:
    return f'<span class="verdict {escape(level)}">{SHAPES.get(level, "?")} {escape(level)}</span>'


def _paragraph(text: str, kind: str) -> str:
    return f'<p class="{kind}">{escape(text)}</p>' if text else ""

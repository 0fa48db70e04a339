"""The report: whole in itself, harmless whatever a service sends, the same bytes each time."""

import re
from html.parser import HTMLParser

import pytest

from baywright_client.answers import Machine, Picture, Sheet, StepAnswer, of_run
from baywright_client.inline_svg import NotADrawing, inline
from baywright_client.report import report_html

HEAD = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 100" '
SVG = (
    HEAD + b'role="img" aria-labelledby="bw-title bw-desc"><title id="bw-title">T</title>'
    b'<desc id="bw-desc">D</desc><defs><pattern id="bw-hatch"><line x1="0"/></pattern></defs>'
    b'<rect fill="url(#bw-hatch)" width="3"/><use href="#bw-title"/></svg>\n'
)
VOID = {"meta", "br", "link", "img", "input", "hr"}


class Page(HTMLParser):
    """Checks that tags close, and gathers ids and what points to them."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.targets: list[str] = []
        self.tags: set[str] = set()
        self.feed(html)
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.open += [] if tag in VOID else [tag]
        for name, value in attrs:
            text = value or ""
            self.ids += [text] if name == "id" else []
            self.targets += [text[1:]] if name == "href" and text.startswith("#") else []
            self.targets += text.split() if name == "aria-labelledby" else []
            self.targets += re.findall(r"url\(#([^)]+)\)", text)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.open.pop()


def machine(name: str, level: str = "stop") -> Machine:
    envelope = {
        "calculator": "shelf",
        "version": "1.0.0",
        "verdict": level,
        "result": {"width_mm": 754.0, "fits": False, "chain": {"link_count": 280}},
        "findings": [
            {"code": "a", "level": "ok", "message": "Fine & <good>."},
            {
                "code": "b",
                "level": level,
                "message": "Too wide.",
                "measure": {"value": 754, "limit": 729, "unit": "mm"},
                "remedy": {"message": "Take a bay out.", "patch": {}},
            },
        ],
        "assumptions": ["Plumb."],
        "cautions": ["Planning aid, not a safety certificate."],
        "sources": [{"title": "A book", "clause": "page 3"}],
        "documents": [],
    }
    pictures = [Picture("front", "Front", SVG), Picture("side", "Side", SVG)]
    sheet = Sheet(["item", "mass_kg"], [["'-R120", "1.5"]] * 50, b"")
    step = StepAnswer(
        "parts", "shelf", "Does it fit?", "done", envelope, findings=envelope["findings"],  # type: ignore[arg-type]
        description={"summary": "Whether it fits."}, pictures=pictures, sheet=sheet,
    )  # fmt: skip
    failed = StepAnswer("next", "shelf", "", "skipped", skipped_because=("parts",))
    return Machine("The machine", "About it.", level, [step, failed], b"{}", name)


def test_a_page_needs_nothing_beside_itself() -> None:
    """No script, no address elsewhere, tags close, ids unique, every reference inside the page."""
    html = report_html("Story", "About", [machine("planned"), machine("changed", "ok")])
    page = Page(html)
    assert not {"script", "link", "img", "iframe", "object", "form"} & page.tags
    assert set(re.findall(r"https?://[^\"' <]+", html)) == {"http://www.w3.org/2000/svg"}
    assert len(page.ids) == len(set(page.ids))
    assert set(page.targets) <= set(page.ids)
    assert not re.search(r"url\((?!#)", html) and "@import" not in html


def test_findings_come_first_and_by_what_to_do() -> None:
    html = report_html("Story", "", [machine("")])
    order = [
        html.index(text)
        for text in (
            "Whether it fits.",
            "Change before you build",
            "754 mm, limit 729 mm",
            "Take a bay out. (tried: this clears it)",
            "Good to know",
            "Fine &amp; &lt;good&gt;.",
            "Drawings",
            "Numbers",
            "link count",
            "Assumptions",
            "Cautions",
            "A book, page 3",
        )
    ]
    assert order == sorted(order)
    assert "Not run, since it waits for parts." in html


def test_long_tables_say_where_the_rest_is() -> None:
    html = report_html("Story", "", [machine("planned"), machine("changed")])
    assert '20 more rows stand in <a href="planned/parts.csv">' in html
    assert '<td>-R120</td><td class="number">1.5</td>' in html


def test_the_same_answers_give_the_same_bytes() -> None:
    pages = {report_html("Story", "", [machine("planned")]) for _ in range(3)}
    assert len(pages) == 1


def test_a_drawing_keeps_its_look_and_its_ids_become_its_own() -> None:
    markup = inline(SVG, "p")
    for part in ('id="p-bw-hatch"', 'fill="url(#p-bw-hatch)"', 'href="#p-bw-title"'):
        assert part in markup
    assert 'aria-labelledby="p-bw-title p-bw-desc"' in markup and 'viewBox="0 0 200 100"' in markup


@pytest.mark.parametrize(
    "evil",
    [
        b"<script>alert(1)</script>",
        b'<rect onclick="alert(1)"/>',
        b'<use href="http://example.invalid/a.svg#b"/>',
        b'<image href="http://example.invalid/a.png"/>',
        b"<foreignObject><p>x</p></foreignObject>",
        b"<style>@import url(http://example.invalid)</style>",
        b'<rect fill="url(http://example.invalid/#a)"/>',
        b'<rect style="background:url(http://example.invalid)"/>',
        b'<g xmlns:x="urn:x"><x:script>alert(1)</x:script></g>',
    ],
)
def test_nothing_in_a_drawing_acts(evil: bytes) -> None:
    markup = inline(HEAD + b">" + evil + b"<circle r='1'/></svg>", "p")
    assert not re.search("alert|example|script|style|foreign|image", markup)
    assert "circle" in markup


@pytest.mark.parametrize("content", [b"", b"<svg", b"<html/>", b"<!DOCTYPE svg><svg/>"])
def test_what_is_no_drawing_is_said_to_be_none(content: bytes) -> None:
    with pytest.raises(NotADrawing):
        inline(content, "p")
    shown = machine("")
    shown.steps[0].pictures[0].__dict__["svg"] = content
    assert "The drawing front cannot be shown" in report_html("Story", "", [shown])


def test_a_hostile_name_stays_text() -> None:
    hostile = of_run("<b>x</b>", b"", {"verdict": '"><script>', "findings": [], "result": {}})
    assert "<script>" not in report_html("<script>", "<script>", [hostile])

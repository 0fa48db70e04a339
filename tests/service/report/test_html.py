"""The page: whole in itself, harmless whatever is in it, in the order a builder needs."""

import re
from html.parser import HTMLParser

import pytest

from baywright_service.report.html import report_html
from tests.service.report.stories import report

VOID = {"meta", "br", "link", "img", "input", "hr"}


class Read(HTMLParser):
    """Checks that tags close, and gathers ids, what points to them, headings and cells."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.targets: list[str] = []
        self.tags: list[str] = []
        self.levels: list[int] = []
        self.attributes: list[tuple[str, dict[str, str]]] = []
        self.feed(html)
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.open += [] if tag in VOID else [tag]
        if re.fullmatch("h[1-6]", tag):
            self.levels.append(int(tag[1]))
        self.attributes.append((tag, {name: value or "" for name, value in attrs}))
        for name, value in attrs:
            text = value or ""
            self.ids += [text] if name == "id" else []
            self.targets += [text[1:]] if name == "href" else []
            self.targets += text.split() if name == "aria-labelledby" else []
            self.targets += re.findall(r"url\(#([^)]+)\)", text)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()


def page(*names: str) -> str:
    """The report as text."""
    return report_html(report(*names)).decode()


@pytest.mark.parametrize("names", [(), ("planned", "changed")])
def test_a_page_needs_nothing_beside_itself(names: tuple[str, ...]) -> None:
    """No script, no address elsewhere; tags close, ids are unique, every link ends inside."""
    html = page(*names)
    read = Read(html)
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(read.tags)
    assert set(re.findall(r"https?://[^\"' <]+", html)) == {"http://www.w3.org/2000/svg"}
    assert len(read.ids) == len(set(read.ids))
    assert read.targets and set(read.targets) <= set(read.ids)
    assert "@import" not in html and not re.search(r"url\((?!#)", html)


@pytest.mark.parametrize("names", [(), ("planned", "changed")])
def test_headings_go_down_one_at_a_time(names: tuple[str, ...]) -> None:
    levels = Read(page(*names)).levels
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(below <= above + 1 for above, below in zip(levels, levels[1:], strict=False))


def test_tables_and_pictures_speak() -> None:
    """Cells that head a row or column say which; each picture has a title and a caption."""
    read = Read(page())
    heads = [attributes for tag, attributes in read.attributes if tag == "th"]
    assert heads and all(head.get("scope") in ("row", "col") for head in heads)
    pictures = [attributes for tag, attributes in read.attributes if tag == "svg"]
    assert len(pictures) == read.tags.count("figcaption") == 4
    assert all(p["role"] == "img" and p["aria-labelledby"] for p in pictures)
    regions = [attributes for _, attributes in read.attributes if "tabindex" in attributes]
    assert regions and all(region["aria-label"] for region in regions)
    assert ("html", {"lang": "en"}) in read.attributes


def test_what_to_do_comes_first_then_each_step() -> None:
    html = page()
    parts = (
        ">Contents<",
        ">What to do<",
        "Change before you build",
        "754 mm, limit 729 mm",
        "Take a bay out.",
        "Keep an eye on",
        "Not calculated",
        "Cautions for everything here",
        ">Step by step<",
        'id="step-1-door"',
        "Whether it goes through.",
        "The height is fine.",
        "<svg",
        "Overall width",
        ">Bags<",
        "Posts stand plumb.",
        "Lift with two.",
        "A handbook, page 3",
        "Calculated by doors 1.2.0.",
        'id="step-1-next"',
        "Why it was not calculated",
        ">Lists to work from<",
        "kit hubs, revision sha256-12",
        "not a safety certificate",
    )
    place = 0
    for part in parts:
        place = html.index(part, place)


def test_long_tables_are_lists_at_the_end_and_say_how_much_is_left_out() -> None:
    html = page()
    assert '60 rows, <a href="#list-1-frame">in the lists at the end</a>' in html
    assert "The first 60 of 75 rows." in html
    assert html.index("R60") > html.index('id="list-1-frame"')


def test_nothing_that_is_told_becomes_markup() -> None:
    html = page()
    assert "<script" not in html and html.count("&lt;script&gt;") > 3


def test_plans_side_by_side() -> None:
    html = page("planned", "changed")
    assert html.index("Before and after") < html.index('id="plan-1"') < html.index('id="plan-2"')
    assert re.search(r'scope="col">planned</th><th scope="col">changed</th>', html)
    assert '<a href="#step-2-door"><span class="verdict stop">✖ stop</span></a>' in html


def test_the_same_report_gives_the_same_bytes() -> None:
    assert report_html(report("a", "b")) == report_html(report("a", "b"))

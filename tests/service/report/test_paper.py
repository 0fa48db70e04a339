"""The report on paper, read back by another library."""

import re
from typing import Any

import pytest

from baywright_service.contract import Drawing, Ink, Legend, Line
from baywright_service.report.model import Chapter, Figure, Point, Report, Table, Telling
from baywright_service.report.pdf import report_pdf
from tests.service.report.stories import EVIL, report
from tests.service.writers.papers import MM, embedded_fonts, rasters, read, words


@pytest.fixture(scope="module")
def one() -> bytes:
    """A report of one plan."""
    return report_pdf(report())


def test_everything_is_told_as_text(one: bytes) -> None:
    text = " ".join(words(one).split())
    for part in (
        "What to do",
        "✖ Too wide.",
        "754 mm, limit 729 mm",
        "→ Take a bay out.",
        "Why it was not calculated",
        "Overall width",
        "12.5 kg",
        "Posts stand plumb.",
        "A handbook, page 3",
        "Door “A” – 800 × 2000 mm",
        "clear opening",
        "The first 60 of 75 rows.",
        "kit hubs, revision sha256-12",
        "Planning aid, not a safety certificate",
        EVIL,
    ):
        assert part in text, part


def test_each_page_says_which_it_is_of_how_many(one: bytes) -> None:
    pages = read(one).pages
    assert len(pages) > 4
    for number, page in enumerate(pages, 1):
        words_of_page = " ".join(page.extract_text().split())
        assert f"Page {number} of" in words_of_page
        assert re.search(rf"\b{len(pages)}\b", words_of_page)
        assert page.mediabox.width / MM == pytest.approx(210, abs=0.01)


def test_contents_lead_to_the_pages_they_name() -> None:
    """Each entry's link ends on the page whose number stands beside it, where its title is."""
    reader = read(report_pdf(report("planned", "changed")))
    chapters = ["What to do", "Step by step", "Does the door fit?", "Does the frame fit?"]
    chapters += ["And then?", "Lists to work from"]
    titles = ["Machine planned", *chapters, "Machine changed", *chapters]
    first: Any = reader.pages[0]
    links = [annotation.get_object()["/Dest"][0].get_object() for annotation in first["/Annots"]]
    numbers = [next(k for k, page in enumerate(reader.pages) if page == to) for to in links]
    assert numbers == sorted(numbers) and len(numbers) == len(titles) and numbers[-1] > 4
    for title, number in zip(titles, numbers, strict=True):
        assert title in " ".join(reader.pages[number].extract_text().split())
    printed = [int(n) for n in re.findall(r"^\d+$", first.extract_text(), re.MULTILINE)]
    assert printed == [*(number + 1 for number in numbers), len(reader.pages)]


def test_drawings_are_lines_and_faces_are_inside(one: bytes) -> None:
    assert rasters(one) == []
    fonts = embedded_fonts(one)
    assert fonts and all(fonts.values())


def test_wide_tables_lose_no_column(one: bytes) -> None:
    text = " ".join(words(one).split())
    assert all(f"Number {k}, mm" in text for k in range(1, 15))
    assert text.count("R60") >= 2  # the first column begins each part


def test_the_file_has_a_title_a_language_and_an_outline(one: bytes) -> None:
    reader = read(one)
    assert reader.metadata is not None and reader.metadata.title == "Hall machine"
    assert reader.trailer["/Root"]["/Lang"] == "en"  # type: ignore[index]
    titles = [entry.title for entry in reader.outline if not isinstance(entry, list)]
    assert titles == [
        "What to do",
        "Step by step",
        "Does the door fit?",
        "Does the frame fit?",
        "And then?",
        "Lists to work from",
    ]


def test_the_same_report_gives_the_same_bytes(one: bytes) -> None:
    assert report_pdf(report()) == one


@pytest.mark.slow
def test_what_is_longer_than_a_page_goes_on_on_the_next() -> None:
    """A message, a cell and a legend without end; nothing of the message is lost."""
    message = " ".join(f"word{k}" for k in range(1400))
    table = Table("Long", ["Cell", "Other"], [[message, "1"]], [False, True], 1)
    drawing = Drawing("D", message, [Line(((0, 0), (1, 1)))], [Legend(Ink(), "ink")] * 200)
    chapter = Chapter(
        "long", "Long", message, "x 1", "stop", message, [Point("stop", message, "", message)],
        figures=[Figure("v", "V", drawing)], table=table, assumptions=[message],
    )  # fmt: skip
    text = words(report_pdf(Report("T", message, [Telling("", "T", message, "stop", [chapter])])))
    assert text.count("word1399") >= 6


@pytest.mark.slow
def test_every_row_is_there() -> None:
    rows = [[f"R{k}", *["12.5"] * 9] for k in range(150)]
    table = Table("Rows", [f"Column {k}" for k in range(10)], rows, [False, *[True] * 9], 150)
    chapter = Chapter("c", "C", "?", "x 1", "ok", "Nothing to report.", table=table)
    text = words(report_pdf(Report("T", "", [Telling("", "T", "", "ok", [chapter])])))
    assert "R149" in text and "Column 9" in " ".join(text.split())

"""For everybody: axe-core on every page and state, keys alone, small screens, large targets."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import requests

from baywright_service.server import RunningServer
from tests.browser.looking import until

Open = Callable[..., Any]
AXE = (Path(__file__).parent / "axe.min.js").read_text("utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
PLANNED = "#/plans/returns-desk-planned"
#: Address, and what is there when the page is ready.
STATES = [
    ("", ".card.stop"),
    (PLANNED, ".finding.stop"),
    (f"{PLANNED}/grid", "figure img"),
    (f"{PLANNED}/strength", "figure img"),
    ("#/calculators", ".card"),
    ("#/calculators/ramp-run", "figure img"),
    ("#/calculators/grid-fit", "figure img"),
    ("#/batches", "form"),
    ("#/wall", ".tile.stop"),
    ("#/nowhere", "h1"),
]
SIZES = {"phone": (360, 740), "laptop": (1280, 800), "wall": (1920, 1080)}


def violations(page: Any) -> list[str]:
    """What axe-core finds, one line each, once no colour changes any more."""
    until(
        page,
        "() => !document.getAnimations().some("
        "each => each instanceof CSSTransition && each.playState === 'running')",
    )
    page.evaluate(AXE)
    found = page.evaluate(
        "tags => axe.run(document, {runOnly: {type: 'tag', values: tags}})", RULES
    )
    assert len(found["passes"]) > 10
    return [
        f"{each['id']}: {node['html'][:160]} {node.get('failureSummary', '')[:200]}"
        for each in found["violations"]
        for node in each["nodes"]
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("place", "ready"), STATES, ids=[place or "#/" for place, _ in STATES])
def test_axe_finds_nothing(
    demo: RunningServer, open_page: Open, place: str, ready: str, scheme: str
) -> None:
    page = open_page(demo, place, color_scheme=scheme)
    page.locator(ready).first.wait_for()
    for part in page.locator("main details:not([open]) > summary").all()[:12]:
        if part.is_visible():
            part.click()
    assert violations(page) == []


def test_axe_finds_nothing_after_a_change_with_a_fault_and_when_empty(
    small: RunningServer, guarded: RunningServer, open_page: Open
) -> None:
    page = open_page(small)
    page.get_by_text("No plan is stored yet").wait_for()
    assert violations(page) == []
    page = open_page(small, "#/calculators/propose")
    page.locator(".point").first.wait_for()
    assert violations(page) == []
    page = open_page(small, "#/calculators/everything", refusals=[422])
    page.locator(".answer").wait_for()
    page.get_by_label("Whole (optional)", exact=True).fill("-4")
    page.get_by_role("button", name="Calculate").click()
    page.locator(".field.wrong").wait_for()
    assert violations(page) == []
    inputs = {"kit": {"rods": [{"id": "R1", "pitch_mm": 120}]}, "rod": "R1", "bays": 30}
    plan = {"title": "Row", "steps": [{"id": "row", "calculator": "span", "inputs": inputs}]}
    place = f"{small.url}/v1/plans/row"
    requests.put(place, json=plan, headers={"If-None-Match": "*"}, timeout=30)
    page = open_page(small, "#/plans/row")
    page.get_by_role("button", name="Do it: Take 8 bays.").click()
    page.locator("section.news").wait_for()
    assert violations(page) == []
    page = open_page(guarded)
    page.get_by_label("Token").wait_for()
    assert violations(page) == []


def test_keys_alone_mend_a_stop(small: RunningServer, open_page: Open) -> None:
    """Tab and Enter; where the focus is can be seen, and what happened is said."""
    inputs = {"kit": {"rods": [{"id": "R1", "pitch_mm": 120}]}, "rod": "R1", "bays": 30}
    plan = {"title": "Row", "steps": [{"id": "row", "calculator": "span", "inputs": inputs}]}
    place = f"{small.url}/v1/plans/row"
    requests.put(place, json=plan, headers={"If-None-Match": "*"}, timeout=30)
    page = open_page(small)
    page.locator(".card.stop").wait_for()

    def tab_to(words: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            found = page.evaluate(
                "() => { const e = document.activeElement;"
                " const o = getComputedStyle(e).outlineStyle;"
                " return [e.getAttribute('aria-label') ?? e.textContent, o, e.tagName]; }"
            )
            if found[2] != "BODY" and words in found[0]:
                assert found[1] != "none", f"the focus on {words} cannot be seen"
                return
        raise AssertionError(f"no way by keys to {words}")

    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    tab_to("Row")
    page.keyboard.press("Enter")
    page.get_by_role("heading", level=2, name="What to do next").wait_for()
    until(page, "document.activeElement.tagName === 'H1'")
    tab_to("Do it")
    page.keyboard.press("Enter")
    page.locator("section.news").wait_for()
    until(page, "document.getElementById('says').textContent.includes('verdict is ok')")
    until(page, "document.activeElement.matches('section.news')")
    tab_to("Run again")


@pytest.mark.parametrize(("place", "ready"), STATES, ids=[place or "#/" for place, _ in STATES])
def test_nothing_is_wider_than_a_narrow_phone(
    demo: RunningServer, open_page: Open, place: str, ready: str
) -> None:
    """320 px (WCAG 2.2, 1.4.10 Reflow): only tables and drawings scroll, inside themselves."""
    page = open_page(demo, place, viewport={"width": 320, "height": 640})
    page.locator(ready).first.wait_for()
    wide = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    assert wide == 0


@pytest.mark.parametrize(("place", "ready"), STATES, ids=[place or "#/" for place, _ in STATES])
def test_what_is_pressed_is_large_enough_for_a_gloved_finger(
    demo: RunningServer, open_page: Open, place: str, ready: str
) -> None:
    """44 px (WCAG 2.2, 2.5.5 Target Size, enhanced); links inside a sentence are excepted there."""
    page = open_page(demo, place, viewport={"width": 360, "height": 740})
    page.locator(ready).first.wait_for()
    small = page.evaluate(
        """() => [...document.querySelectorAll(
            'button, select, input, summary, nav a, .button, .strip a, h2 a, .of-step a'
          )].filter((e) => e.checkVisibility() && !e.closest('.skip'))
          .map((e) => [e.outerHTML.slice(0, 90), e.getBoundingClientRect()])
          .filter(([, box]) => box.height < 43.5 || box.width < 43.5)
          .map(([html, box]) => `${html} ${box.width} x ${box.height}`)"""
    )
    assert small == []


def test_every_drawing_says_what_it_shows(demo: RunningServer, open_page: Open) -> None:
    page = open_page(demo, f"{PLANNED}/grid")
    image = page.locator("figure img")
    image.wait_for()
    alt = image.get_attribute("alt")
    assert alt and len(alt) > 40 and "Each opening to scale" in alt
    caption = page.locator("figcaption").inner_text()
    assert caption in alt


def test_who_wants_no_motion_gets_none(demo: RunningServer, open_page: Open) -> None:
    page = open_page(demo, reduced_motion="reduce")
    page.locator(".card.stop").wait_for()
    moving = page.evaluate(
        """() => [...document.querySelectorAll('*')].filter((e) => {
          const style = getComputedStyle(e);
          return style.animationName !== 'none' || style.transitionDuration !== '0s';
        }).length"""
    )
    assert moving == 0


def test_the_page_has_landmarks_and_one_heading_of_the_first_level(
    demo: RunningServer, open_page: Open
) -> None:
    page = open_page(demo, f"{PLANNED}/grid")
    page.locator("figure img").wait_for()
    assert page.locator("header.bar nav, main, footer").count() == 3
    levels = page.evaluate(
        "[...document.querySelectorAll('h1, h2, h3, h4')].filter((e) => e.checkVisibility())"
        ".map((e) => Number(e.tagName[1]))"
    )
    assert levels.count(1) == 1 and levels[0] == 1
    assert all(after - before <= 1 for before, after in zip(levels, levels[1:], strict=False))

"""What a builder does: open, look, mend a stop by its button, take it back, store it, print it."""

import io
import time
from collections.abc import Callable
from typing import Any

import pytest
import requests

from baywright_service.server import RunningServer
from tests.browser.looking import until
from tests.browser.plugins import MARKUP

Open = Callable[..., Any]
PLANNED, CHANGED = "returns-desk-planned", "returns-desk-changed"


def test_the_first_finding_is_seen_within_two_seconds(demo: RunningServer, open_page: Open) -> None:
    """The best of three, of a service that has answered before; and everything loaded is small."""
    seen, weight = [], 0
    for _ in range(3):
        page = open_page(demo)
        begun = time.perf_counter()
        weight = 0

        def weigh(response: Any) -> None:
            nonlocal weight
            weight += int(response.headers.get("content-length", "0"))

        page.on("response", weigh)
        page.goto(demo.url)
        page.locator(".finding").first.wait_for()
        seen.append(time.perf_counter() - begun)
        page.locator(".card.stop").wait_for()
    print(f"first finding after {min(seen):.2f} s (of {seen}), {weight} bytes")
    assert min(seen) < 2.0
    assert 0 < weight < 1_500_000


def test_plans_tell_their_verdict_by_word_and_shape(demo: RunningServer, open_page: Open) -> None:
    page = open_page(demo)
    for words, level, mark in (("as planned", "stop", "✖"), ("as changed", "watch", "!")):
        card = page.locator(".card").filter(has=page.get_by_role("link", name=words))
        badge = card.locator(f".heading .verdict.{level}")
        badge.wait_for()
        assert badge.inner_text().split() == [mark, level]
        assert level in card.locator(".counts").inner_text()


def test_a_stop_is_mended_by_its_button_taken_back_and_stored(
    demo: RunningServer, open_page: Open
) -> None:
    """The remedy of the first stop; the step that waits for its frame follows."""
    place = f"{demo.url}/v1/plans/{PLANNED}"
    before = requests.get(place, timeout=30)
    page = open_page(demo, f"#/plans/{PLANNED}")
    stop = page.locator(".finding.stop", has_text="754 mm deep over its hub ends").first
    button = stop.get_by_role("button", name="Do it")
    button.click()
    news = page.locator("section.news")
    news.wait_for()
    assert "Take one bay out of the depth" in news.inner_text()
    grid = news.locator("li", has_text="grid:").first.inner_text()
    assert "stop" in grid and "watch" in grid
    assert page.locator(".finding.stop", has_text="754 mm deep over its hub ends").count() == 0
    assert requests.get(place, timeout=30).headers["ETag"] == before.headers["ETag"]

    page.get_by_role("button", name="Undo: Take one bay out").click()
    page.locator(".finding.stop", has_text="754 mm deep over its hub ends").first.wait_for()
    assert page.get_by_role("button", name="Save as a new revision").count() == 0

    page.locator(".finding.stop", has_text="754 mm deep over its hub ends").first.get_by_role(
        "button", name="Do it"
    ).click()
    news.wait_for()
    page.get_by_role("button", name="Save as a new revision").click()
    page.get_by_text("Stored as a new revision.").wait_for()
    after = requests.get(place, timeout=30)
    assert after.headers["ETag"] != before.headers["ETag"]
    sections = after.json()["steps"][0]["inputs"]["layout"]["sections"]
    assert [section["rods"]["y"][0]["count"] for section in sections] == [5, 5, 5, 5]
    put = requests.put(
        place,
        json=before.json(),
        headers={"If-Match": after.headers["ETag"]},
        timeout=30,
    )
    assert put.status_code == 200


def test_of_two_who_change_a_plan_none_overwrites_the_other(
    small: RunningServer, open_page: Open
) -> None:
    place = f"{small.url}/v1/plans/row"
    kit = {"rods": [{"id": "R120", "pitch_mm": 120}]}
    inputs = {"kit": kit, "rod": "R120", "bays": 30, "limit_mm": 1000}
    plan = {"title": "Row", "steps": [{"id": "row", "calculator": "span", "inputs": inputs}]}
    made = requests.put(place, json=plan, headers={"If-None-Match": "*"}, timeout=30)
    page = open_page(small, "#/plans/row", refusals=[412])
    page.get_by_role("button", name="Do it: Take 8 bays.").click()
    page.locator("section.news").wait_for()
    other = {**plan, "title": "Row of somebody else"}
    requests.put(place, json=other, headers={"If-Match": made.headers["ETag"]}, timeout=30)
    page.get_by_role("button", name="Save as a new revision").click()
    page.get_by_text("Somebody stored another revision").wait_for()
    assert requests.get(place, timeout=30).json() == other
    page.get_by_role("button", name="Keep mine as a new plan").click()
    page.wait_for_url("**#/plans/row-mine")
    mine = requests.get(f"{small.url}/v1/plans/row-mine", timeout=30).json()
    assert mine["steps"][0]["inputs"]["bays"] == 8


def test_steps_have_addresses_and_back_goes_back(demo: RunningServer, open_page: Open) -> None:
    page = open_page(demo, f"#/plans/{CHANGED}")
    page.locator(".steps").get_by_text("Does the grid close").click()
    page.get_by_role("heading", level=2, name="Does the grid close").wait_for()
    assert page.url.endswith(f"#/plans/{CHANGED}/grid")
    page.locator("figure img").first.wait_for()
    page.go_back()
    page.get_by_role("heading", level=2, name="What to do next").wait_for()
    page.go_forward()
    page.get_by_role("heading", level=2, name="Does the grid close").wait_for()
    page.reload()
    page.get_by_role("heading", level=2, name="Does the grid close").wait_for()


def test_a_step_shows_each_drawing_its_table_and_its_small_print(
    demo: RunningServer, open_page: Open
) -> None:
    page = open_page(demo, f"#/plans/{CHANGED}/floor")
    image = page.locator("figure img")
    image.wait_for()
    until(page, "document.querySelector('figure img')?.naturalWidth > 0")
    first = image.get_attribute("alt")
    page.get_by_label("Which of").select_option(index=2)
    until(page, "old => document.querySelector('figure img')?.alt !== old", first)
    assert "view=" in page.url
    page.get_by_text("Table", exact=True).click()
    page.locator("table tbody tr").first.wait_for()
    page.locator("button.sort").first.click()
    assert page.locator("th[aria-sort]").count() == 1
    for part in ("Cautions", "Assumptions", "Sources"):
        page.locator("summary", has_text=part).click()
    assert "slip hazard" in page.locator(".small-print").inner_text()
    for form, start in (("svg", b"<svg"), ("pdf", b"%PDF"), ("dxf", b"  0")):
        with page.expect_download() as saved:
            page.get_by_role("button", name=f"Save as {form.upper()}").click()
        assert saved.value.suggested_filename == f"floor-tiling-ratio-groove.{form}"
        assert saved.value.path().read_bytes().startswith(start)


def test_a_report_of_a_change_not_stored_is_taken_along(
    small: RunningServer, open_page: Open
) -> None:
    kit = {"rods": [{"id": "R120", "pitch_mm": 120}]}
    inputs = {"kit": kit, "rod": "R120", "bays": 30, "limit_mm": 1000}
    plan = {"title": "Row", "steps": [{"id": "row", "calculator": "span", "inputs": inputs}]}
    place = f"{small.url}/v1/plans/row"
    requests.put(place, json=plan, headers={"If-None-Match": "*"}, timeout=30)
    page = open_page(small, "#/plans/row")

    def take(form: str) -> bytes:
        page.get_by_text("Take it with you").click()
        with page.expect_download() as saved:
            page.get_by_role("button", name=f"Report ({form})").click()
        content: bytes = saved.value.path().read_bytes()
        return content

    page.locator(".finding.stop").wait_for()
    stored = take("HTML").decode()
    page.get_by_role("button", name="Do it: Take 8 bays.").click()
    page.locator("section.news").wait_for()
    changed = take("HTML").decode()
    assert "3600 mm" in stored and "3600 mm" not in changed and "960 mm" in changed
    assert take("PDF").startswith(b"%PDF")


def test_a_page_prints_to_paper(demo: RunningServer, open_page: Open) -> None:
    """What is found stands on it; what is there to press does not."""
    pypdf = pytest.importorskip("pypdf")
    page = open_page(demo, f"#/plans/{PLANNED}")
    page.locator(".finding").first.wait_for()
    until(page, "!document.querySelector('main').hasAttribute('aria-busy')")
    content = page.pdf(format="A4")
    text = "".join(sheet.extract_text() for sheet in pypdf.PdfReader(io.BytesIO(content)).pages)
    assert "754 mm deep" in text and "Change before you build" in text
    assert "Run again" not in text and "Do it" not in text and "Calculators" not in text


def test_an_empty_service_says_what_to_do_and_makes_a_first_plan(
    small: RunningServer, open_page: Open
) -> None:
    page = open_page(small)
    page.get_by_text("No plan is stored yet").wait_for()
    assert "baywright serve --demo" in page.locator("main").inner_text()
    page.get_by_label("From a calculator's example").select_option("span")
    page.get_by_role("button", name="Make a plan of it").click()
    page.wait_for_url("**#/plans/span")
    page.get_by_role("heading", level=2, name="What to do next").wait_for()
    page.get_by_text("Nothing to report.").wait_for()
    assert requests.get(f"{small.url}/v1/plans/span", timeout=30).json()["steps"][0]["id"] == "span"


def test_without_any_calculator_the_page_stands(empty: RunningServer, open_page: Open) -> None:
    page = open_page(empty, "#/calculators")
    page.get_by_text("No calculator is installed.").wait_for()


def test_what_the_service_says_is_text_and_nothing_else(
    small: RunningServer, open_page: Open
) -> None:
    step = {"id": "a", "calculator": "rude", "title": MARKUP, "inputs": {"length_mm": 5}}
    plan = {"title": MARKUP, "about": MARKUP, "steps": [step]}
    place = f"{small.url}/v1/plans/rude"
    requests.put(place, json=plan, headers={"If-None-Match": "*"}, timeout=30)
    for address in ("", "#/plans/rude", "#/plans/rude/a", "#/calculators", "#/calculators/rude"):
        page = open_page(small, address)
        page.on("dialog", lambda dialog: (_ for _ in ()).throw(AssertionError(dialog.message)))
        page.get_by_text("onerror=alert(1)").first.wait_for()
        assert page.locator("main img[src=x], main b b, script:not([src])").count() == 0
    page = open_page(small, "#/plans/rude")
    page.get_by_role("button", name="Do it").click()
    page.locator("section.news").wait_for()
    assert page.locator("main img[src=x]").count() == 0


def test_plans_that_come_out_of_a_result_open_at_a_click(
    small: RunningServer, open_page: Open
) -> None:
    page = open_page(small, "#/calculators/propose")
    page.locator(".point").nth(2).wait_for()
    assert page.locator(".point").count() == 3
    page.locator(".point").nth(1).click()
    page.get_by_role("heading", level=1, name="Row of 4 bays").wait_for()
    page.get_by_text("Nothing to report.").wait_for()
    page.get_by_role("button", name="Store this plan").click()
    page.wait_for_url("**#/plans/row-of-4-bays")
    page.go_back()
    page.go_back()
    page.locator(".point").first.focus()
    page.keyboard.press("Enter")
    page.get_by_role("heading", level=1, name="Row of 3 bays").wait_for()


def test_the_token_is_asked_for_once(guarded: RunningServer, open_page: Open) -> None:
    page = open_page(guarded)
    page.get_by_label("Token").fill("t" * 40)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_text("No plan is stored yet").wait_for()
    cookie = page.context.cookies()[0]
    assert cookie["httpOnly"] and cookie["sameSite"] == "Strict"
    assert "t" * 40 not in cookie["value"] and "t" * 40 not in page.url
    assert (
        page.evaluate("document.cookie + JSON.stringify({...localStorage, ...sessionStorage})")
        == "{}"
    )
    page.reload()
    page.get_by_text("No plan is stored yet").wait_for()
    page.get_by_label("From a calculator's example").select_option("weigh")
    page.get_by_role("button", name="Make a plan of it").click()
    page.wait_for_url("**#/plans/weigh")

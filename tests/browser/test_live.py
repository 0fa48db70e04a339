"""What moves by itself: a batch watched to its end, and a screen on the wall."""

import re
from collections.abc import Callable
from typing import Any

import requests

from baywright_service.server import RunningServer

Open = Callable[..., Any]
KIT = {"rods": [{"id": "R120", "pitch_mm": 120}]}


def row(bays: int, title: str = "Row") -> dict[str, Any]:
    """A plan of one step that stops over 8 bays."""
    inputs = {"kit": KIT, "rod": "R120", "bays": bays, "limit_mm": 1000}
    return {"title": title, "steps": [{"id": "row", "calculator": "span", "inputs": inputs}]}


def put(server: RunningServer, id: str, plan: Any, **headers: str) -> str:
    """Store a plan; its ETag."""
    sent = headers or {"If-None-Match": "*"}
    answer = requests.put(f"{server.url}/v1/plans/{id}", json=plan, headers=sent, timeout=30)
    answer.raise_for_status()
    return answer.headers["ETag"]


def test_a_batch_is_started_by_the_form_watched_to_its_end_and_opened(
    small: RunningServer, open_page: Open
) -> None:
    put(small, "row", row(3))
    page = open_page(small, "#/batches?plan=row")
    page.get_by_label("What to vary").select_option(label="Bays")
    page.get_by_label("Values to try").fill("2, 4 6;12")
    page.locator(".keep summary").click()
    page.get_by_label("Span in mm", exact=True).check()
    page.get_by_role("button", name="Start the batch").click()
    page.get_by_text("done: 4 of 4 variants").wait_for()
    rows = page.locator("tbody tr")
    rows.nth(3).wait_for()
    cells = [rows.nth(k).locator("td").all_inner_texts() for k in range(4)]
    assert [cell[1] for cell in cells] == ["2", "4", "6", "12"]
    assert [cell[2].split()[-1] for cell in cells] == ["ok", "ok", "ok", "stop"]
    assert [cell[3] for cell in cells] == ["240", "480", "720", "1440"]
    page.get_by_role("button", name="Row, span in mm", exact=True).click()
    page.get_by_role("button", name="Row, span in mm", exact=True).click()
    assert rows.first.locator("td").nth(1).inner_text() == "12"
    page.locator(".point").nth(1).click()
    page.get_by_role("heading", level=1, name="Row").wait_for()
    page.get_by_text("Nothing to report.").wait_for()
    page.go_back()
    with page.expect_download() as saved:
        page.get_by_role("link", name="Results (CSV)").click()
    assert saved.value.path().read_text().count("\n") == 5
    page.get_by_role("button", name="Remove this batch").click()
    page.get_by_text("No batch has been started yet.").wait_for()


def test_why_a_variant_was_not_calculated_stands_in_its_row(
    small: RunningServer, open_page: Open
) -> None:
    plan = row(3)
    plan["steps"].append({**plan["steps"][0], "id": "other"})
    body = {
        "plan": plan,
        "combine": "zip",
        "vary": [
            {"pointer": "/steps/0/inputs/rod", "values": ["R120", "R7"]},
            {"pointer": "/steps/1/inputs/bays", "values": [9, 4]},
            {"pointer": "/steps/0/inputs/bays", "values": [3, 4]},
        ],
        "keep": ["/verdict", "/steps/other/verdict", "/steps/other/result/span_mm"],
    }
    made = requests.post(f"{small.url}/v1/batches", json=body, timeout=60)
    page = open_page(small, f"#/batches/{made.json()['id']}")
    page.get_by_text("done: 2 of 2 variants, 1 could not be calculated").wait_for()
    rows = page.locator("tbody tr")
    rows.nth(1).wait_for()
    heads = [head.strip() for head in page.locator("thead th button").all_inner_texts()]
    assert heads == [
        "no.", "Rod", "Step 2, bays", "Step 1, bays", "verdict",
        "Other, verdict", "Other, span in mm",
    ]  # fmt: skip
    cells = [rows.nth(k).locator("td").all_inner_texts() for k in range(2)]
    assert cells[0][4].split()[-1] == "stop" and cells[0][5].split()[-1] == "stop"
    assert cells[1][4] == "not calculated: No such rod in the kit."


def test_a_batch_that_was_given_up_says_how_far_it_came(
    small: RunningServer, open_page: Open
) -> None:
    values = [1000 + k / 2 for k in range(4000)]
    body = {
        "plan": row(3),
        "vary": [{"pointer": "/steps/0/inputs/limit_mm", "values": values}],
    }
    made = requests.post(f"{small.url}/v1/batches", json=body, timeout=60).json()
    place = f"{small.url}/v1/batches/{made['id']}"
    requests.put(f"{place}/cancellation", json={}, timeout=30).raise_for_status()
    counts = requests.get(place, timeout=30).json()["item_counts"]
    page = open_page(small, f"#/batches/{made['id']}")
    gone = counts["dismissed"]
    assert gone > 0
    page.get_by_text(f"cancelled: {4000 - gone} of 4000 variants, {gone} given up").wait_for()


def test_what_the_service_says_of_a_batch_is_shown(small: RunningServer, open_page: Open) -> None:
    put(small, "row", row(3))
    page = open_page(small, "#/batches", refusals=[422])
    page.get_by_label("What to vary").select_option(label="Bays")
    page.get_by_label("Values to try").fill("2 500")
    page.get_by_role("button", name="Start the batch").click()
    page.locator(".problem").wait_for()
    assert "100" in page.locator(".problem").inner_text()
    page.get_by_label("Values to try").fill("two")
    page.get_by_role("button", name="Start the batch").click()
    page.get_by_text("Write numbers, separated by spaces or commas.").wait_for()


def test_the_wall_follows_plans_by_itself(small: RunningServer, open_page: Open) -> None:
    etag = put(small, "row", row(3))
    page = open_page(small, "#/wall", viewport={"width": 1920, "height": 1080})
    page.locator(".tile.ok .big", has_text="ok").wait_for()
    put(small, "row", row(30), **{"If-Match": etag})
    page.locator(".tile.stop .big", has_text="stop").wait_for()
    put(small, "other", row(4, "Another row"))
    page.locator(".tile", has_text="Another row").locator(".big", has_text="ok").wait_for()


def test_the_overview_follows_too(small: RunningServer, open_page: Open) -> None:
    page = open_page(small)
    page.get_by_text("No plan is stored yet").wait_for()
    put(small, "row", row(30))
    page.locator(".card.stop").wait_for()


def test_a_batch_runs_on_the_wall(small: RunningServer, open_page: Open) -> None:
    put(small, "row", row(3))
    # Slow enough that the wall, which looks every five seconds, cannot miss it.
    slow = {"id": "slow", "calculator": "fail", "inputs": {"how": "slow"}}
    body = {
        "title": "Slow rows",
        "plan": {**row(3), "steps": [*row(3)["steps"], slow]},
        "vary": [{"pointer": "/steps/0/inputs/bays", "values": [1, 2, 3, 4]}],
    }
    page = open_page(small, "#/wall")
    page.locator(".tile.ok").wait_for()
    with page.expect_request(re.compile("/events$")) as stream:
        made = requests.post(f"{small.url}/v1/batches", json=body, timeout=60)
    assert made.status_code == 202
    assert stream.value.resource_type == "eventsource"
    page.locator(".batch-bar", has_text="Slow rows").wait_for()
    page.get_by_text("of 4 variants").wait_for()
    requests.put(f"{small.url}/v1/batches/{made.json()['id']}/cancellation", json={}, timeout=30)
    page.get_by_text(re.compile("cancelled|done")).wait_for()


def test_the_first_step_is_seen_while_the_rest_is_calculated_and_what_is_begun_in_it_stays(
    small: RunningServer, open_page: Open
) -> None:
    slow = {"id": "slow", "calculator": "fail", "inputs": {"how": "slow"}}
    plan = {**row(30), "steps": [*row(30)["steps"], slow]}
    put(small, "slow", plan)
    page = open_page(small, "#/plans/slow/row")
    page.locator(".finding.stop").wait_for()
    assert page.locator(".steps .verdict.waiting").count() == 1
    page.locator("summary", has_text="Inputs of this step").click()
    page.get_by_label("Bays", exact=True).fill("7")
    page.locator(".steps .verdict.stop").nth(1).wait_for()
    assert page.locator(".steps .verdict.waiting").count() == 0
    assert page.get_by_label("Bays", exact=True).input_value() == "7"
    page.get_by_role("link", name="What to do next").click()
    page.locator(".not-done").wait_for()

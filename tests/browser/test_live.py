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
    body = {
        "title": "Many rows",
        "plan": {"id": "row"},
        "vary": [
            {"pointer": "/steps/0/inputs/bays", "values": list(range(1, 9))},
            {
                "pointer": "/steps/0/inputs/limit_mm",
                "values": [1000 + k / 2 for k in range(400)],
            },
        ],
    }
    page = open_page(small, "#/wall")
    page.locator(".tile.ok").wait_for()
    with page.expect_request(re.compile("/events$")) as stream:
        made = requests.post(f"{small.url}/v1/batches", json=body, timeout=60)
    assert made.status_code == 202
    assert stream.value.resource_type == "eventsource"
    page.locator(".batch-bar", has_text="Many rows").wait_for()
    page.get_by_text("of 3200 variants").wait_for()
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

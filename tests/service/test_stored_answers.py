"""What a stored plan answers, by address: once calculated, remembered until something changes."""

import re
from typing import Any
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient

from baywright_service.badge import SHAPES, badge_svg

NEW = {"If-None-Match": "*"}
KIT = {"rods": [{"id": "R120", "pitch_mm": 120}]}
ROW = {"id": "row", "calculator": "span", "inputs": {"rod": "R120", "bays": 3, "limit_mm": 250}}
MASS = {
    "id": "mass",
    "calculator": "weigh",
    "inputs": {"length_mm": {"$ref": "#/steps/row/result/span_mm"}},
}
LOST = {"id": "lost", "calculator": "span", "inputs": {"rod": "R999", "bays": 3}}
PLAN = {"title": "Row & <roof>", "kit": {"id": "loft-kit"}, "steps": [ROW, MASS, LOST]}
PLACE = "/v1/plans/loft"


@pytest.fixture
def stored(client: FlaskClient) -> FlaskClient:
    """A client of a service that holds the plan and its kit."""
    assert client.put("/v1/kits/loft-kit", json=KIT, headers=NEW).status_code == 201
    assert client.put(PLACE, json=PLAN, headers=NEW).status_code == 201
    return client


def test_the_answer_is_that_of_a_run(stored: FlaskClient) -> None:
    by_address = stored.get(f"{PLACE}/answer")
    assert by_address.data == stored.post("/v1/plans/run", json={"id": "loft"}).data


def test_the_summary_has_verdicts_and_findings_and_no_results(stored: FlaskClient) -> None:
    summary: Any = stored.get(f"{PLACE}/summary").get_json()
    assert (summary["verdict"], summary["stop_count"]) == ("stop", 1)
    by_id = {step["id"]: step for step in summary["steps"]}
    assert (by_id["row"]["verdict"], by_id["mass"]["verdict"]) == ("stop", "ok")
    assert by_id["lost"]["status"] == "failed" and by_id["lost"]["problem"]["status"] == 422
    assert summary["findings"][0]["step"] == "row"
    assert "envelope" not in str(summary) and by_id["row"]["views"]


@pytest.mark.parametrize("what", ["answer", "summary", "badge", "steps/row/drawing"])
def test_who_has_it_already_gets_304_until_a_document_changes(
    stored: FlaskClient, what: str
) -> None:
    first = stored.get(f"{PLACE}/{what}")
    again = {"If-None-Match": first.headers["ETag"]}
    assert first.status_code == 200
    unchanged = stored.get(f"{PLACE}/{what}", headers=again)
    assert (unchanged.status_code, unchanged.data) == (304, b"")
    tag = stored.get("/v1/kits/loft-kit").headers["ETag"]
    longer = {"rods": [{"id": "R120", "pitch_mm": 121}]}
    assert (
        stored.put("/v1/kits/loft-kit", json=longer, headers={"If-Match": tag}).status_code == 200
    )
    changed = stored.get(f"{PLACE}/{what}", headers=again)
    assert changed.status_code == 200 and changed.headers["ETag"] != first.headers["ETag"]


def test_a_drawing_is_that_of_the_run_with_its_references_resolved(stored: FlaskClient) -> None:
    body = {**ROW["inputs"], "kit": KIT}  # type: ignore[dict-item]
    alone = stored.post("/v1/calculators/span/run?format=svg", json=body)
    assert stored.get(f"{PLACE}/steps/row/drawing").data == alone.data


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("/v1/plans/none/summary", "No plan"),
        (f"{PLACE}/steps/none/drawing", "Its steps: row, mass, lost"),
        (f"{PLACE}/steps/lost/drawing", "gave no result"),
    ],
)
def test_what_is_not_there_is_said(stored: FlaskClient, place: str, words: str) -> None:
    answer = stored.get(place)
    assert answer.status_code == 404 and words in answer.get_json()["detail"]


def test_a_badge_says_the_verdict_in_word_shape_and_number(stored: FlaskClient) -> None:
    answer = stored.get(f"{PLACE}/badge")
    root = ElementTree.fromstring(answer.data)
    assert answer.mimetype == "image/svg+xml" and "script" not in answer.text
    texts = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts == ["Row & <roof>", "stop: 1 finding"]
    assert len(set(SHAPES.values())) == 3


def _luminance(colour: str) -> float:
    """Relative luminance: WCAG 2.2, definition of "relative luminance"."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("verdict", ["ok", "watch", "stop"])
def test_a_badge_can_be_read(verdict: str) -> None:
    """Contrast at least 4.5 to 1: WCAG 2.2, success criterion 1.4.3."""
    counts = {"verdict": verdict, "stop_count": 0, "watch_count": 0}
    grounds = re.findall(r'fill="(#[0-9a-f]{6})"', badge_svg("x", counts).decode())
    assert len(grounds) >= 2
    for ground in grounds:
        assert 1.05 / (_luminance(ground) + 0.05) >= 4.5

"""The calculator as a client meets it."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from baywright_plugins.floor_tiling_ratio import FloorTilingRatio
from baywright_service.registry import Registry

NAME = "floor-tiling-ratio"
EXAMPLES = FloorTilingRatio.examples


@pytest.fixture(scope="module")
def built_in() -> Registry:
    """Only this calculator, so that no other one's fault shows here."""
    return Registry({NAME: FloorTilingRatio()})


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.title)
def test_answer_follows_the_published_schema(
    client: FlaskClient, post: Callable[[str, Any], Any], example: Any
) -> None:
    """The result of every example is what the description promises."""
    page = client.get(f"/v1/calculators/{NAME}").get_json()
    answer = post(NAME, example.inputs)
    assert answer.status_code == 200
    Draft202012Validator(page["input_schema"]).validate(example.inputs)
    Draft202012Validator(page["result_schema"]).validate(answer.get_json()["result"])
    assert post(NAME, example.inputs).data == answer.data


def test_pictures_and_rows(client: FlaskClient) -> None:
    """SVG of each view and CSV with units in its header."""
    where = f"/v1/calculators/{NAME}/run"
    for view in FloorTilingRatio.views:
        drawn = client.post(f"{where}?view={view}&format=svg", json=EXAMPLES[0].inputs)
        assert (drawn.status_code, drawn.mimetype) == (200, "image/svg+xml")
    rows = client.post(f"{where}?format=csv", json=EXAMPLES[0].inputs)
    assert rows.text.splitlines()[0].startswith("first,second,first_count,second_count,length_mm")
    assert rows.text.splitlines()[1].startswith("bay,tile,3")


def test_refusals_name_their_place(post: Callable[[str, Any], Any]) -> None:
    """A broken rule and an impossible question are two different refusals."""
    body = json.loads(json.dumps(EXAMPLES[0].inputs))
    body["rolling"]["groove_mm"] = 48
    refused = post(NAME, body)
    assert (refused.status_code, refused.get_json()["type"]) == (
        422,
        "/v1/problems/cannot-calculate",
    )
    del body["ball"]
    invalid = post(NAME, body).get_json()
    assert invalid["type"] == "/v1/problems/invalid-input"
    assert {error["pointer"] for error in invalid["errors"]} == {"/ball"}

"""The calculator as a client meets it."""

import csv
import io
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from baywright_plugins.fit_remedies import FitRemedies
from baywright_service.registry import Registry

NAME = "fit-remedies"
RUN = f"/v1/calculators/{NAME}/run"
Assert = Callable[..., Any]


@pytest.fixture(scope="module")
def built_in() -> Registry:
    """Only this calculator, so that no other one's fault shows here."""
    return Registry({NAME: FitRemedies()})


@pytest.mark.parametrize("example", FitRemedies.examples, ids=lambda e: e.title)
def test_answer_follows_the_published_schema(
    client: FlaskClient, post: Assert, example: Any
) -> None:
    """The result of every example is what the description promises; each finds ways."""
    page = client.get(f"/v1/calculators/{NAME}").get_json()
    answer = post(NAME, example.inputs)
    assert answer.status_code == 200, answer.text
    Draft202012Validator(page["input_schema"]).validate(example.inputs)
    result = answer.get_json()["result"]
    Draft202012Validator(page["result_schema"]).validate(result)
    assert result["ways"] and all(way["proven"] for way in result["ways"])


def test_pictures(client: FlaskClient) -> None:
    """Every view is a picture, for a door, for a corner, and where nothing sticks."""
    door, _, corner = (example.inputs for example in FitRemedies.examples)
    wide = {**door, "passages": [{"id": "gate", "width_mm": 3000, "height_mm": 3000}]}
    for view in FitRemedies.views:
        for inputs in (door, corner, wide):
            answer = client.post(
                f"{RUN}?view={view}", json=inputs, headers={"Accept": "image/svg+xml"}
            )
            assert answer.status_code == 200, answer.text
            assert answer.text.startswith("<svg")
            assert ("data-empty" in answer.text) == (inputs is wide)


def test_rows(client: FlaskClient) -> None:
    """One row for each way, then one for each alternative; saved rods with their sign."""
    inputs = FitRemedies.examples[0].inputs
    answer = client.post(RUN, json=inputs, headers={"Accept": "text/csv"})
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    ways = [row for row in rows if row["rank"]]
    assert [row["rank"] for row in ways] == [str(k + 1) for k in range(len(ways))]
    assert ways[0]["what"].startswith("Take one bay (R120) out of the ")
    assert "+64 R120" in ways[0]["rods_saved"]
    assert len(rows) > len(ways)


def test_nodes_one_by_one(post: Assert, assert_problem: Assert, faults_of: Assert) -> None:
    """A frame without a grid is a refusal that names its place."""
    inputs = {
        **FitRemedies.examples[0].inputs,
        "frame": {
            "nodes_mm": [[0, 0, 0], [120, 0, 0]],
            "members": {"start": [0], "end": [1], "rod": ["R120"]},
        },
    }
    answer = post(NAME, inputs)
    assert_problem(answer, 422, "cannot-calculate")
    assert faults_of(answer)[0][0] == "/frame/nodes_mm"

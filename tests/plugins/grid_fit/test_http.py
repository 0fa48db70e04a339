"""The calculator as a client meets it."""

import csv
import io
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from baywright_plugins.grid_fit import GridFit
from baywright_service.registry import Registry

NAME = "grid-fit"
RUN = f"/v1/calculators/{NAME}/run"


@pytest.fixture(scope="module")
def built_in() -> Registry:
    """Only this calculator, so that no other one's fault shows here."""
    return Registry({NAME: GridFit()})


@pytest.mark.parametrize("example", GridFit.examples, ids=lambda e: e.title)
def test_answer_follows_the_published_schema(
    client: FlaskClient, post: Callable[[str, Any], Any], example: Any
) -> None:
    """The result of every example is what the description promises, the same bytes twice."""
    page = client.get(f"/v1/calculators/{NAME}").get_json()
    answer = post(NAME, example.inputs)
    assert answer.status_code == 200, answer.text
    Draft202012Validator(page["input_schema"]).validate(example.inputs)
    Draft202012Validator(page["result_schema"]).validate(answer.get_json()["result"])
    assert post(NAME, example.inputs).data == answer.data


def test_the_demo_follows_the_schema_too(
    client: FlaskClient, post: Callable[[str, Any], Any], desk: Callable[[str], Any]
) -> None:
    """The demo machine as planned, with its changes and their patches."""
    page = client.get(f"/v1/calculators/{NAME}").get_json()
    answer = post(NAME, desk("planned"))
    assert answer.status_code == 200, answer.text
    envelope = answer.get_json()
    Draft202012Validator(page["result_schema"]).validate(envelope["result"])
    assert envelope["verdict"] == "stop"


@pytest.mark.parametrize("view", GridFit.views)
def test_pictures(client: FlaskClient, desk: Callable[[str], Any], view: str) -> None:
    """Every view is a picture, also where there is nothing of its kind to draw."""
    for inputs in (desk("planned"), GridFit.examples[2].inputs):
        answer = client.post(f"{RUN}?view={view}", json=inputs, headers={"Accept": "image/svg+xml"})
        assert answer.status_code == 200, answer.text
        assert answer.text.startswith("<svg")


def test_rows(client: FlaskClient, desk: Callable[[str], Any]) -> None:
    """One row for each section and passage."""
    answer = client.post(RUN, json=desk("planned"), headers={"Accept": "text/csv"})
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert len(rows) == 12
    stuck = {row["section"] for row in rows if float(row["spare_mm"]) < 0}
    assert stuck == {"S2", "S3", "S4"}

"""The calculator as a client meets it."""

import csv
import io
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from baywright_plugins.design_search import DesignSearch
from baywright_service.registry import Registry

NAME = "design-search"
RUN = f"/v1/calculators/{NAME}/run"
Assert = Callable[..., Any]


@pytest.fixture(scope="module")
def built_in() -> Registry:
    """Only this calculator, so that no other one's fault shows here."""
    return Registry({NAME: DesignSearch()})


def test_answer_follows_the_published_schema(
    client: FlaskClient, post: Assert, small: Assert
) -> None:
    """Inputs and result are what the description promises; equal requests give equal bytes."""
    page = client.get(f"/v1/calculators/{NAME}").get_json()
    body = small(stock={"counts": []}, most_evaluations=6)
    answer = post(NAME, body)
    assert answer.status_code == 200, answer.text
    Draft202012Validator(page["input_schema"]).validate(body)
    Draft202012Validator(page["result_schema"]).validate(answer.get_json()["result"])
    assert post(NAME, body).data == answer.data


def test_pictures_and_rows(client: FlaskClient, small: Assert) -> None:
    """Both views are pictures; the table has a row for every machine worked out."""
    body = small(bay_rods=["R120"])
    for view in DesignSearch.views:
        answer = client.post(f"{RUN}?view={view}", json=body, headers={"Accept": "image/svg+xml"})
        assert answer.status_code == 200 and answer.text.startswith("<svg")
    result = client.post(RUN, json=body).get_json()["result"]
    rows = list(
        csv.DictReader(
            io.StringIO(client.post(RUN, json=body, headers={"Accept": "text/csv"}).text)
        )
    )
    assert len(rows) == result["space"]["evaluated_count"]
    assert [row["id"] for row in rows if row["in_set"] == "true"] == [
        one["id"] for one in result["machines"]
    ]
    assert all(row["message"] for row in rows if row["in_set"] != "true")


def test_faults_are_a_problem(
    post: Assert, small: Assert, assert_problem: Assert, faults_of: Assert
) -> None:
    """A rod that is not there and a misspelt field, each with its place."""
    answer = post(NAME, small(bay_rods=["R1"]))
    assert_problem(answer, 422, "invalid-input")
    assert faults_of(answer) == [("/bay_rods/0", "unknown-reference")]
    answer = post(NAME, {**small(), "envelop": {}})
    assert faults_of(answer) == [("/envelop", "unknown-field")]

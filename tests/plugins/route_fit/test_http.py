"""The calculator as a client meets it."""

import csv
import io
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from baywright_plugins.route_fit import RouteFit
from baywright_service.registry import Registry

NAME = "route-fit"
RUN = f"/v1/calculators/{NAME}/run"


@pytest.fixture(scope="module")
def built_in() -> Registry:
    """Only this calculator, so that no other one's fault shows here."""
    return Registry({NAME: RouteFit()})


@pytest.mark.parametrize("example", RouteFit.examples, ids=lambda e: e.title)
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
    """The demo machine as planned: it sticks, with changes and their patches."""
    page = client.get(f"/v1/calculators/{NAME}").get_json()
    answer = post(NAME, desk("planned"))
    assert answer.status_code == 200, answer.text
    Draft202012Validator(page["result_schema"]).validate(answer.get_json()["result"])
    assert answer.get_json()["verdict"] == "stop"


@pytest.mark.parametrize("view", RouteFit.views)
def test_pictures(client: FlaskClient, desk: Callable[[str], Any], view: str) -> None:
    """Every view is a picture of every example and of the demo machine."""
    for inputs in (desk("planned"), *(example.inputs for example in RouteFit.examples)):
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
    assert {row["exactness"] for row in rows} == {"exact"}


EXTREME = [
    {"boxes": [{"id": "b", "outside_mm": {"x": x, "y": y, "z": z}}], "passages": [passage]}
    for x, y, z in ((0, 0, 0), (100_000, 100_000, 100_000), (100_000, 0, 1e-9))
    for passage in (
        {"id": "p", "width_mm": 1e-6, "height_mm": 1e-6, "reveal_mm": 5000, "before_mm": 1,
         "behind_mm": 1},
        {"id": "p", "width_mm": 50_000, "height_mm": 50_000, "reveal_mm": 0, "before_mm": 100_000,
         "hardware": [{"side": "left", "projects_mm": 5000}, {"side": "top", "projects_mm": 5000}]},
        {"id": "p", "width_mm": 1, "height_mm": 1, "depth_mm": 1e-5, "threshold_mm": 2000,
         "hardware": [{"side": "right", "projects_mm": 5000, "from_mm": 5, "to_mm": 5}]},
        {"id": "p", "corridors_mm": [1, 50_000, 1], "legs_mm": [1], "ceiling_mm": 1},
        {"id": "p", "flight": {"going_mm": 50, "rise_mm": 1000, "width_mm": 1, "headroom_mm": 1},
         "landings": [{"turn": t, "length_mm": 1, "headroom_mm": 100_000}
                      for t in ("straight", "quarter", "half")]},
        {"id": "p", "flight": {"going_mm": 2000, "rise_mm": 10, "width_mm": 100_000,
                               "headroom_mm": 100_000},
         "landings": [{"turn": "half", "length_mm": 100_000, "headroom_mm": 1}]},
    )
]  # fmt: skip


@pytest.mark.parametrize("inputs", EXTREME, ids=range(len(EXTREME)))
def test_extreme_sizes(
    client: FlaskClient, post: Callable[[str, Any], Any], inputs: dict[str, Any]
) -> None:
    """Nothing and too much: an answer with finite numbers, and pictures of it."""
    answer = post(NAME, inputs)
    assert answer.status_code == 200, answer.text
    assert "NaN" not in answer.text and "Infinity" not in answer.text
    for view in RouteFit.views:
        picture = client.post(
            f"{RUN}?view={view}", json=inputs, headers={"Accept": "image/svg+xml"}
        )
        assert picture.status_code == 200 and "nan" not in picture.text

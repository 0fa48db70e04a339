"""What stands in space: a calculator's scene as JSON, by run and by the address of a step."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import pytest
from flask.testing import FlaskClient

from baywright_service.app import create_app
from baywright_service.contract import (
    Calculator,
    Inputs,
    Result,
    Scene,
    SceneAttitude,
    SceneGroup,
    SceneMotion,
    ScenePassing,
    ScenePiece,
    SceneState,
)
from baywright_service.registry import BreaksContract, check, registry_of
from baywright_service.settings import Settings
from tests.service.fakes import Span, Weigh

TYPE = "application/vnd.baywright.scene+json"
BODY = {"kit": {"rods": [{"id": "R120", "pitch_mm": 120}]}, "rod": "R120", "bays": 2}
TURN = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


class Row(Span):
    """A row of bays that can be seen."""

    name: ClassVar[str] = "row"
    spatial = True

    def scene(self, inputs: Inputs, result: Result) -> Scene:
        """Two bars in a row, loaded, loose, turned and led through a door."""
        x = np.asarray(result.value["nodes_mm"], dtype=float)
        points = np.column_stack([x, 0 * x, 0 * x])
        ratio = np.array([0.5, 1 / 3])
        moved = 0 * points
        return Scene(
            "Row", f"{len(points)} points.", points, np.zeros(3), [0, 1], [1, 2], [0, 0], [0, 0],
            [0, 0], (SceneGroup("S1"),), ("rods",), (ScenePiece("R120", 8.0),), (),
            (240.0, 0.0, 0.0), 17.0,
            states=[SceneState("stand", "standing", (0,), ratio, -ratio, moved)],
            motions=[SceneMotion("It slides.", (0,), moved)],
            attitudes=[SceneAttitude("S1", "On its head.", (0,), (0.0, 0.0, 1.0), ratio, ratio)],
            passings=[
                ScenePassing(
                    "S1", "Door", "It passes.", True, 12.0, (745.0, 1960.0), 20.0, 0.0,
                    [((0.0, 0.0, 0.0), (240.0, 10.0, 10.0))], TURN, group=0,
                )
            ],
            state_first="stand",
        )  # fmt: skip


class Blind(Weigh):
    """Says it can be seen, and gives nothing to see."""

    name = "blind"
    spatial = True


@pytest.fixture
def seeing(tmp_path: Path) -> Iterator[FlaskClient]:
    """A service with one calculator that can be seen and one that cannot."""
    settings = Settings(store=str(tmp_path / "documents.sqlite3"))
    app = create_app(settings, registry_of(Row, Weigh))
    yield app.test_client()
    app.extensions["baywright"].documents.close()


def test_a_run_answers_with_what_stands_in_space(seeing: FlaskClient) -> None:
    by_name = seeing.post("/v1/calculators/row/run?format=scene", json=BODY)
    by_type = seeing.post("/v1/calculators/row/run", json=BODY, headers={"Accept": TYPE})
    assert by_name.status_code == 200 and by_name.content_type == TYPE
    assert by_name.data == by_type.data
    scene = by_name.get_json()
    assert scene["points_mm"] == [[0, 0, 0], [120, 0, 0], [240, 0, 0]]
    assert scene["bars"]["start"] == [0, 1] and scene["bars"]["end"] == [1, 2]
    assert scene["verdict"] == "ok" and scene["state_first"] == "stand"
    assert scene["states"][0]["ratio"] == [0.5, 0.333333]
    assert scene["passings"][0]["turn"] == [list(row) for row in TURN]
    assert scene["passings"][0]["group"] == 0


def test_the_document_describes_what_is_answered(seeing: FlaskClient) -> None:
    document = seeing.get("/v1/openapi.json").get_json()
    run = document["paths"]["/v1/calculators/row/run"]["post"]
    assert TYPE in run["responses"]["200"]["content"]
    shape = document["components"]["schemas"]["Scene"]
    scene = seeing.post("/v1/calculators/row/run?format=scene", json=BODY).get_json()
    assert set(shape["properties"]) == set(shape["required"]) == set(scene)
    for name in ("states", "motions", "attitudes", "passings"):
        assert set(shape["properties"][name]["items"]["properties"]) == set(scene[name][0]), name


def test_who_cannot_be_seen_says_so(
    seeing: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    answer = seeing.post("/v1/calculators/weigh/run?format=scene", json={"length_mm": 10})
    assert_problem(answer, 406, "not-acceptable")
    row = seeing.get("/v1/calculators/row").get_json()
    weigh = seeing.get("/v1/calculators/weigh").get_json()
    assert TYPE in row["media_types"] and TYPE not in weigh["media_types"]


def test_a_stored_plans_step_has_an_address_with_an_etag(
    seeing: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    steps = [
        {"id": "row", "calculator": "row", "inputs": BODY},
        {"id": "mass", "calculator": "weigh", "inputs": {"length_mm": 10}},
    ]
    put = seeing.put(
        "/v1/plans/desk", json={"title": "Desk", "steps": steps}, headers={"If-None-Match": "*"}
    )
    assert put.status_code == 201
    answer = seeing.get("/v1/plans/desk/steps/row/scene")
    assert answer.content_type == TYPE
    assert answer.data == seeing.post("/v1/calculators/row/run?format=scene", json=BODY).data
    etag = answer.headers["ETag"]
    again = seeing.get("/v1/plans/desk/steps/row/scene", headers={"If-None-Match": etag})
    assert (again.status_code, again.data) == (304, b"")
    assert_problem(seeing.get("/v1/plans/desk/steps/mass/scene"), 404, "not-found")
    summary = seeing.get("/v1/plans/desk/summary").get_json()
    assert [step["spatial"] for step in summary["steps"]] == [True, False]


def test_a_plug_in_that_says_it_can_be_seen_must_give_a_scene() -> None:
    with pytest.raises(BreaksContract, match="scene method"):
        check(Blind, "blind")
    check(Row, "row")
    assert not Calculator.spatial

"""PDF and DXF of any calculator's drawing over HTTP."""

import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from baywright_service.app import create_app
from baywright_service.settings import Settings
from tests.service.fakes import fakes
from tests.service.writers.papers import MM, read, words

RUN = "/v1/calculators/span/run"
BODY = {"kit": {"rods": [{"id": "R120", "pitch_mm": 120}]}, "rod": "R120", "bays": 3}
PDF, DXF = "application/pdf", "image/vnd.dxf"


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    """A service of tiny calculators with time enough to load the libraries."""
    return create_app(Settings(calculation_limit_s=30.0), fakes()).test_client()


@pytest.mark.parametrize(("form", "media"), [("pdf", PDF), ("dxf", DXF)])
def test_a_drawing_can_be_had_in_every_form(client: FlaskClient, form: str, media: str) -> None:
    named = client.post(f"{RUN}?format={form}&view=top", json=BODY)
    asked = client.post(f"{RUN}?view=top", json=BODY, headers={"Accept": f"{media}, text/csv;q=0"})
    for answer in (named, asked):
        assert (answer.status_code, answer.content_type) == (200, media)
        assert answer.headers["ETag"] == named.headers["ETag"]
        assert {"Accept", "Accept-Encoding"} <= set(answer.headers["Vary"].split(", "))
        assert f'filename="span-top.{form}"' in answer.headers["Content-Disposition"]
    assert named.data == asked.data


def test_paper_and_views_are_chosen(client: FlaskClient) -> None:
    one = read(client.post(f"{RUN}?format=pdf&paper=a3", json=BODY).data)
    assert len(one.pages) == 1 and one.pages[0].mediabox.width / MM == pytest.approx(420, abs=0.01)
    both = client.post(f"{RUN}?format=pdf&view=all", json=BODY).data
    assert "1 of 2" in words(both) and "2 of 2" in words(both)


def test_a_sheet_of_a_stored_plan_names_the_plan(client: FlaskClient) -> None:
    inputs = {"rod": "R120", "bays": 3}
    step = {"id": "row", "calculator": "span", "inputs": inputs}
    plan = {"title": "Hall machine", "kit": BODY["kit"], "steps": [step]}
    client.put("/v1/plans/hall", json=plan, headers={"If-None-Match": "*"})
    answer = client.get("/v1/plans/hall/steps/row/drawing?format=pdf")
    assert "Hall machine" in words(answer.data) and "span 1.0.0" in words(answer.data)
    tag = answer.headers["ETag"]
    a3 = client.get("/v1/plans/hall/steps/row/drawing?format=pdf&paper=a3")
    assert a3.headers["ETag"] != tag


def test_what_draws_nothing_has_neither(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    for form in ("pdf", "dxf"):
        answer = client.post(f"/v1/calculators/weigh/run?format={form}", json={"length_mm": 1})
        body = assert_problem(answer, 406, "not-acceptable")
        assert body["available"] == ["application/json"]


def test_only_paper_has_all_views_at_once(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    for form in ("dxf", "svg"):
        answer = client.post(f"{RUN}?format={form}&view=all", json=BODY)
        assert_problem(answer, 400, "invalid-parameter")


def test_nothing_loads_the_libraries_before_they_are_needed() -> None:
    code = (
        "import sys\nfrom baywright_service.app import create_app\n"
        "from baywright_service.registry import registry_of\ncreate_app(registry=registry_of())\n"
        "print(sorted({'reportlab', 'ezdxf', 'PIL', 'fontTools'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"

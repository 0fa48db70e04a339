"""Pages of other sites: none may read or write, but those the operator lists."""

from pathlib import Path

import pytest
from flask.testing import FlaskClient

from baywright_service.app import create_app
from baywright_service.settings import Settings, SettingsError
from tests.service.fakes import fakes

HALL = "https://hall.example"
BODY = {"rod": "R120", "bays": 3, "kit": {"rods": [{"id": "R120", "pitch_mm": 120}]}}
RUN = "/v1/calculators/span/run"


@pytest.fixture
def listed(tmp_path: Path) -> FlaskClient:
    """A service that lets one other site ask."""
    settings = Settings(store=str(tmp_path / "d.sqlite3"), allowed_origins=(HALL,), token="t" * 22)
    return create_app(settings, fakes()).test_client()


TOKEN = {"Authorization": f"Bearer {'t' * 22}"}


def test_by_default_no_page_of_another_site_may_read(client: FlaskClient) -> None:
    answer = client.get("/v1", headers={"Origin": HALL})
    assert "Access-Control-Allow-Origin" not in answer.headers
    assert client.post(RUN, json=BODY, headers={"Origin": HALL}).status_code == 403


def test_a_listed_page_may_read_and_run(listed: FlaskClient) -> None:
    answer = listed.get("/v1", headers={"Origin": HALL, **TOKEN})
    assert answer.headers["Access-Control-Allow-Origin"] == HALL
    assert "Origin" in answer.headers["Vary"]
    foreign = {"Origin": HALL, "Sec-Fetch-Site": "cross-site", **TOKEN}
    assert listed.post(RUN, json=BODY, headers=foreign).status_code == 200


def test_a_listed_page_may_not_store_or_delete(listed: FlaskClient) -> None:
    headers = {"Origin": HALL, "If-None-Match": "*", **TOKEN}
    assert listed.put("/v1/kits/k", json=BODY["kit"], headers=headers).status_code == 403


def test_a_browser_may_ask_before_it_sends_the_token(listed: FlaskClient) -> None:
    before = {"Origin": HALL, "Access-Control-Request-Method": "POST"}
    answer = listed.options(RUN, headers=before)
    assert answer.status_code == 200 and "POST" in answer.headers["Access-Control-Allow-Methods"]
    before["Origin"] = "https://other.example"
    assert listed.options(RUN, headers=before).status_code == 401


def test_unlisted_pages_stay_outside(listed: FlaskClient) -> None:
    other = {"Origin": "https://hall.example.evil", **TOKEN}
    assert "Access-Control-Allow-Origin" not in listed.get("/v1", headers=other).headers
    assert listed.post(RUN, json=BODY, headers=other).status_code == 403


@pytest.mark.parametrize("wrong", ["*", "hall.example", "https://hall.example/", "null"])
def test_an_origin_that_no_browser_sends_is_refused(wrong: str) -> None:
    with pytest.raises(SettingsError, match="BAYWRIGHT_ALLOWED_ORIGINS"):
        Settings.from_environment({"BAYWRIGHT_ALLOWED_ORIGINS": wrong})
    given = {"BAYWRIGHT_ALLOWED_ORIGINS": f"{HALL}, http://localhost:9000"}
    assert Settings.from_environment(given).allowed_origins == (HALL, "http://localhost:9000")

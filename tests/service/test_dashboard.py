"""The dashboard without a browser: its files, their headers, what they may not hold, signing in."""

import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

import baywright_service
from baywright_service.app import create_app
from baywright_service.routes import session
from baywright_service.routes.pages import DASHBOARD_POLICY, file_names
from baywright_service.settings import Settings
from tests.service.fakes import fakes

FOLDER = Path(baywright_service.__file__).parent / "dashboard"
FILES = sorted(path for path in FOLDER.iterdir() if path.is_file())
OURS = [path for path in FILES if path.suffix in (".js", ".css", ".html")]
SCRIPTS = [path for path in OURS if path.suffix == ".js" and ".min." not in path.name]
TOKEN = "a-token-of-more-than-128-bits-0123456789"
PLACES = ["/", "/dashboard/main.js", "/dashboard/look.css", "/dashboard/mark.svg"]


def test_every_file_of_the_folder_is_served_as_it_lies_there(client: FlaskClient) -> None:
    assert file_names() == [path.name for path in FILES]
    for path in FILES:
        answer = client.get(f"/dashboard/{path.name}")
        assert (answer.status_code, answer.data) == (200, path.read_bytes()), path.name
    assert client.get("/dashboard/files.json").get_json() == {"files": file_names()}
    assert client.get("/").data == (FOLDER / "index.html").read_bytes()


@pytest.mark.parametrize("place", PLACES)
def test_files_carry_the_headers_of_care_and_an_etag(client: FlaskClient, place: str) -> None:
    get, head = client.get(place), client.head(place)
    assert (get.status_code, head.status_code, head.data) == (200, 200, b"")
    headers = get.headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Content-Security-Policy"] == DASHBOARD_POLICY
    assert headers["Cache-Control"] == "no-cache"
    again = client.get(place, headers={"If-None-Match": headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_the_policy_lets_no_foreign_thing_and_no_written_script_in() -> None:
    parts = dict(part.strip().split(" ", 1) for part in DASHBOARD_POLICY.split(";"))
    assert parts["default-src"] == "'self'" and parts["frame-ancestors"] == "'none'"
    assert "unsafe" not in DASHBOARD_POLICY and "http" not in DASHBOARD_POLICY
    assert not {"script-src", "style-src", "connect-src"} & set(parts)


@pytest.mark.parametrize(
    "name",
    ["nothing.js", "Main.js", ".hidden.js", "..%2Fpages.py", "look.css%00", "a" * 80 + ".js"],
)
def test_nothing_else_is_served(
    client: FlaskClient, assert_problem: Callable[..., dict[str, Any]], name: str
) -> None:
    assert_problem(client.get(f"/dashboard/{name}"), 404, "not-found")


def test_types_are_said(client: FlaskClient) -> None:
    types = {place: client.get(place).content_type for place in PLACES}
    assert types["/"] == "text/html; charset=utf-8"
    assert types["/dashboard/main.js"] == "text/javascript; charset=utf-8"
    assert types["/dashboard/mark.svg"] == "image/svg+xml"
    assert client.get("/", headers={"Accept": "application/pdf"}).status_code == 406


def test_the_page_weighs_less_than_a_photograph() -> None:
    """1.5 MB over the wire is the limit for everything there is."""
    whole = [path for path in FOLDER.rglob("*") if path.is_file()]
    assert sum(path.stat().st_size for path in whole) < 1_500_000


@pytest.mark.parametrize("path", OURS, ids=lambda path: path.name)
def test_no_file_names_another_host(path: Path) -> None:
    text = path.read_text("utf-8").replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"\bhttps?:|[\"'(]//\w", text)


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_what_the_service_says_never_becomes_markup_or_script(path: Path) -> None:
    text = path.read_text("utf-8")
    forbidden = (
        r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function"
        r"|setAttribute\(\"style|srcdoc|javascript:"
    )
    assert not re.search(forbidden, text)
    assert len(text.splitlines()) <= 400


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_every_module_and_name_that_is_imported_is_there(path: Path) -> None:
    text = path.read_text("utf-8")
    for names, module in re.findall(r"import \{([^}]*)\} from \"\./([^\"]+)\"", text):
        exported = (FOLDER / module).read_text("utf-8")
        for name in (part.strip().split(" as ")[0] for part in names.split(",") if part.strip()):
            pattern = rf"export (?:async )?(?:function|const|class) {name}\b"
            assert re.search(pattern, exported), f"{name} of {module}"
            assert len(re.findall(rf"\b{name}\b", text)) > 1, f"{name} is not used"


def test_everything_the_page_refers_to_is_there() -> None:
    page = (FOLDER / "index.html").read_text("utf-8")
    for name in re.findall(r"\"/dashboard/([^\"]+)\"", page):
        assert (FOLDER / name).is_file()
    wanted, reached = set(), {"main.js"}
    while reached:
        wanted |= reached
        text = "".join((FOLDER / name).read_text("utf-8") for name in reached)
        reached = set(re.findall(r"from \"\./([^\"]+)\"", text)) - wanted
    preloaded = set(re.findall(r"modulepreload\" href=\"/dashboard/([^\"]+)\"", page))
    assert preloaded == wanted - {"main.js"}
    assert "<script>" not in page and " style=" not in page and " on" + "click" not in page


@pytest.fixture
def guarded() -> FlaskClient:
    """A service that asks for a token."""
    return create_app(Settings(token=TOKEN), fakes()).test_client()


BEARER = {"Authorization": f"Bearer {TOKEN}"}
OWN = {"Origin": "http://localhost"}


def test_the_page_can_be_seen_without_the_token_and_nothing_else(guarded: FlaskClient) -> None:
    for place in (*PLACES, "/dashboard/files.json", "/page.css", "/dashboard/session"):
        assert guarded.get(place).status_code == 200, place
    for place in ("/v1", "/v1/plans", "/v1/calculators/span", "/healthz"):
        assert guarded.get(place).status_code == 401, place
    assert guarded.get("/dashboard/session").get_json() == {
        "token_needed": True,
        "signed_in": False,
    }


def test_the_token_is_traded_once_for_a_cookie(guarded: FlaskClient) -> None:
    answer = guarded.post("/dashboard/session", headers={**BEARER, **OWN})
    cookie = answer.headers["Set-Cookie"]
    assert answer.status_code == 204
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie and "Path=/" in cookie
    assert TOKEN not in cookie
    assert guarded.get("/v1/plans").status_code == 200
    assert guarded.get("/dashboard/session").get_json()["signed_in"] is True
    body = {"title": "Desk", "rods": [{"id": "R120", "pitch_mm": 120}]}
    put = guarded.put("/v1/kits/desk", json=body, headers={"If-None-Match": "*", **OWN})
    assert put.status_code == 201
    assert guarded.delete("/dashboard/session", headers=OWN).status_code == 204
    assert guarded.get("/v1/plans").status_code == 401


@pytest.mark.parametrize("authorization", ["", "Bearer wrong", f"Basic {TOKEN}"])
def test_a_wrong_token_gets_no_cookie(
    guarded: FlaskClient, assert_problem: Callable[..., dict[str, Any]], authorization: str
) -> None:
    answer = guarded.post("/dashboard/session", headers={"Authorization": authorization})
    assert_problem(answer, 401, "unauthenticated")
    assert "Set-Cookie" not in answer.headers


def test_a_write_with_the_cookie_must_come_from_the_own_page(
    guarded: FlaskClient, assert_problem: Callable[..., dict[str, Any]]
) -> None:
    guarded.post("/dashboard/session", headers={**BEARER, **OWN})
    for headers in ({}, {"Origin": "http://evil.example"}, {"Sec-Fetch-Site": "same-site"}):
        answer = guarded.post("/v1/calculators/weigh/run", json={"length_mm": 1}, headers=headers)
        assert_problem(answer, 403, "cross-site")
    answer = guarded.post("/v1/calculators/weigh/run", json={"length_mm": 1}, headers=OWN)
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "spoil",
    [
        lambda value: value[:-1] + ("0" if value[-1] != "0" else "1"),
        lambda value: str(int(value.split(".")[0]) + 1) + "." + value.split(".")[1],
        lambda value: value.split(".")[0],
        lambda value: "",
        lambda value: "9" * 30 + "." + value.split(".")[1],
        lambda value: "²." + value.split(".")[1],
    ],
)
def test_a_spoilt_cookie_is_none(guarded: FlaskClient, spoil: Callable[[str], str]) -> None:
    guarded.post("/dashboard/session", headers={**BEARER, **OWN})
    kept = guarded.get_cookie(session.COOKIE)
    assert kept is not None
    guarded.set_cookie(session.COOKIE, spoil(kept.value))
    assert guarded.get("/v1/plans").status_code == 401


def test_a_cookie_ends_with_its_time_and_with_the_token(
    guarded: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    guarded.post("/dashboard/session", headers={**BEARER, **OWN})
    kept = guarded.get_cookie(session.COOKIE)
    assert kept is not None
    other = create_app(Settings(token=TOKEN + "other"), fakes()).test_client()
    other.set_cookie(session.COOKIE, kept.value)
    assert other.get("/v1/plans").status_code == 401
    later = time.time() + session.KEPT_S + 5
    monkeypatch.setattr(time, "time", lambda: later)
    assert guarded.get("/v1/plans").status_code == 401


def test_without_a_token_there_is_nothing_to_trade(client: FlaskClient) -> None:
    answer = client.post("/dashboard/session")
    assert answer.status_code == 204 and "Set-Cookie" not in answer.headers
    assert client.get("/dashboard/session").get_json() == {
        "token_needed": False,
        "signed_in": True,
    }

"""The service on a port: where it listens, who may ask, how it ends."""

import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import requests

from baywright_service.app import create_app
from baywright_service.network import is_loopback, why_not_safe
from baywright_service.registry import Registry
from baywright_service.server import RunningServer, listen, start
from baywright_service.settings import Settings, SettingsError
from tests.service.fakes import fakes

TOKEN = "a-token-of-more-than-128-bits-0123456789"


@pytest.fixture(scope="module")
def server() -> Iterator[RunningServer]:
    """A service on a free port."""
    with start(Settings(port=0, calculation_limit_s=0.5), fakes()) as server:
        yield server


def test_it_answers_as_soon_as_it_has_started(server: RunningServer) -> None:
    answer = requests.get(f"{server.url}/v1/calculators", timeout=5)
    assert answer.status_code == 200 and "Server" not in answer.headers


def test_a_run_over_the_wire_gives_the_bytes_of_a_run_inside(server: RunningServer) -> None:
    run, body = "/v1/calculators/weigh/run", {"length_mm": 12.5}
    inside = create_app(Settings(), fakes()).test_client().post(run, json=body)
    outside = requests.post(server.url + run, json=body, timeout=5)
    assert (outside.content, outside.headers["ETag"]) == (inside.data, inside.headers["ETag"])


@pytest.mark.parametrize("chunked", [False, True])
def test_too_large_a_body_is_a_problem_not_plain_text(server: RunningServer, chunked: bool) -> None:
    content = b" " * 5_000_000
    answer = requests.post(
        f"{server.url}/v1/plans/run",
        data=iter([content]) if chunked else content,
        headers={"Content-Type": "application/json"},
        timeout=10,
    )
    assert (answer.status_code, answer.json()["type"]) == (413, "/v1/problems/body-too-large")


def test_a_chunked_body_is_read(server: RunningServer) -> None:
    answer = requests.post(
        f"{server.url}/v1/calculators/weigh/run",
        data=iter([b'{"length', b'_mm": 1}']),
        headers={"Content-Type": "application/json"},
        timeout=5,
    )
    assert answer.status_code == 200


def test_headers_too_large_are_a_problem_not_plain_text(server: RunningServer) -> None:
    answer = requests.get(f"{server.url}/v1", headers={"X-Long": "a" * 20_000}, timeout=5)
    assert (answer.status_code, answer.json()["type"]) == (431, "/v1/problems/headers-too-large")


def test_closing_is_quick_even_with_a_connection_held_open() -> None:
    server = start(Settings(port=0), Registry({}))
    held = http.client.HTTPConnection("127.0.0.1", server.port)
    held.request("GET", "/healthz")
    held.getresponse().read()
    begun = time.perf_counter()
    server.close()
    server.close()
    assert time.perf_counter() - begun < 2.0
    with pytest.raises(OSError):
        socket.create_connection(("127.0.0.1", server.port), timeout=1).close()
    held.close()


def test_it_listens_on_this_machine_only_unless_told_otherwise(server: RunningServer) -> None:
    assert (Settings().host, server.host) == ("127.0.0.1", "127.0.0.1")


@pytest.mark.parametrize("host", ["127.0.0.1", "127.9.9.9", "::1", "[::1]", "localhost"])
def test_loopback_addresses_need_no_token(host: str) -> None:
    assert is_loopback(host) and why_not_safe(Settings(host=host)) == ""


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1", "", "no-such-name.invalid"])
def test_other_addresses_need_a_token(host: str) -> None:
    with pytest.raises(SettingsError, match="BAYWRIGHT_TOKEN"):
        listen(Settings(host=host, port=0))
    assert why_not_safe(Settings(host=host, token=TOKEN)) == ""


@pytest.mark.parametrize("host", ["0.0.0.0", "127.0.0.1"])
def test_a_short_token_is_refused(host: str) -> None:
    with pytest.raises(SettingsError, match="128 bits"):
        listen(Settings(host=host, port=0, token="x" * 21))


def test_a_port_in_use_is_said_so(server: RunningServer) -> None:
    with pytest.raises(SettingsError, match="cannot listen"):
        listen(Settings(port=server.port), Registry({}))


WRONG_TOKENS = ["", "Bearer", "Bearer wrong", f"Basic {TOKEN}", f"Bearer {TOKEN}x", "Bearer ü"]
PLACES = ["/healthz", "/readyz", "/v1", "/v1/openapi.json", "/v1/kits", "/nowhere"]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(
    "authorization",
    ["", "Bearer", "Bearer wrong", f"Basic {TOKEN}", f"Bearer {TOKEN}x", "Bearer ü"],
)
def test_with_a_token_every_request_needs_it(
    assert_problem: Callable[..., dict[str, Any]], place: str, authorization: str
) -> None:
    client = create_app(Settings(token=TOKEN), fakes()).test_client()
    headers = {"Authorization": authorization} if authorization else {}
    response = client.get(place, headers=headers)
    assert_problem(response, 401, "unauthenticated")
    assert response.headers["WWW-Authenticate"].startswith("Bearer")
    assert TOKEN not in response.get_data(as_text=True)
    good = client.get(place, headers={"Authorization": f"Bearer {TOKEN}"})
    assert good.status_code in (200, 404)


def test_a_token_in_the_address_is_no_token(assert_problem: Callable[..., dict[str, Any]]) -> None:
    client = create_app(Settings(token=TOKEN), fakes()).test_client()
    assert_problem(client.get(f"/v1?token={TOKEN}"), 401, "unauthenticated")


def test_beyond_loopback_addresses_are_answered_and_foreign_names_are_not() -> None:
    settings = Settings(host="0.0.0.0", token=TOKEN, allowed_hosts=("loft.example",))
    client = create_app(settings, fakes()).test_client()

    def status(name: str) -> int:
        headers = {"Host": name, "Authorization": f"Bearer {TOKEN}"}
        return client.get("/v1", headers=headers).status_code

    assert [status(name) for name in ("192.0.2.7:8080", "loft.example", "evil.example")] == [
        200,
        200,
        421,
    ]


def test_settings_come_from_the_environment_once() -> None:
    settings = Settings.from_environment(
        {
            "BAYWRIGHT_HOST": "::1",
            "BAYWRIGHT_PORT": "9000",
            "BAYWRIGHT_TOKEN": TOKEN,
            "BAYWRIGHT_STORE": "/tmp/x",
            "BAYWRIGHT_ALLOWED_HOSTS": "a.example, B.example",
            "BAYWRIGHT_CALCULATION_LIMIT_S": "2.5",
            "BAYWRIGHT_BODY_LIMIT_BYTES": "2048",
        }
    )
    assert (settings.host, settings.port, settings.token) == ("::1", 9000, TOKEN)
    assert settings.allowed_hosts == ("a.example", "b.example")
    assert (settings.calculation_limit_s, settings.body_limit_bytes) == (2.5, 2048)
    assert TOKEN not in repr(settings)


WRONG = {
    "BAYWRIGHT_PORT": "http",
    "BAYWRIGHT_THREADS": "0",
    "BAYWRIGHT_WORKERS": "-1",
    "BAYWRIGHT_CALCULATION_LIMIT_S": "nan",
    "BAYWRIGHT_BODY_LIMIT_BYTES": "1",
    "BAYWRIGHT_DEPTH_LIMIT": "1e3",
}


@pytest.mark.parametrize(("name", "text"), WRONG.items())
def test_a_wrong_setting_is_named(name: str, text: str) -> None:
    with pytest.raises(SettingsError, match=name):
        Settings.from_environment({name: text})


def test_a_token_file_is_made_for_its_owner_and_survives(tmp_path: Path) -> None:
    path = tmp_path / "token"
    given = {"BAYWRIGHT_TOKEN_FILE": str(path)}
    first = Settings.from_environment(given).token
    assert len(first) >= 22 and path.stat().st_mode & 0o777 == 0o600
    assert Settings.from_environment(given).token == first
    path.chmod(0o644)
    with pytest.raises(SettingsError, match="chmod 600"):
        Settings.from_environment(given)


def test_every_setting_is_documented_by_its_variable() -> None:
    """Each field of Settings names its variable in the line above it."""
    source = Path(sys.modules[Settings.__module__].__file__ or "").read_text()
    for name in Settings.__dataclass_fields__:
        assert f"#: BAYWRIGHT_{name.upper()}" in source, name


def _service(environment: dict[str, str]) -> subprocess.Popen[str]:
    """The module as a process."""
    return subprocess.Popen(
        [sys.executable, "-m", "baywright_service"],
        env={**os.environ, **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_the_module_serves_until_interrupted(tmp_path: Path) -> None:
    with _service({"BAYWRIGHT_PORT": "0", "BAYWRIGHT_STORE": str(tmp_path / "s")}) as process:
        assert process.stdout is not None
        url = process.stdout.readline().split()[3]
        assert requests.get(f"{url}/healthz", timeout=5).status_code == 200
        process.send_signal(signal.SIGINT)
        assert process.wait(10) == 0


def test_the_module_refuses_an_open_door_in_words() -> None:
    with _service({"BAYWRIGHT_HOST": "0.0.0.0", "BAYWRIGHT_PORT": "0"}) as process:
        assert process.stderr is not None and process.wait(20) == 2
        words = process.stderr.read()
    assert "BAYWRIGHT_TOKEN" in words and "Traceback" not in words


def test_worker_processes_end_a_calculation_at_its_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same answers as in one process; an endless calculation is ended and the next one runs."""
    monkeypatch.syspath_prepend(Path(__file__).parents[2])  # workers import the fakes by name
    settings = Settings(port=0, workers=1, calculation_limit_s=1.0)
    with start(settings, fakes()) as server:
        url = f"{server.url}/v1/calculators"
        slow = requests.post(f"{url}/fail/run", json={"how": "slow"}, timeout=30)
        assert slow.json()["type"] == "/v1/problems/calculation-limit"
        refused = requests.post(f"{url}/fail/run", json={"how": "refuse"}, timeout=30)
        assert refused.json()["type"] == "/v1/problems/cannot-calculate"
        good = requests.post(f"{url}/weigh/run", json={"length_mm": 1000}, timeout=30)
        assert good.json()["result"]["mass_g"] == 100.0

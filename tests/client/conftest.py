"""A real service with one small calculator of our own, and a stand-in that answers as told."""

import io
import sys
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from baywright_client.cli import status_of
from tests.client.helpers import TOKEN, Command, Ran, StandIn, shelf_service


@pytest.fixture(scope="session")
def service_url() -> Iterator[str]:
    """Where a service with the shelf calculator listens."""
    with shelf_service() as url:
        yield url


@pytest.fixture
def command(
    capfdbinary: pytest.CaptureFixture[bytes], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Command:
    """Runs the command line in this process, in a folder of its own."""
    for name in ("BAYWRIGHT_SERVICE", "BAYWRIGHT_TOKEN", "BAYWRIGHT_TOKEN_FILE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)

    def run(*arguments: str, stdin: bytes = b"") -> Ran:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin), "utf-8"))
        status = status_of(list(arguments))
        sys.stdout.flush()
        sys.stderr.flush()
        out, err = capfdbinary.readouterr()
        return Ran(status, out, err.decode())

    return run


@pytest.fixture
def baywright(command: Command, service_url: str, monkeypatch: pytest.MonkeyPatch) -> Command:
    """The command line against the service with the shelf calculator."""
    monkeypatch.setenv("BAYWRIGHT_SERVICE", service_url)
    monkeypatch.setenv("BAYWRIGHT_TOKEN", TOKEN)
    return command


@pytest.fixture
def stand_in() -> Iterator[StandIn]:
    told = StandIn()

    class Handler(BaseHTTPRequestHandler):
        def answer(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            told.requests.append((self.command, self.path, dict(self.headers), body))
            if told.wait:
                told.patience.wait(20.0)
            self.send_response(told.status)
            for name, value in told.headers.items():
                self.send_header(name, value)
            self.send_header("Content-Length", str(len(told.content)))
            self.end_headers()
            self.wfile.write(told.content)

        do_GET = do_POST = do_PUT = do_DELETE = answer

        def log_message(self, format: str, *args: Any) -> None:
            return None

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    told.url = f"http://127.0.0.1:{server.server_port}"
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield told
    told.patience.set()
    server.shutdown()
    server.server_close()

"""Whole jobs through the installed command: a service that stays, documents, interruption."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest

BAYWRIGHT = [sys.executable, "-m", "baywright_client"]


def environment(folder: Path, **extra: str) -> dict[str, str]:
    """A clean environment whose stored documents live in `folder`."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("BAYWRIGHT_")}
    return {**kept, "XDG_DATA_HOME": str(folder), "COLUMNS": "100", **extra}


def baywright(
    folder: Path, *arguments: str, text: str = "", **extra: str
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*BAYWRIGHT, *arguments],
        cwd=folder,
        env=environment(folder, **extra),
        input=text,
        capture_output=True,
        text=True,
        timeout=120,
    )


@contextmanager
def serving(folder: Path, *arguments: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """`baywright serve` and where it answers."""
    running = subprocess.Popen(
        [*BAYWRIGHT, "serve", "--port", "0", *arguments],
        cwd=folder,
        env=environment(folder),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert running.stdout is not None
        line = running.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+", line)
        assert found, line
        yield running, found[0]
    finally:
        if running.poll() is None:
            running.kill()
        running.communicate()


STOCK = "title: Shelf\ncounts:\n  - {item: R120, on_hand_count: 5}\n"


def test_documents_outlive_the_service(tmp_path: Path) -> None:
    """Put, end the service, start another on the same file: still there."""
    (tmp_path / "stock.yaml").write_text(STOCK)
    with serving(tmp_path, "--store", "kept.sqlite3") as (running, url):
        assert baywright(tmp_path, "--service", url, "list").returncode == 0
        put = baywright(tmp_path, "stock", "put", "shelf", "stock.yaml", BAYWRIGHT_SERVICE=url)
        assert put.returncode == 0, put.stderr
        running.send_signal(signal.SIGINT)
        assert running.wait(20) == 130
        assert "Traceback" not in (running.stderr.read() if running.stderr else "")
    with serving(tmp_path, "--store", "kept.sqlite3") as (_, url):
        got = baywright(tmp_path, "--service", url, "stock", "get", "shelf")
        assert json.loads(got.stdout)["counts"][0]["on_hand_count"] == 5


def test_without_a_service_documents_are_kept_too(tmp_path: Path) -> None:
    """Each command has a service of its own; the documents are the same."""
    assert baywright(tmp_path, "stock", "put", "shelf", "-", text=STOCK).returncode == 0
    assert "shelf" in baywright(tmp_path, "stock", "list").stdout
    assert baywright(tmp_path, "stock", "delete", "shelf").returncode == 0
    assert baywright(tmp_path, "stock", "get", "shelf").returncode == 3


def test_settings_of_a_server_do_not_disturb_a_single_command(tmp_path: Path) -> None:
    ran = baywright(
        tmp_path, "list", BAYWRIGHT_HOST="0.0.0.0", BAYWRIGHT_PORT="1", BAYWRIGHT_TOKEN="x"
    )
    assert ran.returncode == 0, ran.stderr


def test_beyond_this_machine_a_token_is_needed(tmp_path: Path) -> None:
    ran = baywright(tmp_path, "serve", "--host", "0.0.0.0", "--port", "0")
    assert ran.returncode == 2
    assert "BAYWRIGHT_TOKEN" in ran.stderr and "Traceback" not in ran.stderr


def test_a_port_that_is_taken(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        ran = baywright(tmp_path, "serve", "--port", str(taken.getsockname()[1]))
    assert ran.returncode == 2 and "Traceback" not in ran.stderr


@pytest.mark.parametrize("arguments", [["list"], ["show", "shelf", "--json"]])
def test_interrupted_while_waiting_ends_with_130(tmp_path: Path, arguments: list[str]) -> None:
    """Ctrl-C while the service thinks."""
    asked, done = threading.Event(), threading.Event()

    class Silent(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.set()
            done.wait(30)

    server = HTTPServer(("127.0.0.1", 0), Silent)
    threading.Thread(target=server.handle_request, daemon=True).start()
    running = subprocess.Popen(
        [*BAYWRIGHT, "--service", f"http://127.0.0.1:{server.server_port}", *arguments],
        env=environment(tmp_path),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert asked.wait(20)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=20)
    finally:
        done.set()
        running.kill()
        server.server_close()
    assert running.returncode == 130
    assert err.strip() == "Interrupted." and not out


def test_interrupted_while_calculating_ends_with_130_at_once(tmp_path: Path) -> None:
    """The service of the command is in the middle of the demo's first plan."""
    running = subprocess.Popen(
        [*BAYWRIGHT, "demo"],
        cwd=tmp_path,
        env=environment(tmp_path),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert running.stderr is not None
    assert "planned" in running.stderr.readline()
    time.sleep(1.0)
    running.send_signal(signal.SIGINT)
    try:
        _, err = running.communicate(timeout=5)
    finally:
        running.kill()
    assert running.returncode == 130
    assert err.splitlines()[-1] == "Interrupted." and "Traceback" not in err


def test_completion_knows_the_calculators(tmp_path: Path) -> None:
    """Completion gives up without a word when its service is slow to start, and the shell asks
    again at the next key: so does this test, twice."""
    for _ in range(3):
        ran = baywright(
            tmp_path, COMP_WORDS="baywright show part", COMP_CWORD="2",
            _BAYWRIGHT_COMPLETE="bash_complete",
        )  # fmt: skip
        if ran.stdout:
            break
    assert ran.stdout.split() == ["plain,part-count"], (ran.returncode, ran.stderr)

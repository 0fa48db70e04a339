"""A real Chromium looking at a real service; skipped, with the reason, where there is none.

Everything a page says on its console, every error in it and every request to another host fails
the test that opened it.
"""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
import requests

from baywright_client.api import Api
from baywright_client.stored_demo import store_demo
from baywright_service.registry import Registry
from baywright_service.server import RunningServer, start
from baywright_service.settings import Settings
from tests.browser.plugins import strangers

HERE = Path(__file__).parent
NAMES = ("chromium", "chromium-browser", "google-chrome")
#: No sandbox in containers; WebGL in software, since there is no graphics card.
ARGUMENTS = [
    "--no-sandbox",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
]
#: Generous: other work may share the machine.
PATIENCE_MS = 60_000


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything here needs a browser."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Debian's Chromium, without a window."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    path = next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        pytest.skip(f"none of {', '.join(NAMES)} is installed")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningServer]:
    """The built-in calculators and the demo's stored plans, each answered once."""
    store = str(tmp_path_factory.mktemp("store") / "documents.sqlite3")
    with start(Settings(port=0, store=store, threads=16, calculation_limit_s=120.0)) as server:
        api = Api(server.url, token="", local=True)
        for id in store_demo(api):
            requests.get(f"{server.url}/v1/plans/{id}/summary", timeout=300).raise_for_status()
        yield server


@pytest.fixture
def small(tmp_path: Path) -> Iterator[RunningServer]:
    """Calculators that nobody here wrote a page for, and an empty store."""
    settings = Settings(port=0, store=str(tmp_path / "documents.sqlite3"), threads=16)
    with start(settings, strangers()) as server:
        yield server


@pytest.fixture
def guarded(tmp_path: Path) -> Iterator[RunningServer]:
    """A service that asks for a token."""
    settings = Settings(port=0, store=str(tmp_path / "documents.sqlite3"), token="t" * 40)
    with start(settings, strangers()) as server:
        yield server


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[RunningServer]:
    """No calculator at all."""
    settings = Settings(port=0, store=str(tmp_path / "documents.sqlite3"))
    with start(settings, Registry({})) as server:
        yield server


@pytest.fixture
def open_page(chromium: Any) -> Iterator[Callable[..., Any]]:
    """Open an address of a service; what the page complains of fails the test.

    `refusals` are statuses that the service is meant to answer with: browsers log each.
    """
    contexts: list[Any] = []
    complaints: list[str] = []

    def open_one(server: RunningServer, place: str = "", **options: Any) -> Any:
        allowed = [f"status of {status} " for status in options.pop("refusals", ())]
        options.setdefault("viewport", {"width": 1280, "height": 800})
        context = chromium.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)

        def listen(message: Any) -> None:
            text = message.text
            if message.type in ("error", "warning") and not any(word in text for word in allowed):
                complaints.append(text)

        page.on("console", listen)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        own = urlsplit(server.url).netloc

        def watch(request: Any) -> None:
            parts = urlsplit(request.url)
            if parts.scheme not in ("blob", "data") and parts.netloc != own:
                complaints.append(f"asked {request.url}")

        page.on("request", watch)
        page.goto(f"{server.url}/{place}")
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert complaints == []

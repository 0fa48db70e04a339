"""A service of tiny calculators, so that the host is tested without any engineering."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from baywright_service.app import create_app
from baywright_service.settings import Settings
from tests.service.fakes import fakes


@pytest.fixture
def app(tmp_path: Path) -> Iterator[Flask]:
    """The service of tiny calculators."""
    settings = Settings(store=str(tmp_path / "documents.sqlite3"), calculation_limit_s=0.5)
    app = create_app(settings, fakes())
    yield app
    app.extensions["baywright"].documents.close()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """Its client."""
    return app.test_client()


@pytest.fixture
def post(client: FlaskClient) -> Callable[[str, Any], TestResponse]:
    """Post a body to the run of a tiny calculator."""

    def run(name: str, body: Any) -> TestResponse:
        return client.post(f"/v1/calculators/{name}/run", json=body)

    return run

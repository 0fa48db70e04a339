"""What all tests of the service and of calculators share."""

import signal
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from werkzeug.test import TestResponse

from baywright_service.app import create_app
from baywright_service.contract import Calculator
from baywright_service.envelope import envelope
from baywright_service.json_writer import plain
from baywright_service.registry import Registry, installed
from baywright_service.schemas import json_schema
from baywright_service.settings import Settings

Post = Callable[[str, Any], TestResponse]

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # A shell starts what runs in the background so, and so would every process of these tests.
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def built_in() -> Registry:
    """The calculators of this distribution; none of them may have been refused."""
    registry = installed(built_in_only=True)
    assert not registry.refused, registry.refused
    return registry


@pytest.fixture
def client(built_in: Registry, tmp_path: Path) -> Iterator[FlaskClient]:
    """An application with the built-in calculators and an empty store."""
    app = create_app(Settings(store=str(tmp_path / "documents.sqlite3")), built_in)
    yield app.test_client()
    app.extensions["baywright"].documents.close()


@pytest.fixture
def post(client: FlaskClient) -> Post:
    """Post a body to the run of a calculator."""

    def run(name: str, body: Any) -> TestResponse:
        return client.post(f"/v1/calculators/{name}/run", json=body)

    return run


@pytest.fixture(scope="session")
def assert_problem() -> Callable[..., dict[str, Any]]:
    """A function that holds a response to the one shape of problems, and gives its body."""

    def check(response: TestResponse, status: int, type: str) -> dict[str, Any]:
        body = response.get_json(force=True)
        assert response.content_type == "application/problem+json"
        assert (response.status_code, body["type"]) == (status, f"/v1/problems/{type}"), body
        assert body["status"] == status and body["title"] and body["detail"]
        assert body["instance"] == f"urn:uuid:{response.headers['Request-Id']}"
        assert len(body.get("errors", ())) == min(body.get("errors_total", 0), 100)
        for error in body.get("errors", ()):
            assert len({"pointer", "parameter", "header"} & set(error)) == 1
            assert error["code"] and error["detail"]
        found: dict[str, Any] = body
        return found

    return check


@pytest.fixture(scope="session")
def faults_of() -> Callable[[TestResponse], list[tuple[str, str]]]:
    """The faults of a problem as (pointer, code), in order."""

    def read(response: TestResponse) -> list[tuple[str, str]]:
        errors = response.get_json(force=True).get("errors", ())
        return [(error["pointer"], error["code"]) for error in errors]

    return read


@pytest.fixture(scope="session")
def assert_example_holds() -> Callable[[Calculator, Mapping[str, Any]], None]:
    """A function that runs inputs and holds inputs and result to the published JSON Schemas."""

    def check(calculator: Calculator, inputs: Mapping[str, Any]) -> None:
        Draft202012Validator(json_schema(calculator.inputs_schema)).validate(plain(inputs))
        result = calculator.calculate(calculator.load(inputs))
        answer = plain(envelope(calculator, result, ()))
        Draft202012Validator(json_schema(calculator.result_schema)).validate(answer["result"])

    return check

"""Plug-ins come from anywhere; what breaks the contract is refused by name, and the rest runs."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, ClassVar

import pytest
import requests

from baywright_service.app import create_app
from baywright_service.contract import Calculator, InputSchema, Num, ResultSchema
from baywright_service.openapi import document
from baywright_service.registry import BreaksContract, Registry, check
from baywright_service.settings import Settings
from tests.service.fakes import Span, fakes

THIRD_PARTY = Path(__file__).parent / "third_party"


def test_a_service_without_any_calculator_starts_lists_and_runs(
    assert_problem: Callable[..., dict[str, Any]],
) -> None:
    client = create_app(Settings(), Registry({})).test_client()
    assert client.get("/v1/calculators").get_json() == {"items": [], "refused": []}
    for place in ("/", "/v1", "/v1/openapi.json", "/healthz", "/readyz"):
        assert client.get(place).status_code == 200
    assert_problem(client.post("/v1/calculators/span/run", json={}), 404, "not-found")
    anything = client.put("/v1/kits/a", json={"any": ["thing"]}, headers={"If-None-Match": "*"})
    assert anything.status_code == 201
    step = {"id": "a", "calculator": "span", "inputs": {}}
    assert_problem(client.post("/v1/plans/run", json={"steps": [step]}), 422, "plan-not-valid")


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The third party's distribution, built and installed into a folder of its own."""
    target = tmp_path_factory.mktemp("site")
    subprocess.run(
        [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-build-isolation"]
        + ["--disable-pip-version-check", "--no-index", "--target", str(target), str(THIRD_PARTY)],
        check=True,
    )
    return target


@pytest.fixture(scope="module")
def url(installed: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A service, unchanged, started where that distribution is installed."""
    store = str(tmp_path_factory.mktemp("store") / "documents")
    environment = {"BAYWRIGHT_PORT": "0", "BAYWRIGHT_STORE": store, "PYTHONPATH": str(installed)}
    with subprocess.Popen(
        [sys.executable, "-m", "baywright_service"],
        env={**os.environ, **environment},
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        yield process.stdout.readline().split()[3]
        process.terminate()


def test_a_third_party_calculator_is_listed(url: str) -> None:
    listed = requests.get(f"{url}/v1/calculators", timeout=10).json()
    assert {each["name"]: each["version"] for each in listed["items"]}["bounce-height"] == "0.3.0"


def test_a_third_party_calculator_runs_in_every_form(url: str) -> None:
    run = f"{url}/v1/calculators/bounce-height/run"
    body = {"drop_mm": 1000, "restitution_ratio": 0.5, "bounces": 1}
    assert requests.post(run, json=body, timeout=10).json()["result"] == {"heights_mm": 250.0}
    for form, start in (("svg", b"<svg "), ("csv", b"height_mm\r\n250.0\r\n")):
        answer = requests.post(f"{run}?format={form}", json=body, timeout=10)
        assert answer.content.startswith(start)
    fault = requests.post(run, json={"drop": 1000}, timeout=10).json()["errors"][0]
    assert fault["detail"] == "No such field. Did you mean drop_mm?"


def test_a_third_party_calculator_is_documented(url: str) -> None:
    paths = requests.get(f"{url}/v1/openapi.json", timeout=10).json()["paths"]
    content = paths["/v1/calculators/bounce-height/run"]["post"]["requestBody"]["content"]
    assert content["application/json"]["examples"]["example-1"]["value"] == {"drop_mm": 1000}
    shown = requests.get(f"{url}/v1/calculators/bounce-height", timeout=10).json()
    assert shown["input_schema"]["properties"]["drop_mm"]["x-unit"] == "mm"


def test_a_third_party_calculator_takes_part_in_plans(url: str) -> None:
    step = {"id": "b", "calculator": "bounce-height", "inputs": {"drop_mm": 1000}}
    answer = requests.post(f"{url}/v1/plans/run", json={"steps": [step]}, timeout=10).json()
    assert answer["steps"][0]["status"] == "done"


def test_what_breaks_the_contract_is_refused_by_name_with_the_reason(url: str) -> None:
    listed = requests.get(f"{url}/v1/calculators", timeout=10).json()
    refused = {each["name"]: each for each in listed["refused"]}
    assert refused["bounce-broken"]["distribution"] == "acme-bounce"
    assert "version, inputs_schema, result_schema" in refused["bounce-broken"]["reason"]
    assert "No module named 'acme_bounce.nowhere'" in refused["bounce-missing"]["reason"]
    assert "cannot import name 'Calculato'" in refused["bounce-misspelt"]["reason"]
    assert "/" not in refused["bounce-misspelt"]["reason"]
    assert not set(refused) & {each["name"] for each in listed["items"]}


class Good(InputSchema):
    """An input."""

    x_mm = Num("mm")


class Odd(Num):
    """A field that cannot describe itself."""

    def describe(self) -> dict[str, Any]:
        raise RuntimeError("no description")


class OddInputs(InputSchema):
    """Inputs of an odd field."""

    x_mm = Odd("mm")


class NoMethod(Calculator):
    """Forgets calculate."""

    name = "span"
    version = "1.0.0"
    title = summary = "x"
    inputs_schema = Good
    result_schema = Span.result_schema
    examples, sources, cautions = Span.examples, Span.sources, Span.cautions


class NoDraw(Span):
    """Names views and draws nothing."""

    draw = Calculator.draw


class NoTable(Span):
    """Is tabular and has no table."""

    table = Calculator.table


BREAKS: dict[str, tuple[object, str]] = {
    "no class": (42, "subclass of Calculator"),
    "another class": (dict, "subclass of Calculator"),
    "no calculate": (NoMethod, "methods calculate"),
    "no draw": (NoDraw, "draw method"),
    "no table": (NoTable, "table method"),
    "name unlike its entry point": (type("A", (Span,), {"name": "spam"}), "found spam"),
    "version": (type("A", (Span,), {"version": "1.0"}), "semantic version"),
    "no examples": (type("A", (Span,), {"examples": ()}), "examples"),
    "no cautions": (type("A", (Span,), {"cautions": ()}), "cautions"),
    "open inputs": (type("A", (Span,), {"inputs_schema": ResultSchema}), "InputSchema"),
    "closed result": (type("A", (Span,), {"result_schema": InputSchema}), "ResultSchema"),
    "no description": (type("A", (Span,), {"inputs_schema": OddInputs}), "no description"),
}


@pytest.mark.parametrize(("kind", "reason"), BREAKS.values(), ids=BREAKS.keys())
def test_each_breach_is_told_with_what_was_expected(kind: object, reason: str) -> None:
    with pytest.raises(BreaksContract, match=reason):
        check(kind, "span")


class SpanInputs(InputSchema):
    """Same class name as in the fakes, in another module."""

    other_mm = Num("mm", minimum=0, maximum=1)


class Twin(Span):
    """Has the name of another's schema."""

    name: ClassVar[str] = "twin"
    inputs_schema: ClassVar[type[InputSchema]] = SpanInputs


def test_schemas_of_one_name_stay_apart() -> None:
    calculators = {**fakes().calculators, "twin": Twin()}
    shapes = document(Registry(calculators))["components"]["schemas"]
    assert "bays" in shapes["fakes.SpanInputs"]["properties"]
    assert "other_mm" in shapes["test_registry.SpanInputs"]["properties"]

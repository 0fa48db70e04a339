"""One document from the schemas that validate: valid, complete, and true under random requests."""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
import schemathesis
import yaml
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, settings
from jsonschema import Draft202012Validator
from openapi_spec_validator import validate
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_schema_conformance,
    status_code_conformance,
)

from baywright_service.app import create_app
from baywright_service.contract import Calculator
from baywright_service.openapi import document, yaml_text
from baywright_service.registry import Registry, registry_of
from baywright_service.schemas import json_schema
from baywright_service.settings import Settings
from tests.service.fakes import Everything, Span, Weigh, fakes

LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
GOLDEN = Path(__file__).parents[2] / "openapi.yaml"


def test_the_document_is_valid_openapi_3_1() -> None:
    whole = document(fakes())
    validate(whole)
    assert whole["openapi"].startswith("3.1")


def test_json_and_yaml_say_the_same(client: FlaskClient) -> None:
    served = client.get("/v1/openapi.json").get_json()
    text = client.get("/v1/openapi.yaml").get_data(as_text=True)
    assert served == yaml.load(text, Loader=LOADER)
    assert served == document(fakes())


def test_every_route_is_documented_and_nothing_else(app: Flask) -> None:
    """Rules of Flask, with the run of each calculator and each collection written out."""
    routes = set()
    for rule in app.url_map.iter_rules():
        path = re.sub(r"<(?:[^:<>]+:)?(\w+)>", r"{\1}", rule.rule)
        path = path.replace("/problems/{name}", "/problems/{type}")
        paths = [path]
        if "{collection}" in path:
            paths = [path.replace("{collection}", kind) for kind in ("kits", "stocks", "plans")]
        if path.endswith("{name}/run"):
            paths = [path.replace("{name}", name) for name in fakes().calculators]
        methods = {m.lower() for m in rule.methods or ()} - {"head", "options"}
        routes |= {(path, method) for path in paths for method in methods}
    documented = {
        (path, method)
        for path, item in document(fakes())["paths"].items()
        for method in item
        if method != "parameters"
    }
    assert documented == routes


def test_the_file_in_the_tree_is_what_the_service_serves(built_in: Registry) -> None:
    """Write it anew with: python -m baywright_service.openapi > openapi.yaml"""
    whole = document(built_in)
    validate(whole)
    in_the_tree = yaml.load(GOLDEN.read_text(), Loader=LOADER)
    served = create_app(Settings(), built_in).test_client().get("/v1/openapi.json").get_json()
    written = dict(parts_of(in_the_tree))
    different = [part for part, one in parts_of(whole) if written.get(part) != one]
    assert different == [], "a whole difference would be thousands of lines"
    assert bool(in_the_tree == whole) and bool(served == whole)


def parts_of(whole: Any) -> list[tuple[str, Any]]:
    """Paths and schemas by name."""
    schemas = whole["components"]["schemas"].items()
    return [*whole["paths"].items(), *((f"schema {name}", one) for name, one in schemas)]


def test_the_yaml_is_the_same_each_time() -> None:
    assert yaml_text(fakes()) == yaml_text(fakes())


def test_a_schema_keeps_titles_units_bounds_and_is_closed() -> None:
    schema = json_schema(Everything.inputs_schema)
    Draft202012Validator.check_schema(schema)
    properties = schema["properties"]
    assert schema["additionalProperties"] is False
    assert properties["number_n"] == {
        "title": "A force",
        "description": "Pulls.",
        "x-unit": "N",
        "type": ["number", "null"],
        "minimum": -5,
        "maximum": 5,
    }
    assert properties["above_kg"]["exclusiveMinimum"] == 0
    assert properties["whole"]["type"] == ["integer", "null"]
    assert properties["choice"]["enum"] == ["single", "crossed", None]
    assert properties["flag"] == {"type": ["boolean", "null"], "default": False}
    rows = properties["rows"]
    assert (rows["maxItems"], rows["items"]["minItems"], rows["items"]["maxItems"]) == (20, 3, 3)
    assert rows["x-unit"] == "mm" and rows["items"]["items"]["type"] == "number"
    assert properties["items"]["items"]["$ref"] == "#/$defs/fakes.Count"
    assert properties["by_key"]["additionalProperties"]["maximum"] == 1
    assert len(properties["one_of"]["anyOf"]) == 3
    assert json_schema(Span.inputs_schema)["properties"]["bays"]["type"] == "integer"
    assert properties["part"]["properties"]["inner_mm"]["x-unit"] == "mm"


def test_a_document_may_be_inline_or_named() -> None:
    kit = json_schema(Span.inputs_schema)["properties"]["kit"]
    assert kit["title"] == "Kit"
    assert kit["anyOf"][0] == {"$ref": "#/$defs/fakes.Kit"}
    assert kit["anyOf"][1]["required"] == ["id"]


def test_results_may_gain_members() -> None:
    assert "additionalProperties" not in json_schema(Span.result_schema)


@pytest.mark.parametrize("calculator", fakes().calculators.values(), ids=lambda each: each.name)
def test_examples_follow_the_published_schemas(
    calculator: Calculator,
    assert_example_holds: Callable[[Calculator, Mapping[str, Any]], None],
) -> None:
    if calculator.name != "fail":
        for example in calculator.examples:
            assert_example_holds(calculator, example.inputs)


CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
    negative_data_rejection,
]
API = schemathesis.openapi.from_wsgi(
    "/v1/openapi.json", create_app(Settings(), registry_of(Span, Weigh, Everything))
)


@API.parametrize()
@settings(max_examples=10, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_random_requests_are_answered_as_documented(case: Any) -> None:
    """Valid or spoiled, each answer has a documented status, type and shape."""
    case.call_and_validate(checks=CHECKS)

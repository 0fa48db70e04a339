"""The calculators of this distribution, through the service: whatever they compute, the house rules
hold for each of them."""

import json
import random
from collections.abc import Callable, Iterator, Mapping
from typing import Any
from xml.etree import ElementTree

import pytest
import schemathesis
from flask.testing import FlaskClient
from hypothesis import HealthCheck, Phase, settings

from baywright_service.app import create_app
from baywright_service.contract import LEVELS, Calculator, Example
from baywright_service.json_writer import plain
from baywright_service.openapi import document
from baywright_service.pointers import PointerToNowhere, merge_patch, parts_of, resolve
from baywright_service.registry import Registry, installed
from baywright_service.schemas import Walk, json_schema
from baywright_service.settings import Settings
from tests.service.test_openapi import CHECKS

BUILT_IN = installed(built_in_only=True)
CALCULATORS = list(BUILT_IN.calculators.values())
EXAMPLES = [
    pytest.param(calculator, example, id=f"{calculator.name}-{k}")
    for calculator in CALCULATORS
    for k, example in enumerate(calculator.examples, 1)
]
ABSENT = object()
SAFETY = (
    "Planning aid, not a safety certificate: follow local rules and let a competent or licensed "
    "person decide."
)


@pytest.fixture(scope="module")
def client() -> Iterator[FlaskClient]:
    """The service as it is delivered."""
    yield create_app(Settings(calculation_limit_s=60.0), BUILT_IN).test_client()


def post(client: FlaskClient, calculator: Calculator, inputs: Any, query: str = "") -> Any:
    """One run."""
    return client.post(f"/v1/calculators/{calculator.name}/run{query}", json=inputs)


def test_none_is_refused(built_in: Registry) -> None:
    needed = {"grid-fit", "truss-check", "floor-tiling-ratio", "lift-redundancy", "part-count"}
    assert needed <= set(built_in.calculators)


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda each: each.name)
def test_each_says_what_it_is(calculator: Calculator) -> None:
    assert SAFETY in calculator.cautions
    assert calculator.views and calculator.tabular
    assert all(source.title for source in calculator.sources)


@pytest.mark.parametrize(("calculator", "example"), EXAMPLES)
def test_each_example_follows_the_published_schemas(
    calculator: Calculator,
    example: Example,
    assert_example_holds: Callable[[Calculator, Mapping[str, Any]], None],
) -> None:
    assert_example_holds(calculator, example.inputs)


@pytest.mark.parametrize(("calculator", "example"), EXAMPLES)
def test_each_example_gives_equal_bytes_and_honest_findings(
    client: FlaskClient, calculator: Calculator, example: Example
) -> None:
    first, second = (post(client, calculator, example.inputs) for _ in range(2))
    assert first.status_code == 200, first.data
    assert first.data == second.data
    envelope = first.get_json()
    levels = [finding["level"] for finding in envelope["findings"]]
    assert envelope["verdict"] == max(levels, key=LEVELS.index, default="ok")
    fields = Walk(json_schema(calculator.inputs_schema))
    for finding in envelope["findings"]:
        for pointer in finding["at"]:
            found = stands(envelope, pointer) or stands(envelope["result"], pointer)
            assert found or fields.at(parts_of(pointer)), pointer


@pytest.mark.parametrize(("calculator", "example"), EXAMPLES)
def test_each_remedy_clears_its_finding(
    client: FlaskClient, calculator: Calculator, example: Example
) -> None:
    """A patch is there only where it is proven: with it, that finding is gone from that place."""
    for finding in post(client, calculator, example.inputs).get_json()["findings"]:
        patch = finding.get("remedy", {}).get("patch")
        if patch is None:
            continue
        patched = post(client, calculator, merge_patch(example.inputs, patch))
        assert patched.status_code == 200, patched.data
        left = [each for each in patched.get_json()["findings"] if each["level"] == "stop"]
        assert (finding["code"], finding["at"]) not in [(each["code"], each["at"]) for each in left]


@pytest.mark.parametrize(("calculator", "example"), EXAMPLES)
def test_each_view_and_table_of_each_example_is_sound(
    client: FlaskClient, calculator: Calculator, example: Example
) -> None:
    for view in calculator.views:
        picture = post(client, calculator, example.inputs, f"?format=svg&view={view}")
        assert picture.status_code == 200, picture.data
        root = ElementTree.fromstring(picture.data)
        tags = {element.tag.rpartition("}")[2] for element in root.iter()}
        assert not tags & {"script", "foreignObject", "image", "style"}
        assert root[0].text and root[1].text
    table = post(client, calculator, example.inputs, "?format=csv").data.decode()
    assert table.endswith("\r\n") and table.count("\r\n") == table.count("\n")


def balls(value: Any) -> Iterator[float]:
    """Every diameter of a ball inside some inputs."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key == "ball" and isinstance(inner, Mapping) and "diameter_mm" in inner:
                yield inner["diameter_mm"]
            elif key == "ball_diameter_mm":
                yield inner
            yield from balls(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from balls(inner)


SMALLEST_BALL_MM = [
    (calculator, example, min(sizes))
    for calculator in CALCULATORS
    for example in calculator.examples
    if (sizes := list(balls(plain(example.inputs))))
]


@pytest.mark.parametrize(
    ("calculator", "example", "smallest_mm"),
    SMALLEST_BALL_MM,
    ids=[f"{calculator.name}-{example.title}" for calculator, example, _ in SMALLEST_BALL_MM],
)
def test_a_ball_small_enough_to_choke_on_is_warned_of_and_no_other(
    client: FlaskClient, calculator: Calculator, example: Example, smallest_mm: float
) -> None:
    """16 CFR 1500.18(a)(17): 1.75 in, 44.45 mm; the rule stands among the sources."""
    envelope = post(client, calculator, example.inputs).get_json()
    small = smallest_mm <= 44.45
    assert any("choke" in caution for caution in envelope["cautions"]) is small
    rule = "16 CFR 1500.18(a)(17), small balls"
    assert any(source["title"] == rule for source in envelope["sources"]) is small


def test_some_examples_have_small_balls_and_some_large() -> None:
    small = {size <= 44.45 for _, _, size in SMALLEST_BALL_MM}
    assert small == {True, False}


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda each: each.name)
def test_an_empty_body_names_what_is_missing_or_is_enough(
    client: FlaskClient, calculator: Calculator
) -> None:
    response = post(client, calculator, {})
    assert response.status_code in (200, 422)
    if response.status_code == 422:
        assert response.get_json()["errors"]


def stands(value: Any, pointer: str) -> bool:
    """Whether a pointer names a place in a value."""
    try:
        resolve(value, pointer)
    except (PointerToNowhere, ValueError):
        return False
    return True


def numbers(schema: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every schema of a number or list below a schema, with its place."""
    if isinstance(schema, Mapping):
        named = schema.get("type", ())
        kinds = {named} if isinstance(named, str) else set(named)
        if kinds & {"number", "integer", "array"}:
            yield path, schema
        for key, inner in schema.items():
            if key not in ("examples", "example", "default", "enum"):
                yield from numbers(inner, f"{path}/{key}")
    elif isinstance(schema, list):
        for k, inner in enumerate(schema):
            yield from numbers(inner, f"{path}/{k}")


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda each: each.name)
def test_every_number_of_the_inputs_has_bounds_and_every_array_a_length(
    client: FlaskClient, calculator: Calculator
) -> None:
    shown = client.get(f"/v1/calculators/{calculator.name}").get_json()
    for place, schema in numbers(shown["input_schema"]):
        kinds = {schema["type"]} if isinstance(schema["type"], str) else set(schema["type"])
        if "array" in kinds:
            assert "maxItems" in schema, place
        else:
            assert {"minimum", "exclusiveMinimum"} & set(schema) and "maximum" in schema, place


UNITS = {
    "_mm": "mm", "_m2": "m2", "_n": "N", "_kg": "kg", "_g": "g", "_j": "J", "_s": "s",
    "_min": "min", "_deg": "deg", "_per_min": "/min", "_ratio": "1", "_count": "1",
    "_n_mm": "N.mm", "_mm_s": "mm/s", "_m_s2": "m/s2", "_n_mm2": "N.mm2",
}  # fmt: skip


def test_a_suffix_and_its_unit_say_the_same() -> None:
    """One quantity, one unit: the suffix of a name and `x-unit` agree everywhere."""
    shapes = document(BUILT_IN)["components"]["schemas"]
    wrong = []
    for name, shape in shapes.items():
        for field, schema in shape.get("properties", {}).items():
            suffix = next(
                (s for s in sorted(UNITS, key=len, reverse=True) if field.endswith(s)), ""
            )
            compound = "_per_" in field and not field.endswith("_per_min")
            if suffix and not compound and schema.get("x-unit", UNITS[suffix]) != UNITS[suffix]:
                wrong.append((name, field, schema["x-unit"]))
    assert wrong == []


SPOILS: list[Any] = [
    *(0, -1, 1, 5e-324, 1e-9, 1e9, 1.7e308, 0.5, 2**53 - 1, True),
    *("", "x", "no-such-thing", [], {}, [[]], {"id": "none"}, ABSENT),
]


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path to every value inside, bulk lists by their first entries."""
    if path:
        yield path
    inner = value.items() if isinstance(value, dict) else enumerate(value[:3])
    for key, each in inner:
        if isinstance(each, (dict, list)):
            yield from places(each, (*path, key))
        else:
            yield (*path, key)


def spoiled(value: Any, path: tuple[Any, ...], spoil: Any) -> Any:
    """A copy with one value replaced, or taken out."""
    copy = json.loads(json.dumps(value))
    holder = copy
    for key in path[:-1]:
        holder = holder[key]
    if spoil is ABSENT:
        del holder[path[-1]]
    else:
        holder[path[-1]] = spoil
    return copy


@pytest.mark.parametrize("changes", [4, pytest.param(60, marks=pytest.mark.fuzz)])
@pytest.mark.parametrize(("calculator", "example"), EXAMPLES)
def test_one_value_changed_never_ends_in_a_fault_of_ours(
    client: FlaskClient, calculator: Calculator, example: Example, changes: int
) -> None:
    """Each example with one value made strange: answered, or refused by name."""
    inputs = plain(example.inputs)
    chosen = random.Random(f"{example.title} {changes}")
    every = list(places(inputs))
    for _ in range(changes):
        path, spoil = chosen.choice(every), chosen.choice(SPOILS)
        response = post(client, calculator, spoiled(inputs, path, spoil))
        assert response.status_code in (200, 422), (path, spoil, response.data)


API = schemathesis.openapi.from_wsgi(
    "/v1/openapi.json", create_app(Settings(calculation_limit_s=60.0), BUILT_IN)
).include(path_regex="/run$")
#: Cases listed beforehand would be made while tests are collected, for minutes.
API.config.phases.coverage.enabled = False


@pytest.mark.fuzz
@API.parametrize()
@settings(
    max_examples=20,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_random_requests_to_each_are_answered_as_documented(case: Any) -> None:
    """Valid or spoiled, each answer has a documented status, type and shape."""
    case.call_and_validate(checks=CHECKS)

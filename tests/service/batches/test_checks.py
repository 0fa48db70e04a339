"""A value that a rule ties to others is checked as if the whole had been read again."""

from collections.abc import Mapping
from typing import Any, ClassVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from marshmallow import ValidationError, validates_schema

from baywright_service.batches.checks import Checker
from baywright_service.batches.differences import changed
from baywright_service.contract import (
    Calculator,
    Example,
    Fault,
    Inputs,
    InputSchema,
    ListOf,
    Num,
    Part,
    Result,
    ResultSchema,
    Source,
    Whole,
)
from baywright_service.documents import Documents
from baywright_service.registry import registry_of


class MarkSchema(InputSchema):
    """A mark on a rule."""

    at_mm = Num("mm", required=True, minimum=0)


class GapInputs(InputSchema):
    """Two ends, with marks between them."""

    low_mm = Num("mm", required=True, minimum=0)
    high_mm = Num("mm", minimum=0, load_default=50.0)
    marks = ListOf(MarkSchema, required=True, most=5)
    origin = Part(MarkSchema)

    @validates_schema
    def _in_order(self, data: Mapping[str, Any], **_: Any) -> None:
        if not data["low_mm"] < data["high_mm"]:
            raise ValidationError({"high_mm": [Fault("out-of-range", "Must be above the low.")]})
        out = [k for k, mark in enumerate(data["marks"]) if mark["at_mm"] > data["high_mm"]]
        if out or data.get("origin", {"at_mm": 0})["at_mm"] > data["low_mm"]:
            raise ValidationError({k: [Fault("out-of-range", "Lies outside.")] for k in out})


class GapResult(ResultSchema):
    """How wide, and how often."""

    gap_mm = Num("mm", required=True)
    count = Whole(required=True)


class Gap(Calculator):
    """High less low."""

    name: ClassVar[str] = "gap"
    version = "1.0.0"
    title = "Gap"
    summary = "How far apart?"
    inputs_schema: ClassVar[type[InputSchema]] = GapInputs
    result_schema = GapResult
    examples = (Example("One", {"low_mm": 1, "marks": []}),)
    sources = (Source("Subtraction"),)
    cautions = ("Planning aid.",)

    def calculate(self, inputs: Inputs) -> Result:
        """The difference."""
        return Result({"gap_mm": inputs["high_mm"] - inputs["low_mm"], "count": 1})


REGISTRY = registry_of(Gap)
FIRST = {"id": "a", "calculator": "gap", "inputs": {"low_mm": 1, "marks": [{"at_mm": 2}]}}
FOLLOWING = {
    "id": "b",
    "calculator": "gap",
    "inputs": {
        "low_mm": 20,
        "marks": [{"at_mm": 21}, {"at_mm": {"$ref": "#/steps/a/result/gap_mm"}}],
        "origin": {"at_mm": 3},
    },
}
PLAN = {"steps": [FIRST, FOLLOWING]}
NUMBERS = st.sampled_from([-1, 0, 2, 3, 20.5, 21, 49, 50, 51, 60, "twenty", None, True, [1]])
MARKS = st.lists(st.fixed_dictionaries({"at_mm": NUMBERS})) | NUMBERS


@settings(max_examples=300)
@given(st.integers(0, 1), st.sampled_from(["low_mm", "high_mm", "marks", "origin"]), st.data())
def test_as_if_the_whole_were_read_again(step: int, name: str, data: st.DataObject) -> None:
    kinds = {"marks": MARKS, "origin": st.fixed_dictionaries({"at_mm": NUMBERS})}
    value = data.draw(kinds.get(name, NUMBERS))
    pointer = f"/steps/{step}/inputs/{name}"
    body = changed(PLAN, {pointer: value})
    store = Documents(":memory:")
    checker = Checker(PLAN, None, REGISTRY, store)
    assert not checker.faults
    whole = Checker(body, None, REGISTRY, store).faults
    assert checker.changed(body, {pointer: value}) == whole
    store.close()


@pytest.mark.parametrize("low,faulty", [(49, False), (50, True), (60, True)])
def test_a_rule_is_told_of_at_its_place(low: float, faulty: bool) -> None:
    store = Documents(":memory:")
    checker = Checker(PLAN, None, REGISTRY, store)
    body = changed(PLAN, {"/steps/0/inputs/low_mm": low})
    found = checker.changed(body, {"/steps/0/inputs/low_mm": low})
    assert [fault["pointer"] for fault in found] == ["/steps/0/inputs/high_mm"] * faulty
    store.close()

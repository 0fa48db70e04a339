"""Calculators as a third party might bring them: the page knows none of them."""

import sys
from pathlib import Path
from typing import Any

from baywright_service.contract import (
    Calculator,
    Example,
    Finding,
    Inputs,
    InputSchema,
    Num,
    Remedy,
    Result,
    ResultSchema,
    Source,
)
from baywright_service.fields import Anything, ListOf, Text
from baywright_service.registry import Registry, registry_of
from tests.service.fakes import Everything, Fail, Span, Weigh

MARKUP = "<img src=x onerror=alert(1)> <b>&amp; 'quoted'\" </script>"


class ProposalSchema(ResultSchema):
    """A row of bays as a plan."""

    title = Text()
    mass_g = Num("g")
    span_mm = Num("mm")
    plan = Anything(objects=True)


class ProposeInputs(InputSchema):
    """How long it may be."""

    longest_mm = Num("mm", required=True, minimum=100, maximum=10_000, title="Longest")


class ProposeResult(ResultSchema):
    """What would do."""

    proposals = ListOf(ProposalSchema)


class Propose(Calculator):
    """Rows of three and four bays, each a plan of its own."""

    name = "propose"
    version = "1.0.0"
    title = "Proposals"
    summary = "Which rows would do?"
    inputs_schema = ProposeInputs
    result_schema = ProposeResult
    examples = (Example("A metre", {"longest_mm": 1000}),)
    sources = (Source("Counting"),)
    cautions = ("Planning aid.",)

    def calculate(self, inputs: Inputs) -> Result:
        """Three rows that fit."""
        rows = [
            {
                "title": f"{bays} bays",
                "mass_g": 10.0 * bays + bays % 2,
                "span_mm": 120.0 * bays,
                "plan": {"title": f"Row of {bays} bays", "steps": [_span(bays)]},
            }
            for bays in (3, 4, 5)
            if 120 * bays <= inputs["longest_mm"]
        ]
        return Result({"proposals": rows})


def _span(bays: int) -> dict[str, Any]:
    kit = {"rods": [{"id": "R120", "pitch_mm": 120}]}
    return {"id": "span", "calculator": "span", "inputs": {"kit": kit, "rod": "R120", "bays": bays}}


class RudeInputs(InputSchema):
    """A length."""

    length_mm = Num("mm", required=True, minimum=1, maximum=10, title=MARKUP, about=MARKUP)


class RudeResult(ResultSchema):
    """A text."""

    words = Text(title=MARKUP)


class Rude(Calculator):
    """Writes markup wherever it may write text."""

    name = "rude"
    version = "1.0.0"
    title = MARKUP
    summary = MARKUP
    inputs_schema = RudeInputs
    result_schema = RudeResult
    examples = (Example(MARKUP, {"length_mm": 5}),)
    sources = (Source(MARKUP, MARKUP),)
    cautions = (MARKUP,)

    def calculate(self, inputs: Inputs) -> Result:
        """Markup."""
        remedy = Remedy(MARKUP, {"length_mm": 4})
        return Result({"words": MARKUP}, [Finding("rude", "stop", MARKUP, (), None, remedy)])


def strangers() -> Registry:
    """The tiny calculators of the service's tests, one of another distribution, and two more."""
    folder = str(Path(__file__).parents[1] / "service" / "third_party")
    if folder not in sys.path:
        sys.path.append(folder)
    from acme_bounce import BounceHeight  # type: ignore[import-not-found]

    return registry_of(Span, Weigh, Everything, Fail, Propose, Rude, BounceHeight)

"""The request for a batch: what it may hold, and how it is read."""

from collections.abc import Mapping
from typing import Any

from ..fields import Anything, Choice, InputSchema, Key, ListOf, Text

PRODUCT, ZIP = "product", "zip"
JSON_PATCH = "json_patch"
#: Beyond every limit of variants that can be set, so that the limit itself is what answers.
MOST = 10_000_000
MOST_VARIED, MOST_KEPT = 32, 100


class VarySchema(InputSchema):
    """One place, and the values it takes."""

    pointer = Text(
        required=True,
        longest=500,
        title="JSON Pointer into the plan, or into the inputs of the one calculator",
        about="A step may be named by its place or by its id: /steps/grid/inputs/module_mm.",
        example="/steps/0/inputs/module_mm",
    )
    values = ListOf(
        Anything(allow_none=True, title="A value; null takes the field away"),
        required=True,
        fewest=1,
        most=MOST,
        title="Values",
    )


class BatchSchema(InputSchema):
    """Many variants of a plan, or of one calculator's inputs."""

    title = Text(longest=200, title="Title")
    plan = Anything(objects=True, title="Plan, inline or by id")
    calculator = Key(title="Name of the calculator, where there is no plan")
    inputs = Anything(objects=True, title="Its inputs, as far as no variant sets them")
    vary = ListOf(VarySchema, most=MOST_VARIED, title="Places with the values they take")
    combine = Choice(
        PRODUCT,
        ZIP,
        load_default=PRODUCT,
        title="How vary lists combine",
        about="product: each value with each (the last list runs fastest); zip: the first values "
        "together, then the second ones, and so on.",
    )
    variants = ListOf(
        Anything(objects=True, title='A merge patch (RFC 7396), or {"json_patch": [...]}'),
        most=MOST,
        title="Variants written out, after those of the vary lists",
    )
    keep = ListOf(
        Text(longest=500, title="JSON Pointer into the answer"),
        most=MOST_KEPT,
        title="Values to keep of each answer",
        about="/steps/<id>/result/... of a plan, /result/... of one calculator.",
    )


def without_null(value: Any) -> Any:
    """`value` with every member that is null left out, as in any other request."""
    if isinstance(value, Mapping):
        return {key: without_null(inner) for key, inner in value.items() if inner is not None}
    return [without_null(inner) for inner in value] if isinstance(value, list) else value


def told(body: Any) -> Any:
    """A body read with its nulls, which stay only where they mean something: in merge patches,
    and as a whole value of a vary list."""
    if not isinstance(body, Mapping):
        return body
    plain = {key: without_null(value) for key, value in body.items() if value is not None}
    if isinstance(body.get("variants"), list):
        plain["variants"] = [_variant(each) for each in body["variants"]]
    return plain


def _variant(value: Any) -> Any:
    if isinstance(value, Mapping) and JSON_PATCH not in value:
        return value
    return without_null(value)

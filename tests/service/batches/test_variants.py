"""From a request to its variants: order, number, faults at their places, equal ones found."""

import copy
import doctest
import itertools
import json
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_service import json_patch
from baywright_service.batches import differences, expanding, variants
from baywright_service.batches.differences import changed, difference, value_at
from baywright_service.batches.expanding import Expander
from baywright_service.batches.making import making_of
from baywright_service.batches.overrides import applied
from baywright_service.batches.schemas import BatchSchema, told
from baywright_service.batches.variants import Expansion
from baywright_service.documents import Documents
from baywright_service.fields import flatten_faults
from baywright_service.pointers import merge_patch, resolve
from baywright_service.problems import InvalidInput
from tests.service.fakes import fakes

Json = Any
REGISTRY = fakes()
KIT: Json = {"rods": [{"id": "R120", "pitch_mm": 120}, {"id": "R60", "pitch_mm": 60}]}
PLAN: Json = {
    "title": "A row",
    "kit": KIT,
    "steps": [
        {"id": "row", "calculator": "span", "inputs": {"rod": "R120", "bays": 3}},
        {
            "id": "mass",
            "calculator": "weigh",
            "inputs": {"length_mm": {"$ref": "#/steps/row/result/span_mm"}},
        },
    ],
}
ONE: Json = {"calculator": "weigh", "inputs": {"length_mm": 1}}
BAYS, PITCH = "/steps/0/inputs/bays", "/kit/rods/0/pitch_mm"


def vary(pointer: str, *values: Json) -> Json:
    return {"pointer": pointer, "values": list(values)}


def expansion(limit: int = 10_000, **asked: Json) -> Expansion:
    """The variants of a plan (`plan`) or of a calculator; faults are raised."""
    loaded, faults = flatten_faults(BatchSchema(), told(asked))
    assert not faults, faults
    calculator = REGISTRY.calculators[asked["calculator"]] if "calculator" in asked else None
    base = loaded.get("plan", loaded.get("inputs", {}))
    return Expander(base, calculator, REGISTRY, Documents(":memory:")).expanded(loaded, limit)


def bodies(found: Expansion) -> list[Json]:
    """Each variant whole."""
    return [applied(found.base, each.overrides) for each in found.variants()]


def faults(limit: int = 10_000, **asked: Json) -> list[tuple[str, str]]:
    """(pointer, code) of every fault."""
    with pytest.raises(InvalidInput) as refused:
        making_of(asked, REGISTRY, Documents(":memory:"), limit)
    return [(error["pointer"], error["code"]) for error in refused.value.errors]


# Order and number


def test_vary_lists_come_in_product_order_the_last_fastest_then_written_ones() -> None:
    found = expansion(
        plan=PLAN,
        vary=[vary(BAYS, 1, 2), vary(PITCH, 10, 20, 30)],
        variants=[{"title": "written"}],
    )
    seen = [(resolve(body, BAYS), resolve(body, PITCH), body["title"]) for body in bodies(found)]
    product = [(bays, pitch, "A row") for bays in (1, 2) for pitch in (10, 20, 30)]
    assert seen == [*product, (3, 120, "written")]
    assert found.total == 7 and found.pointers == (BAYS, PITCH, "/title")


def test_zipped_lists_go_together() -> None:
    found = expansion(plan=PLAN, combine="zip", vary=[vary(BAYS, 1, 2), vary(PITCH, 10, 20)])
    assert [(resolve(b, BAYS), resolve(b, PITCH)) for b in bodies(found)] == [(1, 10), (2, 20)]


def test_zipped_lists_of_unequal_length_are_refused_by_name() -> None:
    with pytest.raises(InvalidInput) as refused:
        expansion(plan=PLAN, combine="zip", vary=[vary(BAYS, 1, 2), vary(PITCH, 10)])
    [error] = refused.value.errors
    assert error["pointer"] == "/vary/1/values"
    assert BAYS in error["detail"] and PITCH in error["detail"]


def test_too_many_are_refused_before_any_is_made() -> None:
    """A thousand million variants would not fit anywhere."""
    lists = [vary(f"/a{k}", *range(1000)) for k in range(3)]
    with pytest.raises(InvalidInput) as refused:
        making_of(
            {"calculator": "span", "inputs": {}, "vary": lists, "variants": [{}]},
            REGISTRY,
            Documents(":memory:"),
            10_000,
        )
    [error] = refused.value.errors
    assert (error["pointer"], error["code"]) == ("/vary", "too-many")
    assert (error["total"], error["maximum"]) == (10**9 + 1, 10_000)
    assert "1,000,000,001" in error["detail"] and "10,000 are allowed" in error["detail"]


@pytest.mark.parametrize(
    ("lengths", "written", "limit", "advice"),
    [
        ((40, 30), 0, 1000, "Shorten /a0 (40 values) to 33 or fewer"),
        ((10, 200), 100, 1000, "Shorten /a1 (200 values) to 90 or fewer"),
        ((2000,), 0, 1000, "Shorten /a0 (2,000 values) to 1,000 or fewer"),
        ((50, 50, 50), 0, 1000, "Shorten several of /a0, /a1, /a2"),
    ],
)
def test_the_limit_says_how_to_narrow(
    lengths: Sequence[int], written: int, limit: int, advice: str
) -> None:
    lists = [vary(f"/a{k}", *range(length)) for k, length in enumerate(lengths)]
    with pytest.raises(InvalidInput) as refused:
        expansion(limit, calculator="span", vary=lists, variants=[{}] * written)
    assert advice in refused.value.errors[0]["detail"]


def test_written_variants_are_counted_too() -> None:
    assert faults(2, calculator="weigh", inputs={"length_mm": 1}, variants=[{}, {}, {}]) == [
        ("/variants", "too-many")
    ]


def test_a_request_without_variants_says_so() -> None:
    assert faults(plan=PLAN) == [("", "missing")]


# Forms of a variant


def test_null_takes_a_field_away() -> None:
    inputs = {"length_mm": 5, "note": "x"}
    found = expansion(calculator="weigh", inputs=inputs, vary=[vary("/note", None, "y")])
    assert bodies(found) == [{"length_mm": 5}, {"length_mm": 5, "note": "y"}]
    found = expansion(calculator="weigh", inputs=inputs, variants=[{"note": None}])
    assert bodies(found) == [{"length_mm": 5}]


def test_a_step_may_be_named_by_its_id() -> None:
    found = expansion(plan=PLAN, vary=[vary("/steps/row/inputs/bays", 7)])
    assert found.pointers == (BAYS,) and bodies(found)[0]["steps"][0]["inputs"]["bays"] == 7


def test_a_json_patch_changes_one_entry_of_a_list() -> None:
    operations = [{"op": "replace", "path": PITCH, "value": 99}]
    found = expansion(plan=PLAN, variants=[{"json_patch": operations}])
    assert [each.overrides for each in found.variants()] == [{"set": {PITCH: 99}}]


def test_equal_variants_are_known_however_they_were_written() -> None:
    steps = copy.deepcopy(PLAN["steps"])
    steps[0]["inputs"]["bays"] = 5
    patch = [{"op": "replace", "path": BAYS, "value": 5}]
    found = expansion(
        plan=PLAN,
        vary=[vary(BAYS, 5, 3, 5)],
        variants=[{"steps": steps}, {"json_patch": patch}, {}, {"title": "A row"}],
    )
    digests = [each.digest for each in found.variants()]
    assert digests[0] == digests[2] == digests[3] == digests[4]
    assert digests[1] == digests[5] == digests[6] != digests[0]


# Faults at their places


def test_faults_of_values_and_patches_stand_at_their_places() -> None:
    steps = copy.deepcopy(PLAN["steps"])
    steps[0]["inputs"]["bays"] = 0
    replaced = {"op": "replace", "path": PITCH, "value": 0}
    assert faults(
        plan=PLAN,
        vary=[vary(BAYS, 1, 0, 3, "x"), vary(PITCH, 1, -1, 5000)],
        variants=[{"steps": []}, {"json_patch": [replaced]}, {"steps": steps}],
    ) == [
        ("/variants/0/steps", "out-of-range"),
        ("/variants/1/json_patch/0/value", "out-of-range"),
        ("/variants/2/steps/0/inputs/bays", "out-of-range"),
        ("/vary/0/values/1", "out-of-range"),
        ("/vary/0/values/3", "wrong-type"),
        ("/vary/1/values/1", "out-of-range"),
        ("/vary/1/values/2", "out-of-range"),
    ]


def test_faults_of_first_values_are_theirs_and_others_are_the_plans() -> None:
    plan = {**PLAN, "steps": [{**PLAN["steps"][0], "inputs": {"bays": 2}}]}
    assert faults(plan=plan, vary=[vary(BAYS, 0, 1, -1)]) == [
        ("/plan/steps/0/inputs/rod", "missing"),
        ("/vary/0/values/0", "out-of-range"),
        ("/vary/0/values/2", "out-of-range"),
    ]


def test_what_the_base_lacks_the_variants_may_bring() -> None:
    assert expansion(calculator="weigh", vary=[vary("/length_mm", 1, 2)]).total == 2
    assert expansion(calculator="weigh", variants=[{"length_mm": 1}]).total == 1
    assert faults(calculator="weigh", variants=[{"length_mm": 1}, {"note": "x"}]) == [
        ("/inputs/length_mm", "missing")
    ]


def test_a_plan_that_is_wrong_where_nothing_varies_is_refused() -> None:
    step = {**PLAN["steps"][0], "inputs": {"rod": "R120", "bays": 0}}
    plan = {**PLAN, "steps": [step, PLAN["steps"][1]]}
    asked: list[Json] = [{"variants": [{}]}, {"vary": [vary("/title", "x", "y")]}]
    for more in asked:
        assert faults(plan=plan, **more) == [("/plan/steps/0/inputs/bays", "out-of-range")]
    assert faults(plan={"steps": []}, variants=[{}]) == [("/plan/steps", "out-of-range")]


def test_a_field_that_does_not_exist_is_told_once() -> None:
    place = "/steps/0/inputs/bayz"
    assert faults(plan=PLAN, vary=[vary(place, 1, 2, 3)]) == [("/vary/0/pointer", "unknown-field")]


@pytest.mark.parametrize("module", [differences, expanding, json_patch, variants])
def test_examples_in_docstrings_run(module: Any) -> None:
    done = doctest.testmod(module)
    assert done.attempted > 0 and not done.failed


@pytest.mark.parametrize(
    ("pointer", "value", "place", "code"),
    [
        ("", 1, "/vary/0/pointer", "wrong-format"),
        ("steps", 1, "/vary/0/pointer", "wrong-format"),
        ("/nope/x", 1, "/vary/0/pointer", "unknown-reference"),
        ("/steps/7/inputs", {}, "/vary/0/pointer", "unknown-reference"),
        ("/kit/rods/2", {}, "/vary/0/pointer", "unknown-reference"),
        ("/title/0", "x", "/vary/0/pointer", "unknown-reference"),
        ("/steps/0/inputs/bayz", 1, "/vary/0/pointer", "unknown-field"),
        ("/kit/rods/0", None, "/vary/0/values/0", "wrong-type"),
        ("/kit/rods/1/id", "R120", "/vary/0/values/0", "not-unique"),
        ("/steps/1/calculator", "spam", "/vary/0/values/0", "unknown-reference"),
        ("/steps/1/inputs/length_mm", {"$ref": "#/steps/no/result/x"}, "/vary/0/values/0",
         "unknown-reference"),
        ("/title", 7, "/vary/0/values/0", "wrong-type"),
    ],
)  # fmt: skip
def test_what_cannot_vary_is_refused(pointer: str, value: Json, place: str, code: str) -> None:
    assert faults(plan=PLAN, vary=[vary(pointer, value)]) == [(place, code)]


def test_places_within_one_another_are_refused() -> None:
    lists = [vary(BAYS, 1), vary("/steps/0/inputs", {"bays": 1}), vary("/steps/row/inputs/bays", 2)]
    assert faults(plan=PLAN, vary=lists) == [
        ("/vary/1/pointer", "not-unique"),
        ("/vary/2/pointer", "not-unique"),
    ]


def test_values_that_another_step_will_give_are_not_missed() -> None:
    """`length_mm` of the second step is a reference; its other inputs are checked all the same."""
    place = "/steps/mass/inputs/mass_per_length_g_per_mm"
    assert expansion(plan=PLAN, vary=[vary(place, 1, 2)]).total == 2
    assert faults(plan=PLAN, vary=[vary(place, 1, 11)]) == [("/vary/0/values/1", "out-of-range")]


@pytest.mark.parametrize(
    ("asked", "place", "code"),
    [
        ({"plan": PLAN, "calculator": "span"}, "/calculator", "not-unique"),
        ({}, "/plan", "missing"),
        ({"calculator": "spam"}, "/calculator", "unknown-reference"),
        ({"plan": {"id": "nowhere"}}, "/plan/id", "unknown-reference"),
        ({"plan": PLAN, "inputs": {}}, "/inputs", "unknown-field"),
        ({"plan": PLAN, "combine": "all"}, "/combine", "out-of-range"),
        ({"plan": PLAN, "keep": ["/steps/no/result"]}, "/keep/0", "unknown-reference"),
        ({"plan": PLAN, "keep": ["/steps/row/result/x"]}, "/keep/0", "unknown-reference"),
        ({"plan": PLAN, "keep": ["/verdict", "/verdict"]}, "/keep/1", "not-unique"),
        ({"plan": PLAN, "keep": ["verdict"]}, "/keep/0", "wrong-format"),
        ({"calculator": "weigh", "keep": ["/result/x_mm"]}, "/keep/0", "unknown-reference"),
        ({**ONE, "variants": [{"json_patch": [], "x": 1}]}, "/variants/0/x", "unknown-field"),
        ({**ONE, "variants": [{"json_patch": [{"op": "x"}]}]},
         "/variants/0/json_patch/0/op", "out-of-range"),
    ],
)  # fmt: skip
def test_requests_that_mean_nothing_are_refused(asked: Json, place: str, code: str) -> None:
    assert faults(**{"variants": [{}], **asked}) == [(place, code)]


def test_good_pointers_to_keep_are_taken() -> None:
    keep = ["/verdict", "/steps/row/result/span_mm", "/steps/1/verdict", "/steps/0/result/frame"]
    asked = {"plan": PLAN, "variants": [{}], "keep": keep}
    made = making_of(asked, REGISTRY, Documents(":memory:"), 10)
    assert made.base.keep == tuple(keep) and made.title == "A row"


def test_a_stored_plan_is_taken_in_as_it_is_now() -> None:
    store = Documents(":memory:")
    store.create("plan", "row", PLAN)
    made = making_of({"plan": {"id": "row"}, "vary": [vary(BAYS, 4)]}, REGISTRY, store, 10)
    assert made.base.body == PLAN
    assert made.request["varied"] == [{"pointer": BAYS, "planned": 3}]


def test_stored_documents_that_variants_name_must_be_there() -> None:
    store = Documents(":memory:")
    store.create("kit", "big", KIT)
    asked = {"plan": PLAN, "vary": [vary("/kit", KIT, {"id": "big"}, {"id": "none"})]}
    with pytest.raises(InvalidInput) as refused:
        making_of(asked, REGISTRY, store, 10)
    assert [e["pointer"] for e in refused.value.errors] == ["/vary/0/values/2/id"]


# Against brute force

DOCUMENTS = st.recursive(
    st.integers(0, 2) | st.booleans() | st.text("ab", max_size=1),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from("abc"), inner),
    max_leaves=10,
)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.dictionaries(st.sampled_from("abc"), DOCUMENTS), DOCUMENTS)
def test_differences_make_the_one_of_the_other(before: Json, after: Json) -> None:
    """And are told from equal bodies: no changes, and only then, where both are the same JSON."""
    after = after if isinstance(after, dict) else {"a": after}
    changes = difference(before, after)
    assert json.dumps(changed(before, changes), sort_keys=True) == json.dumps(after, sort_keys=True)
    assert (not changes) == (
        json.dumps(before, sort_keys=True) == json.dumps(after, sort_keys=True)
    )
    for one, other in itertools.permutations(changes, 2):
        assert not one.startswith(other + "/")


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.dictionaries(st.sampled_from("abc"), DOCUMENTS), DOCUMENTS)
def test_a_value_is_read_without_making_the_whole(before: Json, patch: Json) -> None:
    after = merge_patch(before, patch if isinstance(patch, dict) else {"a": patch})
    changes = difference(before, after)
    for pointer in ["/a", "/b", "/a/b", "/a/0", "/c/a"]:
        try:
            whole = resolve(after, pointer)
        except LookupError:
            whole = None
        assert json.dumps(value_at(before, changes, pointer)) == json.dumps(whole)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    st.lists(st.lists(st.integers(1, 4), min_size=1, max_size=4), min_size=1, max_size=3),
    st.booleans(),
)
def test_products_and_zips_are_those_of_brute_force(lists: Json, zipped: bool) -> None:
    lists = [values[: min(map(len, lists))] for values in lists] if zipped else lists
    names = ["whole", "number_n", "above_kg"][: len(lists)]
    found = expansion(
        calculator="everything",
        inputs={"whole": 1, "key": "k"},
        combine="zip" if zipped else "product",
        vary=[vary(f"/{name}", *values) for name, values in zip(names, lists, strict=True)],
    )
    combined = zip(*lists, strict=True) if zipped else itertools.product(*lists)
    expected = [
        {"whole": 1, "key": "k", **dict(zip(names, chosen, strict=True))} for chosen in combined
    ]
    assert bodies(found) == expected and found.total == len(expected)
    known: dict[bytes, Json] = {}
    for variant, body in zip(found.variants(), expected, strict=True):
        assert known.setdefault(variant.digest, body) == body
    assert len(known) == len({json.dumps(body, sort_keys=True) for body in expected})

"""The small parts of a batch: overrides, shelves, kept values, chunks, and plans that vary."""

import threading
from concurrent.futures import CancelledError
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_service import plans
from baywright_service.batches import keeping
from baywright_service.batches.chunks import GROWTH, MOST, TARGET_S, Chunk, Next, Pace, after
from baywright_service.batches.deadline import within
from baywright_service.batches.model import Claimed, Variant
from baywright_service.batches.overrides import applied
from baywright_service.batches.shelf import Gathered, Shelf
from baywright_service.batches.varied import varied
from baywright_service.documents import Documents
from baywright_service.execution import (
    Closed,
    ClusterLost,
    DeadlinePassed,
    NotPortable,
    OutOfMemory,
    WorkerDied,
)
from baywright_service.pointers import PointerToNowhere, replaced, resolve
from baywright_service.problems import Internal, PlanNotValid, TooLong
from tests.service.fakes import fakes

KIT = {"rods": [{"id": "R120", "pitch_mm": 120}]}
ROW = {"id": "row", "calculator": "span", "inputs": {"rod": "R120", "bays": 3}}
MASS = {
    "id": "mass",
    "calculator": "weigh",
    "inputs": {"length_mm": {"$ref": "#/steps/row/result/span_mm"}},
}
PLAN: dict[str, Any] = {"kit": KIT, "steps": [ROW, MASS]}


class TestOverrides:
    @pytest.mark.parametrize(
        "overrides,expected",
        [
            ({}, {"a": {"b": [1, 2]}, "c": 3}),
            ({"set": {"/a/b/1": 5}}, {"a": {"b": [1, 5]}, "c": 3}),
            ({"set": {"/a/b/0": None, "/c": None}}, {"a": {"b": [2]}}),
            ({"set": {"/a/new": {"x": 1}}}, {"a": {"b": [1, 2], "new": {"x": 1}}, "c": 3}),
            ({"set": {"": {"all": 1}}}, {"all": 1}),
            ({"merge_patch": {"a": {"b": None}, "d": 4}}, {"a": {}, "c": 3, "d": 4}),
            (
                {"json_patch": [{"op": "add", "path": "/a/b/-", "value": 9}]},
                {"a": {"b": [1, 2, 9]}, "c": 3},
            ),
        ],
    )
    def test_each_form(self, overrides: dict[str, Any], expected: Any) -> None:
        base = {"a": {"b": [1, 2]}, "c": 3}
        assert applied(base, overrides) == expected
        assert base == {"a": {"b": [1, 2]}, "c": 3}

    @pytest.mark.parametrize("pointer", ["/x/y", "/a/b/2", "/a/b/x", "/c/d"])
    def test_a_place_that_is_not_there(self, pointer: str) -> None:
        with pytest.raises(PointerToNowhere):
            applied({"a": {"b": [1, 2]}, "c": 3}, {"set": {pointer: 1}})

    def test_what_stays_is_shared(self) -> None:
        base: dict[str, Any] = {
            "steps": [{"inputs": {"x": 1}}, {"inputs": {"y": 2}}],
            "kit": {"rods": []},
        }
        body = applied(base, {"set": {"/steps/0/inputs/x": 5}})
        assert body["steps"][1] is base["steps"][1] and body["kit"] is base["kit"]


JSON = st.recursive(
    st.integers(0, 3),
    lambda inner: (
        st.lists(inner, min_size=1, max_size=3)
        | st.dictionaries(st.sampled_from("ab/~"), inner, min_size=1, max_size=3)
    ),
    max_leaves=8,
)


@settings(max_examples=50, deadline=None, derandomize=True)
@given(document=JSON, data=st.data())
def test_replacing_changes_one_place_alone(document: Any, data: st.DataObject) -> None:
    """Each place of the document but those around it is as it was."""
    places = dict(_places(document, ""))
    place = data.draw(st.sampled_from(sorted(places)))
    after_it = replaced(document, place, "new")
    assert resolve(after_it, place) == "new"
    for other, value in places.items():
        if not (place + "/").startswith(other + "/") and not other.startswith(place + "/"):
            assert resolve(after_it, other) is value
    assert dict(_places(document, "")) == places


def _places(value: Any, pointer: str) -> Any:
    yield pointer, value
    if not isinstance(value, (dict, list)):
        return
    for key, each in value.items() if isinstance(value, dict) else enumerate(value):
        yield from _places(each, f"{pointer}/{str(key).replace('~', '~0').replace('/', '~1')}")


def test_a_shelf_holds_what_is_named_and_what_that_names(tmp_path: Path) -> None:
    documents = Documents(str(tmp_path / "d.sqlite3"))
    kit = documents.create("kit", "mine", KIT)
    documents.create("kit", "late", {"rods": []})
    documents.create("kit", "unused", {"rods": []})
    documents.create("stock", "shelf", {"kit": {"id": "mine"}, "counts": []})
    assert kit is not None
    base = {"stock": {"id": "shelf"}, "kit": {"id": "mine", "revision": kit.revision}}
    gathered = Gathered(documents, base)
    variants = [
        Variant({"set": {"/kit": {"id": "mine"}}}),
        Variant({"set": {"/kit/id": "late", "/kit/revision": None}}),
        Variant({"set": {"/stock/id": "../no/id", "/gone/id": "x"}}),
    ]
    assert list(gathered.of(variants)) == variants
    documents.delete("kit", "mine", kit.revision)
    shelf = Shelf(gathered.entries)
    current = shelf.current("kit", "mine")
    assert current == kit and shelf.revision("kit", "mine", kit.revision) == kit
    assert shelf.current("stock", "shelf") is not None and shelf.current("kit", "late") is not None
    assert shelf.current("kit", "unused") is None and shelf.revision("kit", "mine", "x") is None
    documents.close()


def test_kept_values_of_a_plan() -> None:
    outcomes: dict[str, dict[str, Any]] = {
        "1": {"status": "done", "envelope": {"verdict": "ok", "result": {"a": [5, 6]}}},
        "b": {"status": "skipped", "skipped_because": ["1"]},
    }
    keep = ["/verdict", "/steps/1/result/a/1", "/steps/0/verdict", "/steps/b/status"]
    nowhere = ["/steps/b/verdict", "/steps/1/result/z", "/steps/9/status", "/other"]
    assert keeping.of_plan([*keep, *nowhere], "stop", ["1", "b"], outcomes) == {
        "/verdict": "stop",
        "/steps/1/result/a/1": 6,  # the id counts before the place
        "/steps/0/verdict": "ok",
        "/steps/b/status": "skipped",
    }


class TestVaried:
    @pytest.fixture
    def documents(self) -> Documents:
        return Documents(":memory:")

    @pytest.mark.parametrize(
        "overrides",
        [
            {"set": {"/steps/0/inputs/bays": 5}},
            {"set": {"/kit": {"rods": [{"id": "R120", "pitch_mm": 100}]}}},
            {"set": {"/steps/1/inputs/length_mm": 7}},
            {"set": {"/steps/1/inputs/length_mm": {"$ref": "#/steps/row/result/nodes_mm/1"}}},
            {"set": {"/steps/1/id": "weight"}},
            {"set": {"/steps/1/calculator": "everything", "/steps/1/inputs": {}}},
            {"set": {"/steps/0": MASS, "/steps/1": ROW}},
            {"set": {"/title": "New", "/steps/0/title": "Row"}},
            {"json_patch": [{"op": "remove", "path": "/steps/1"}]},
        ],
    )
    def test_it_is_as_if_checked_whole(
        self, documents: Documents, overrides: dict[str, Any]
    ) -> None:
        registry = fakes()
        base = plans.check(PLAN, registry, documents)
        body = applied(PLAN, overrides)
        assert varied(base, body, registry, documents) == plans.check(body, registry, documents)

    @pytest.mark.parametrize(
        "overrides",
        [
            {"set": {"/steps/1/inputs/length_mm": {"$ref": "#/steps/gone/result/x"}}},
            {"set": {"/steps/0/inputs": 5}},
            {"set": {"/steps/1/id": "row"}},
            {"set": {"/steps/0/colour": "any"}},
            {"set": {"/what": 1}},
            {"set": {"/title": 5}},
            {"set": {"/steps/0/title": "x" * 201}},
            {"set": {"/steps/0/about": "A step has none."}},
        ],
    )
    def test_its_faults_are_found(self, documents: Documents, overrides: dict[str, Any]) -> None:
        registry = fakes()
        base = plans.check(PLAN, registry, documents)
        with pytest.raises(PlanNotValid):
            varied(base, applied(PLAN, overrides), registry, documents)


class TestChunks:
    def test_they_grow_to_their_time_and_shrink_at_once(self) -> None:
        pace, sizes = Pace(), []
        for _ in range(12):
            sizes.append(pace.size)
            pace.saw(pace.size, pace.size * 0.002)
        assert sizes[0] == 1 and all(
            b <= GROWTH * a for a, b in zip(sizes, sizes[1:], strict=False)
        )
        assert 0.5 * TARGET_S <= 0.002 * sizes[-1] <= TARGET_S
        pace.saw(sizes[-1], 2.0 * sizes[-1])
        assert pace.size == 1

    def test_there_is_a_largest(self) -> None:
        pace = Pace()
        for _ in range(20):
            pace.saw(pace.size, 1e-7 * pace.size)
        assert pace.size == MOST

    @pytest.mark.parametrize(
        "error,expected",
        [
            (CancelledError(), Next.DROP),
            (Closed(), Next.DROP),
            (ClusterLost(), Next.WAIT),
            (NotPortable(), Next.STOP_BATCH),
            (WorkerDied(), Next.TAKE_APART),
            (DeadlinePassed(), Next.TAKE_APART),
            (OutOfMemory(256), Next.TAKE_APART),
            (RuntimeError(), Next.TAKE_APART),
        ],
        ids=lambda each: type(each).__name__,
    )
    def test_of_several_items(self, error: BaseException, expected: Next) -> None:
        chunk = Chunk("b", [Claimed(0, {}), Claimed(1, {})], 0.0)
        assert after(error, chunk, 9.0, 5.0) is expected

    @pytest.mark.parametrize(
        "error,attempts,took_s,expected",
        [
            (WorkerDied("It was ended by signal 11."), 1, 0.0, Next.AGAIN),
            (WorkerDied("It was ended by signal 11."), 2, 9.0, Next.AGAIN),
            (WorkerDied("It was ended by signal 11."), 3, 9.0, Internal),
            (WorkerDied("The worker process ended with status 1."), 1, 9.0, TooLong),
            (WorkerDied("The worker process ended with status 1."), 3, 1.0, Internal),
            (DeadlinePassed(), 1, 9.0, TooLong),
            (OutOfMemory(256), 1, 1.0, TooLong),
            (RuntimeError(), 1, 1.0, Internal),
        ],
    )
    def test_of_one_item(
        self, error: Exception, attempts: int, took_s: float, expected: Any
    ) -> None:
        found = after(error, Chunk("b", [Claimed(0, {}, attempts)], 0.0), took_s, 5.0)
        assert found is expected or isinstance(found, expected)


class TestDeadline:
    def test_a_value_and_an_error_come_through(self) -> None:
        assert within(5.0, lambda: 3, in_worker=False) == 3
        with pytest.raises(ZeroDivisionError):
            within(5.0, lambda: 1 // 0, in_worker=False)

    def test_what_does_not_end_is_given_up(self) -> None:
        with pytest.raises(TooLong) as error:
            within(0.05, lambda: threading.Event().wait(2.0), in_worker=False)
        assert error.value.members == {"limit_s": 0.05}

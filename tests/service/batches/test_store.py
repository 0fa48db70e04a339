"""The store of batches: one result for each variant, whatever happens in between."""

import sqlite3
import subprocess
import sys
import threading
import tracemalloc
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_service.batches import database
from baywright_service.batches.database import beside
from baywright_service.batches.model import (
    Base,
    Batch,
    Gone,
    KeyReused,
    Outcome,
    Variant,
)
from baywright_service.batches.store import EXPIRED_DAYS, KEY_HOURS, BatchStore
from baywright_service.batches.work_queue import MOST_CRASHES
from baywright_service.problems import StorageUnavailable

PROBLEM = {"type": "/v1/problems/cannot-calculate", "status": 422}


def variants(count: int) -> Iterator[Variant]:
    """As many different ones."""
    for k in range(count):
        yield Variant({"set": {"/x": k}}, k.to_bytes(16, "big"))


def made(store: BatchStore, count: int = 5, **options: Any) -> Batch:
    """A new batch."""
    return store.create({"asked": True}, Base({"x": 0}), variants(count), **options)[0]


def run(store: BatchStore, id: str, limit: int = 100, failing: tuple[int, ...] = ()) -> int:
    """Run what waits: `kept` is the index, and some fail."""
    claimed = store.claim(id, limit)
    outcomes = [
        Outcome(each.index, "ok", {"/i": each.index}, PROBLEM if each.index in failing else None)
        for each in claimed
    ]
    return store.finish(id, outcomes) if outcomes else 0


def counts(batch: Batch | None) -> tuple[int, int, int, int]:
    """(successful, failed, dismissed, waiting)"""
    assert batch is not None
    return batch.successful, batch.failed, batch.dismissed, batch.waiting


def test_a_batch_from_its_making_to_its_end(store: BatchStore) -> None:
    batch = made(store, 5, title="Five")
    assert (batch.status, batch.title, batch.total) == ("accepted", "Five", 5)
    assert batch.request == {"asked": True}
    assert run(store, batch.id, 2) == 2
    running = store.get(batch.id)
    assert running is not None and running.status == "running" and running.started_at
    assert run(store, batch.id, failing=(3,)) == 3
    after = store.get(batch.id)
    assert after is not None and after.status == "successful" and after.ended_at
    assert counts(after) == (4, 1, 0, 0)
    items = store.items(batch.id, -1, 10)
    assert [item.index for item in items] == [0, 1, 2, 3, 4]
    assert [item.overrides for item in items] == [{"set": {"/x": k}} for k in range(5)]
    assert [item.status for item in items] == ["successful"] * 3 + ["failed", "successful"]
    assert items[3].problem == PROBLEM and items[4].kept == {"/i": 4}
    assert store.items(batch.id, 1, 2) == items[2:4]
    assert store.item(batch.id, 5) is None and store.items("b-none", -1, 10) == []


def test_it_is_there_after_a_restart(store: BatchStore) -> None:
    batch = made(store)
    store.close()
    again = BatchStore(store.database.path)
    assert again.get(batch.id) == batch and again.base(batch.id) == Base({"x": 0})
    again.close()


def test_the_file_stands_beside_that_of_the_documents() -> None:
    assert beside("/x/documents.sqlite3", "batches") == "/x/documents-batches.sqlite3"
    assert beside(":memory:", "batches") == ":memory:"


def test_in_memory_too() -> None:
    store = BatchStore(":memory:")
    batch = made(store)
    assert run(store, batch.id) == 5 and counts(store.get(batch.id)) == (5, 0, 0, 0)
    store.close()


def test_of_equal_variants_one_is_run(store: BatchStore) -> None:
    same = [Variant({"set": {"/x": k % 2}}, bytes([k % 2])) for k in range(6)]
    other = [Variant({"set": {"/x": 0}}), Variant({"set": {"/x": 0}})]
    batch = store.create({}, Base({"x": 9}), [*same, *other])[0]
    claimed = store.claim(batch.id, 100)
    assert [each.index for each in claimed] == [0, 1, 6, 7]
    store.finish(batch.id, [Outcome(0, "ok", {"/i": 0}), Outcome(1, problem=PROBLEM)])
    assert counts(store.get(batch.id)) == (3, 3, 0, 2)
    items = store.items(batch.id, -1, 10)
    assert [item.same_as for item in items] == [None, None, 0, 1, 0, 1, None, None]
    assert items[4].kept == {"/i": 0} and items[5].problem == PROBLEM
    assert [event.item.index for event in store.events_after(batch.id, 0, 9) if event.item] == [
        *(1, 3, 5)
    ]


class TestKeys:
    def test_the_same_request_makes_one_batch(self, store: BatchStore) -> None:
        batch = made(store, key="key-0001", fingerprint="f")
        again, new = store.create({}, Base({}), variants(9), key="key-0001", fingerprint="f")
        assert (again, new) == (batch, False)
        assert len(store.page(0, 10)) == 1

    def test_another_request_with_the_key_is_refused(self, store: BatchStore) -> None:
        batch = made(store, key="key-0001", fingerprint="f")
        with pytest.raises(KeyReused) as error:
            made(store, key="key-0001", fingerprint="g")
        assert error.value.id == batch.id

    def test_however_many_come_at_once(self, store: BatchStore) -> None:
        answers: list[tuple[Batch, bool]] = []
        barrier = threading.Barrier(8)

        def post(other: BatchStore) -> None:
            barrier.wait()
            answers.append(
                other.create({}, Base({}), variants(50), key="key-0001", fingerprint="f")
            )
            other.close()

        stores = [store, *(BatchStore(store.database.path) for _ in range(7))]
        store.page(0, 1)  # makes the tables
        threads = [threading.Thread(target=post, args=(each,)) for each in stores]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(answers) == 8
        assert len({batch.id for batch, _ in answers}) == 1
        assert [new for _, new in answers].count(True) == 1
        assert len(store.items(answers[0][0].id, -1, 1000)) == 50

    def test_a_key_outlives_its_batch_for_a_day(self, tmp_path: Path) -> None:
        now = datetime(2031, 3, 2, tzinfo=UTC)
        store = BatchStore(str(tmp_path / "b.sqlite3"), clock=lambda: now)
        batch = made(store, key="key-0001", fingerprint="f")
        assert store.delete(batch.id) and store.get(batch.id) is None
        again, new = store.create({}, Base({}), variants(1), key="key-0001", fingerprint="f")
        assert (again.id, again.deleted, again.status, new) == (batch.id, True, "dismissed", False)
        now += timedelta(hours=KEY_HOURS)
        store.expire()
        assert made(store, key="key-0001", fingerprint="g").id != batch.id
        store.close()


class TestOnce:
    def test_a_result_that_comes_twice_counts_once(self, store: BatchStore) -> None:
        batch = made(store, 2)
        store.claim(batch.id, 1)
        assert store.finish(batch.id, [Outcome(0, "ok", {"first": 1})]) == 1
        assert store.finish(batch.id, [Outcome(0, "stop", {"second": 2}, PROBLEM)]) == 0
        item = store.item(batch.id, 0)
        assert item is not None and item.kept == {"first": 1} and item.verdict == "ok"
        assert counts(store.get(batch.id)) == (1, 0, 0, 1)

    def test_a_result_of_what_was_not_claimed_does_not_count(self, store: BatchStore) -> None:
        batch = made(store, 2)
        assert store.finish(batch.id, [Outcome(1, "ok"), Outcome(7, "ok")]) == 0

    def test_the_file_itself_refuses_a_second_row(self, store: BatchStore) -> None:
        batch = made(store, 2)
        again = "INSERT INTO item SELECT * FROM item WHERE batch = ?"
        with pytest.raises(StorageUnavailable) as error, store.database.writing() as connection:
            connection.execute(again, (batch.number,))
        assert isinstance(error.value.__cause__, sqlite3.IntegrityError)

    def test_nothing_counts_after_a_cancellation(self, store: BatchStore) -> None:
        batch = made(store, 5)
        run(store, batch.id, 1)
        store.claim(batch.id, 2)
        cancelled = store.cancel(batch.id)
        assert cancelled is not None and cancelled.status == "dismissed" and cancelled.expires_at
        assert counts(cancelled) == (1, 0, 4, 0)
        assert store.finish(batch.id, [Outcome(1, "ok"), Outcome(2, "ok")]) == 0
        assert store.claim(batch.id, 9) == [] and store.cancel(batch.id) == cancelled
        assert [item.status for item in store.items(batch.id, -1, 9)] == [
            *("successful", "dismissed", "dismissed", "dismissed", "dismissed")
        ]

    def test_an_ended_batch_stays_as_it_is(self, store: BatchStore) -> None:
        batch = made(store, 1)
        run(store, batch.id)
        after = store.get(batch.id)
        store.fail(batch.id, PROBLEM)
        assert store.cancel(batch.id) == after

    def test_a_batch_that_cannot_be_run_fails_as_a_whole(self, store: BatchStore) -> None:
        batch = made(store, 3)
        run(store, batch.id, 1)
        store.fail(batch.id, PROBLEM)
        after = store.get(batch.id)
        assert after is not None and (after.status, after.problem) == ("failed", PROBLEM)
        assert counts(after) == (1, 0, 2, 0)


class TestCrash:
    def test_what_ran_is_run_again_one_by_one(self, store: BatchStore) -> None:
        batch = made(store, 6)
        run(store, batch.id, 1)
        store.claim(batch.id, 2)
        store.recover(blame=True)
        first, second = store.claim(batch.id, 9), store.claim(batch.id, 9)
        assert [[(i.index, i.attempts, i.crashes) for i in c] for c in (first, second)] == [
            [(1, 2, 1)],
            [(2, 2, 1)],
        ]
        assert [each.index for each in store.claim(batch.id, 9)] == [3, 4, 5]

    def test_one_that_is_always_there_when_it_happens_fails(self, store: BatchStore) -> None:
        batch = made(store, 2)
        for _ in range(MOST_CRASHES):
            assert store.claim(batch.id, 1)[0].index == 0
            store.recover(blame=True)
        item = store.item(batch.id, 0)
        assert item is not None and item.problem is not None
        assert item.status == "failed" and str(MOST_CRASHES) in item.problem["detail"]
        assert [each.index for each in store.claim(batch.id, 9)] == [1]

    def test_nothing_is_blamed_where_workers_end_in_its_place(self, store: BatchStore) -> None:
        batch = made(store, 3)
        for _ in range(2 * MOST_CRASHES):
            assert len(store.claim(batch.id, 3)) == 3
            store.recover(blame=False)
        assert run(store, batch.id) == 3 and counts(store.get(batch.id)) == (3, 0, 0, 0)

    def test_a_clean_stop_counts_for_nothing(self, store: BatchStore) -> None:
        batch = made(store, 3)
        store.claim(batch.id, 3)
        store.release()
        store.recover(blame=True)
        assert [(i.attempts, i.crashes) for i in store.claim(batch.id, 9)] == [(1, 0)] * 3

    def test_attempts_are_counted_while_it_runs(self, store: BatchStore) -> None:
        batch = made(store, 1)
        store.claim(batch.id, 1)
        assert [store.try_again(batch.id, 0) for _ in range(2)] == [2, 3]
        store.cancel(batch.id)
        assert store.try_again(batch.id, 0) == 0


class TestEvents:
    def test_they_have_numbers_without_gap_and_end_with_the_batch(self, store: BatchStore) -> None:
        batch = made(store, 6)
        run(store, batch.id, 4, failing=(1, 2))
        told = [(e.number, e.kind) for e in store.events_after(batch.id, 0, 10)]
        assert told == [(1, "item-failed"), (2, "item-failed")]
        run(store, batch.id, failing=(5,))
        events = store.events_after(batch.id, 1, 10)
        assert [(e.number, e.kind) for e in events] == [
            *((2, "item-failed"), (3, "item-failed"), (4, "done"))
        ]
        assert [e.item.index for e in events if e.item] == [2, 5]
        assert store.events_after(batch.id, 1, 1) == events[:1]
        assert store.events_after(batch.id, 3, 1) == events[2:]
        assert store.events_after(batch.id, 4, 10) == []

    def test_a_cancellation_is_an_end_too(self, store: BatchStore) -> None:
        batch = made(store)
        store.cancel(batch.id)
        assert [(e.number, e.kind) for e in store.events_after(batch.id, 0, 9)] == [(1, "done")]


class TestKeeping:
    def test_pages_show_every_old_batch_once_while_new_ones_come(self, store: BatchStore) -> None:
        old = [made(store, 1).id for _ in range(5)]
        seen, before = [], 0
        while page := store.page(before, 2):
            seen += [batch.id for batch in page]
            before = page[-1].number
            made(store, 1)
        assert seen == old[::-1]

    def test_a_batch_is_kept_for_its_days_and_then_gone(self, tmp_path: Path) -> None:
        now = datetime(2031, 3, 2, tzinfo=UTC)
        store = BatchStore(str(tmp_path / "b.sqlite3"), days=30, clock=lambda: now)
        batch, running = made(store, 2, key="key-0001"), made(store, 1)
        run(store, batch.id)
        after = store.get(batch.id)
        assert after is not None and after.expires_at == "2031-04-01T00:00:00Z"
        now += timedelta(days=30, seconds=-1)
        assert store.expire() == 0 and store.get(batch.id) == after
        now += timedelta(seconds=1)
        with pytest.raises(Gone):
            store.get(batch.id)
        assert store.expire() == 1 and store.items(batch.id, -1, 9) == []
        with pytest.raises(Gone):
            store.get(batch.id)
        assert [each.id for each in store.page(0, 9)] == [running.id]
        assert made(store, 1, key="key-0001").id != batch.id
        now += timedelta(days=EXPIRED_DAYS)
        store.expire()
        assert store.get(batch.id) is None
        store.close()

    def test_variants_are_not_held_in_memory(self, store: BatchStore) -> None:
        """4,000 variants of four kilobytes each."""
        texts = ((k, f"{k:04000}") for k in range(4000))
        many = (Variant({"set": {"/x": text}}, k.to_bytes(16, "big")) for k, text in texts)
        store.page(0, 1)
        tracemalloc.start()
        batch = store.create({}, Base({}), many)[0]
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert batch.total == 4000 and peak < 2e6, peak


class TestTrouble:
    def test_a_full_disk_is_a_problem_and_leaves_what_was(self, store: BatchStore) -> None:
        batch = made(store, 10)
        claimed = store.claim(batch.id, 5)
        with store.database.writing() as connection:
            pages = connection.execute("PRAGMA page_count").fetchone()[0]
        assert store.database._writer is not None
        store.database._writer.execute(f"PRAGMA max_page_count = {pages + 2}")
        long = {"/text": "x" * 100_000}
        with pytest.raises(StorageUnavailable, match="full"):
            made(store, 5_000)
        with pytest.raises(StorageUnavailable, match="full"):
            store.finish(batch.id, [Outcome(each.index, "ok", long) for each in claimed])
        assert len(store.page(0, 9)) == 1 and counts(store.get(batch.id)) == (0, 0, 0, 10)
        assert _intact(store.database.path)
        store.database._writer.execute("PRAGMA max_page_count = 1000000")
        assert store.finish(batch.id, [Outcome(each.index, "ok", long) for each in claimed]) == 5

    def test_a_file_that_somebody_holds_is_a_problem_and_can_be_read(
        self, store: BatchStore, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        batch = made(store, 2)
        store.close()
        monkeypatch.setattr(database, "PATIENCE_S", 0.05)
        holder = subprocess.Popen(
            [sys.executable, "-c", _HOLD, store.database.path],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        try:
            assert holder.stdout is not None and holder.stdout.readline() == b"held\n"
            with pytest.raises(StorageUnavailable, match="Another program") as error:
                made(store, 2)
            assert error.value.headers["Retry-After"]
            assert store.get(batch.id) == batch
        finally:
            holder.communicate(b"\n")
        assert run(store, batch.id) == 2

    def test_a_file_that_is_none_of_ours_is_left_alone(self, tmp_path: Path) -> None:
        path = tmp_path / "b.sqlite3"
        path.write_bytes(b"letters of somebody else, not a database" * 100)
        store = BatchStore(str(path))
        with pytest.raises(StorageUnavailable):
            made(store)
        assert path.read_bytes().startswith(b"letters")

    def test_nothing_stays_of_a_batch_whose_variants_break(self, store: BatchStore) -> None:
        def broken() -> Iterator[Variant]:
            yield from variants(1500)
            raise ValueError("the 1501st")

        with pytest.raises(ValueError):
            store.create({}, Base({}), broken())
        assert store.page(0, 9) == []


_HOLD = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("BEGIN IMMEDIATE")
print("held", flush=True)
sys.stdin.readline()
connection.execute("ROLLBACK")
"""


def _intact(path: str) -> bool:
    with sqlite3.connect(path) as connection:
        found = connection.execute("PRAGMA integrity_check").fetchone()[0]
    connection.close()
    return bool(found == "ok")


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["claim", "finish", "finish", "crash", "stop", "again", "cancel"]),
        st.integers(1, 4),
        st.booleans(),
    ),
    max_size=20,
)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(steps=STEPS, count=st.integers(1, 8), repeated=st.integers(0, 3))
def test_whatever_happens_each_variant_ends_once(
    steps: list[tuple[str, int, bool]], count: int, repeated: int
) -> None:
    """Random crashes, cancellations and late results; counted anew by a plain loop each time."""
    store = BatchStore(":memory:")
    all_of = [*variants(count), *variants(min(repeated, count))]
    id = store.create({}, Base({}), all_of)[0].id
    late: list[int] = []
    was: dict[int, Any] = {}
    for what, number, well in [*steps, *[("finish", 4, True)] * 20]:
        if what == "cancel" and number < 4:
            continue
        if what in ("claim", "finish"):
            late += [each.index for each in store.claim(id, number)]
        if what == "finish":
            done, late = late[:number], late[number:] if well else late
            problem = None if well else PROBLEM
            store.finish(id, [Outcome(index, "ok", {"/i": index}, problem) for index in done])
        if what == "crash":
            store.recover(blame=well)
        if what == "stop":
            store.release()
        if what == "again" and late:
            store.try_again(id, late[0])
        if what == "cancel":
            store.cancel(id)
        batch, items = store.get(id), store.items(id, -1, 100)
        assert batch is not None
        states = Counter(item.status for item in items)
        assert len(items) == len(all_of) == batch.total
        assert counts(batch)[:3] == (
            states["successful"],
            states["failed"],
            states["dismissed"],
        )
        assert batch.ended == (batch.waiting == 0)
        for index, item in was.items():
            assert items[index] == item, "an ended item changed"
        was = {item.index: item for item in items if item.ended_at}
        events = store.events_after(id, 0, 100)
        assert [event.number for event in events] == list(range(1, len(events) + 1))
        assert len(events) == states["failed"] + batch.ended
    assert counts(store.get(id))[3] == 0
    store.close()

"""Server-sent events of a batch: how often, in what form, and without gap or repeat."""

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from baywright_service.batches import events
from baywright_service.batches.model import DONE, ITEM_FAILED, Batch, Event, Item

NEW = Batch(
    id="b-1",
    number=1,
    status="running",
    title="T",
    total=8,
    successful=0,
    failed=0,
    dismissed=0,
    created_at="2031-03-02T10:00:00Z",
)


class Story:
    """A batch as it stands at each moment: (seconds, batch), with a clock that only waits move."""

    def __init__(self, moments: list[tuple[float, Batch]], stored: list[Event]) -> None:
        self.moments, self.stored, self.now = moments, stored, 0.0

    def get(self, id: str) -> Batch | None:
        found = [batch for at, batch in self.moments if at <= self.now]
        return found[-1] if id == "b-1" else None

    def events_after(self, id: str, number: int, limit: int) -> list[Event]:
        batch = self.get(id)
        assert batch is not None
        there = [e for e in self.stored if e.kind == DONE or batch.failed >= e.number]
        return [e for e in there if e.number > number and (e.kind != DONE or batch.ended)][:limit]

    def wait(self, seen: Batch, seconds: float) -> None:
        later = [at for at, batch in self.moments if at > self.now and batch != seen]
        assert seconds > 0
        self.now = min([self.now + seconds, *later])

    def told(self, last: int = 0) -> Iterator[tuple[float, dict[str, Any]]]:
        """Each event with the time it was told at."""
        stream = events.stream(self, "b-1", last, _item_json, self.wait, lambda: self.now)
        for block in stream:
            yield self.now, read(block)


def _item_json(item: Any) -> dict[str, Any]:
    return {"index": item.index}


def read(block: bytes) -> dict[str, Any]:
    """The fields of one block, as the HTML standard's parser takes them (section 9.2.6)."""
    text = block.decode()
    assert text.endswith("\n\n") and "\n\n" not in text[:-2]
    fields: dict[str, Any] = {}
    for line in text[:-2].split("\n"):
        name, _, value = line.partition(":")
        fields[name] = value.removeprefix(" ")
    if "data" in fields:
        fields["data"] = json.loads(fields["data"])
    return fields


def failures(count: int) -> list[Event]:
    items = [Item(index, "failed", {}) for index in range(count)]
    stored = [Event(n, ITEM_FAILED, item) for n, item in enumerate(items, 1)]
    return [*stored, Event(count + 1, DONE)]


def test_the_stream_begins_with_when_to_come_back_and_ends_with_done() -> None:
    done = replace(NEW, status="successful", successful=8)
    told = [block for _, block in Story([(0, NEW), (1, done)], failures(0)).told()]
    assert told[0] == {"retry": "2000"}
    assert [block.get("event") for block in told[1:]] == ["progress", "progress", "done"]
    assert told[-1]["id"] == "1" and told[-1]["data"]["status"] == "successful"
    assert told[1]["data"] == {
        "id": "b-1",
        "status": "running",
        "item_counts": {"total": 8, "successful": 0, "failed": 0, "dismissed": 0},
    }


def test_progress_comes_at_most_four_times_a_second() -> None:
    """Two hundred changes in two seconds."""
    many = [(k / 100, replace(NEW, total=2000, successful=k)) for k in range(200)]
    end = (2.0, replace(NEW, total=2000, status="successful", successful=2000))
    story = Story([*many, end], failures(0))
    times = [at for at, block in story.told() if block.get("event") == "progress"]
    gaps = [later - sooner for sooner, later in zip(times, times[1:], strict=False)]
    assert len(times) >= 8 and min(gaps[:-1]) >= 0.25 - 1e-9


def test_only_stored_events_carry_an_id() -> None:
    batch = replace(NEW, status="successful", successful=5, failed=3)
    told = [block for _, block in Story([(0, NEW), (1, batch)], failures(3)).told()]
    ids = [(block["event"], block.get("id")) for block in told[1:]]
    assert [pair for pair in ids if pair[0] == "progress"] == [("progress", None)] * 2
    assert [pair for pair in ids if pair[0] != "progress"] == [
        ("item-failed", "1"),
        ("item-failed", "2"),
        ("item-failed", "3"),
        ("done", "4"),
    ]


@pytest.mark.parametrize("count", [3, 250])
def test_whoever_comes_back_gets_the_rest_without_gap_or_repeat(count: int) -> None:
    """Cut after every stored event; more of them than are read at a time."""
    batch = replace(NEW, total=count, status="successful", failed=count)
    whole = [
        block["id"] for _, block in Story([(0, batch)], failures(count)).told() if "id" in block
    ]
    assert whole == [str(n) for n in range(1, count + 2)]
    for last in range(0, count + 1, max(count // 25, 1)):
        story = Story([(0, batch)], failures(count))
        assert [block["id"] for _, block in story.told(last) if "id" in block] == whole[last:]


def test_a_comment_keeps_the_line_open_each_15_seconds() -> None:
    done = replace(NEW, status="successful", successful=8)
    comments = [
        at for at, block in Story([(0, NEW), (50, done)], failures(0)).told() if "" in block
    ]
    assert comments == [15, 30, 45]


def test_a_batch_that_goes_away_ends_the_stream() -> None:
    class Deleted(Story):
        def get(self, id: str) -> Batch | None:
            return NEW if self.now < 1 else None

        def events_after(self, id: str, number: int, limit: int) -> list[Event]:
            return []

    told = list(Deleted([(0, NEW), (1, NEW)], []).told())
    assert [block.get("event") for _, block in told] == [None, "progress"]

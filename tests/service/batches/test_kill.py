"""SIGKILL of a real service at random moments: no result is lost, none comes twice."""

import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import requests

from baywright_service.batches.database import beside
from baywright_service.batches.model import Batch, Item
from baywright_service.batches.store import BatchStore

ROOT = Path(__file__).parents[3]
PATIENCE_S = 120.0


@contextmanager
def service(store: str, workers: int) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A service that listens, and its address; killed at the end whatever it does."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.service.batches.served", store, str(workers)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        assert process.stdout is not None
        yield process, process.stdout.readline().split()[3]
    finally:
        process.send_signal(signal.SIGKILL)
        process.communicate()


def posted(url: str, count: int) -> str:
    """The id of a new batch of squares; a repeated request gives the same one."""
    body = {
        "calculator": "square",
        "inputs": {"number": 0},
        "vary": [{"pointer": "/number", "values": list(range(count))}],
        "keep": ["/result/square"],
    }
    headers = {"Idempotency-Key": "the-one-batch"}
    answer = requests.post(f"{url}/v1/batches", json=body, headers=headers, timeout=30)
    assert answer.status_code == 202, answer.text
    return str(answer.json()["id"])


def done_of(url: str, id: str) -> int:
    """How many variants have ended."""
    counts = requests.get(f"{url}/v1/batches/{id}", timeout=30).json()["item_counts"]
    return int(counts["successful"])


def read(store: str, id: str) -> tuple[Batch, list[Item]]:
    """The batch and its items as the file holds them."""
    batches = BatchStore(beside(store, "batches"))
    batch, items = batches.get(id), batches.items(id, -1, 100_000)
    batches.close()
    assert batch is not None
    return batch, items


def killed_again_and_again(
    store: str, kills: int, seed: int, workers: int, each: int
) -> tuple[Batch, int]:
    """A batch of `each` variants a kill that saw so many kills, and in how many of them it lost
    work under way. Each life lasts until a number of variants drawn by lot is done, and a moment
    more, however fast the machine; some end while they start and recover."""
    draw, count = random.Random(seed), each * kills
    id, hits = "", 0
    before: dict[int, Item] = {}
    for _ in range(kills):
        with service(store, workers) as (_, url):
            enough, end = len(before) + draw.randrange(each), time.monotonic() + PATIENCE_S
            id = posted(url, count)
            while draw.random() > 0.1 and done_of(url, id) < enough and time.monotonic() < end:
                time.sleep(0.01)
            time.sleep(0.05 * draw.random())
        batch, items = read(store, id)
        hits += any(item.status == "running" for item in items)
        done = {item.index: item for item in items if item.ended_at}
        assert done.items() >= before.items(), "a result was lost or changed"
        before = done
    assert len(before) < count, "it ended before the last kill"
    end = time.monotonic() + PATIENCE_S
    with service(store, workers):
        while not (batch := read(store, id)[0]).ended and time.monotonic() < end:
            time.sleep(0.1)
    return batch, hits


def check_whole(store: str, batch: Batch) -> None:
    """Every variant exactly once, with its own result; the file is sound."""
    batch, items = read(store, batch.id)
    assert (batch.status, batch.successful, batch.total) == ("successful", len(items), len(items))
    assert [item.index for item in items] == list(range(batch.total))
    assert [item.kept for item in items] == [{"/result/square": k**2} for k in range(batch.total)]
    connection = sqlite3.connect(beside(store, "batches"))
    assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    assert connection.execute("SELECT count(*) FROM batch").fetchone()[0] == 1
    connection.close()


def test_three_kills(tmp_path: Path) -> None:
    store = str(tmp_path / "documents.sqlite3")
    batch, _ = killed_again_and_again(store, kills=3, seed=5, workers=1, each=40)
    check_whole(store, batch)


@pytest.mark.slow
def test_fifty_kills(tmp_path: Path) -> None:
    store = str(tmp_path / "documents.sqlite3")
    batch, hits = killed_again_and_again(store, kills=50, seed=8, workers=2, each=60)
    print(f"50 kills, {hits} of them with variants under way; {batch.total} variants")
    assert hits >= 20
    check_whole(store, batch)
